# Invented.
rule "standing-shaft" {
  slope  = 0.006
  reason = "the nut sits in a gimbal and follows the shaft"
}
