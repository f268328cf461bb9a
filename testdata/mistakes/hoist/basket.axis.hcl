axis "basket" {
  description = "Lifts the basket out of the bath; motor beside the screw, belt 2:1"
  orientation = "vertical"
  environment = environment.hall

  load {
    people_below = false
    mass         = "45 kg"
    friction     = 0.01
    drag         = "50 N"
    side_force   = "0 N"
    side_moment  = "0 N m"
  }
  motion {
    stroke                 = "600 mm"
    overtravel             = "30 mm"
    emergency_deceleration = "3 m/s2"
    reaction_time          = "50 ms"
    stop_by                = "motor"
    move "up" {
      distance = "580 mm"
      speed    = "0.15 m/s"
      ramp     = "0.3 s"
      payload  = "20 kg"
      dwell    = "20 s"
    }
    move "down" {
      distance = "-580 mm"
      speed    = "0.15 m/s"
      ramp     = "0.3 s"
      payload  = "20 kg"
      dwell    = "60 s"
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
    length        = "950 mm"
    grade         = "C5"
    end_lengths   = ["95 mm", "32 mm"]
    end_diameters = ["25 mm", "25 mm"]
    cover         = "bellows"
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
    drive_at       = "top"
    span           = "870 mm"
    loaded_length  = "790 mm"
  }
  drive {
    motor           = motor.m1500b
    ratio           = 2
    gear_efficiency = 0.95
    gear_inertia    = "1.5 kg cm2"
    gear_torque     = "25 N m"
    gear_speed      = "5000 rpm"
    belt_pull       = "200 N"
    belt_overhang   = "30 mm"
    brake_torque    = "5 N m" # on the screw, behind no belt
  }
  accuracy {
    positioning      = "0.2 mm"
    repeatability    = "40 um"
    temperature_rise = "3 K"
  }
  lubrication {
    grease         = grease.general
    regrease_every = "2 months"
  }
}
