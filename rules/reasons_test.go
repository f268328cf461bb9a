package rules

import (
	"fmt"
	"testing"
)

// reasonCases holds, for each reason why a rule's question does not arise, an axis
// for which it is true, and one near it for which it is not: there the question
// arises. A rule with tests of their own reasons is named with the limit's name.
var reasonCases = []struct {
	rule, words string
	yes, no     []string // lines of the whole sheet that are changed
	waiver      string   // that is added to the case where the reason is not true
}{
	{rule: "accuracy-budget", words: "no positioning is asked", yes: lines("accuracy.positioning", ""), no: lines("accuracy.positioning", `"1 mm"`)},
	{rule: "thermal-growth", words: "no positioning is asked", yes: lines("accuracy.positioning", ""), no: lines("accuracy.positioning", `"1 mm"`)},
	{rule: "stiffness bandwidth", words: "no bandwidth is asked", yes: nil, no: lines("accuracy.bandwidth", `"1 Hz"`)},
	{rule: "repeatability", words: "no repeatability is asked", yes: lines("accuracy.repeatability", ""), no: lines("accuracy.repeatability", `"1 mm"`)},
	{rule: "repeatability", words: "positions are approached from one side only", yes: lines("accuracy.approach", `"one-side"`), no: lines("accuracy.approach", `"both-sides"`)},
	{rule: "buckling", words: "the shaft is never pushed",
		yes: lines("orientation", `"vertical"`, "supports.drive_at", `"top"`, "motion.move.thrust", "", "load.friction", "0", "load.drag", "", "motion.emergency_deceleration", ""),
		no:  lines("orientation", `"vertical"`, "supports.drive_at", `"bottom"`, "motion.move.thrust", "", "load.friction", "0", "load.drag", "", "motion.emergency_deceleration", "")},
	{rule: "carried-mass", words: "no whole moved mass is declared; the sum counts", yes: nil, no: lines("load.moved_mass", `"31 kg"`)},
	{rule: "coupling-torque", words: "no coupling is declared: the motor drives by a belt or gear",
		yes: lines("drive.coupling", "", "drive.ratio", "2"), no: lines("drive.coupling", "", "drive.ratio", "1")},
	{rule: "critical-speed", words: "the nut turns and the shaft stands still", yes: lines("screw.turning", `"nut"`), no: lines("screw.turning", `"shaft"`)},
	{rule: "support-life life", words: "the nut turns and the shaft stands still", yes: lines("screw.turning", `"nut"`), no: lines("screw.turning", `"shaft"`)},
	{rule: "support-life", words: "no end is fixed (see support-kind)", yes: lines("supports.drive_end", `"supported"`), no: lines("supports.drive_end", `"fixed"`)},
	{rule: "flange-orientation", words: "both ends are fixed", yes: lines("supports.far_end", `"fixed"`), no: lines("supports.far_end", `"free"`)},
	{rule: "flange-orientation", words: "no end is fixed", yes: lines("supports.drive_end", `"supported"`), no: lines("supports.drive_end", `"supported"`, "supports.far_end", `"fixed"`)},
	{rule: "grease-access", words: "it is stated how the nut is greased along the shaft", yes: lines("lubrication.along_shaft", `"by brush"`), no: lines("lubrication.along_shaft", `""`)},
	{rule: "grease-access", words: "the screw runs on a dry film", yes: lines("grease.thickener", `"dry-film"`), no: lines("grease.thickener", `"ptfe"`)},
	{rule: "regrease-interval", words: "the screw runs on a dry film", yes: lines("grease.thickener", `"dry-film"`), no: lines("grease.thickener", `"ptfe"`)},
	{rule: "hardness", words: "no hardness is declared; 58 HRC is counted", yes: nil, no: lines("screw.hardness", "58")},
	{rule: "motor-speed limit", words: "min-lead asks the same and is not met", yes: lines("screw.lead", `"5 mm"`), no: nil},
	{rule: "nut-transfer", words: "nothing says that the nut comes off", yes: lines("nut.comes_off", "false"), no: lines("nut.comes_off", "true")},
	{rule: "preferred-size", words: "the screw is measured in inches", yes: lines("screw.lead", `"0.5 in"`), no: lines("screw.lead", `"12.7 mm"`)},
	{rule: "preferred-size", words: "its part is asked",
		yes: lines("screw.nominal_diameter", "", "screw.lead", "", "screw.part", "screw.k2010"),
		no:  lines("screw.nominal_diameter", "", "screw.part", "screw.k2010")},
	{rule: "preload-range", words: "the nut is not preloaded", yes: lines("nut.preload", `"0 N"`), no: lines("nut.preload", `"1 N"`)},
	{rule: "preload-range", words: "the play of the nut is declared, and no preload", yes: lines("nut.preload", "", "nut.backlash", `"20 um"`), no: lines("nut.backlash", `"20 um"`)},
	{rule: "preload-range contact", words: "no accuracy is asked",
		yes: lines("accuracy.positioning", "", "accuracy.repeatability", ""), no: lines("accuracy.positioning", "")},
	{rule: "shaft-length longest", words: "no longest shaft is given", yes: nil, no: lines("screw.longest", `"2 m"`)},
	{rule: "shared-load", words: "one screw moves the carriage", yes: lines("load.screws", "1"), no: lines("load.screws", "2")},
	{rule: "holding-brake", words: "the axis is horizontal", yes: nil, no: lines("orientation", "", "incline", `"1 deg"`, "load.friction", "0", "load.drag", "")},
	{rule: "holding-brake", words: "the thread holds by itself",
		yes: lines("orientation", `"vertical"`, "screw.friction", "0.2"), no: lines("orientation", `"vertical"`, "screw.friction", "0.1")},
	{rule: "holding-brake", words: "guide friction holds it",
		yes: lines("orientation", "", "incline", `"5 deg"`, "load.friction", "0.1"), no: lines("orientation", "", "incline", `"7 deg"`, "load.friction", "0.05")},
	{rule: "holding-brake", words: "counterbalance and guide friction hold it",
		yes: lines("orientation", `"vertical"`, "load.counterbalance", `"294 N"`), no: lines("orientation", `"vertical"`, "load.counterbalance", `"200 N"`)},
	{rule: "waiver-expired", words: "no waiver is declared", yes: nil, waiver: "hardness"},
	{rule: "waiver-unneeded", words: "no waiver is declared", yes: nil, waiver: "hardness"},
}

