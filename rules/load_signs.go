package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

var loadSigns = judge.Rule{
	Name:     "load-signs",
	Question: "Are helping forces and empty moves intended?",
	Doc: `Three things that are sometimes right and more often a mistake:

- a negative thrust: it helps the move and relieves screw and motor. Do not rely on a force that
  does not always act;
- a move of a lifting axis without payload, where another move has one. An empty return is
  common; a forgotten line looks the same. payload = "0 kg" says that it is empty;
- drive_at = "start" or "end" on a vertical axis, copied from a horizontal one, and "bottom" or
  "top" on a horizontal one. Start is the bottom, end is the top: say so.

Waive the rule where a force helps for certain.`,
	Source:   "common practice, no source",
	Severity: judge.Note,
	Check: func(v *judge.View) (out []judge.Fault) {
		thrust, load := judge.Field("motion.move.thrust"), judge.Field("motion.move.payload")
		laden := -1
		for i, mv := range v.Axis.Moves {
			if x := v.MoveValue(mv, thrust); x != nil && x.Num.Nominal < 0 {
				out = append(out, judge.Fault{At: thrust, Move: i, Message: fmt.Sprintf("thrust %s helps move %s and relieves screw and motor: is the sign correct, and does the force always act?", v.Text(x), mv.Name)})
			}
			if x := v.MoveValue(mv, load); x != nil && x.Num.High > 0 {
				laden = i
			}
		}
		up := v.V(m.Incline) > 0
		for i, mv := range v.Axis.Moves {
			if x := v.MoveValue(mv, load); up && laden >= 0 && (x == nil || !declaredIn(v, i)) {
				out = append(out, judge.Fault{At: judge.Field("motion.move.distance"), Move: i,
					Message: fmt.Sprintf("move %s has no payload, but move %s carries %s: declare payload = \"%s\" if it travels empty", mv.Name, v.Axis.Moves[laden].Name, v.Text(v.MoveValue(v.Axis.Moves[laden], load)), v.Show(0, unit.Mass))})
			}
		}
		at := v.Value(judge.Field("supports.drive_at"))
		if at == nil {
			return out
		}
		words := map[string]string{"start": "bottom", "end": "top"}
		if !up {
			words = map[string]string{"bottom": "start", "top": "end"}
		}
		if w := words[at.Text]; w != "" && v.Calc.Known(m.Incline) {
			stands := "a lifting axis"
			if !up {
				stands = "a horizontal axis"
			}
			out = append(out, judge.Fault{At: at.Field, Move: -1, Message: fmt.Sprintf("drive_at %q does not suit %s: declare %q", at.Text, stands, w),
				Fixes: []judge.Draft{judge.Change(fmt.Sprintf("drive_at %q", w), "supports.drive_at", w)}})
		}
		return out
	},
}

// declaredIn reports whether a move says what it carries.
func declaredIn(v *judge.View, move int) bool {
	x := v.DeclaredFor(m.MovePayload, move)
	return x != nil && x.Origin == 0
}
