//go:build race

package sheet

// raceOn: the race detector makes the tests ten times as slow.
const raceOn = true
