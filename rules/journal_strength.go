package rules

import (
	"fmt"
	"math"
	"strings"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var journalStrength = judge.Rule{
	Name:     "journal-strength",
	Question: "Do the shaft ends carry force and torque at each notch?",
	Doc: `Shaft ends are thinner than the root and have notches: a shoulder, often a keyway or a groove
for a retaining ring. Each notch is judged by itself. The driven end carries the peak torque of
all screws that its motor turns, the belt pull (drive.belt_pull at drive.belt_overhang) and, if
fixed, the peak axial force with that of stretch or heat; a fixed far end carries the axial force.

Yielding: all peak loads at once, with the full stress concentration. Fatigue: the range of
force and torque over the cycle, and the belt pull as rotating bending; distortion energy with
Goodman's line, for infinite life. Concentration factors are first estimates: sharp shoulder 2.7
bending, 2.2 torsion, 3.0 axial; shoulder rounded with a radius of a tenth of the diameter 1.7,
1.5, 1.9; end-milled keyway 2.14, 3.0; ring groove 5.0, 3.0, 5.0. Notch sensitivity 1: cautious.
The factors of the keyway apply to the full diameter and include its depth; end-steps warns where
it is deeper than usual.

Declare drive_journal.diameter, the smallest diameter of the end. Without it the smaller bore of
support and coupling is used. A declared seat, stub, lock nut thread (its core) or groove that
is thinner is judged too, at nominal values: each with its own notches, a stub without axial
force, since it is outboard of the thrust bearing. An undercut is not considered. An undeclared
keyway or groove is taken as absent, a shoulder as sharp. With a ratio and no coupling declare
the belt pull: "0 N" for a gear without side pull. A belt farther from its bearing than the driven
end is long is a warning.`,
	Source:   "Shigley's Mechanical Engineering Design, ch. 6, 7 and table 7-1 (from memory); 1.5: common practice, no source",
	Severity: judge.Error,
	Check: func(v *judge.View) []judge.Fault {
		var out []judge.Fault
		for _, pair := range [][2]string{{"drive_journal.diameter", "drive_support.bore"}, {"far_journal.diameter", "far_support.bore"}} {
			d, bore := v.Value(judge.Field(pair[0])), v.Value(judge.Field(pair[1]))
			if d != nil && bore != nil && judge.Above(d.Num.Low, bore.Num.High) {
				out = append(out, judge.Fault{At: d.Field, Move: -1, Inputs: judge.Fields(pair[1]), Compared: judge.Compared{Value: d.Num.Low, Limit: bore.Num.High, Kind: unit.Length, Sense: judge.AtMost},
					Message: fmt.Sprintf("smallest diameter %s exceeds the bore %s of its support: the end does not fit in", v.Text(d), v.Text(bore))})
			}
		}
		out = append(out, beltOffTheShaft(v)...)
		if !saysSteps(v) {
			return out
		}
		for i, e := range endsOf(v) {
			out = append(out, [2]*journalEnd{driven, farEnd}[i].thinSections(v, &e)...)
		}
		return out
	},
	Tests: []judge.Test{
		journalTest(driven, "yield", "safety of the driven end against yielding", m.DriveYield),
		journalTest(driven, "fatigue", "safety of the driven end against fatigue", m.DriveFatigue),
		journalTest(farEnd, "far_yield", "safety of the far end against yielding", m.FarYield),
		journalTest(farEnd, "far_fatigue", "safety of the far end against fatigue", m.FarFatigue),
	},
}

// beltOffTheShaft finds a belt that is declared to run beyond the end of the shaft it turns: the
// bearing it is measured from sits on that end.
func beltOffTheShaft(v *judge.View) []judge.Fault {
	overhang, ends := v.Value(judge.Field("drive.belt_overhang")), v.Value(judge.Field("screw.end_lengths"))
	if overhang == nil || ends == nil || v.V(m.Turning) == m.NutTurns || !judge.Above(overhang.Num.Low, ends.Ends[0].High) {
		return nil
	}
	is, most := v.Apart(overhang.Num.Low, ends.Ends[0].High, unit.Length)
	return []judge.Fault{{At: overhang.Field, Move: -1, Severity: judge.Warning, Inputs: judge.Fields("screw.end_lengths"),
		Compared: judge.Compared{Value: overhang.Num.Low, Limit: ends.Ends[0].High, Kind: unit.Length, Sense: judge.AtMost},
		Message:  fmt.Sprintf("belt runs %s from the nearest bearing, beyond the shaft: the driven end is %s long", is, most)}}
}

// A journalEnd is what differs between the two ends of a shaft.
type journalEnd struct {
	name                       string
	diameter, given, bore      *m.Quantity
	end, shoulder, keyed, ring *m.Quantity
	limit                      *m.Quantity
	inputs                     []*m.Quantity
	parameters                 []*judge.Parameter
}

var (
	driven = &journalEnd{
		name: "driven end", diameter: m.DriveJournal, given: m.DriveJournalGiven, bore: m.DriveSupportBore,
		end: m.DriveEnd, shoulder: m.DriveShoulder, keyed: m.DriveKeyway, ring: m.DriveGroove, limit: m.DriveEndurance,
		inputs:     quantities(m.DriveSupportBore, m.CouplingBore, m.DriveShoulder, m.DriveKeyway, m.DriveGroove, m.BeltPull, m.BeltOverhang, m.YieldStrength, m.TensileStrength),
		parameters: parameters(thickerDriven, widerDriven, roundedDriven, lessPull, lighter, lessPayload, gentler, longerRamp, lessThrust, lessStretch, cooler),
	}
	farEnd = &journalEnd{
		name: "far end", diameter: m.FarJournal, given: m.FarJournalGiven, bore: m.FarSupportBore,
		end: m.FarEnd, shoulder: m.FarShoulder, ring: m.FarGroove, limit: m.FarEndurance,
		inputs:     quantities(m.FarSupportBore, m.FarShoulder, m.FarGroove, m.YieldStrength, m.TensileStrength),
		parameters: parameters(thickerFar, widerFar, roundedFar, lighter, lessPayload, gentler, lessThrust, lessStretch, cooler),
	}

	thickerDriven = &judge.Parameter{Leaf: m.DriveJournalGiven, Words: "smallest diameter of the driven end ≥ %s", Up: true}
	thickerFar    = &judge.Parameter{Leaf: m.FarJournalGiven, Words: "smallest diameter of the far end ≥ %s", Up: true}
	widerDriven   = &judge.Parameter{Leaf: m.DriveSupportBore, Words: "bore of the support at the driven end ≥ %s", Up: true}
	widerFar      = &judge.Parameter{Leaf: m.FarSupportBore, Words: "bore of the support at the far end ≥ %s", Up: true}
	roundedDriven = &judge.Parameter{Leaf: m.DriveShoulder, Words: "shoulder of the driven end rounded", To: m.Rounded}
	roundedFar    = &judge.Parameter{Leaf: m.FarShoulder, Words: "shoulder of the far end rounded", To: m.Rounded}
	lessPull      = &judge.Parameter{Leaf: m.BeltPull, Words: "belt pull ≤ %s"}
)

func journalTest(e *journalEnd, limit, doc string, value *m.Quantity) judge.Test {
	fatigue := strings.HasSuffix(limit, "fatigue")
	t := judge.Test{
		Limit: judge.Limit{Name: limit, Doc: doc, Kind: unit.None, Sense: judge.AtLeast, Default: 1.5},
		Value: value,
		Needs: quantities(e.diameter, m.PeakForce, m.HeldForce),
		Say:   func(v *judge.View, limit float64) string { return e.say(v, fatigue, v.V(value), limit) },
		At: func(v *judge.View) (*spec.Field, int) {
			if f := judge.FieldOfLeaf[e.given.ID()]; v.Value(f) != nil {
				return f, -1
			}
			return judge.FieldOfLeaf[e.bore.ID()], -1
		},
		Inputs:     e.inputs,
		More:       strained,
		Parameters: e.parameters,
	}
	if e == farEnd {
		t.Reasons = []judge.Reason{{Words: "the far end takes no thrust", If: func(v *judge.View) bool { return v.V(m.FarEnd) > m.FixedEnd }}}
	}
	return t
}

// say words the safety of an end, its worst notch first and the others behind.
func (e *journalEnd) say(v *judge.View, fatigue bool, safety, limit float64) string {
	what, loads := "yield", []string{}
	if fatigue {
		what = "fatigue"
	}
	if v.V(e.end) == m.FixedEnd {
		loads = append(loads, "axial "+unit.Format(v.V(m.PeakForce)+v.V(m.HeldForce), unit.Force, v.Units()))
	}
	if e == driven {
		loads = append(loads, "torque "+unit.Format(v.V(m.PeakScrewTorque)*v.V(m.MotorScrews), unit.Torque, v.Units()))
		if v.V(m.BeltMoment) > 0 {
			loads = append(loads, "bending "+v.F(m.BeltMoment))
		}
	}
	from := ""
	if !v.Calc.Known(e.given) {
		from = " (from the bore)"
	}
	worst, others := e.notches(v, fatigue, safety)
	return fmt.Sprintf("%s %s%s: %s safety %s at the %s, minimum %s (%s)%s",
		e.name, v.F(e.diameter), from, what, v.Ratio(safety), worst, v.Ratio(limit), strings.Join(loads, ", "), others)
}

// notches names the worst notch of an end, and the others with their safety.
func (e *journalEnd) notches(v *judge.View, fatigue bool, safety float64) (worst, others string) {
	keyed := float64(m.NoNotch)
	if e.keyed != nil {
		keyed = v.V(e.keyed)
	}
	for _, n := range m.Notches(v.V(e.shoulder), keyed, v.V(e.ring)) {
		s := e.safetyAt(v, n.Notch, fatigue, v.V(e.diameter), true)
		if worst == "" && s <= safety*(1+judge.Slack) {
			worst = n.Name
			continue
		}
		others += fmt.Sprintf("; %s %s", n.Name, v.Ratio(s))
	}
	return worst, others
}

// safetyAt is the safety of an end at one notch of a section of diameter d that the axial
// force passes or not.
func (e *journalEnd) safetyAt(v *judge.View, n m.Notch, fatigue bool, d float64, pushed bool) float64 {
	axial, twist, bend := 0.0, 0.0, 0.0
	if pushed && v.V(e.end) == m.FixedEnd {
		axial = 1
	}
	if e == driven {
		twist, bend = v.V(m.MotorScrews), v.V(m.BeltMoment)
	}
	if !fatigue {
		return n.Yield(d, bend, twist*v.V(m.PeakScrewTorque), axial*(v.V(m.PeakForce)+v.V(m.HeldForce)), v.V(m.YieldStrength))
	}
	return n.Fatigue(d, m.Loads{
		BendingA: bend, TorqueA: twist * v.V(m.TorqueAmplitude), AxialA: axial * v.V(m.ForceAmplitude),
		TorqueM: twist * v.V(m.TorqueMiddle), AxialM: axial * (v.V(m.ForceMiddle) + v.V(m.HeldForce)),
	}, m.EnduranceLimit(v.V(m.TensileStrength), d, v.V(m.Reliability)), v.V(m.TensileStrength))
}

// A section is a declared part of an end that is thinner than what its strength is judged by.
type section struct {
	words   string
	at      *spec.Value
	d       float64
	pushed  bool // the axial force passes it
	notches []m.NamedNotch
}

// thin lists the sections of an end that are thinner than its judged diameter.
func (e *journalEnd) thin(v *judge.View, of *endOf) (out []section) {
	shoulder, keyed := m.Notches(v.V(e.shoulder), m.NoNotch, m.NoNotch), float64(m.NoNotch)
	if e.keyed != nil {
		keyed = v.V(e.keyed)
	}
	add := func(words string, at *spec.Value, d float64, pushed bool, notches []m.NamedNotch) {
		if judge.Above(v.V(e.diameter), d) {
			out = append(out, section{words, at, d, pushed, notches})
		}
	}
	seat, stub := &of.steps[1], &of.steps[3]
	add("seat", seat.diameter, seat.low, true, shoulder)
	add("core of the lock nut's thread", of.steps[2].diameter, of.core(), true, shoulder)
	if e == driven { // that of the far end carries nothing
		add("stub", stub.diameter, stub.low, false, m.Notches(v.V(e.shoulder), keyed, m.NoNotch))
	}
	if groove := of.value(v, "groove_diameter"); groove != nil {
		add("ring groove", groove, groove.Num.Low, true, []m.NamedNotch{{Name: "ring groove", Notch: m.RingGroove}})
	}
	return out
}

// thinSections judges the sections that are thinner than the diameter which the tests take.
func (e *journalEnd) thinSections(v *judge.View, of *endOf) (out []judge.Fault) {
	if e == farEnd && v.V(e.end) != m.FixedEnd {
		return nil
	}
	for _, s := range e.thin(v, of) {
		for _, name := range []string{"yield", "fatigue"} {
			worst, notch := math.Inf(1), ""
			for _, n := range s.notches {
				if x := e.safetyAt(v, n.Notch, name == "fatigue", s.d, s.pushed); x < worst {
					worst, notch = x, n.Name
				}
			}
			key := name
			if e == farEnd {
				key = "far_" + name
			}
			limit := v.CheckLimit("journal-strength", key)
			if !judge.Above(limit, worst) {
				continue
			}
			is, least := v.Apart(worst, limit, unit.None)
			out = append(out, judge.Fault{At: s.at.Field, Move: -1, Inputs: []*spec.Field{judge.FieldOfLeaf[e.given.ID()]}, Limit: key,
				Compared: judge.Compared{Value: worst, Limit: limit, Kind: unit.None, Sense: judge.AtLeast},
				Message:  fmt.Sprintf("%s, %s %s: %s safety %s at the %s, minimum %s", e.name, s.words, v.Show(s.d, unit.Length), name, is, notch, least)})
		}
	}
	return out
}
