//go:build !race

package testaxis

// RaceEnabled says that the tests run under the race detector, where they try less.
const RaceEnabled = false
