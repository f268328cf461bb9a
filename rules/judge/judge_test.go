package judge

import (
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trammel/rules/judge/testaxis"
	"trammel/spec"
	"trammel/spec/amount"
)

var kebab = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

// Every rule says what it asks, why and where from, and its tests have all
// their words.
func TestRegistry(t *testing.T) {
	if len(Book().All()) < 30 {
		t.Fatalf("only %d rules", len(Book().All()))
	}
	for i, r := range Book().All() {
		if i > 0 && Book().All()[i-1].Name >= r.Name {
			t.Errorf("%s is out of order", r.Name)
		}
		if r.Index != i || Book().ByName(r.Name) != r {
			t.Errorf("%s is not found under its name", r.Name)
		}
		if !kebab.MatchString(r.Name) {
			t.Errorf("%q is not kebab-case", r.Name)
		}
		if !strings.HasSuffix(r.Question, "?") || r.Doc == "" || r.Source == "" {
			t.Errorf("%s lacks question, doc or source", r.Name)
		}
		names := map[string]bool{"severity": true, "reason": true}
		for _, l := range r.Limits {
			if names[l.Name] || l.Doc == "" || !(l.Default > 0) || l.By != nil || !r.OfParts() && r.Check == nil && r.Waiver == nil {
				t.Errorf("%s: limit %+v", r.Name, l)
			}
			names[l.Name] = true
		}
		for k := range r.Tests {
			x := &r.Tests[k]
			if x.At == nil || x.Say == nil || x.Value == nil || x.Limit.Name == "" || x.Limit.Doc == "" {
				t.Errorf("%s: test %d lacks something", r.Name, k)
			}
			if x.Limit.By == nil != (x.Limit.Spread == "") {
				t.Errorf("%s: %s: a default by axis and its spread in words go together", r.Name, x.Limit.Name)
			}
			for _, l := range []*Limit{&x.Limit, x.Advice} {
				if l == nil {
					continue
				}
				if names[l.Name] {
					t.Errorf("%s: the name %s stands for two things", r.Name, l.Name)
				}
				names[l.Name] = true
				if !(l.Default > 0) {
					t.Errorf("%s: %s has no default", r.Name, l.Name)
				}
			}
			if x.Value.Shape != 0 || x.Against != nil && x.Against.Shape != 0 {
				t.Errorf("%s: compares series", r.Name)
			}
			for _, l := range x.Parameters {
				if strings.Contains(l.Words, "%s") == (len(l.Leaf.Words) > 0) {
					t.Errorf("%s: the words %q do not suit the lever", r.Name, l.Words)
				}
			}
		}
	}
	for name := range TextRules() {
		if Book().ByName(name) != nil {
			t.Errorf("%s is a rule and a check of the language", name)
		}
	}
}

// Everything of the whole sheet is judged, and holds.
func TestWholeSheet(t *testing.T) {
	s := testaxis.WholeSheet()
	o := run(s.Files(), Options{Fixes: true})
	wantNone(t, o.Findings)
	for name, r := range o.reports["cross"].results {
		if r.State == Unjudged || r.State == Failed {
			t.Errorf("%s: %s: %s %v", name, r.State, r.Why, r.Missing)
		}
	}
}

func readable(t *rapid.T, s *testaxis.Sheet, words, about string) {
	if m := testaxis.Bad.FindString(words); m != "" || strings.TrimSpace(words) == "" {
		t.Fatalf("%s: %q in %q\n%s", about, m, words, s)
	}
}

// Findings, fixes and reasons of random axes are readable words with finite
// numbers; and so is what a test would say if it failed.
func TestWords(t *testing.T) {
	testaxis.Check(t, amount.Of(60, 20), func(rt *rapid.T) {
		s := testaxis.DrawSheet(rt)
		v := judge(s, Options{Fixes: true})
		for _, f := range v.findings {
			readable(rt, s, f.Message, f.Rule)
			for _, fix := range f.Fixes {
				w := fix.Words
				readable(rt, s, w, f.Rule+" way")
			}
			for _, e := range f.Inputs {
				readable(rt, s, e.Words, f.Rule+" entry")
				if e.Place.Valid() && e.Place == f.Place {
					rt.Fatalf("%s: the marked line takes part too: %s\n%s", f.Rule, e.Words, s)
				}
			}
			if !f.Place.Valid() || f.Place.File != testaxis.SheetFile {
				rt.Fatalf("%s stands at %v", f.Rule, f.Place)
			}
		}
		for name, r := range v.results {
			if r.State == NotApplicable || r.State == Unjudged {
				if len(r.Missing) == 0 {
					readable(rt, s, r.Why, name+" why")
				}
			} else if r.Why != "" {
				rt.Fatalf("%s is %s and says why it is not judged: %s", name, r.State, r.Why)
			}
		}
		_, _, view := load(s, rt)
		view.Units()
		for _, r := range Book().All() {
			for i := range r.Tests {
				x := &r.Tests[i]
				if !view.knows(x) || r.Applies != nil && r.Applies(view) != "" || x.Applies != nil && x.Applies(view) != "" {
					continue
				}
				limit, _, ok := view.limit(r, &x.Limit)
				if !ok {
					continue
				}
				if u := x.utilisation(view.Calc, limit); u <= 1e-6 || math.IsInf(u, 0) {
					continue // far from the limit: nothing is ever said
				}
				readable(rt, s, x.Say(view, limit), r.Name)
			}
		}
	})
}

