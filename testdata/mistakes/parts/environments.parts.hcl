# Invented.

environment "hall" {
  min_temperature = "10 °C"
  max_temperature = "35 °C"
  cooling         = 15
}

environment "saw" {
  description     = "beside a saw for wood boards"
  min_temperature = "10 °C"
  max_temperature = "35 °C"
  cooling         = 15
  dust            = true
}

environment "grinder" {
  description     = "under the wheel: swarf and grit"
  min_temperature = "18 °C"
  max_temperature = "30 °C"
  cooling         = 60
  chips           = true
  dust            = true
}

environment "wash" {
  description     = "filling line, hosed down every night"
  min_temperature = "5 °C"
  max_temperature = "40 °C"
  cooling         = 15
  wash_down       = true
  open_product    = true
}

environment "kiln" {
  description     = "in front of the kiln door"
  min_temperature = "15 °C"
  max_temperature = "75 °C"
  cooling         = 15
  dust            = true
}

environment "clean" {
  min_temperature = "19 °C"
  max_temperature = "25 °C"
  cooling         = 15
  clean_room      = true
}
