axis "bridge" {
  description = "Carries the cross slide along the frame"
  orientation = "horizontal"

  load {
    mass        = "90 kg"
    drag        = "60 N" # wipers and cable chain
    side_force  = "0 N"
    side_moment = "0 N m"
    carries     = [axis.cross]
  }
  motion {
    stroke     = "1600 mm"
    overtravel = "45 mm"
    move "out" {
      distance = "1600 mm"
      speed    = "0.35 m/s"
      ramp     = "0.3 s"
      dwell    = "4 s"
    }
    move "back" {
      distance = "-1600 mm"
      speed    = "0.35 m/s"
      ramp     = "0.3 s"
      dwell    = "4 s"
    }
  }
  screw {
    part          = screw.g32x20
    model         = "bridge.step"
    length        = "1960 mm"
    grade         = "C5"
    end_lengths   = ["95 mm", "32 mm"]
    end_diameters = ["25 mm", "25 mm"]
    cover         = "bellows"
  }
  nut {
    part          = nut.g32x20
    flange_toward = "fixed"
    preload       = "1200 N"
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    drive_end_part = support.fx25
    far_end_part   = support.su25
    drive_at       = "start"
    span           = "1870 mm"
    loaded_length  = "1790 mm"
  }
  drive {
    motor    = motor.m1500
    coupling = coupling.c45
  }
  accuracy {
    positioning   = "0.35 mm"
    repeatability = "20 um"
    bandwidth     = "8 Hz"
  }
}
