package judge

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge/testaxis"
)

// reasonCase holds, for each reason why a rule's question does not arise, an axis
// for which it is true, and one near it for which it is not: there the question
// arises. A rule with tests of their own reasons is named with the limit's name.
type reasonCase struct {
	rule, words string
	yes, no     []string // lines of the whole sheet that are changed
	waiver      string   // that is added to the case where the reason is not true
	with, not   []string // files, by name and text, besides those of the sheet
}

var reasonCases = []reasonCase{
	{rule: "accuracy-budget", words: "no positioning is required", yes: lines("accuracy.positioning", ""), no: lines("accuracy.positioning", `"1 mm"`)},
	{rule: "thermal-growth", words: "no positioning is required", yes: lines("accuracy.positioning", ""), no: lines("accuracy.positioning", `"1 mm"`)},
	{rule: "stiffness bandwidth", words: "no bandwidth is required", yes: nil, no: lines("accuracy.bandwidth", `"1 Hz"`)},
	{rule: "repeatability", words: "no repeatability is required", yes: lines("accuracy.repeatability", ""), no: lines("accuracy.repeatability", `"1 mm"`)},
	{rule: "thermal-growth", words: "the position loop reads a linear scale", yes: lines("accuracy.scale", `"5 um"`), no: nil},
	{rule: "buckling", words: "the shaft is never in compression",
		yes: lines("orientation", `"vertical"`, "supports.drive_at", `"top"`, "motion.move.thrust", "", "load.friction", "0", "load.drag", "", "motion.emergency_deceleration", ""),
		no:  lines("orientation", `"vertical"`, "supports.drive_at", `"bottom"`, "motion.move.thrust", "", "load.friction", "0", "load.drag", "", "motion.emergency_deceleration", "")},
	{rule: "carried-mass", words: "no total moved mass is declared; the sum is used", yes: nil, no: lines("load.moved_mass", `"31 kg"`)},
	{rule: "coupling-torque", words: "no coupling is declared: the motor drives by a belt or gear",
		yes: lines("drive.coupling", "", "drive.ratio", "2"), no: lines("drive.coupling", "", "drive.ratio", "1")},
	{rule: "critical-speed", words: "the nut turns and the shaft does not", yes: lines("screw.turning", `"nut"`), no: lines("screw.turning", `"shaft"`)},
	{rule: "support-life life", words: "the nut turns and the shaft does not", yes: lines("screw.turning", `"nut"`), no: lines("screw.turning", `"shaft"`)},
	{rule: "support-life", words: "no end is fixed (see support-kind)", yes: lines("supports.drive_end", `"supported"`), no: lines("supports.drive_end", `"fixed"`)},
	{rule: "flange-orientation", words: "both ends are fixed", yes: lines("supports.far_end", `"fixed"`), no: lines("supports.far_end", `"free"`)},
	{rule: "flange-orientation", words: "no end is fixed", yes: lines("supports.drive_end", `"supported"`), no: lines("supports.drive_end", `"supported"`, "supports.far_end", `"fixed"`)},
	{rule: "grease-access", words: "greasing along the shaft is declared", yes: lines("lubrication.along_shaft", `"by brush"`), no: lines("lubrication.along_shaft", `""`)},
	{rule: "grease-access", words: "the screw runs on a dry film", yes: lines("grease.thickener", `"dry-film"`), no: lines("grease.thickener", `"ptfe"`)},
	{rule: "regrease-interval", words: "the screw runs on a dry film", yes: lines("grease.thickener", `"dry-film"`), no: lines("grease.thickener", `"ptfe"`)},
	{rule: "hardness", words: "no hardness is declared; 58 HRC is taken", yes: nil, no: lines("screw.hardness", "58")},
	{rule: "stretch", words: "the shaft is mounted without stretch", no: lines("supports.stretch", `"10 um"`)},
	{rule: "journal-strength far_yield", words: "the far end takes no thrust", no: lines("supports.far_end", `"fixed"`)},
	{rule: "journal-strength far_fatigue", words: "the far end takes no thrust", no: lines("supports.far_end", `"fixed"`)},
	{rule: "safety-nut", words: "the axis is horizontal", no: lines("orientation", `"vertical"`)},
	{rule: "temperature-rise", words: "no temperature rise is declared", yes: lines("accuracy.temperature_rise", ""), no: lines("accuracy.rise_measured", "")},
	{rule: "temperature-rise", words: "the temperature rise was measured", yes: lines("accuracy.rise_measured", "true"), no: lines("accuracy.rise_measured", "")},
	{rule: "standing-shaft", words: "the shaft turns", no: lines("screw.turning", `"nut"`)},
	{rule: "buckling-ends", words: "no end condition is declared for buckling", yes: nil, no: lines("supports.buckling_ends", `"fixed-fixed"`)},
	{rule: "shaft-sag", words: "the nut turns", yes: lines("screw.turning", `"nut"`), no: nil},
	{rule: "nut-bearing", words: "the shaft turns", no: lines("screw.turning", `"nut"`)},
	{rule: "motor-speed", words: "min-lead requires at least as much of the motor", not: reserve(90)},
	{rule: "min-lead", words: "motor-speed requires more of the motor", with: reserve(90)},
	{rule: "nut-transfer", words: "the nut is not declared to come off the shaft", yes: lines("nut.comes_off", "false"), no: lines("nut.comes_off", "true")},
	{rule: "preferred-size", words: "the screw is declared in inches", yes: lines("screw.lead", `"0.5 in"`), no: lines("screw.lead", `"12.7 mm"`)},
	{rule: "preload-range", words: "the nut is not preloaded", yes: lines("nut.preload", `"0 N"`), no: lines("nut.preload", `"1 N"`)},
	{rule: "preload-range", words: "backlash of the nut is declared, and no preload", yes: lines("nut.preload", "", "nut.backlash", `"20 um"`), no: lines("nut.backlash", `"20 um"`)},
	{rule: "preload-range contact", words: "no accuracy is required",
		yes: lines("accuracy.positioning", "", "accuracy.repeatability", ""), no: lines("accuracy.positioning", "")},
	{rule: "shaft-length longest", words: "no maximum length is declared", yes: nil, no: lines("screw.longest", `"2 m"`)},
	{rule: "shared-load", words: "one screw moves the carriage", yes: lines("load.screws", "1"), no: lines("load.screws", "2")},
	{rule: "holding-brake", words: "the axis is horizontal and no force acts at rest", yes: nil, no: lines("load.standstill", `"9 kN"`)},
	{rule: "holding-brake", words: "the axis is horizontal and no force acts at rest", yes: nil, no: lines("orientation", "", "incline", `"1 deg"`, "load.friction", "0", "load.drag", "")},
	{rule: "holding-brake", words: "the thread is self-locking",
		yes: lines("orientation", `"vertical"`, "screw.friction", "0.2"), no: lines("orientation", `"vertical"`, "screw.friction", "0.1")},
	{rule: "holding-brake", words: "guide friction holds it",
		yes: lines("orientation", "", "incline", `"5 deg"`, "load.friction", "0.1"), no: lines("orientation", "", "incline", `"7 deg"`, "load.friction", "0.05")},
	{rule: "holding-brake", words: "counterbalance and guide friction hold it",
		yes: lines("orientation", `"vertical"`, "load.counterbalance", `"294 N"`, "load.counterbalance_by", `"spring"`, "load.counterbalance_cannot_fail", `"many springs"`),
		no:  lines("orientation", `"vertical"`, "load.counterbalance", `"294 N"`, "load.counterbalance_by", `"spring"`)},
	{rule: "counterbalance", words: "there is no counterbalance", yes: nil, no: lines("orientation", `"vertical"`, "load.counterbalance", `"200 N"`)},
	{rule: "counterbalance rope", words: "the counterbalance is not a weight",
		yes: lines("orientation", `"vertical"`, "load.counterbalance", `"200 N"`, "load.counterbalance_by", `"spring"`),
		no:  lines("orientation", `"vertical"`, "load.counterbalance", `"200 N"`, "load.counterbalance_by", `"weight"`)},
	{rule: "motor-standstill rated", words: "no rest under load lasts a second", yes: lines("motion.move.dwell", ""), no: lines("load.standstill", `"1 N"`)},
	{rule: "motor-standstill lost", words: "no counterbalance can be lost",
		yes: lines("orientation", `"vertical"`, "load.counterbalance", `"200 N"`, "load.counterbalance_by", `"spring"`, "load.counterbalance_cannot_fail", `"many springs"`),
		no:  lines("orientation", `"vertical"`, "load.counterbalance", `"200 N"`, "load.counterbalance_by", `"spring"`)},
	{rule: "overtravel declared", words: "the deceleration that can be reached is known", yes: nil, no: lines("motor.peak_torque", "")},
	{rule: "end-stop bearing", words: "no end is fixed (see support-kind)", yes: lines("supports.drive_end", `"supported"`), no: lines("supports.drive_end", `"fixed"`)},
	{rule: "counterbalance-weight", words: "no counterbalance is declared",
		yes: lines("orientation", `"vertical"`), no: lines("orientation", `"vertical"`, "load.counterbalance", `"200 N"`)},
	{rule: "counterbalance-weight", words: "a horizontal axis has no weight along it (see contradiction)",
		yes: lines("load.counterbalance", `"200 N"`), no: lines("load.counterbalance", `"200 N"`, "orientation", "", "incline", `"1 deg"`)},
	{rule: "gear-ratio", words: "no value of a belt or gear is declared", yes: nil, no: lines("drive.gear_inertia", `"0.1 kg cm2"`)},
	{rule: "life-basis", words: "no service life is declared", yes: lines("duty.service_life", ""), no: lines("duty.service_life", `"20000 h"`)},
	{rule: "life-basis", words: "the service life is written in days, months or years",
		yes: lines("duty.service_life", `"60 months"`), no: lines("duty.service_life", `"20000 h"`)},
	{rule: "nut-fits", words: "the nut is not a part, and no loaded turns are declared", yes: nil, no: lines("screw.loaded_turns", "3")},
	{rule: "part-overruled", words: "neither screw nor nut refers to a part", yes: nil, no: lines("screw.part", "screw.g20x10")},
	{rule: "shock-factor", words: "the axis declares no load factor of its own", yes: lines("duty.shock", ""), no: lines("duty.shock", "", "duty.load_factor", "1.1"),
		with: shocks, not: shocks},
	{rule: "shock-factor", words: "its machine declares no shock", yes: lines("duty.shock", "", "duty.load_factor", "1.1"), no: lines("duty.shock", "", "duty.load_factor", "1.1"), not: shocks},
	{rule: "shock-factor", words: "the axis declares its own shock", yes: lines("duty.load_factor", "1.1"), no: lines("duty.shock", "", "duty.load_factor", "1.1"),
		with: shocks, not: shocks},
	{rule: "standing-force", words: "no force at rest is declared, neither load.standstill nor hold of a move", yes: lines("load.standstill", `"0 N"`), no: lines("load.standstill", `"1 N"`)},
	{rule: "gear-rating", words: "no belt or gear is declared", yes: nil, no: lines("drive.ratio", "1.2", "drive.gear_torque", `"20 N m"`)},
	{rule: "worn-preload", words: "no repeatability is required", yes: lines("accuracy.repeatability", ""), no: nil},
	{rule: "worn-preload", words: "positions are approached from one side", yes: lines("accuracy.approach", `"one-side"`, "accuracy.scatter", `"1 um"`), no: lines("accuracy.approach", `"both-sides"`)},
	{rule: "worn-preload", words: "the nut has no preload", yes: lines("nut.preload", `"0 N"`, "nut.backlash", `"1 um"`), no: nil},
	{rule: "cross-shaft", words: "one screw moves the carriage", yes: nil, no: lines("load.screws", "2", "load.unevenness", "1.3", "drive.screws", "2", "drive.cross_torque", `"9 N m"`)},
	{rule: "cross-shaft", words: "each screw has a motor of its own", yes: lines("load.screws", "2", "load.unevenness", "1.3", "drive.screws", "1"), no: lines("load.screws", "2", "load.unevenness", "1.3", "drive.screws", "2", "drive.cross_torque", `"9 N m"`)},
	{rule: "commissioning-day", words: "no commissioning date is declared", yes: lines("duty.commissioned", ""), no: lines("duty.commissioned", `"2020-04-01"`)},
	{rule: "temperature-range", words: "no temperature rise is declared", yes: lines("accuracy.temperature_rise", ""), no: nil},
	{rule: "temperature-range", words: "no environment is declared", yes: lines("environment", ""), no: nil},
	{rule: "temperature-range", words: "no positioning is required, and one end lets the shaft grow",
		yes: lines("accuracy.positioning", ""), no: lines("accuracy.positioning", "", "supports.far_end", `"fixed"`)},
	{rule: "travel-room loaded", words: "no loaded length is declared; the span is used", yes: nil, no: lines("supports.loaded_length", `"400 mm"`)},
	{rule: "travel-room loaded", words: "both ends take thrust and the loaded length reaches to the middle of the travel",
		yes: lines("supports.loaded_length", `"400 mm"`, "supports.far_end", `"fixed"`), no: lines("supports.loaded_length", `"370 mm"`, "supports.far_end", `"fixed"`)},
	{rule: "brake-behind-belt", words: "motor and screw are coupled directly", yes: lines("orientation", `"vertical"`), no: lines("orientation", `"vertical"`, "drive.ratio", "2")},
	{rule: "brake-behind-belt", words: "the axis is horizontal and no force acts at rest", yes: lines("drive.ratio", "2"), no: lines("drive.ratio", "2", "orientation", `"vertical"`)},
	{rule: "brake-behind-belt", words: "the thread is self-locking",
		yes: lines("drive.ratio", "2", "orientation", `"vertical"`, "screw.friction", "0.2"), no: lines("drive.ratio", "2", "orientation", `"vertical"`, "screw.friction", "0.1")},
	{rule: "brake-behind-belt", words: "guide friction holds it",
		yes: lines("drive.ratio", "2", "orientation", "", "incline", `"5 deg"`, "load.friction", "0.1"), no: lines("drive.ratio", "2", "orientation", "", "incline", `"7 deg"`, "load.friction", "0.05")},
	{rule: "brake-behind-belt", words: "counterbalance and guide friction hold it",
		yes: lines("drive.ratio", "2", "orientation", `"vertical"`, "load.counterbalance", `"294 N"`, "load.counterbalance_by", `"spring"`, "load.counterbalance_cannot_fail", `"many springs"`),
		no:  lines("drive.ratio", "2", "orientation", `"vertical"`, "load.counterbalance", `"200 N"`, "load.counterbalance_by", `"spring"`, "load.counterbalance_cannot_fail", `"many springs"`)},
	{rule: "coupling-service", words: "no coupling is declared: the motor drives by a belt or gear",
		yes: lines("drive.coupling", "", "drive.ratio", "2"), no: lines("drive.coupling", "", "drive.ratio", "1")},
	{rule: "coupling-service service", words: "the peak torque exceeds the coupling's rating (see coupling-torque)",
		yes: lines("motion.move.thrust", `"200 kN"`), no: nil},
	{rule: "part-speed drive_support", words: "no support of the driven end is named, or the shaft stands still", yes: lines("supports.drive_end_part", ""), no: lines("screw.turning", `"shaft"`)},
	{rule: "part-speed far_support", words: "no support of the far end is named, or the shaft stands still", yes: lines("screw.turning", `"nut"`), no: lines("supports.far_end_part", "support.s1")},
	{rule: "part-speed coupling", words: "no coupling is named", yes: lines("drive.coupling", ""), no: nil},
	{rule: "regrease-interval", words: "the nut gets hotter than the grease is rated for (see lubricant-environment)",
		yes: lines("environment.max_temperature", `"200 °C"`, "grease.max_temperature", `"110 °C"`), no: lines("environment.max_temperature", `"40 °C"`, "grease.max_temperature", `"110 °C"`)},
	{rule: "regrease-interval interval", words: "the distance between two greasings is exceeded by more", yes: lines("lubrication.regrease_every", `"7 months"`, "duty.hours_per_day", "24", "duty.days_per_year", "360"), no: lines("lubrication.regrease_every", `"7 months"`, "duty.hours_per_day", "1")},
	{rule: "regrease-interval distance", words: "the time between two greasings is exceeded by more", yes: lines("lubrication.regrease_every", `"4 years"`, "duty.hours_per_day", "1"), no: lines("lubrication.regrease_every", `"1 week"`)},
	{rule: "regrease-interval turns", words: "interval or distance is too long already", yes: lines("lubrication.regrease_every", `"4 years"`), no: lines("lubrication.regrease_every", `"1 week"`)},
	{rule: "short-stroke turns", words: "the whole cycle is shorter than the nut", yes: lines("nut.length", `"19 m"`), no: nil},
	{rule: "waiver-expired", words: "no waiver is declared", yes: nil, waiver: "hardness"},
	{rule: "waiver-term", words: "no waiver is declared", yes: nil, waiver: "hardness"},
	{rule: "waiver-unneeded", words: "no waiver is declared", yes: nil, waiver: "hardness"},
}

