package rules

import (
	"fmt"

	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/unit"
)

// stepDown is the bore of a support over the diameter of its end below which
// there is a note. Common practice, no source.
const stepDown = 0.75

var endJournal = judge.Rule{
	Name:     "end-journal",
	Question: "Can the nut pass over one end, and do the ends fit their supports?",
	Doc: `The nut is mounted over an end, so the largest diameter of at least one end must not
exceed the root diameter. And an end cannot be smaller than the bore of its support unit: there
is nothing to turn the journal from.

An end may be thicker than the bore, with a shoulder between. Where the bore is less than three
quarters of it, the support is often that of another screw: a note.`,
	Source:   "common practice, no source",
	Severity: judge.Error,
	Facts:    judge.Fields("screw.end_diameters", "screw.root_diameter"),
	Check: func(v *judge.View) []judge.Fault {
		ends := v.Value(judge.Field("screw.end_diameters"))
		root := v.Value(judge.Field("screw.root_diameter"))
		show := func(x float64) string { return unit.FormatExact(x, unit.Length, v.Units()) }
		var out []judge.Fault
		if judge.Above(ends.Ends[0].High, root.Num.Low) && judge.Above(ends.Ends[1].High, root.Num.Low) {
			out = append(out, judge.Fault{
				At: ends.Field, Move: -1, Inputs: []*spec.Field{root.Field},
				Message: fmt.Sprintf("nut cannot pass either end: journals %s and %s, root diameter %s", show(ends.Ends[0].Nominal), show(ends.Ends[1].Nominal), show(root.Num.Nominal)),
				Fixes:   []judge.Draft{judge.Remark("one end no thicker than the root diameter")},
			})
		}
		for i, path := range []string{"drive_support.bore", "far_support.bore"} {
			bore := v.Value(judge.Field(path))
			if bore == nil {
				continue
			}
			end := [...]string{"driven", "far"}[i]
			if judge.Above(stepDown*ends.Ends[i].Low, bore.Num.High) {
				out = append(out, judge.Fault{
					At: ends.Field, Move: -1, Inputs: judge.Fields(path), Severity: judge.Note,
					Compared: judge.Compared{Value: stepDown * ends.Ends[i].Low, Limit: bore.Num.High, Kind: unit.Length, Sense: judge.AtMost},
					Message:  fmt.Sprintf("%s end is %s, but the bore of its support is %s: is the end turned down that far, or is this the support of a smaller screw?", end, show(ends.Ends[i].Nominal), show(bore.Num.Nominal)),
				})
			}
			if judge.Reaches(ends.Ends[i].High, bore.Num.Low) {
				continue
			}
			is, least := v.Apart(ends.Ends[i].High, bore.Num.Low, unit.Length)
			out = append(out, judge.Fault{
				At: ends.Field, Move: -1, Inputs: judge.Fields(path), Compared: judge.Compared{Value: ends.Ends[i].High, Limit: bore.Num.Low, Kind: unit.Length, Sense: judge.AtLeast},
				Message: fmt.Sprintf("%s end %s is smaller than the bore %s of its support", end, is, least),
			})
		}
		return out
	},
}
