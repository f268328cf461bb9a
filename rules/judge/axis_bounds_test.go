package judge

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
)

// Rules that do not apply, right at where they begin to.
func TestWhereRulesBegin(t *testing.T) {
	hanging := []string{"orientation", `"vertical"`, "supports.drive_at", `"top"`, "motion.move.thrust", "", "load.friction", "0", "load.drag", "", "motion.emergency_deceleration", ""}
	for _, x := range []struct {
		rule  string
		lines []string
		state State
		why   string
	}{
		// Hung from a fixed end at the top nothing pushes; half a newton does.
		{"buckling", hanging, NotApplicable, "the shaft is never in compression"},
		{"buckling", append(slices.Clone(hanging), "load.standstill", `"-0.5 N"`), Passed, ""},
		{"buckling", append(slices.Clone(hanging), "supports.drive_at", `"bottom"`, "load.mass", `"0.05 kg"`), Passed, ""},
		{"hardness", nil, NotApplicable, "no hardness is declared; 58 HRC is taken"},
		{"hardness", []string{"screw.hardness", "56"}, Passed, ""},
		{"hardness", []string{"screw.hardness", "55.9"}, Failed, ""},
		{"preload-range", []string{"nut.preload", `"0 N"`}, NotApplicable, "the nut is not preloaded"},
		{"preload-range", []string{"nut.preload", "", "nut.backlash", `"0.02 mm"`}, NotApplicable, "backlash of the nut is declared, and no preload"},
		{"preload-range", []string{"nut.preload", ""}, Unjudged, ""},
		{"preload-range", []string{"nut.backlash", `"0.02 mm"`}, Passed, ""}, // contradiction speaks of it
		// What just balances does not move by itself; what pulls with half a newton does.
		{"holding-brake", []string{"orientation", `"vertical"`, "load.friction", "0", "load.drag", "", "load.mass", `"10 kg"`, "load.counterbalance", `"98.0665 N"`, "load.counterbalance_cannot_fail", `"two ropes"`}, NotApplicable, "counterbalance and guide friction hold it"},
		{"holding-brake", []string{"orientation", `"vertical"`, "load.friction", "0", "load.drag", "", "load.mass", `"0.05 kg"`}, Failed, ""},
		{"side-load", []string{"load.side_force", `"0 N"`}, Passed, ""},
		{"side-load", []string{"load.side_force", `"0.5 N"`}, Failed, ""},
		{"shared-load", []string{"load.screws", "2", "drive.screws", "2", "load.unevenness", "2"}, Passed, ""},
		{"shared-load", []string{"load.screws", "2", "drive.screws", "2", "load.unevenness", "2.01"}, Failed, ""},
		{"lubricant-environment", []string{"environment.min_temperature", `"-20 °C"`, "environment.max_temperature", `"108 °C"`}, Passed, ""},
		{"lubricant-environment", []string{"environment.min_temperature", `"-20.1 °C"`}, Failed, ""},
		{"lubricant-environment", []string{"environment.max_temperature", `"108.1 °C"`}, Failed, ""},
		// The two ways may both be a millimetre longer: the cycle closes at its middle.
		{"cycle-closes", []string{"motion.move.distance", `"720 mm ± 1 mm"`}, Failed, ""},
	} {
		s := testaxis.WholeSheet().With(x.lines...)
		r := judge(s, Options{}).results[x.rule]
		if r.State != x.state || r.Why != x.why && r.State == NotApplicable {
			t.Errorf("%s with %q is %s, %q; expected %s, %q", x.rule, x.lines, r.State, r.Why, x.state, x.why)
		}
	}
	s := testaxis.WholeSheet()
	s.Set("motion.move.distance", 0, `"720 mm ± 1 mm"`)
	s.Set("motion.move.distance", 1, `"-720 mm ± 1 mm"`)
	if r := judge(s, Options{}).results["cycle-closes"]; r.State != Passed {
		t.Errorf("a cycle that closes at its middle is %s", r.State)
	}
}

