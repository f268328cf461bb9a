axis "ram" {
  description = "Presses with up to 12 kN and holds the force for half a second"
  orientation = "vertical"

  load {
    people_below = false
    mass         = "85 kg"
    friction     = 0.01
    drag         = "120 N"
    standstill   = "12 kN"
    side_force   = "0 N"
    side_moment  = "0 N m"
  }
  motion {
    stroke                 = "320 mm"
    overtravel             = "25 mm"
    emergency_deceleration = "3 m/s2"
    reaction_time          = "40 ms"
    stop_by                = "motor"
    move "approach" {
      distance = "-270 mm"
      speed    = "0.15 m/s"
      ramp     = "0.15 s"
    }
    move "press" {
      distance = "-30 mm"
      speed    = "20 mm/s"
      ramp     = "0.1 s"
      thrust   = "12 kN"
      hold     = "12 kN"
      dwell    = "0.5 s"
    }
    move "return" {
      distance = "300 mm"
      speed    = "0.15 m/s"
      ramp     = "0.15 s"
      dwell    = "9 s"
    }
  }
  screw {
    part          = screw.g63x12
    length        = "820 mm"
    grade         = "C5"
    end_lengths   = ["150 mm", "50 mm"]
    end_diameters = ["45 mm", "45 mm"]
  }
  nut {
    part          = nut.g63x12
    flange_toward = "fixed"
    backlash      = "10 um"
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    drive_end_part = support.fx45
    far_end_part   = support.su45
    drive_at       = "top"
    span           = "700 mm"
    loaded_length  = "600 mm"
  }
  drive {
    motor        = motor.m7500b
    coupling     = coupling.c240
    brake_torque = "20 N m"
  }
  accuracy {
    positioning      = "0.1 mm"
    repeatability    = "30 um"
    approach         = "one-side"
    temperature_rise = "5 K"
    force            = "none"
  }
  lubrication {
    grease         = grease.press
    regrease_every = "3 weeks"
  }
}
