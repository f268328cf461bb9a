axis "table" {
  description = "Cross feed of a surface grinder"
  orientation = "horizontal"
  environment = environment.grinder

  load {
    mass        = "160 kg"
    friction    = 0.003
    drag        = "30 N"
    side_force  = "0 N"
    side_moment = "0 N m"
  }
  motion {
    stroke                 = "400 mm"
    overtravel             = "20 mm"
    emergency_deceleration = "2 m/s2"
    reaction_time          = "20 ms"
    move "feed" {
      distance = "380 mm"
      speed    = "50 mm/s"
      ramp     = "0.2 s"
      thrust   = "250 N"
    }
    move "return" {
      distance = "-380 mm"
      speed    = "0.12 m/s"
      ramp     = "0.2 s"
      dwell    = "2 s"
    }
  }
  duty {
    hours_per_day = 16
    days_per_year = 240
    service_life  = "8 years"
    shock         = "smooth"
  }
  screw {
    part          = screw.g32x10
    length        = "735 mm"
    grade         = "C1"
    end_lengths   = ["95 mm", "95 mm"]
    end_diameters = ["25 mm", "25 mm"]
    cover         = "telescopic"
  }
  nut {
    part          = nut.g32x10
    flange_toward = "fixed"
    preload       = "2200 N"
  }
  supports {
    drive_end         = "fixed"
    far_end           = "fixed"
    drive_end_part    = support.fx25
    far_end_part      = support.fx25
    drive_at          = "start"
    span              = "600 mm"
    loaded_length     = "540 mm"
    stretch           = "20 um"
    housing_stiffness = "900 N/um"
  }
  drive {
    motor    = motor.m1500
    coupling = coupling.c45
  }
  accuracy {
    positioning      = "12 um"
    repeatability    = "3 um"
    temperature_rise = "3 K"
    bandwidth        = "25 Hz"
    force            = "process"
  }
  lubrication {
    grease         = grease.general
    regrease_every = "2 months"
  }
}