// Each is about the line that governs, and says what could be done.
func TestFaultsOfAnAxis(t *testing.T) {
	for _, x := range []struct {
		rule  string
		lines []string
		cause string
		ways  []string
		words string
	}{
		{"flange-orientation", []string{"nut.flange_toward", `"supported"`}, "nut.flange_toward", []string{"flange toward the fixed end", "a flange_reason that says why not"}, ""},
		{"flange-orientation", []string{"nut.flange_toward", `"free"`}, "nut.flange_toward", nil, "face the free end, but the ends are fixed and supported"},
		{"grease-access", []string{"nut.grease_port", "false"}, "nut.grease_port", []string{"a nut with grease port", "along_shaft declared under lubrication"}, ""},
		{"nut-transfer", []string{"nut.comes_off", "true"}, "nut.comes_off", []string{"a transfer sleeve"}, ""},
		{"side-load", []string{"load.side_force", `"5 N"`}, "load.side_force", nil, "5 N"},
		{"side-load", []string{"load.side_moment", `"5 N m"`}, "load.side_moment", nil, "5 N m"},
		{"grade-process", []string{"screw.grade", `"C3"`, "screw.process", `"rolled"`}, "screw.grade", []string{"a ground shaft"}, ""}, // C7 would miss the accuracy,
		{"contamination", []string{"environment.wash_down", "true", "screw.corrosion_proof", "true", "nut.corrosion_proof", "true", "screw.cover", `"bellows"`}, "supports.drive_end_part", nil, "support.s1 is not declared sealed"},
		{"contradiction", []string{"incline", `"5 deg"`}, "orientation", nil, "declare the same thing twice"},
		{"contradiction", []string{"load.counterbalance", `"20 N"`}, "load.counterbalance", nil, "no weight to counterbalance"},
	} {
		found := judge(testaxis.WholeSheet().With(x.lines...), Options{}).of(x.rule)
		if len(found) != 1 {
			t.Errorf("%s with %q: %d findings", x.rule, x.lines, len(found))
			continue
		}
		if f := found[0]; f.Cause != x.cause || !slices.Equal(ways(testaxis.WholeSheet().With(x.lines...), x.rule), x.ways) || !strings.Contains(f.Message, x.words) {
			t.Errorf("%s with %q: about %s, %q, fixes %q", x.rule, x.lines, f.Cause, f.Message, ways(testaxis.WholeSheet().With(x.lines...), x.rule))
		}
	}
}

// Values of one part are the part's own affair; a value of the axis against one
// of a part is the axis's, and stands at the line of the axis.
func TestContradictionWithAPart(t *testing.T) {
	for _, x := range []struct {
		part, axis string
		cause      string // empty for none
	}{
		{"nominal_diameter = \"16 mm\"\n  root_diameter = \"17 mm\"", "", ""},
		{"nominal_diameter = \"16 mm\"", "root_diameter = \"17 mm\"", "screw.root_diameter"},
		{"root_diameter = \"17 mm\"", "nominal_diameter = \"16 mm\"", "screw.nominal_diameter"},
		{"", "nominal_diameter = \"16 mm\"\n    root_diameter = \"17 mm\"", "screw.root_diameter"},
		{"", "root_diameter = \"17 mm\"\n    nominal_diameter = \"16 mm\"", "screw.root_diameter"},
	} {
		// The parts file stands before the axis in one tree and behind it in the other.
		for _, parts := range []string{"a.parts.hcl", "z.parts.hcl"} {
			o := run(testaxis.Memory("m.axis.hcl", "axis \"a\" {\n  screw {\n    part = screw.p\n    "+x.axis+"\n  }\n}\n", parts, "screw \"p\" {\n  "+x.part+"\n}\n"), Options{}, "m.axis.hcl")
			found := slices.DeleteFunc(ofRule(o.Findings, "part-contradiction"), func(f Finding) bool { return f.Axis == "" })
			if len(found) > 1 || (len(found) == 1) != (x.cause != "") || len(found) == 1 && found[0].Cause != x.cause {
				t.Errorf("part %q, axis %q: %+v", x.part, x.axis, found)
			}
		}
	}
}

