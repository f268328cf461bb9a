# Invented. Servo motors named by their power in watts, b with a brake; couplings by
# their rated torque in N m.

motor "m400" {
  max_speed           = "5000 rpm"
  rated_speed         = "3000 rpm"
  rated_torque        = "1.3 N m"
  peak_torque         = "3.9 N m"
  torque_at_max_speed = "2.1 N m"
  rotor_inertia       = "0.47 kg cm2"
}

motor "m400b" {
  max_speed           = "5000 rpm"
  rated_speed         = "3000 rpm"
  rated_torque        = "1.3 N m"
  peak_torque         = "3.9 N m"
  torque_at_max_speed = "2.1 N m"
  rotor_inertia       = "0.5 kg cm2"
  brake_torque        = "1.6 N m"
}

motor "m750" {
  max_speed           = "5000 rpm"
  rated_speed         = "3000 rpm"
  rated_torque        = "2.45 N m"
  peak_torque         = "7.3 N m"
  torque_at_max_speed = "4.1 N m"
  rotor_inertia       = "1.6 kg cm2"
}

motor "m750b" {
  max_speed           = "5000 rpm"
  rated_speed         = "3000 rpm"
  rated_torque        = "2.45 N m"
  peak_torque         = "7.3 N m"
  torque_at_max_speed = "4.1 N m"
  rotor_inertia       = "1.7 kg cm2"
  brake_torque        = "3.2 N m"
}

motor "m1500" {
  max_speed           = "4500 rpm"
  rated_speed         = "2500 rpm"
  rated_torque        = "5.7 N m"
  peak_torque         = "17 N m"
  torque_at_max_speed = "9 N m"
  rotor_inertia       = "6.4 kg cm2"
}

motor "m1500b" {
  max_speed           = "4500 rpm"
  rated_speed         = "2500 rpm"
  rated_torque        = "5.7 N m"
  peak_torque         = "17 N m"
  torque_at_max_speed = "9 N m"
  rotor_inertia       = "6.9 kg cm2"
  brake_torque        = "12 N m"
}

motor "m3000b" {
  max_speed           = "4000 rpm"
  rated_speed         = "2500 rpm"
  rated_torque        = "12 N m"
  peak_torque         = "34 N m"
  torque_at_max_speed = "18 N m"
  rotor_inertia       = "14 kg cm2"
  brake_torque        = "20 N m"
}

motor "m7500b" {
  max_speed           = "3000 rpm"
  rated_speed         = "2000 rpm"
  rated_torque        = "36 N m"
  peak_torque         = "90 N m"
  torque_at_max_speed = "50 N m"
  rotor_inertia       = "85 kg cm2"
  brake_torque        = "60 N m"
}

coupling "c8" {
  rated_torque        = "8 N m"
  torsional_stiffness = "4000 N m/rad"
  inertia             = "0.12 kg cm2"
}

coupling "c18" {
  rated_torque        = "18 N m"
  torsional_stiffness = "10000 N m/rad"
  inertia             = "0.35 kg cm2"
}

coupling "c45" {
  rated_torque        = "45 N m"
  torsional_stiffness = "24000 N m/rad"
  inertia             = "1.4 kg cm2"
  max_torque          = "90 N m"
}

coupling "c240" {
  rated_torque        = "240 N m"
  torsional_stiffness = "110000 N m/rad"
  inertia             = "14 kg cm2"
}
