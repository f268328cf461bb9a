//go:build !race

package formula

// raceOn: the race detector makes the tests ten times as slow.
const raceOn = false
