# Lift of the tray stacker.

given {
  trays = 12   # on the fork
  tray  = 0.85 # kg
}

# The fork hangs free.
axis "lift" {
  orientation = "vertical"
  description = "Lifts the fork ⬆️" # seen from the aisle
  environment = environment.hall /* or outside in summer */

  load { mass = "${given.trays * given.tray + 14} kg" }
  motion {
    stroke = "1.20e3 mm"
    move "up" {
      distance = "${-given.trays * -100} mm"
      # half of what the motor could do
      speed = "0.3 m/s"
      ramp  = "150 ms" // both ways
    }
  }
  screw {
    part = screw["20x10"]
    end_lengths = [
      "58 mm", # driven
      "22 mm", # far
    ]
  }
  waive "life-margin" { # until the new screw comes
    reason = "spare	is ordered"
    until  = "2027-06-30"
  }
}

# end
