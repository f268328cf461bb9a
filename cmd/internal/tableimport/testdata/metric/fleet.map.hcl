# Invented.
header_row = 2
unknown    = ["k. A."]
folder     = "{Maschine}"
axis       = "{Achse}"
moves      = "{Schritt}"

column "Lage" {
  field = "orientation"
  words = { H = "horizontal", V = "vertical" }
}

column "Masse (kg)" {
  field = "load.mass"
}

column "Hub [mm]" {
  field = "motion.stroke"
}

column "Steigung mm" {
  field = "screw.lead"
}

column "Durchmesser [mm]" {
  field = "screw.nominal_diameter"
}

column "Weg [mm]" {
  field = "motion.move.distance"
}

column "Geschw. [m/s]" {
  field = "motion.move.speed"
}

column "Rampe [s]" {
  field = "motion.move.ramp"
}

column "L" {
  field = "duty.hours_per_day"
}
