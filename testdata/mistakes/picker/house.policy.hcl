# What this house asks beyond the usual.
rule "critical-speed" {
  limit = "75 %"
}

rule "life-margin" {
  advice = 1.5
}

require "calm-heads" {
  that    = top_speed <= "1 m/s"
  message = "suction heads move at 1 m/s at most"
}