// 1 m/s on a lead of 12 mm are 5000 rpm. Of min-lead and motor-speed the one that
// requires more speaks, the other only where that one is off or less serious; one
// fault gives one finding, whatever the tolerances.
func TestReserveOfSpeed(t *testing.T) {
	minLead := func(says string) string { return "rule \"min-lead\" {\n  " + says + "\n  reason = \"r\"\n}\n" }
	motorSpeed := func(says string) string { return "rule \"motor-speed\" {\n  " + says + "\n  reason = \"r\"\n}\n" }
	const reserve = `limit = "90 %"`
	s := testaxis.WholeSheet().With("screw.lead", `"12 mm"`, "motion.move.speed", `"1 m/s"`)
	for _, x := range []struct {
		motor, policy  string
		lead, speed    State
		found, message string
	}{
		{"5000 rpm", "", Passed, NotApplicable, "", ""},
		{"4000 rpm", "", Failed, NotApplicable, "min-lead", "lead 12 mm needs 5000 rpm for 1 m/s; motor maximum 4000 rpm; minimum lead 15 mm"},
		{"5000.00000001 rpm", "", Passed, NotApplicable, "", ""},
		{"4999.999999999 rpm", "", Passed, NotApplicable, "", ""}, // but for rounding
		{"5000 rpm", motorSpeed(reserve), NotApplicable, Failed, "motor-speed", "motor speed 5000 rpm exceeds 90 % of the motor maximum 5000 rpm"},
		{"4000 rpm", motorSpeed(reserve), NotApplicable, Failed, "motor-speed", ""},
		{"5556 rpm", motorSpeed(reserve), NotApplicable, Passed, "", ""},
		{"5000 rpm", minLead("limit = 1.25"), Failed, NotApplicable, "min-lead", "lead 12 mm needs 5000 rpm for 1 m/s; motor maximum 5000 rpm; minimum lead 15 mm, 1.25 times the 12 mm it takes"},
		{"5000 rpm", minLead("limit = 1.25") + motorSpeed(`limit = "80 %"`), Failed, NotApplicable, "min-lead", ""},
		{"5000 rpm", minLead("limit = 1.25") + motorSpeed(`limit = "79 %"`), NotApplicable, Failed, "motor-speed", ""},
		{"4000 rpm", minLead(`severity = "off"`), Disabled, Failed, "motor-speed", "motor speed 5000 rpm exceeds the motor maximum 4000 rpm"},
		{"4000 rpm", motorSpeed(`severity = "off"`), Failed, Disabled, "min-lead", ""},
		{"5000 rpm ± 1 %", motorSpeed(reserve), NotApplicable, Failed, "motor-speed", ""},
		{"5000 rpm ± 1 %", "", Failed, NotApplicable, "min-lead", ""},
		{"4000 rpm", minLead(`severity = "note"`), Failed, Failed, "motor-speed", ""}, // the error is not lost
		{"4000 rpm", motorSpeed("severity = \"note\"\n  " + reserve), Failed, Failed, "min-lead", ""},
	} {
		got := judge(s.With("motor.max_speed", `"`+x.motor+`"`), Options{}, "p.policy.hcl", x.policy)
		if got.results["min-lead"].State != x.lead || got.results["motor-speed"].State != x.speed {
			t.Errorf("%s, %s: min-lead %v, motor-speed %v; expected %v, %v", x.motor, x.policy, got.results["min-lead"].State, got.results["motor-speed"].State, x.lead, x.speed)
		}
		if x.found != "" {
			wantFinding(t, got.findings, x.found, x.message)
		}
	}
}

// The more heavily loaded flank: 30 kg stand on one flank with 294 N on both ways, the
// thrust of one move works the other flank.
func TestHarderWorkedFlank(t *testing.T) {
	s := testaxis.WholeSheet().With("nut.preload", "", "nut.backlash", `"0.02 mm"`, "orientation", `"vertical"`, "duty.service_life", `"500 years"`, "load.mass", `"100 kg"`, "load.drag", "", "load.friction", "0",
		"screw.dynamic_rating", `"3 kN"`)
	s.Set("motion.move.thrust", 0, "")
	s.Set("motion.move.thrust", 1, "")
	f := wantFinding(t, judge(s, Options{}).findings, "life-margin", "more heavily loaded flank")
	if f == nil {
		return
	}
	// The weight alone is 100 kg · 9.80665 m/s²; the ramps add to it on one way
	// and take from it on the other, which as a cubic mean is a little more. The load factor is 1.2.
	var mean float64
	_, after, _ := strings.Cut(f.Message, "with load factor, ")
	if _, err := fmt.Sscanf(after, "%g N", &mean); err != nil || mean < 1.2*980 || mean > 1.2*1020 {
		t.Errorf("%s: %g N", f.Message, mean)
	}
}

// A shaft at 45° can be turned round as one that stands.
func TestTurnedRound(t *testing.T) {
	s := testaxis.WholeSheet().With("orientation", "", "incline", `"45 deg"`, "supports.drive_at", `"bottom"`, "load.mass", `"3000 kg"`, "motion.move.thrust", "", "motion.emergency_deceleration", "")
	if got := ways(s, "buckling"); !offers(got, "drive end at the top") {
		t.Errorf("%q", got)
	}
}

