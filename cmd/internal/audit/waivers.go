package audit

import (
	"cmp"
	"maps"
	"slices"

	"trammel/rules/judge"
	"trammel/spec"
)

// A waiverSum is what one waiver accepts.
type waiverSum struct {
	Place    spec.Place // as shown
	Rule     string
	Until    string
	Reason   string
	Findings int
	Severity judge.Severity // the gravest of what it accepts
	axes     map[string]bool
	Axes     int
}

// accepted takes in a finding that a waiver accepts.
func (f *Fleet) accepted(x *judge.Finding, at spec.Place) {
	w := f.waivers[at]
	if w == nil {
		w = &waiverSum{Place: at, Rule: x.Rule, Until: x.Waiver.Until.Text, Reason: x.Waiver.Reason.Text, axes: map[string]bool{}}
		f.waivers[at] = w
	}
	w.Findings++
	w.Severity = max(w.Severity, x.Severity)
	if x.Axis != "" {
		w.axes[x.Place.File+"\x00"+x.Axis] = true
	}
}

// inForce lists the waivers that accept something, the one that ends first before others.
func (f *Fleet) inForce() []*waiverSum {
	out := slices.SortedFunc(maps.Values(f.waivers), func(a, b *waiverSum) int {
		return cmp.Or(cmp.Compare(a.Until, b.Until), spec.ComparePlaces(a.Place, b.Place))
	})
	for _, w := range out {
		w.Axes = len(w.axes)
	}
	return out
}

// covers says what a waiver accepts.
func (w *waiverSum) covers() string {
	out := plural(w.Findings, w.Severity.String(), w.Severity.String()+"s")
	if w.Axes > 0 {
		out += " on " + plural(w.Axes, "axis", "axes")
	}
	return out
}

var waiverHead = []string{"ends", "rule", "accepts", "location", "reason"}

func (w *waiverSum) cells() []string {
	return []string{w.Until, w.Rule, w.covers(), w.Place.String(), w.Reason}
}
