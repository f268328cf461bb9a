package rules

import (
	"fmt"

	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/unit"
)

var travelPlace = judge.Rule{
	Name:     "travel-place",
	Question: "Do the bearings sit on the ends of the shaft, does the nut stay on the thread, and is the loaded length long enough?",
	Doc: `Span, stroke and lengths may suit each other and still lie in the wrong position. If the
position of the driven end's bearing or of the nut is declared, each measured from the
driven end of the shaft, then:

- both bearings must sit on the ends, not on the thread or beyond the shaft;
- the nut must stay on the thread over its whole length, overtravel included;
- a declared loaded length must reach at least from the end that takes the thrust to the
  near side of the nut at the far end of the stroke. With both ends fixed this is not judged.

Drawings show the declared positions. Without them they centre the stroke in the thread and
the supports about it, and say so.`,
	Source:   "geometry",
	Severity: judge.Error,
	Fit:      true,
	Reasons: []judge.Reason{{Words: "neither the position of a bearing nor that of the nut is declared", If: func(v *judge.View) bool {
		return v.Value(bearingAt) == nil && v.Value(nutNearest) == nil
	}}},
	WantsBy: func(v *judge.View) []*spec.Field {
		want := judge.Fields("screw.length", "screw.end_lengths")
		if v.Value(nutNearest) != nil {
			want = append(want, judge.Fields("motion.stroke", "motion.overtravel", "nut.length")...)
		}
		if v.Value(bearingAt) != nil {
			want = append(want, judge.Field("supports.span"))
		}
		return want
	},
	Check: func(v *judge.View) []judge.Fault { return append(bearingPlace(v), nutPlace(v)...) },
}

var (
	bearingAt  = judge.Field("supports.drive_bearing_at")
	nutNearest = judge.Field("motion.nut_nearest")
)

// bearingPlace finds bearings that do not stand on the ends of the shaft.
func bearingPlace(v *judge.View) (out []judge.Fault) {
	x, span, length, ends := v.Value(bearingAt), v.Value(judge.Field("supports.span")), v.Value(judge.Field("screw.length")), v.Value(judge.Field("screw.end_lengths"))
	if x == nil || ends == nil {
		return nil
	}
	fault := func(format string, a ...any) {
		out = append(out, judge.Fault{At: x.Field, Move: -1, Inputs: judge.Fields("supports.span", "screw.length", "screw.end_lengths"), Message: fmt.Sprintf(format, a...)})
	}
	if judge.Above(x.Num.High, ends.Ends[0].Low) {
		at, end := v.Apart(x.Num.High, ends.Ends[0].Low, unit.Length)
		fault("bearing of the driven end, %s from it, sits on the thread: the end is %s long", at, end)
	}
	if span == nil || length == nil || v.Word(judge.Field("supports.far_end")) == "free" {
		return out
	}
	low, high := x.Num.Low+span.Num.Low, x.Num.High+span.Num.High
	if from := length.Num.High - ends.Ends[1].High; judge.Above(from, low) {
		at, thread := v.Apart(low, from, unit.Length)
		fault("bearing of the far end, %s from the driven end, sits on the thread, which reaches to %s", at, thread)
	}
	if judge.Above(high, length.Num.Low) {
		at, end := v.Apart(high, length.Num.Low, unit.Length)
		fault("bearing of the far end, %s from the driven end, lies beyond the shaft of %s", at, end)
	}
	return out
}

// nutPlace finds a nut that leaves the thread, and a loaded length that does not reach to it.
func nutPlace(v *judge.View) (out []judge.Fault) {
	x, stroke := v.Value(nutNearest), v.Value(judge.Field("motion.stroke"))
	over, nut := v.Value(judge.Field("motion.overtravel")), v.Value(judge.Field("nut.length"))
	if x == nil || stroke == nil {
		return nil
	}
	fault := func(inputs []*spec.Field, format string, a ...any) {
		out = append(out, judge.Fault{At: x.Field, Move: -1, Inputs: inputs, Message: fmt.Sprintf(format, a...)})
	}
	length, ends := v.Value(judge.Field("screw.length")), v.Value(judge.Field("screw.end_lengths"))
	if over != nil && nut != nil && ends != nil {
		inputs := judge.Fields("motion.stroke", "motion.overtravel", "nut.length", "screw.end_lengths", "screw.length")
		beside := over.Num.High + nut.Num.High/2
		if judge.Above(ends.Ends[0].High, x.Num.Low-beside) {
			is, least := v.Apart(x.Num.Low, ends.Ends[0].High+beside, unit.Length)
			fault(inputs, "nut leaves the thread at the driven end: nearest %s, and end %s, overtravel %s and half the nut need %s", is, v.Show(ends.Ends[0].High, unit.Length), v.Text(over), least)
		}
		if far := x.Num.High + stroke.Num.High + beside; length != nil && judge.Above(far, length.Num.Low-ends.Ends[1].High) {
			to, end := v.Apart(far, length.Num.Low-ends.Ends[1].High, unit.Length)
			fault(inputs, "nut leaves the thread at the far end: it reaches to %s from the driven end, the thread to %s", to, end)
		}
	}
	if nut != nil {
		out = append(out, loadedPlace(v, x, stroke.Num.Low-nut.Num.High/2)...)
	}
	return out
}

// loadedPlace compares a loaded length with the way from the end that takes the thrust to
// the near side of the nut; beyond is how far that goes from where the nut is nearest.
func loadedPlace(v *judge.View, x *spec.Value, beyond float64) []judge.Fault {
	loaded, at, span := v.Value(judge.Field("supports.loaded_length")), v.Value(bearingAt), v.Value(judge.Field("supports.span"))
	drive, far := v.Word(judge.Field("supports.drive_end")), v.Word(judge.Field("supports.far_end"))
	if loaded == nil || at == nil {
		return nil
	}
	var need float64
	switch {
	case drive == "fixed" && far != "fixed":
		need = x.Num.Low - at.Num.High + beyond
	case far == "fixed" && drive != "fixed" && span != nil && v.Value(judge.Field("nut.length")) != nil:
		need = at.Num.Low + span.Num.Low - x.Num.High - v.Value(judge.Field("nut.length")).Num.High/2
	}
	if !judge.Above(need, loaded.Num.High) {
		return nil
	}
	have, want := v.Apart(loaded.Num.High, need, unit.Length)
	return []judge.Fault{{At: loaded.Field, Move: -1, Inputs: []*spec.Field{x.Field, at.Field},
		Message: fmt.Sprintf("loaded length %s is too short: from the fixed end to the near side of the nut at the far end of the stroke it is %s", have, want)}}
}
