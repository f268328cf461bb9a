package spec

import (
	"strings"

	"github.com/agext/levenshtein"
)

// maxNearness bounds the work of one search for the nearest name: the letters
// of the name, squared, times the names. That is 6000 names of 7 letters.
const maxNearness = 300_000

// Nearest finds the name most like the given one, or "" where none is like it.
func Nearest(name string, names []string) string {
	if len(name) > 64 || len(name)*len(name)*len(names) > maxNearness {
		return ""
	}
	for _, n := range names {
		if strings.EqualFold(name, n) {
			return n
		}
	}
	if len(name) < 3 {
		return "" // with one letter changed, C6 is C0 as much as C5
	}
	best, at := "", 1+(len(name)+1)/3
	for _, n := range names {
		if len(n) >= len(name)+4*at || len(name) >= len(n)+4*at {
			continue // too far off in length alone; a character has four bytes at most
		}
		d := levenshtein.Distance(name, n, nil)
		if swapped(name, n) {
			d = 1
		}
		if d < at {
			best, at = n, d
		}
	}
	return best
}

// swapped reports whether two names differ by two neighbouring letters that have
// changed places, the commonest slip of all.
func swapped(a, b string) bool {
	if len(a) != len(b) {
		return false
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	return i+1 < len(a) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:]
}

// didYouMean makes the help for an unknown name.
func didYouMean(name string, names []string) string {
	if n := Nearest(name, names); n != "" {
		return "did you mean " + n + "?"
	}
	if len(names) == 0 {
		return ""
	}
	if len(names) > 20 {
		return ""
	}
	return "available here: " + list(names)
}