// With a ratio the motor turns faster than the screw, and less torque is left at
// its speed: the harder phase is the fast one, though the slow one takes more.
func TestHardestPhaseWithRatio(t *testing.T) {
	s := testaxis.WholeSheet().With("drive.ratio", "3", "motor.max_speed", `"9000 rpm"`, "motor.rated_speed", `"3000 rpm"`, "motor.peak_torque", `"2 N m"`, "motor.torque_at_max_speed", `"0.05 N m"`, "motion.move.thrust", "")
	s.Set("motion.move.speed", 0, `"0.1 m/s"`)
	s.Set("motion.move.thrust", 0, `"1500 N"`)
	s.Set("motion.move.speed", 1, `"0.48 m/s"`)
	f := wantFinding(t, judge(s, Options{}).findings, "motor-peak-torque", "of move back")
	if f != nil && f.Cause != "motion.move.ramp[back]" {
		t.Errorf("it is about %s", f.Cause)
	}
}

// A line of a move that governs may be the move's acceleration, or nothing but
// its speed.
func TestHardestLine(t *testing.T) {
	for lines, want := range map[string]string{
		"ramp": "motion.move.ramp[out]", "ramp_up ramp_down": "motion.move.ramp_up[out]", "acceleration": "motion.move.acceleration[out]",
	} {
		s := testaxis.WholeSheet().With("motor.peak_torque", `"0.1 N m"`, "motion.move.ramp", "")
		for _, l := range strings.Fields(lines) {
			text := `"0.15 s"`
			if l == "acceleration" {
				text = `"2.667 m/s2"`
			}
			s.Set("motion.move."+l, -1, text)
		}
		if f := wantFinding(t, judge(s, Options{}).findings, "motor-peak-torque", "of move out"); f != nil && f.Cause != want {
			t.Errorf("%s: it is about %s", lines, f.Cause)
		}
	}
}

// Percentages are written with a percent sign for readers of inches too.
func TestPercentInInches(t *testing.T) {
	if got := (&View{Sys: 1, sysKnown: true}).Percent(0.125); got != "12.5 %" {
		t.Errorf("%q", got)
	}
}

// What a part says is evaluated for the part; of an axis only what it says itself.
func TestPreferredSizeOfPart(t *testing.T) {
	for _, x := range []struct {
		axis  string
		state State
	}{
		{"", NotApplicable}, {"lead = \"10 mm\"", Passed}, {"lead = \"11 mm\"", Failed}, {"nominal_diameter = \"20 mm\"\n    lead = \"10 mm\"", Passed},
	} {
		o := run(testaxis.Memory("m.axis.hcl", "axis \"a\" {\n  screw {\n    part = screw.p\n    "+x.axis+"\n  }\n}\n", "p.parts.hcl", "screw \"p\" {\n  nominal_diameter = \"20 mm\"\n  lead = \"12 mm\"\n}\n"), Options{}, "m.axis.hcl")
		if r := o.reports["a"].results["preferred-size"]; r.State != x.state || r.State == NotApplicable && r.Why != "the axis declares no screw values of its own; the part is judged" {
			t.Errorf("with %q: %s, %s", x.axis, r.State, r.Why)
		}
	}
}

// What is given takes part; what would stand for it, were it not given, does not.
func TestFirstKnownEnters(t *testing.T) {
	for _, x := range []struct {
		lines, want, not []string
	}{
		{nil, []string{"nominal diameter", "process", "recirculation"}, []string{"ball circle diameter", "dn limit"}},
		{[]string{"screw.ball_circle_diameter", `"20.8 mm"`, "screw.dn_limit", "70000"}, []string{"ball circle diameter", "dn limit"}, []string{"nominal diameter", "process", "recirculation"}},
	} {
		f := wantFinding(t, judge(testaxis.WholeSheet().With(append(x.lines, "motion.move.speed", `"1.2 m/s"`, "motor.max_speed", `"9000 rpm"`)...), Options{}).findings, "ball-speed")
		if f == nil {
			continue
		}
		has := func(words string) bool {
			return slices.ContainsFunc(f.inputs(), func(s string) bool { return strings.HasPrefix(s, words+" ") })
		}
		for _, w := range x.want {
			if !has(w) {
				t.Errorf("with %q: no %s in %q", x.lines, w, f.inputs())
			}
		}
		for _, w := range x.not {
			if has(w) {
				t.Errorf("with %q: %s in %q", x.lines, w, f.inputs())
			}
		}
	}
}
