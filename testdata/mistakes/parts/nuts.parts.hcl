# Invented. Each nut bears the name of its screw; c stands for one with play, s for the
# nut that turns.

nut "g16x5" {
  length          = "44 mm"
  max_temperature = "130 °C"
  stiffness       = "210 N/um"
  grease_port     = true
  wipers          = true
}

nut "g16x16" {
  length          = "52 mm"
  max_temperature = "130 °C"
  stiffness       = "190 N/um"
  grease_port     = true
  wipers          = true
}

nut "g25x10" {
  length          = "66 mm"
  max_temperature = "130 °C"
  stiffness       = "420 N/um"
  grease_port     = true
  wipers          = true
}

nut "g32x10" {
  length          = "88 mm"
  max_temperature = "130 °C"
  stiffness       = "640 N/um"
  grease_port     = true
  wipers          = true
}

nut "g32x20" {
  length          = "92 mm"
  max_temperature = "130 °C"
  stiffness       = "520 N/um"
  grease_port     = true
  wipers          = true
}

nut "g40x10" {
  length          = "110 mm"
  max_temperature = "130 °C"
  stiffness       = "880 N/um"
  grease_port     = true
  wipers          = true
}

nut "g63x12" {
  length          = "170 mm"
  max_temperature = "130 °C"
  stiffness       = "1600 N/um"
  grease_port     = true
  wipers          = true
}

nut "r32x10" {
  length          = "94 mm"
  max_temperature = "130 °C"
  stiffness       = "280 N/um"
  grease_port     = true
  wipers          = true
}

nut "r40x40" {
  length                 = "118 mm"
  max_temperature        = "130 °C"
  stiffness              = "360 N/um"
  inertia                = "18 kg cm2"
  bearing_dynamic_rating = "52 kN"
  bearing_static_rating  = "94 kN"
  grease_port            = true
  wipers                 = true
}

nut "s25x10" {
  length          = "60 mm"
  max_temperature = "130 °C"
  stiffness       = "200 N/um"
  grease_port     = true
  wipers          = true
  corrosion_proof = true
}

nut "e1000x0500" {
  length          = "3 in"
  max_temperature = "130 °C"
  stiffness       = "2100 kip/in"
  grease_port     = true
  wipers          = true
}
