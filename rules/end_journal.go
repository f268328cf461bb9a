package rules

import (
	"fmt"

	"trammel/spec"
	"trammel/spec/unit"
)

// stepDown is the bore of a support over the diameter of its end below which
// a note asks. Common practice, no source.
const stepDown = 0.75

var endJournal = Rule{
	Name:     "end-journal",
	Question: "Does the nut pass over one end, and do the ends fit their supports?",
	Doc: `The nut is brought on over an end, so the largest diameter of at least one end must
not exceed the root diameter. And an end cannot be smaller than the bore of its
support unit: there is nothing to turn the journal from.

An end may be thicker than the bore, with a shoulder between. Where the bore is less than
three quarters of it, the support is often that of another screw: a note asks.`,
	Source:   "common practice, no source",
	Severity: Error,
	Facts:    fields("screw.end_diameters", "screw.root_diameter"),
	Check: func(v *View) []Fault {
		ends := v.Value(field("screw.end_diameters"))
		root := v.Value(field("screw.root_diameter"))
		show := func(x float64) string { return unit.FormatExact(x, unit.Length, v.Sys) }
		var out []Fault
		if above(ends.Ends[0].High, root.Num.Low) && above(ends.Ends[1].High, root.Num.Low) {
			out = append(out, Fault{
				At: ends.Field, Move: -1, Enters: []*spec.Field{root.Field},
				Message: fmt.Sprintf("neither end lets the nut pass: they measure %s and %s, the root diameter is %s", show(ends.Ends[0].Nominal), show(ends.Ends[1].Nominal), show(root.Num.Nominal)),
				Fixes:   []Draft{remark("one end no thicker than the root diameter")},
			})
		}
		for i, path := range []string{"drive_support.bore", "far_support.bore"} {
			bore := v.Value(field(path))
			if bore == nil {
				continue
			}
			end := [...]string{"driven", "far"}[i]
			if above(stepDown*ends.Ends[i].Low, bore.Num.High) {
				out = append(out, Fault{
					At: ends.Field, Move: -1, Enters: fields(path), Severity: Note,
					Message: fmt.Sprintf("the %s end measures %s and its support has a bore of %s: is it turned down so far, or is the support that of a smaller screw?", end, show(ends.Ends[i].Nominal), show(bore.Num.Nominal)),
				})
			}
			if reaches(ends.Ends[i].High, bore.Num.Low) {
				continue
			}
			is, least := v.Apart(ends.Ends[i].High, bore.Num.Low, unit.Length)
			out = append(out, Fault{
				At: ends.Field, Move: -1, Enters: fields(path),
				Message: fmt.Sprintf("the %s end measures %s at most and its support has a bore of %s", end, is, least),
			})
		}
		return out
	},
}
