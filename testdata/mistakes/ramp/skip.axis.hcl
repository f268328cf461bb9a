axis "skip" {
  description = "Draws the skip up a ramp of 30 degrees"
  incline     = "30 deg"
  environment = environment.saw

  load {
    people_below = false
    mass         = "110 kg"
    friction     = 0.01
    drag         = "70 N"
    side_force   = "0 N"
    side_moment  = "0 N m"
  }
  motion {
    stroke                 = "1000 mm"
    overtravel             = "30 mm"
    emergency_deceleration = "2.5 m/s2"
    reaction_time          = "60 ms"
    stop_by                = "motor"
    move "up" {
      distance = "950 mm"
      speed    = "0.15 m/s"
      ramp     = "0.3 s"
      payload  = "120 kg"
      dwell    = "15 s"
    }
    move "down" {
      payload  = "0 kg"
      distance = "-950 mm"
      speed    = "0.2 m/s"
      ramp     = "0.3 s"
      dwell    = "20 s"
    }
  }
  duty {
    hours_per_day = 16
    days_per_year = 250
    service_life  = "8 years"
    shock         = "shocks"
  }
  screw {
    part          = screw.g32x10
    length        = "1335 mm"
    grade         = "C5"
    end_lengths   = ["95 mm", "32 mm"]
    end_diameters = ["25 mm", "25 mm"]
    cover         = "telescopic"
  }
  nut {
    part          = nut.g32x10
    flange_toward = "fixed"
    backlash      = "20 um"
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    drive_end_part = support.fx25
    far_end_part   = support.su25
    drive_at       = "top"
    span           = "1255 mm"
    loaded_length  = "1170 mm"
  }
  drive {
    motor        = motor.m1500
    coupling     = coupling.c45
    brake_torque = "6 N m"
  }
  accuracy {
    positioning      = "0.3 mm"
    repeatability    = "40 um"
    temperature_rise = "4 K"
  }
  lubrication {
    grease         = grease.general
    regrease_every = "2 months"
  }
}
