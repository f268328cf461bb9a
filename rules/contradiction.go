package rules

import (
	"fmt"
	"strings"

	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
)

// Pairs of fields that say the same thing twice, or opposite things.
var (
	eitherAxis = [][2]string{
		{"orientation", "incline"},
		{"duty.shock", "duty.load_factor"},
	}
	eitherMove = [][2]string{
		{"motion.move.ramp", "motion.move.acceleration"},
		{"motion.move.ramp", "motion.move.deceleration"},
		{"motion.move.ramp_up", "motion.move.acceleration"},
		{"motion.move.ramp_down", "motion.move.deceleration"},
	}
)

var contradiction = judge.Rule{
	Name:     "contradiction",
	Question: "Do the declared values agree with each other?",
	Doc: `Some values contradict each other: a ramp time and an acceleration for the same
ramp, an orientation and an incline, a preload and a play, a span longer than the
shaft, a loaded length longer than the span, a repeatability wider than the positioning. The finding is at the later line
and names the earlier one. The rule does not guess which of the two was meant;
until it is fixed the ramp time, the incline and the load factor are
used.`,
	Source:   "elementary logic",
	Severity: judge.Error,
	Check: func(v *judge.View) []judge.Fault {
		var out []judge.Fault
		clash := func(x, y *spec.Value, move int, format string) {
			if x == nil || y == nil || x.Origin == spec.Default || y.Origin == spec.Default {
				return
			}
			if x.Origin != spec.Own && y.Origin != spec.Own {
				return
			}
			if spec.ComparePlaces(x.Place, y.Place) > 0 && x.Origin == spec.Own || y.Origin != spec.Own {
				x, y = y, x
			}
			name := func(x *spec.Value) string { return fmt.Sprintf("%s %s", judge.Readable(x.Field.Name), v.Text(x)) }
			out = append(out, judge.Fault{At: y.Field, Move: move,
				Message: fmt.Sprintf(format, name(y), fmt.Sprintf("%s (%s)", name(x), v.At(x.Place)))})
		}
		for _, p := range eitherAxis {
			clash(v.Value(judge.Field(p[0])), v.Value(judge.Field(p[1])), -1, "%s and %s declare the same thing twice; keep one")
		}
		for i, m := range v.Axis.Moves {
			for _, p := range eitherMove {
				clash(v.MoveValue(m, judge.Field(p[0])), v.MoveValue(m, judge.Field(p[1])), i, "%s and %s declare the same thing twice; keep one")
			}
		}
		pre, play := v.Value(judge.Field("nut.preload")), v.Value(judge.Field("nut.backlash"))
		if pre != nil && play != nil && pre.Num.High > 0 && play.Num.High > 0 {
			clash(pre, play, -1, "%s contradicts %s: a preloaded nut has no play")
		}
		longer := func(a, b string) {
			x, y := v.Value(judge.Field(a)), v.Value(judge.Field(b))
			if x != nil && y != nil && judge.Above(x.Num.Low, y.Num.High) {
				clash(x, y, -1, "%s contradicts %s: the "+judge.Readable(a[strings.LastIndexByte(a, '.')+1:])+" must not be longer")
			}
		}
		fine, coarse := v.Value(judge.Field("accuracy.repeatability")), v.Value(judge.Field("accuracy.positioning"))
		if fine != nil && coarse != nil && judge.Above(fine.Num.Low, coarse.Num.High) {
			clash(fine, coarse, -1, "%s contradicts %s: positioning cannot be better than repeatability")
		}
		longer("supports.span", "screw.length")
		longer("supports.loaded_length", "supports.span")
		if cb := v.Value(judge.Field("load.counterbalance")); cb != nil && cb.Num.High > 0 && cb.Origin != spec.Default {
			if theta, ok := v.Calc.Value(mechanics.Incline); ok && theta == 0 {
				out = append(out, judge.Fault{At: judge.Field("load.counterbalance"), Move: -1, Message: "a horizontal axis has no weight to counterbalance"})
			}
		}
		return out
	},
}
