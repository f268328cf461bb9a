# Invented. Support units named by their bore: fx takes thrust, su does not, t is sealed.

support "fx12" {
  kind            = "fixed"
  bore            = "12 mm"
  max_temperature = "130 °C"
  stiffness       = "140 N/um"
  dynamic_rating  = "13.2 kN"
  static_rating   = "17.1 kN"
  drag_torque     = "0.03 N m"
}

support "su12" {
  kind            = "supported"
  bore            = "12 mm"
  max_temperature = "130 °C"
  drag_torque     = "0.01 N m"
}

support "fx17" {
  kind            = "fixed"
  bore            = "17 mm"
  max_temperature = "130 °C"
  stiffness       = "220 N/um"
  dynamic_rating  = "23.4 kN"
  static_rating   = "29.5 kN"
  drag_torque     = "0.08 N m"
}

support "su17" {
  kind            = "supported"
  bore            = "17 mm"
  max_temperature = "130 °C"
  drag_torque     = "0.02 N m"
}

support "fx17t" {
  kind            = "fixed"
  bore            = "17 mm"
  max_temperature = "130 °C"
  stiffness       = "220 N/um"
  dynamic_rating  = "20.1 kN"
  static_rating   = "26 kN"
  drag_torque     = "0.12 N m"
  sealed          = true
}

support "su17t" {
  kind            = "supported"
  bore            = "17 mm"
  max_temperature = "130 °C"
  drag_torque     = "0.05 N m"
  sealed          = true
}

support "fx25" {
  kind            = "fixed"
  bore            = "25 mm"
  max_temperature = "130 °C"
  stiffness       = "420 N/um"
  dynamic_rating  = "38 kN"
  static_rating   = "58 kN"
  drag_torque     = "0.15 N m"
}

support "su25" {
  kind            = "supported"
  bore            = "25 mm"
  max_temperature = "130 °C"
  drag_torque     = "0.04 N m"
}

# Two pairs of bearings in line, for a press.
support "fx45" {
  kind            = "fixed"
  bore            = "45 mm"
  max_temperature = "130 °C"
  stiffness       = "1900 N/um"
  dynamic_rating  = "125 kN"
  static_rating   = "290 kN"
  drag_torque     = "0.6 N m"
}

support "su45" {
  kind            = "supported"
  bore            = "45 mm"
  max_temperature = "130 °C"
  drag_torque     = "0.1 N m"
}

support "fx0625e" {
  kind            = "fixed"
  bore            = "0.625 in"
  max_temperature = "130 °C"
  stiffness       = "1150 kip/in"
  dynamic_rating  = "4800 lbf"
  static_rating   = "6200 lbf"
  drag_torque     = "0.6 lbf in"
}

support "su0625e" {
  kind            = "supported"
  bore            = "0.625 in"
  max_temperature = "130 °C"
  drag_torque     = "0.2 lbf in"
}
