# Invented.
folder = "{Machine}"
file   = "{Machine} {Axis}"
axis   = "{Axis}"

column "Mass (lb)" {
  field = "load.moved_mass"
}

column "Stroke, in" {
  field = "motion.stroke"
}

column "Lead [in]" {
  field = "screw.lead"
}

column "Out speed [in/min]" {
  field = "motion.move.speed"
  move  = "out"
}

column "Back speed [in/min]" {
  field = "motion.move.speed"
  move  = "back"
}

column "Drag" {
  field = "load.drag"
}

column "Preload [lbf]" {
  field = "nut.preload"
}

column "Reliability" {
  field = "duty.reliability"
  unit  = "%"
}

column "Efficiency %" {
  field = "screw.efficiency"
  unit  = "%"
}

column "Greased" {
  field = "nut.grease_port"
}

say "motion.move.ramp" {
  value   = "0.2 s"
  move    = "out"
  because = "setting of all drives, read from the first of them"
}
