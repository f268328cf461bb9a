package run

import (
	"testing"
	"time"

	"trammel/rules/judge/testaxis"
)

// TestDaysARunHolds: a waiver that holds bounds the days by its last one, the
// nearest of several; one that has run out by the day after it. One without a
// date, or with one that is none, does not matter.
func TestDaysARunHolds(t *testing.T) {
	today := time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)
	for _, x := range []struct {
		until []string
		want  Days
	}{
		{nil, Days{}},
		{[]string{"2027-06-30"}, Days{Until: "2027-06-30"}},
		{[]string{"2027-06-30", "2027-01-31", "2028-01-01"}, Days{Until: "2027-01-31"}},
		{[]string{"2026-11-25"}, Days{Until: "2026-11-25"}},
		{[]string{"2026-11-24"}, Days{After: "2026-11-24"}},
		{[]string{"2025-01-01", "2026-11-01", "2026-03-03"}, Days{After: "2026-11-01"}},
		{[]string{"2026-11-01", "2026-12-01"}, Days{After: "2026-11-01", Until: "2026-12-01"}},
	} {
		var d Days
		for _, u := range x.until {
			d.note([]time.Time{testaxis.Day(u)}, today)
		}
		if d != x.want {
			t.Errorf("%q: %+v, expected %+v", x.until, d, x.want)
		}
	}
	for _, x := range []struct {
		d    Days
		day  string
		want bool
	}{
		{Days{}, "2026-11-25", true},
		{Days{Until: "2026-11-25"}, "2026-11-25", true}, {Days{Until: "2026-11-25"}, "2026-11-26", false}, {Days{Until: "2026-11-25"}, "2020-01-01", true},
		{Days{After: "2026-11-25"}, "2026-11-25", false}, {Days{After: "2026-11-25"}, "2026-11-26", true}, {Days{After: "2026-11-25"}, "2026-11-24", false},
		{Days{After: "2026-11-01", Until: "2026-12-01"}, "2026-11-15", true}, {Days{After: "2026-11-01", Until: "2026-12-01"}, "2026-12-02", false}, {Days{After: "2026-11-01", Until: "2026-12-01"}, "2026-11-01", false},
	} {
		if got := x.d.holds(testaxis.Day(x.day)); got != x.want {
			t.Errorf("%+v on %s: %v", x.d, x.day, got)
		}
	}
}
