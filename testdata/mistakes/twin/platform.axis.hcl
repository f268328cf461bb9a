axis "platform" {
  description = "Lifts the platform on two screws; one motor turns both by a shaft across"
  orientation = "vertical"
  environment = environment.hall

  load {
    people_below = false
    mass         = "320 kg"
    friction     = 0.01
    drag         = "120 N"
    screws       = 2
    unevenness   = 1.3
    side_force   = "0 N"
    side_moment  = "0 N m"
  }
  motion {
    stroke                 = "1000 mm"
    overtravel             = "20 mm"
    emergency_deceleration = "2 m/s2"
    reaction_time          = "60 ms"
    stop_by                = "motor"
    move "up" {
      distance = "950 mm"
      speed    = "0.1 m/s"
      ramp     = "0.4 s"
      payload  = "100 kg"
      dwell    = "30 s"
    }
    move "down" {
      distance = "-950 mm"
      speed    = "0.1 m/s"
      ramp     = "0.4 s"
      payload  = "100 kg"
      dwell    = "30 s"
    }
  }
  duty {
    hours_per_day = 16
    days_per_year = 250
    service_life  = "10 years"
    shock         = "ordinary"
  }
  screw {
    part          = screw.g40x10
    length        = "1330 mm"
    grade         = "C5"
    end_lengths   = ["95 mm", "32 mm"]
    end_diameters = ["25 mm", "25 mm"]
    cover         = "bellows"
  }
  nut {
    part          = nut.g40x10
    flange_toward = "fixed"
    preload       = "2500 N"
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    drive_end_part = support.fx25
    far_end_part   = support.su25
    drive_at       = "top"
    span           = "1260 mm"
    loaded_length  = "1170 mm"
  }
  drive {
    motor        = motor.m3000b
    screws       = 2
    cross_torque = "25 N m"
    coupling     = coupling.c45
    brake_torque = "8 N m"
  }
  accuracy {
    positioning      = "0.2 mm"
    repeatability    = "30 um"
    temperature_rise = "3 K"
  }
  lubrication {
    grease         = grease.general
    regrease_every = "2 months"
  }
}
