# Invented, as everything here. Ground (g), rolled (r) and stainless (s) screws, named
# by nominal diameter x lead; e stands for inch.

screw "g16x5" {
  nominal_diameter     = "16 mm"
  lead                 = "5 mm"
  root_diameter        = "13.5 mm"
  ball_circle_diameter = "16.7 mm"
  ball_diameter        = "3.1 mm"
  loaded_turns         = 3
  dynamic_rating       = "8.05 kN"
  static_rating        = "16.9 kN"
  process              = "ground"
  recirculation        = "deflector"
  dn_limit             = 70000
  longest              = "900 mm"
}

screw "g16x16" {
  nominal_diameter     = "16 mm"
  lead                 = "16 mm"
  root_diameter        = "13.5 mm"
  ball_circle_diameter = "16.7 mm"
  ball_diameter        = "3.1 mm"
  starts               = 2
  loaded_turns         = 3.6
  dynamic_rating       = "9.18 kN"
  static_rating        = "20.3 kN"
  process              = "ground"
  recirculation        = "end-cap"
  dn_limit             = 120000
  longest              = "900 mm"
}

screw "g25x10" {
  nominal_diameter     = "25 mm"
  lead                 = "10 mm"
  root_diameter        = "21.2 mm"
  ball_circle_diameter = "26 mm"
  ball_diameter        = "4.65 mm"
  loaded_turns         = 3
  dynamic_rating       = "17 kN"
  static_rating        = "39.7 kN"
  process              = "ground"
  recirculation        = "deflector"
  dn_limit             = 70000
  longest              = "1800 mm"
}

screw "g32x10" {
  nominal_diameter     = "32 mm"
  lead                 = "10 mm"
  root_diameter        = "26.9 mm"
  ball_circle_diameter = "33.35 mm"
  ball_diameter        = "6.2 mm"
  loaded_turns         = 3
  dynamic_rating       = "28 kN"
  static_rating        = "67.4 kN"
  process              = "ground"
  recirculation        = "deflector"
  dn_limit             = 70000
  longest              = "2200 mm"
}

screw "g32x20" {
  nominal_diameter     = "32 mm"
  lead                 = "20 mm"
  root_diameter        = "27.6 mm"
  ball_circle_diameter = "33.2 mm"
  ball_diameter        = "5.4 mm"
  starts               = 2
  loaded_turns         = 3.6
  dynamic_rating       = "27.1 kN"
  static_rating        = "71.9 kN"
  process              = "ground"
  recirculation        = "end-cap"
  dn_limit             = 100000
  longest              = "2500 mm"
}

screw "g40x10" {
  nominal_diameter     = "40 mm"
  lead                 = "10 mm"
  root_diameter        = "34.9 mm"
  ball_circle_diameter = "41.35 mm"
  ball_diameter        = "6.2 mm"
  loaded_turns         = 4
  dynamic_rating       = "40 kN"
  static_rating        = "116 kN"
  process              = "ground"
  recirculation        = "deflector"
  dn_limit             = 70000
  longest              = "2600 mm"
}

screw "g63x12" {
  nominal_diameter     = "63 mm"
  lead                 = "12 mm"
  root_diameter        = "56.7 mm"
  ball_circle_diameter = "64.7 mm"
  ball_diameter        = "7.7 mm"
  loaded_turns         = 7
  dynamic_rating       = "106 kN"
  static_rating        = "407 kN"
  process              = "ground"
  recirculation        = "deflector"
  dn_limit             = 70000
  longest              = "3500 mm"
}

screw "r32x10" {
  nominal_diameter     = "32 mm"
  lead                 = "10 mm"
  root_diameter        = "26.9 mm"
  ball_circle_diameter = "33.35 mm"
  ball_diameter        = "6.2 mm"
  loaded_turns         = 4
  dynamic_rating       = "28.7 kN"
  static_rating        = "71.9 kN"
  process              = "rolled"
  recirculation        = "deflector"
  dn_limit             = 60000
  longest              = "4500 mm"
}

screw "r40x40" {
  nominal_diameter     = "40 mm"
  lead                 = "40 mm"
  root_diameter        = "34.9 mm"
  ball_circle_diameter = "41.35 mm"
  ball_diameter        = "6.2 mm"
  starts               = 4
  loaded_turns         = 3.6
  dynamic_rating       = "28.5 kN"
  static_rating        = "83.4 kN"
  process              = "rolled"
  recirculation        = "end-cap"
  dn_limit             = 80000
  longest              = "5600 mm"
}

screw "s25x10" {
  nominal_diameter     = "25 mm"
  lead                 = "10 mm"
  root_diameter        = "21.9 mm"
  ball_circle_diameter = "25.85 mm"
  ball_diameter        = "3.8 mm"
  loaded_turns         = 3
  dynamic_rating       = "10.4 kN"
  static_rating        = "26.7 kN"
  process              = "rolled"
  recirculation        = "deflector"
  dn_limit             = 50000
  longest              = "2000 mm"
  hardness             = 57 # hardened stainless steel does not reach 58
  elastic_modulus      = "200 GPa"
  expansion            = "10.4e-6 1/K"
  corrosion_proof      = true
}

screw "e1000x0500" {
  nominal_diameter     = "1 in"
  lead                 = "0.5 in"
  root_diameter        = "0.877 in"
  ball_circle_diameter = "1.033 in"
  ball_diameter        = "0.15 in"
  loaded_turns         = 3.5
  dynamic_rating       = "3370 lbf"
  static_rating        = "8930 lbf"
  process              = "ground"
  recirculation        = "tube"
  dn_limit             = 80000
  longest              = "70 in"
}
