axis "pusher" {
  description = "Pushes trays of ware through the kiln door"
  orientation = "horizontal"
  environment = environment.kiln

  load {
    mass        = "55 kg"
    friction    = 0.01
    drag        = "60 N"
    side_force  = "0 N"
    side_moment = "0 N m"
  }
  motion {
    stroke                 = "1100 mm"
    overtravel             = "25 mm"
    nut_nearest            = "195 mm"
    emergency_deceleration = "4 m/s2"
    reaction_time          = "20 ms"
    move "push" {
      distance = "1050 mm"
      speed    = "0.15 m/s"
      ramp     = "0.3 s"
      thrust   = "600 N"
    }
    move "back" {
      distance = "-1050 mm"
      speed    = "0.2 m/s"
      ramp     = "0.3 s"
      dwell    = "45 s"
    }
  }
  duty {
    hours_per_day = 24
    days_per_year = 340
    service_life  = "8 years"
    shock         = "ordinary"
  }
  screw {
    part          = screw.r32x10
    length        = "1430 mm"
    grade         = "C7"
    end_lengths   = ["95 mm", "32 mm"]
    end_diameters = ["25 mm", "25 mm"]
    cover         = "bellows"
  }
  nut {
    part          = nut.r32x10
    flange_toward = "fixed"
    backlash      = "50 um"
  }
  supports {
    drive_end        = "fixed"
    far_end          = "supported"
    drive_end_part   = support.fx25
    far_end_part     = support.su25
    drive_at         = "start"
    drive_bearing_at = "62 mm"
    span             = "1350 mm"
    loaded_length    = "1270 mm"
  }
  drive_journal {
    diameter           = "20 mm"
    seat_diameter      = "25 mm"
    seat_length        = "48 mm"
    lock_thread        = "M25x1.5"
    lock_thread_length = "15 mm"
    stub_diameter      = "20 mm"
    stub_length        = "30 mm"
  }
  far_journal {
    seat_diameter = "25 mm"
    seat_length   = "30 mm"
  }
  drive {
    motor    = motor.m1500
    coupling = coupling.c45
  }
  accuracy {
    positioning      = "1.5 mm"
    temperature_rise = "40 K"
    force            = "none"
  }
  lubrication {
    grease         = grease.hot
    regrease_every = "1 month"
  }
}
