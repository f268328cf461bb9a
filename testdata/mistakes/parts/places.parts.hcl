# Invented.

place "hall" {
  min_temperature = "10 °C"
  max_temperature = "35 °C"
  cooling         = 15
}

place "saw" {
  description     = "beside a saw for wood boards"
  min_temperature = "10 °C"
  max_temperature = "35 °C"
  cooling         = 15
  dust            = true
}

place "grinder" {
  description     = "under the wheel: swarf and grit"
  min_temperature = "18 °C"
  max_temperature = "30 °C"
  cooling         = 60
  chips           = true
  dust            = true
}

place "wash" {
  description     = "filling line, hosed down every night"
  min_temperature = "5 °C"
  max_temperature = "40 °C"
  cooling         = 15
  wash_down       = true
  open_product    = true
}

place "kiln" {
  description     = "in front of the kiln door"
  min_temperature = "15 °C"
  max_temperature = "75 °C"
  cooling         = 15
  dust            = true
}

place "clean" {
  min_temperature = "19 °C"
  max_temperature = "25 °C"
  cooling         = 15
  clean_room      = true
}
