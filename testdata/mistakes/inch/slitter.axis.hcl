axis "slitter" {
  description = "Sets the slitting knives across the web"
  orientation = "horizontal"
  environment = environment.hall

  load {
    mass        = "85 lb"
    friction    = 0.005
    drag        = "8 lbf"
    side_force  = "0 lbf"
    side_moment = "0 lbf in"
  }
  motion {
    stroke                 = "30 in"
    overtravel             = "1.5 in"
    emergency_deceleration = "200 in/s2"
    reaction_time          = "15 ms"
    move "out" {
      distance = "29 in"
      speed    = "15 in/s"
      ramp     = "0.25 s"
      thrust   = "20 lbf"
    }
    move "back" {
      distance = "-29 in"
      speed    = "15 in/s"
      ramp     = "0.25 s"
      dwell    = "6 s"
    }
  }
  duty {
    hours_per_day = 12
    days_per_year = 300
    service_life  = "10 years"
    shock         = "ordinary"
  }
  screw {
    part          = screw.e1000x0500
    length        = "41.5 in"
    grade         = "C5"
    end_lengths   = ["2.75 in", "1 in"]
    end_diameters = ["0.625 in", "0.625 in"]
  }
  nut {
    part          = nut.e1000x0500
    flange_toward = "fixed"
    preload       = "120 lbf"
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    drive_end_part = support.fx0625e
    far_end_part   = support.su0625e
    drive_at       = "start"
    span           = "39 in"
    loaded_length  = "36 in"
  }
  drive {
    motor    = motor.m750
    coupling = coupling.c18
  }
  accuracy {
    positioning      = "6 mil"
    repeatability    = "0.6 mil"
    temperature_rise = "10 °F"
    force            = "none"
  }
  lubrication {
    grease         = grease.general
    regrease_every = "6 weeks"
  }
}
