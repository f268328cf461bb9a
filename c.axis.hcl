axis "c" {
  screw {
    lead = "10 mm/rev"
    length = "700 mm/rev"
  }
}
