package audit

import (
	"math"
	"strconv"
	"time"

	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec/unit"
)

const month = mechanics.Year / 12 // seconds

// word says the state of an axis as a whole.
func (r *Row) word() string {
	switch {
	case r.severity > judge.Off:
		return r.severity.String()
	case r.judged == 0 && r.unjudged > 0:
		return "not judged"
	case r.unjudged > 0:
		return "no findings yet"
	}
	return "clean"
}

// String says how an axis is held, "" where the question does not arise or a
// brake holds it.
func (b brake) String() string {
	return [...]string{"", "too weak or missing", "too weak or missing (waived)", "not judged", "not judged (not known whether it lifts)", "rule is off"}[b]
}

// day is the day of commissioning, "" where it is not declared.
func (r *Row) day() string {
	if r.commissioned == noDay {
		return ""
	}
	return time.Unix(int64(r.commissioned)*86400, 0).UTC().Format(time.DateOnly)
}

// percent writes a share for people.
func percent(x float64) string {
	switch {
	case math.IsNaN(x):
		return "–"
	case math.IsInf(x, 1):
		return "unlimited"
	}
	return unit.Format(x, unit.Percentage, unit.Metric)
}

// years writes a stretch of years for people.
func years(x float64) string {
	switch {
	case math.IsNaN(x):
		return "–"
	case math.IsInf(x, 1):
		return "unlimited"
	case math.Abs(x) >= far:
		return ">" + strconv.Itoa(far) + " years"
	}
	return strconv.FormatFloat(x, 'f', 1, 64) + " years"
}

// ends writes the day on which a life ends.
func (w Wear) ends() string {
	if w.Out.IsZero() {
		return "–"
	}
	return w.Out.Format(time.DateOnly)
}
