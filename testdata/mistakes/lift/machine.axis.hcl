machine "lift" {
  description = "Lift of a tool magazine, with a counterweight"
  environment = environment.hall

  duty {
    hours_per_day = 20
    days_per_year = 250
    service_life  = "15 years"
    shock         = "ordinary"
  }
  lubrication {
    grease         = grease.general
    regrease_every = "2 months"
  }
}
