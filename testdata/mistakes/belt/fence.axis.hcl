axis "fence" {
  description = "Sets the fence of a panel saw; motor beside the screw, belt 2:1"
  orientation = "horizontal"
  environment = environment.saw

  load {
    mass        = "70 kg"
    friction    = 0.006
    drag        = "45 N"
    side_force  = "0 N"
    side_moment = "0 N m"
  }
  motion {
    stroke                 = "1200 mm"
    overtravel             = "30 mm"
    emergency_deceleration = "4 m/s2"
    reaction_time          = "20 ms"
    move "out" {
      distance = "1150 mm"
      speed    = "0.25 m/s"
      ramp     = "0.25 s"
      dwell    = "6 s"
    }
    move "back" {
      distance = "-1150 mm"
      speed    = "0.25 m/s"
      ramp     = "0.25 s"
      dwell    = "6 s"
    }
  }
  duty {
    hours_per_day = 16
    days_per_year = 250
    service_life  = "8 years"
    shock         = "ordinary"
  }
  screw {
    part          = screw.g32x10
    length        = "1550 mm"
    grade         = "C5"
    end_lengths   = ["95 mm", "32 mm"]
    end_diameters = ["25 mm", "25 mm"]
  }
  nut {
    part          = nut.g32x10
    flange_toward = "fixed"
    preload       = "900 N"
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    drive_end_part = support.fx25
    far_end_part   = support.su25
    drive_at       = "start"
    span           = "1470 mm"
    loaded_length  = "1390 mm"
  }
  drive {
    motor           = motor.m750
    ratio           = 2
    gear_efficiency = 0.96
    gear_inertia    = "1.2 kg cm2"
    gear_torque     = "20 N m"
    gear_speed      = "5000 rpm"
    backlash        = "4 arcmin"
    belt_pull       = "200 N"
    belt_overhang   = "30 mm"
  }
  accuracy {
    positioning      = "0.12 mm"
    repeatability    = "15 um"
    temperature_rise = "4 K"
  }
  lubrication {
    grease         = grease.general
    regrease_every = "1 month"
  }
}
