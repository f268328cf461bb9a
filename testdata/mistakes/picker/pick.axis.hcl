axis "pick" {
  description = "Moves the suction head between tray and belt"
  orientation = "horizontal"
  environment = environment.hall

  load {
    mass        = "6 kg"
    friction    = 0.005
    drag        = "8 N"
    side_force  = "0 N"
    side_moment = "0 N m"
  }
  motion {
    stroke                 = "400 mm"
    overtravel             = "35 mm"
    emergency_deceleration = "12 m/s2"
    reaction_time          = "10 ms"
    move "to_belt" {
      distance = "380 mm"
      speed    = "0.7 m/s"
      ramp     = "90 ms"
      payload  = "1.5 kg"
      dwell    = "0.2 s"
    }
    move "to_tray" {
      distance = "-380 mm"
      speed    = "0.7 m/s"
      ramp     = "90 ms"
      dwell    = "0.2 s"
    }
  }
  duty {
    hours_per_day = 20
    days_per_year = 300
    service_life  = "12 years"
    shock         = "smooth"
  }
  screw {
    part          = screw.g16x16
    length        = "620 mm"
    grade         = "C5"
    end_lengths   = ["52 mm", "20 mm"]
    end_diameters = ["12 mm", "12 mm"]
    cover         = "none"
  }
  nut {
    part          = nut.g16x16
    flange_toward = "fixed"
    preload       = "250 N"
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    drive_end_part = support.fx12
    far_end_part   = support.su12
    drive_at       = "start"
    span           = "575 mm"
    loaded_length  = "510 mm"
  }
  drive {
    motor    = motor.m400
    coupling = coupling.c8
  }
  accuracy {
    positioning      = "0.15 mm"
    repeatability    = "10 um"
    temperature_rise = "12 K"
  }
  lubrication {
    grease         = grease.general
    regrease_every = "8 days"
  }
}