// Nothing passes that was not judged: taking one line out of a complete axis
// never makes more rules judged, and never makes a rule pass that failed but
// where the docs say what counts without the line.
func TestRemoveLine(t *testing.T) {
	try := func(fatal func(string, ...any), s *testaxis.Sheet) {
		before := judge(s, Options{}).states()
		for _, l := range s.All() {
			path, move := l[0].(string), l[1].(int)
			less := s.Copy()
			less.Set(path, move, "")
			v := judge(less, Options{})
			if v == nil {
				fatal("without %s the axis is not judged at all", path)
			}
			f := Field(path)
			for rule, is := range v.states() {
				was := before[rule]
				if rule == "magnitude" {
					continue // it asks about the line itself, or about another beside it
				}
				if (is == Passed || is == Failed) && was == Unjudged && f.Default == "" && !slices.Contains(withdrawn[path], rule) || is == Passed && was == Failed && f.Default == "" && f.Sort != spec.Flag && !slices.Contains(withdrawn[path], rule) {
					fatal("without %s %s goes from %s to %s\n%s", path, rule, was, is, s)
				}
			}
		}
	}
	try(t.Fatalf, testaxis.WholeSheet())
	testaxis.Check(t, amount.Of(8, 2), func(rt *rapid.T) { try(rt.Fatalf, testaxis.DrawSheet(rt)) })
}

// withdrawn are, by line, the rules that may pass once the line is gone: what is
// not declared then counts as not there, or as what its part allows.
var withdrawn = map[string][]string{
	"motion.emergency_deceleration": {"buckling", "static-safety", "shaft-stress", "support-life", "coupling-torque"}, // no stop is counted; static-safety says so
	// Where thrust is none nothing is held but what is declared.
	"motion.move.hold":          {"motor-standstill", "motor-rms-torque", "motor-peak-torque", "holding-brake", "static-safety", "buckling", "shaft-stress", "support-life", "preload-range"},
	"motion.end_speed":          {"end-stop"}, // only the push counts
	"motion.stop_by":            {"static-safety", "buckling", "shaft-stress", "support-life", "coupling-torque"},
	"load.counterbalance_by":    {"counterbalance"},
	"supports.drive_end_part":   {"support-kind", "contamination"},
	"supports.far_end_part":     {"support-kind", "contamination"},
	"drive_support.kind":        {"support-kind"},
	"far_support.kind":          {"support-kind"},
	"drive.coupling":            {"inertia-ratio", "emergency-stop", "overtravel", "coupling-torque", "shaft-stress", "motor-peak-torque", "motor-rms-torque", "motor-speed"},
	"coupling.inertia":          {"inertia-ratio", "emergency-stop", "overtravel", "shaft-stress", "motor-peak-torque", "motor-rms-torque", "coupling-torque"},
	"motor.max_speed":           {"motor-peak-torque", "emergency-stop", "overtravel"}, // the peak torque holds at every speed where there is no line
	"motor.rated_speed":         {"motor-peak-torque", "emergency-stop", "overtravel"},
	"motor.torque_at_max_speed": {"motor-peak-torque", "emergency-stop", "overtravel"},
	"supports.drive_at":         {"buckling"}, // both fixed, say: then it does not matter
	"nut.backlash":              {"repeatability", "accuracy-budget"},
	// Thermal growth between two fixed ends counts where it can be computed.
	"accuracy.temperature_rise": {"support-life"},
	"screw.root_diameter":       {"support-life"},
	"supports.span":             {"support-life", "contradiction"},
	"supports.loaded_length":    {"contradiction", "travel-room", "end-stop"}, // the span counts
	"nut.preload":               {"contradiction"},
}
