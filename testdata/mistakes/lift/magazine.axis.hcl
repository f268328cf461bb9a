axis "magazine" {
  description = "Lifts the magazine; a counterweight of 200 kg hangs on chains"
  orientation = "vertical"

  load {
    people_below      = false
    mass              = "240 kg"
    friction          = 0.008
    drag              = "90 N"
    counterbalance    = "1960 N"
    counterbalance_by = "weight"
    side_force        = "0 N"
    side_moment       = "0 N m"
  }
  motion {
    stroke                 = "900 mm"
    overtravel             = "40 mm"
    emergency_deceleration = "2.5 m/s2"
    reaction_time          = "60 ms"
    stop_by                = "motor"
    move "up" {
      distance = "850 mm"
      speed    = "0.2 m/s"
      ramp     = "0.4 s"
      payload  = "30 kg"
      dwell    = "3 s"
    }
    move "down" {
      distance = "-850 mm"
      speed    = "0.2 m/s"
      ramp     = "0.4 s"
      payload  = "30 kg"
      dwell    = "2 s"
    }
  }
  screw {
    part          = screw.g40x10
    length        = "1270 mm"
    grade         = "C5"
    end_lengths   = ["95 mm", "32 mm"]
    end_diameters = ["25 mm", "25 mm"]
    cover         = "bellows"
  }
  nut {
    part          = nut.g40x10
    flange_toward = "fixed"
    preload       = "1000 N"
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    drive_end_part = support.fx25
    far_end_part   = support.su25
    drive_at       = "top"
    span           = "1190 mm"
    loaded_length  = "1100 mm"
  }
  drive {
    motor        = motor.m1500
    coupling     = coupling.c45
    brake_torque = "16 N m" # holds the magazine without its counterweight
  }
  accuracy {
    positioning      = "0.2 mm"
    repeatability    = "30 um"
    temperature_rise = "6 K"
  }
}
