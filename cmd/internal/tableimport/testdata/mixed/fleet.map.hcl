# Invented.
axis    = "{Axis}"
unknown = ["tbd"]

column "Stands" {
  field = "orientation"
  words = { lying = "horizontal", standing = "vertical" }
}

column "Mass" {
  field = "load.mass"
}

column "Lead mm" {
  field = "screw.lead"
}

column "Lead in" {
  field = "screw.lead"
}

column "Span" {
  field = "supports.span"
}

column "Screw" {
  field = "screw.part"
}

column "Grade" {
  field = "screw.grade"
}

column "K" {
  field = "motion.stroke"
  unit  = "in"
}

column "End A [mm]" {
  field = "screw.end_lengths"
  end   = "driven"
}

column "End B [mm]" {
  field = "screw.end_lengths"
  end   = "far"
}
