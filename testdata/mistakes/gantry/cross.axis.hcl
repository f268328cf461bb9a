axis "cross" {
  description = "Moves the gripper head across the bridge"
  orientation = "horizontal"

  load {
    mass        = "32 kg"
    drag        = "25 N"
    side_force  = "0 N"
    side_moment = "0 N m"
  }
  motion {
    stroke     = "700 mm"
    overtravel = "40 mm"
    move "out" {
      distance = "680 mm"
      speed    = "0.3 m/s"
      ramp     = "0.2 s"
      payload  = "12 kg"
      dwell    = "2 s"
    }
    move "back" {
      distance = "-680 mm"
      speed    = "0.3 m/s"
      ramp     = "0.2 s"
      dwell    = "2 s"
    }
  }
  screw {
    part          = screw.g25x10
    model         = "cross.step"
    length        = "985 mm"
    grade         = "C5"
    end_lengths   = ["72 mm", "24 mm"]
    end_diameters = ["17 mm", "17 mm"]
  }
  nut {
    part          = nut.g25x10
    flange_toward = "fixed"
    preload       = "700 N"
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    drive_end_part = support.fx17
    far_end_part   = support.su17
    drive_at       = "start"
    span           = "920 mm"
    loaded_length  = "850 mm"
  }
  drive {
    motor    = motor.m750
    coupling = coupling.c18
  }
  accuracy {
    positioning   = "0.2 mm"
    repeatability = "12 um"
  }
}
