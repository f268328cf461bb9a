package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var nutFits = judge.Rule{
	Name:     "nut-fits",
	Question: "Does the nut fit this screw?",
	Doc: `A nut runs on a screw of its own diameter, lead, starts and balls. Which screw a
nut belongs to follows from its part: the screw named in fits, or the screw of the nut's own
name, or a size in its name or description, as in "r32x20c". If the axis has another screw,
diameter, lead, starts and ball diameter must be the same, as far as both are given.

The loaded turns must fit into the nut: turns · lead / starts must not exceed its length.

A nut whose part gives no size is not judged here.`,
	Source:   "elementary geometry",
	Severity: judge.Error,
	Reasons: []judge.Reason{{Words: "the nut is not a part, and no loaded turns are declared", If: func(v *judge.View) bool {
		return v.Value(judge.Field("nut.part")) == nil && v.Value(judge.Field("screw.loaded_turns")) == nil
	}}},
	Check: func(v *judge.View) []judge.Fault { return append(otherScrew(v), turnsInNut(v)...) },
}

// otherScrew finds a nut made for another screw.
func otherScrew(v *judge.View) []judge.Fault {
	ref := v.Value(judge.Field("nut.part"))
	if ref == nil || ref.Part == nil {
		return nil
	}
	nut := ref.Part
	fault := func(format string, args ...any) []judge.Fault {
		return []judge.Fault{{At: ref.Field, Move: -1, Message: fmt.Sprintf(format, args...), Inputs: judge.Fields("screw.part", "screw.nominal_diameter", "screw.lead")}}
	}
	name := nut.Name
	if x := nut.Get("fits"); x != nil && !x.Bad {
		name = x.Text
	}
	meant := v.Axis.Folder.Part("screw", name)
	screw := v.Value(judge.Field("screw.part"))
	if meant != nil && (screw == nil || screw.Part != meant) {
		for _, of := range []string{"nominal_diameter", "lead", "starts", "ball_diameter"} {
			theirs, ours := meant.Get(of), v.Value(judge.Field("screw."+of))
			if theirs == nil || theirs.Bad || ours == nil || math.Abs(theirs.Num.Nominal-ours.Num.Nominal) <= 0.005*ours.Num.Nominal {
				continue
			}
			return fault("%s is for %s with %s %s; this screw has %s", nut.Ref(), meant.Ref(), judge.Readable(of), theirs.Text, v.Text(ours))
		}
		return nil
	}
	if meant == nil && name != nut.Name && screw != nil && screw.Part != nil && screw.Part.Name != name {
		return fault("%s is for screw %s; the axis has %s", nut.Ref(), name, screw.Part.Ref())
	}
	d, lead := v.Value(judge.Field("screw.nominal_diameter")), v.Value(judge.Field("screw.lead"))
	if meant != nil || d == nil || lead == nil {
		return nil
	}
	for _, text := range partTexts(nut) {
		if said, ok := statedSize(text, d.Num.Nominal, lead.Num.Nominal, text == nut.Name); !ok {
			return fault("%s is named or described as %s; the screw is %s × %s", nut.Ref(), said, v.Text(d), v.Text(lead))
		}
	}
	return nil
}

// turnsInNut finds a nut that is shorter than its loaded turns.
func turnsInNut(v *judge.View) []judge.Fault {
	turns, length := v.Value(judge.Field("screw.loaded_turns")), v.Value(judge.Field("nut.length"))
	lead := v.V(m.Lead)
	if turns == nil || length == nil || lead != lead {
		return nil
	}
	starts := 1.0
	if x := v.Value(judge.Field("screw.starts")); x != nil {
		starts = x.Num.Nominal
	}
	need := turns.Num.Low * lead / starts
	if !judge.Above(need, length.Num.High) {
		return nil
	}
	have, least := v.Apart(length.Num.High, need, unit.Length)
	return []judge.Fault{{At: length.Field, Move: -1, Inputs: []*spec.Field{turns.Field, judge.Field("screw.lead"), judge.Field("screw.starts")},
		Compared: judge.Compared{Value: length.Num.High, Limit: need, Kind: unit.Length, Sense: judge.AtLeast},
		Message:  fmt.Sprintf("nut length %s is too short for %s loaded turns of lead %s: they need %s", have, turns.Text, v.F(m.Lead), least)}}
}
