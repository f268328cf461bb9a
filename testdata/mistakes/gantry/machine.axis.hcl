machine "gantry" {
  description = "Gantry that lays boards into a press frame"
  environment = environment.hall

  load {
    friction = 0.005
  }
  motion {
    emergency_deceleration = "4 m/s2"
    reaction_time          = "20 ms"
  }
  duty {
    hours_per_day = 16
    days_per_year = 250
    service_life  = "8 years"
    shock         = "ordinary"
  }
  accuracy {
    temperature_rise = "8 K"
  }
  lubrication {
    grease         = grease.general
    regrease_every = "3 weeks"
  }
}
