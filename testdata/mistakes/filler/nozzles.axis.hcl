axis "nozzles" {
  description = "Lowers the filling nozzles into the bottles; hosed down every night"
  orientation = "vertical"
  environment = environment.wash

  load {
    people_below = false
    mass         = "38 kg"
    friction     = 0.01
    drag         = "40 N"
    side_force   = "0 N"
    side_moment  = "0 N m"
  }
  motion {
    stroke                 = "350 mm"
    overtravel             = "30 mm"
    emergency_deceleration = "4 m/s2"
    reaction_time          = "50 ms"
    stop_by                = "motor"
    move "down" {
      distance = "-320 mm"
      speed    = "0.2 m/s"
      ramp     = "0.2 s"
      dwell    = "3 s"
    }
    move "up" {
      distance = "320 mm"
      speed    = "0.2 m/s"
      ramp     = "0.2 s"
      dwell    = "2 s"
    }
  }
  duty {
    hours_per_day = 14
    days_per_year = 280
    service_life  = "6 years"
    shock         = "smooth"
  }
  screw {
    part          = screw.s25x10
    length        = "610 mm"
    grade         = "C7"
    end_lengths   = ["72 mm", "24 mm"]
    end_diameters = ["17 mm", "17 mm"]
    cover         = "bellows"
  }
  nut {
    part          = nut.s25x10
    flange_toward = "fixed"
    backlash      = "30 um"
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    drive_end_part = support.fx17t
    far_end_part   = support.su17t
    drive_at       = "top"
    span           = "550 mm"
    loaded_length  = "480 mm"
  }
  drive {
    motor    = motor.m750b
    coupling = coupling.c18
  }
  accuracy {
    positioning      = "0.5 mm"
    repeatability    = "0.1 mm"
    temperature_rise = "5 K"
  }
  lubrication {
    grease         = grease.food
    regrease_every = "1 month"
  }
}