// reasonParts is a parts file besides those of the sheet.
var reasonParts = []string{"parts/k.parts.hcl", "screw \"g20x10\" {\n  nominal_diameter = \"20 mm\"\n  lead = \"10 mm\"\n}\n"}

// reserve is a policy that asks for a reserve of motor speed.
func reserve(limit float64) []string {
	return []string{"line/r.policy.hcl", fmt.Sprintf("rule \"motor-speed\" {\n  limit = \"%g %%\"\n  reason = \"tried\"\n}\n", limit)}
}

// shocks is a machine whose loads come on with shocks.
var shocks = []string{"line/machine.axis.hcl", "machine \"press\" {\n  duty {\n    shock = \"shocks\"\n  }\n}\n"}

// ofScrew are the cases of rules that are evaluated for a screw: it is the axis's own, and
// has all that is compared but one value.
func ofScrew() (out []reasonCase) {
	full := lines("screw.ball_diameter", `"3.1 mm"`, "screw.loaded_turns", "3")
	bare := lines("screw.part", "screw.g20x10")
	for path := range testaxis.WholeSheet().Lines {
		if strings.HasPrefix(path, "screw.") {
			bare = append(bare, path, "")
		}
	}
	for _, r := range Book().All() {
		if len(r.Given) == 0 && r.Name != "part-contradiction" {
			continue
		}
		out = append(out, reasonCase{rule: r.Name, words: "the axis declares no screw values of its own; the part is judged", yes: bare, no: full})
		for _, name := range r.Given {
			out = append(out, reasonCase{rule: r.Name, words: "nothing to compare: no " + Readable(name) + " declared for the screw",
				yes: append(slices.Clone(full), "screw."+name, ""), no: full})
		}
	}
	return out
}

