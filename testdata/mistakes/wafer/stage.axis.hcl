axis "stage" {
  description = "Sets the mask under the lens, in a clean room"
  orientation = "horizontal"
  environment = environment.clean

  load {
    mass        = "9 kg"
    friction    = 0.004
    drag        = "4 N"
    side_force  = "0 N"
    side_moment = "0 N m"
  }
  motion {
    stroke                 = "200 mm"
    overtravel             = "15 mm"
    emergency_deceleration = "3 m/s2"
    reaction_time          = "10 ms"
    move "out" {
      distance = "180 mm"
      speed    = "0.1 m/s"
      ramp     = "0.15 s"
      dwell    = "4 s"
    }
    move "back" {
      distance = "-180 mm"
      speed    = "0.1 m/s"
      ramp     = "0.15 s"
      dwell    = "4 s"
    }
  }
  duty {
    hours_per_day = 20
    days_per_year = 340
    service_life  = "7 years"
    shock         = "smooth"
  }
  screw {
    part          = screw.g16x5
    length        = "365 mm"
    grade         = "C1"
    end_lengths   = ["52 mm", "20 mm"]
    end_diameters = ["12 mm", "12 mm"]
    cover         = "enclosed"
  }
  nut {
    part          = nut.g16x5
    flange_toward = "fixed"
    preload       = "350 N"
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    drive_end_part = support.fx12
    far_end_part   = support.su12
    drive_at       = "start"
    span           = "325 mm"
    loaded_length  = "275 mm"
  }
  drive {
    motor    = motor.m400
    coupling = coupling.c8
  }
  accuracy {
    positioning      = "30 um"
    repeatability    = "2 um"
    temperature_rise = "4 K"
  }
  lubrication {
    grease         = grease.clean
    regrease_every = "6 weeks"
  }
}