// reasonParts is a parts file besides those of the sheet.
var reasonParts = []string{"parts/k.parts.hcl", "screw \"k2010\" {\n  nominal_diameter = \"20 mm\"\n  lead = \"10 mm\"\n}\n"}

func lines(pairs ...string) []string { return pairs }

// TestReasons: every reason of every rule stands in the cases, is given where it is
// true, and is not given where it is not: then the question arises.
func TestReasons(t *testing.T) {
	t.Parallel()
	open := map[string]bool{}
	for _, r := range All() {
		note := func(name string, reasons []Reason, applies func(*View) string) {
			if (applies != nil) != (len(reasons) > 0) {
				t.Errorf("%s: what makes it idle is not what its reasons list", name)
			}
			for _, x := range reasons {
				open[name+": "+x.Words] = true
			}
		}
		note(r.Name, r.Reasons, r.Applies)
		for i := range r.Tests {
			x := &r.Tests[i]
			note(r.Name+" "+x.Limit.Name, x.Reasons, x.Applies)
		}
	}
	for _, x := range reasonCases {
		applies := appliesOf(x.rule)
		if applies == nil {
			t.Errorf("there are no reasons of %s", x.rule)
			continue
		}
		delete(open, x.rule+": "+x.words)
		yes := wholeSheet().with(x.yes...)
		_, _, v := yes.load(t, reasonParts...)
		if why := applies(v); why != x.words {
			t.Errorf("%s with %q: %q; expected %q", x.rule, x.yes, why, x.words)
		}
		no := wholeSheet().with(x.no...)
		if x.waiver != "" {
			no.more = fmt.Sprintf("  waive %q {\n    reason = \"tried\"\n    until  = \"2030-01-01\"\n  }\n", x.waiver)
		}
		_, _, v = no.load(t, reasonParts...)
		if why := applies(v); why != "" {
			t.Errorf("%s with %q: %q; there it is not true", x.rule, x.no, why)
		}
	}
	for name := range open {
		t.Errorf("no case for %s", name)
	}
}

// appliesOf finds what is asked before a rule, or before its test of a limit.
func appliesOf(name string) func(*View) string {
	for _, r := range All() {
		if r.Name == name {
			return r.Applies
		}
		for i := range r.Tests {
			if x := &r.Tests[i]; r.Name+" "+x.Limit.Name == name {
				return x.Applies
			}
		}
	}
	return nil
}
