axis "beam" {
  description = "Long portal beam: the shaft stands still, the nut turns in the carriage"
  orientation = "horizontal"
  environment = environment.hall

  load {
    mass        = "140 kg"
    friction    = 0.005
    drag        = "60 N"
    side_force  = "0 N"
    side_moment = "0 N m"
  }
  motion {
    stroke                 = "3200 mm"
    overtravel             = "120 mm"
    emergency_deceleration = "4 m/s2"
    reaction_time          = "20 ms"
    move "out" {
      distance = "3100 mm"
      speed    = "0.7 m/s"
      ramp     = "0.5 s"
      dwell    = "5 s"
    }
    move "back" {
      distance = "-3100 mm"
      speed    = "0.7 m/s"
      ramp     = "0.5 s"
      dwell    = "5 s"
    }
  }
  duty {
    hours_per_day = 16
    days_per_year = 250
    service_life  = "8 years"
    shock         = "ordinary"
  }
  screw {
    part          = screw.r40x40
    turning       = "nut"
    length        = "3800 mm"
    grade         = "C7"
    end_lengths   = ["90 mm", "90 mm"]
    end_diameters = ["25 mm", "25 mm"]
  }
  nut {
    part          = nut.r40x40
    flange_toward = "fixed"
    backlash      = "50 um"
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    drive_end_part = support.fx25
    far_end_part   = support.su25
    drive_at       = "start"
    span           = "3700 mm"
    loaded_length  = "3550 mm"
  }
  drive {
    motor           = motor.m1500
    ratio           = 2
    gear_efficiency = 0.96
    gear_inertia    = "2.5 kg cm2"
    gear_torque     = "60 N m"
    gear_speed      = "5000 rpm"
  }
  accuracy {
    positioning      = "1.5 mm"
    repeatability    = "0.1 mm"
    temperature_rise = "4 K"
  }
  lubrication {
    grease         = grease.general
    regrease_every = "10 days"
  }
}