func lines(pairs ...string) []string { return pairs }

// inFixture reports whether the fixture of a rule shows an axis for which a reason is
// true, beside the one it finds something about.
func inFixture(t *testing.T, rule, reason string) bool {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("../../fixtures/rules", rule, "*.axis.hcl"))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		src, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(src), fmt.Sprintf("# expect: not-applicable %q", reason)) {
			return true
		}
	}
	return false
}

// TestReasons: every reason of every rule stands in the cases, is given where it is
// true, and is not given where it is not: then the question arises. A rule whose fixture
// shows an axis for which a reason is true needs no case here.
func TestReasons(t *testing.T) {
	t.Parallel()
	open := map[string]bool{}
	cases := append(reasonCases, ofScrew()...)
	for _, r := range Book().All() {
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
	for _, x := range cases {
		applies := appliesOf(x.rule)
		if applies == nil {
			t.Errorf("there are no reasons of %s", x.rule)
			continue
		}
		delete(open, x.rule+": "+x.words)
		yes := testaxis.WholeSheet().With(x.yes...)
		_, _, v := load(yes, t, append(x.with, reasonParts...)...)
		if why := applies(v); why != x.words {
			t.Errorf("%s with %q: %q; expected %q", x.rule, x.yes, why, x.words)
		}
		no := testaxis.WholeSheet().With(x.no...)
		if x.waiver != "" {
			no.More = fmt.Sprintf("  waive %q {\n    reason = \"tried\"\n    until  = \"2030-01-01\"\n  }\n", x.waiver)
		}
		_, _, v = load(no, t, append(x.not, reasonParts...)...)
		if why := applies(v); why != "" {
			t.Errorf("%s with %q: %q; there it is not true", x.rule, x.no, why)
		}
	}
	for name := range open {
		if rule, reason, _ := strings.Cut(name, ": "); inFixture(t, rule, reason) {
			continue
		}
		t.Errorf("no case for %s; show an axis for which it is true in the rule's fixture, marked # expect: not-applicable", name)
	}
}

// appliesOf finds what is evaluated before a rule, or before its test of a limit.
func appliesOf(name string) func(*View) string {
	for _, r := range Book().All() {
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
