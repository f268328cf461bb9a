package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var shaftLayout = judge.Rule{
	Name:     "shaft-layout",
	Question: "Do length, ends and span of the shaft agree?",
	Doc: `Length, ends without thread and span are declared separately, and often one is changed
without the others. The thread (length less both ends) must lie between the supports: a span of
less than 98 % of it would put a bearing on the thread. And each bearing sits on its end, so the
span reaches over three quarters of the ends at most: a longer one is a warning, since it makes
critical speed and buckling look worse than they are.

A fixed or supported end needs room for its bearing: at least 0.8 times the bore of its support
unit; the driven end, which also carries the coupling, 1.5 times. This is compared only
where a support part declares the bore. A fixed driven end shorter than a far end that is not
fixed is a note: often the two lengths are swapped, and the thread lies at the wrong place.

The 2 % leave room for a thread that runs out into the undercut, and for rounded drawings. A
shaft whose thread runs on through its support is special: waive it.`,
	Source:   "geometry; 2 %, 0.75, 0.8 and 1.5: common practice, no source",
	Severity: judge.Error,
	Fit:      true,
	Limits: []judge.Limit{
		{Name: "ends", Doc: "share of the ends that the span may reach over", Kind: unit.Percentage, Sense: judge.AtMost, Default: 0.75},
		{Name: "seat", Doc: "length of an end over the bore of its support", Kind: unit.None, Sense: judge.AtLeast, Default: 0.8},
		{Name: "driven_seat", Doc: "length of the driven end over the bore of its support", Kind: unit.None, Sense: judge.AtLeast, Default: 1.5},
	},
	Tests: []judge.Test{{
		Limit:   judge.Limit{Name: "limit", Doc: "span over thread length", Kind: unit.Percentage, Sense: judge.AtLeast, Default: 0.98},
		Value:   m.Span,
		Against: m.ThreadLength,
		Needs:   quantities(m.ShaftLength, m.EndLengths),
		Say: func(v *judge.View, _ float64) string {
			return fmt.Sprintf("span %s is shorter than the thread %s (shaft %s less ends %s): a bearing would sit on the thread",
				v.F(m.Span), v.F(m.ThreadLength), v.F(m.ShaftLength), v.F(m.EndLengths))
		},
		At:         at("supports.span"),
		Inputs:     quantities(m.ShaftLength, m.EndLengths),
		Parameters: parameters(longerSpan, shorterBar),
	}},
	Check: func(v *judge.View) []judge.Fault {
		ends := v.Value(judge.Field("screw.end_lengths"))
		if ends == nil {
			return nil
		}
		short := seats(v, ends)
		if len(short) == 0 {
			short = swapped(v, ends)
		}
		return append(overEnds(v, ends), short...)
	},
}

// overEnds finds a span that reaches over more of the ends than a bearing leaves.
func overEnds(v *judge.View, ends *spec.Value) []judge.Fault {
	span, length := v.Value(judge.Field("supports.span")), v.Value(judge.Field("screw.length"))
	if span == nil || length == nil {
		return nil
	}
	both, share := ends.Ends[0].High+ends.Ends[1].High, v.CheckLimit("shaft-layout", "ends")
	most := length.Num.High - (1-share)*both
	if !judge.Above(span.Num.Low, most) || judge.Above(span.Num.Low, length.Num.High) { // the second is the matter of contradiction
		return nil
	}
	have, room := v.Apart(span.Num.Low, most, unit.Length)
	return []judge.Fault{{At: span.Field, Move: -1, Severity: judge.Warning, Inputs: []*spec.Field{length.Field, ends.Field},
		Compared: judge.Compared{Value: span.Num.Low, Limit: most, Kind: unit.Length, Sense: judge.AtMost},
		Message:  fmt.Sprintf("span %s leaves no room for the bearings on a shaft of %s with ends of %s; usual maximum %s", have, v.Text(length), v.Text(ends), room)}}
}

// seats finds ends that are too short for their bearings.
func seats(v *judge.View, ends *spec.Value) (out []judge.Fault) {
	for i, e := range []struct{ words, held, bore, limit string }{
		{"driven", "supports.drive_end", "drive_support.bore", "driven_seat"},
		{"far", "supports.far_end", "far_support.bore", "seat"},
	} {
		bore := v.Value(judge.Field(e.bore))
		if bore == nil || v.Word(judge.Field(e.held)) == "free" {
			continue
		}
		limit := v.CheckLimit("shaft-layout", e.limit)
		if least := limit * bore.Num.Low; judge.Above(least, ends.Ends[i].High) {
			have, need := v.Apart(ends.Ends[i].High, least, unit.Length)
			out = append(out, judge.Fault{At: ends.Field, Move: -1, Inputs: judge.Fields(e.bore), Limit: e.limit,
				Compared: judge.Compared{Value: ends.Ends[i].High, Limit: least, Kind: unit.Length, Sense: judge.AtLeast},
				Message:  fmt.Sprintf("%s end %s is too short for its support of bore %s; usual minimum %s", e.words, have, v.Text(bore), need)})
		}
	}
	return out
}

// swapped finds a driven end that is shorter than the far one, though it holds the fixed
// bearing, its lock nut and the coupling.
func swapped(v *judge.View, ends *spec.Value) []judge.Fault {
	drive, far := v.Word(judge.Field("supports.drive_end")), v.Word(judge.Field("supports.far_end"))
	long, short := ends.Ends[1].Low, ends.Ends[0].High
	if drive != "fixed" || far == "" || far == "fixed" || v.V(m.Turning) != m.ShaftTurns || v.Declared(judge.Field("far_journal.stub_length")) || !judge.Above(long, short) {
		return nil
	}
	is, other := v.Apart(short, long, unit.Length)
	return []judge.Fault{{At: ends.Field, Move: -1, Severity: judge.Note, Inputs: judge.Fields("supports.drive_end", "supports.far_end"),
		Compared: judge.Compared{Value: short, Limit: long, Kind: unit.Length, Sense: judge.AtLeast},
		Message:  fmt.Sprintf("driven end %s is shorter than the far end %s, though it holds the fixed bearing and the coupling: are the two lengths swapped?", is, other)}}
}
