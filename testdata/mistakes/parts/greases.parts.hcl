# Invented.

grease "general" {
  thickener       = "lithium"
  base_oil        = "mineral"
  min_temperature = "-20 °C"
  max_temperature = "110 °C"
}

grease "press" {
  thickener       = "lithium-complex"
  base_oil        = "mineral"
  min_temperature = "-20 °C"
  max_temperature = "130 °C"
}

grease "food" {
  thickener       = "calcium-sulfonate"
  base_oil        = "pao"
  min_temperature = "-30 °C"
  max_temperature = "120 °C"
  food_grade      = true
  water_resistant = true
}

grease "hot" {
  thickener       = "urea"
  base_oil        = "ether"
  min_temperature = "-20 °C"
  max_temperature = "160 °C"
  water_resistant = true
}

grease "clean" {
  thickener       = "urea"
  base_oil        = "pao"
  min_temperature = "-30 °C"
  max_temperature = "120 °C"
  low_particle    = true
}
