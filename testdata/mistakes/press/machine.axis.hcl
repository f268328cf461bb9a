machine "press" {
  description = "Press that seats bearings in housings"
  environment = environment.hall

  duty {
    hours_per_day = 16
    days_per_year = 250
    service_life  = "8 years"
    shock         = "shocks"
  }
}
