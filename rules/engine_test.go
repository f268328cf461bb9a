package rules

import (
	"flag"
	"fmt"
	"maps"
	"math"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"pgregory.net/rapid"

	"trammel/spec"
	"trammel/spec/unit"
)

// someDay is the day on which the tests run.
var someDay = time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)

// check runs a property a given number of times, the same cases each time, so
// that a run of the tests tells of changes in the code only. -rapid.checks and
// -rapid.seed on the command line look further.
func check(t *testing.T, times int, property func(*rapid.T)) {
	t.Helper()
	if testing.Short() {
		times *= 5 // of which rapid takes a fifth again: what is asked of them takes all of them
	}
	given := onCommandLine()
	for name, value := range map[string]string{"rapid.checks": strconv.Itoa(times), "rapid.seed": "1", "rapid.nofailfile": "true", "rapid.shrinktime": "5s"} {
		if f := flag.Lookup(name); f != nil && !given[name] {
			old := f.Value.String()
			if err := flag.Set(name, value); err != nil {
				t.Fatal(err)
			}
			defer func() { _ = f.Value.Set(old) }()
		}
	}
	rapid.Check(t, property)
}

// onCommandLine names the flags somebody gave. It looks once: later the ones
// set here would seem given.
var onCommandLine = sync.OnceValue(func() map[string]bool {
	given := map[string]bool{}
	flag.Visit(func(f *flag.Flag) { given[f.Name] = true })
	return given
})

// A sheet is one declared axis with parts of its own, line by line, so that a
// test can change a line and judge again. Lines go by the path of the
// language and are written as they would be: `"38 kg"`. Lines of parts go
// under the role the part plays: "motor.max_speed".
type sheet struct {
	name  string
	lines map[string]string
	moves []*sheetMove
	more  string // further text of the axis block, such as waivers
}

type sheetMove struct {
	name  string
	lines map[string]string
}

// partsOf names, for each role, the part that stands in a sheet's parts file.
var partsOf = map[string]string{
	"motor": "motor.m1", "coupling": "coupling.c1", "grease": "grease.g1", "place": "place.p1",
	"drive_support": "support.s1", "far_support": "support.s2",
}

// wholeSheet is an axis on which every rule about one axis can be judged and
// nothing fails.
func wholeSheet() *sheet {
	return &sheet{
		name: "cross",
		lines: map[string]string{
			"orientation": `"horizontal"`, "environment": "place.p1",
			"load.mass": `"30 kg"`, "load.friction": "0.01", "load.drag": `"18 N"`, "load.side_force": `"0 N"`,
			"motion.stroke": `"720 mm"`, "motion.overtravel": `"15 mm"`, "motion.emergency_deceleration": `"8 m/s2"`, "motion.stop_by": `"motor"`, "motion.reaction_time": `"10 ms"`,
			"duty.hours_per_day": "8", "duty.days_per_year": "240", "duty.service_life": `"5 years"`, "duty.shock": `"smooth"`,
			"screw.nominal_diameter": `"20 mm"`, "screw.lead": `"10 mm"`, "screw.root_diameter": `"17.2 mm"`,
			"screw.dynamic_rating": `"12.4 kN"`, "screw.static_rating": `"21 kN"`, "screw.process": `"ground"`, "screw.recirculation": `"end-cap"`,
			"screw.length": `"980 mm"`, "screw.grade": `"C5"`, "screw.end_lengths": `["110 mm", "60 mm"]`, "screw.end_diameters": `["15 mm", "12 mm"]`,
			"nut.flange_toward": `"fixed"`, "nut.preload": `"400 N"`, "nut.length": `"50 mm"`, "nut.stiffness": `"310 N/um"`, "nut.grease_port": "true",
			"supports.drive_end": `"fixed"`, "supports.far_end": `"supported"`, "supports.span": `"800 mm"`,
			"supports.drive_end_part": "support.s1", "drive.motor": "motor.m1", "drive.coupling": "coupling.c1",
			"drive_support.kind": `"fixed"`, "drive_support.bore": `"15 mm"`, "drive_support.stiffness": `"180 N/um"`,
			"drive_support.dynamic_rating": `"21.9 kN"`, "drive_support.static_rating": `"26.6 kN"`,
			"motor.max_speed": `"4500 rpm"`, "motor.rated_torque": `"1.27 N m"`, "motor.peak_torque": `"3.8 N m"`, "motor.rated_speed": `"3000 rpm"`, "motor.torque_at_max_speed": `"2.4 N m"`, "motor.rotor_inertia": `"0.26 kg cm2"`,
			"coupling.rated_torque": `"9 N m"`, "coupling.inertia": `"0.12 kg cm2"`, "coupling.torsional_stiffness": `"6000 N m/rad"`,
			"grease.thickener": `"lithium"`, "grease.base_oil": `"mineral"`, "grease.min_temperature": `"-20 °C"`, "grease.max_temperature": `"110 °C"`,
			"place.min_temperature": `"5 °C"`, "place.max_temperature": `"40 °C"`,
			"accuracy.positioning": `"80 um"`, "accuracy.repeatability": `"10 um"`, "accuracy.force": `"none"`, "accuracy.temperature_rise": `"2 K"`, "accuracy.rise_measured": "true",
			"lubrication.grease": "grease.g1", "lubrication.regrease_every": `"2 months"`,
		},
		moves: []*sheetMove{
			{"out", map[string]string{"distance": `"720 mm"`, "speed": `"0.4 m/s"`, "ramp": `"0.15 s"`, "thrust": `"80 N"`, "hold": `"0 N"`, "dwell": `"0.9 s"`}},
			{"back", map[string]string{"distance": `"-720 mm"`, "speed": `"0.4 m/s"`, "ramp": `"0.15 s"`}},
		},
	}
}

func (s *sheet) copy() *sheet {
	o := *s
	o.lines = maps.Clone(s.lines)
	o.moves = nil
	for _, m := range s.moves {
		o.moves = append(o.moves, &sheetMove{m.name, maps.Clone(m.lines)})
	}
	return &o
}

// with is a copy with some lines set: path, text, path, text … An empty text
// takes the line out.
func (s *sheet) with(pairs ...string) *sheet {
	o := s.copy()
	for i := 0; i < len(pairs); i += 2 {
		o.set(pairs[i], -1, pairs[i+1])
	}
	return o
}

// line points at the lines a path of the language stands in.
func (s *sheet) line(path string, move int) (map[string]string, string) {
	if name, ok := strings.CutPrefix(path, "motion.move."); ok {
		return s.moves[move].lines, name
	}
	return s.lines, path
}

func (s *sheet) set(path string, move int, text string) {
	if move < 0 && strings.HasPrefix(path, "motion.move.") {
		for i := range s.moves {
			s.set(path, i, text)
		}
		return
	}
	at, key := s.line(path, move)
	if text == "" {
		delete(at, key)
		return
	}
	at[key] = text
}

func sortedLines(out *strings.Builder, indent string, lines map[string]string) {
	for _, k := range slices.Sorted(maps.Keys(lines)) {
		fmt.Fprintf(out, "%s%s = %s\n", indent, k, lines[k])
	}
}

// text is the axis file and the parts file of a sheet.
func (s *sheet) text() (axis, parts string) {
	blocks := map[string]map[string]string{}
	for path, text := range s.lines {
		block, name := "", path
		if i := strings.IndexByte(path, '.'); i >= 0 {
			block, name = path[:i], path[i+1:]
		}
		if blocks[block] == nil {
			blocks[block] = map[string]string{}
		}
		blocks[block][name] = text
	}
	if len(s.moves) > 0 && blocks["motion"] == nil {
		blocks["motion"] = map[string]string{}
	}
	var a, p strings.Builder
	fmt.Fprintf(&a, "axis %q {\n", s.name)
	for _, block := range slices.Sorted(maps.Keys(blocks)) {
		if ref := partsOf[block]; ref != "" {
			kind, name, _ := strings.Cut(ref, ".")
			fmt.Fprintf(&p, "%s %q {\n", kind, name)
			sortedLines(&p, "  ", blocks[block])
			p.WriteString("}\n")
			continue
		}
		if block == "" {
			sortedLines(&a, "  ", blocks[block])
			continue
		}
		fmt.Fprintf(&a, "  %s {\n", block)
		sortedLines(&a, "    ", blocks[block])
		if block == "motion" {
			for _, m := range s.moves {
				fmt.Fprintf(&a, "    move %q {\n", m.name)
				sortedLines(&a, "      ", m.lines)
				a.WriteString("    }\n")
			}
		}
		a.WriteString("  }\n")
	}
	// Parts that are referred to but have no lines left.
	for role, ref := range partsOf {
		if kind, name, _ := strings.Cut(ref, "."); blocks[role] == nil && strings.Contains(a.String(), ref) {
			fmt.Fprintf(&p, "%s %q {\n}\n", kind, name)
		}
	}
	a.WriteString(s.more + "}\n")
	return a.String(), p.String()
}

func (s *sheet) String() string {
	a, p := s.text()
	return a + p
}

const sheetFile = "line/cross.axis.hcl"

// files puts a sheet into a tree; further files go by pairs of name and text.
func (s *sheet) files(more ...string) fstest.MapFS {
	a, p := s.text()
	return memory(append([]string{sheetFile, a, "parts/all.parts.hcl", p}, more...)...)
}

func memory(pairs ...string) fstest.MapFS {
	fsys := fstest.MapFS{}
	for i := 0; i < len(pairs); i += 2 {
		fsys[pairs[i]] = &fstest.MapFile{Data: []byte(pairs[i+1])}
	}
	return fsys
}

// outcome is what came of a run, with what the summary leaves out.
type outcome struct {
	*Summary
	reports map[string]*verdict // by axis
}

type verdict struct {
	results  map[string]Result
	findings []Finding // with their tests, as far as they have any
	unlock   *Unlock
}

func (v *verdict) states() map[string]State {
	out := map[string]State{}
	for name, r := range v.results {
		out[name] = r.State
	}
	return out
}

// of lists an axis's findings of one rule.
func (v *verdict) of(rule string) []Finding {
	var out []Finding
	for _, f := range v.findings {
		if f.Rule == rule {
			out = append(out, f)
		}
	}
	return out
}

// run judges axis files of a tree in memory, all of them where none is named.
func run(fsys fstest.MapFS, opt Options, files ...string) *outcome {
	if len(files) == 0 {
		for name := range fsys {
			if strings.HasSuffix(name, spec.AxisSuffix) {
				files = append(files, name)
			}
		}
		sort.Strings(files)
	}
	if opt.Today.IsZero() {
		opt.Today = someDay
	}
	out := &outcome{reports: map[string]*verdict{}}
	if opt.Workers == 0 {
		opt.Workers = 1
	}
	if opt.Workers == 1 && opt.Each == nil {
		opt.Each = func(r *Report) {
			v := &verdict{results: map[string]Result{}, findings: slices.Clone(r.Findings), unlock: r.Unlock}
			for _, x := range r.Results {
				v.results[x.Rule] = x
			}
			out.reports[r.View.Axis.Name] = v
		}
	}
	out.Summary = Run(spec.NewTree(fsys), files, opt)
	return out
}

// judge judges a sheet alone.
func (s *sheet) judge(opt Options, more ...string) *verdict {
	o := run(s.files(more...), opt)
	return o.reports[s.name]
}

// load reads a sheet into a bench's memory, for tests that go below Run.
func (s *sheet) load(t interface{ Fatalf(string, ...any) }, more ...string) (*Judge, *Bench, *View) {
	tree := spec.NewTree(s.files(more...))
	file := tree.ReadAxes(sheetFile)
	if len(file.Problems) > 0 {
		t.Fatalf("%v\n%s", file.Problems, s)
	}
	a := file.Axes[0]
	j, b := NewJudge(someDay, false), NewBench()
	v := &View{Axis: a, Calc: b.calc, force: j.policies.of(a.Folder)}
	b.spreads = load(b.calc, a, unit.Quantity{}, nil)
	b.left = budget
	return j, b, v
}

// wantFinding reports a missing finding; every part of words must stand in its
// message, help included.
func wantFinding(t *testing.T, list []Finding, rule string, words ...string) *Finding {
	t.Helper()
	var close []string
	for i := range list {
		f := &list[i]
		if f.Rule != rule {
			continue
		}
		ok := true
		for _, w := range words {
			ok = ok && strings.Contains(f.Message, w)
		}
		if ok {
			return f
		}
		close = append(close, f.Message)
	}
	t.Errorf("no finding of %s with %q; of that rule there are %q among %d findings", rule, words, close, len(list))
	return nil
}

func wantNone(t *testing.T, list []Finding) {
	t.Helper()
	for _, f := range list {
		t.Errorf("unexpected: %s: %s: %s", f.Place, f.Rule, f.Message)
	}
}

// shown is everything a reader sees of a run, for comparing runs.
func (s *Summary) shown() string {
	var out strings.Builder
	fmt.Fprintf(&out, "%d axes %d judged %d not judged\n", s.Axes, s.Judged, s.Unjudged)
	for _, f := range s.Findings {
		fmt.Fprintf(&out, "%+v %s %s %s %s %q %+v %q %+v %v %v %s\n", f.Place, f.Severity, f.Rule, f.Machine, f.Axis, f.Message, f.Enters, f.Fixes, f.Related, f.Use, f.WaiverPlace, f.Cause)
	}
	for _, g := range s.Gaps {
		fmt.Fprintf(&out, "%+v\n", g)
	}
	for _, u := range s.Unlocks {
		fmt.Fprintf(&out, "%+v\n", u)
	}
	return out.String()
}

// A drawer makes random values that a person could have written.
type drawer struct{ *rapid.T }

// num draws one of n+1 evenly spaced numbers.
func (d drawer) num(label string, low, high float64, n int) float64 {
	return low + (high-low)*float64(rapid.IntRange(0, n).Draw(d.T, label))/float64(n)
}

func (d drawer) qty(label string, low, high float64, u string) string {
	return fmt.Sprintf(`"%.4g %s"`, d.num(label, low, high, 40), u)
}

func (d drawer) bare(label string, low, high float64) string {
	return fmt.Sprintf("%.3g", d.num(label, low, high, 40))
}

func (d drawer) oneOf(label string, words ...string) string {
	return strconv.Quote(rapid.SampledFrom(words).Draw(d.T, label))
}

func (d drawer) yes(label string) bool { return rapid.Bool().Draw(d.T, label) }

// drawSheet draws an axis that some of the rules may well fail: horizontal,
// inclined or lifting, one to four moves that come back to their start or not.
func drawSheet(t *rapid.T) *sheet {
	d := drawer{t}
	s := wholeSheet()
	for path, text := range map[string]string{
		"load.mass": d.qty("mass", 5, 200, "kg"), "load.friction": d.bare("friction", 0.002, 0.1), "load.drag": d.qty("drag", 0, 60, "N"),
		"motion.emergency_deceleration": d.qty("emergency", 2, 20, "m/s2"),
		"duty.hours_per_day":            d.bare("hours", 2, 24), "duty.shock": d.oneOf("shock", "smooth", "ordinary", "shocks"),
		"screw.lead":           fmt.Sprintf(`"%d mm"`, rapid.SampledFrom([]int{4, 5, 10, 16, 20}).Draw(t, "lead")),
		"screw.dynamic_rating": d.qty("Ca", 4, 30, "kN"), "screw.static_rating": d.qty("C0a", 6, 60, "kN"),
		"screw.grade":        d.oneOf("grade", "C3", "C5", "C7"),
		"supports.drive_end": d.oneOf("drive end", "fixed", "supported"), "supports.far_end": d.oneOf("far end", "fixed", "supported", "free"),
		"accuracy.positioning": d.qty("positioning", 20, 200, "um"), "accuracy.repeatability": d.qty("repeatability", 2, 30, "um"),
		"accuracy.temperature_rise":  d.qty("rise", 0, 8, "K"),
		"lubrication.regrease_every": d.qty("regrease", 1, 12, "months"),
		"motor.max_speed":            d.qty("motor speed", 2000, 6000, "rpm"), "motor.rated_torque": d.qty("torque", 0.5, 5, "N m"), "motor.peak_torque": d.qty("peak", 2, 15, "N m"),
		"drive.ratio": d.bare("ratio", 0.5, 3),
	} {
		s.set(path, -1, text)
	}
	if d.yes("weight") {
		s.set("orientation", -1, `"vertical"`)
		if d.yes("inclined") {
			s.set("orientation", -1, "")
			s.set("incline", -1, d.qty("incline", 2, 80, "deg"))
		}
		if d.yes("balanced") {
			s.set("load.counterbalance", -1, d.qty("counterbalance", 50, 1500, "N"))
			s.set("load.counterbalance_by", -1, d.oneOf("kind", "weight", "spring"))
		}
		if d.yes("brake") {
			s.set("motor.brake_torque", -1, d.qty("motor brake", 0.2, 5, "N m"))
		}
		if d.yes("drive at") {
			s.set("supports.drive_at", -1, d.oneOf("where", "top", "bottom"))
		}
	}
	if d.yes("play") {
		s.set("nut.preload", -1, "")
		s.set("nut.backlash", -1, d.qty("play size", 1, 30, "um"))
	} else {
		s.set("nut.preload", -1, d.qty("preload", 100, 2500, "N"))
	}
	if d.yes("stretched") {
		s.set("supports.stretch", -1, d.qty("stretch", 0, 40, "um"))
	}
	if d.yes("loaded") {
		s.set("supports.loaded_length", -1, d.qty("loaded length", 400, 780, "mm"))
	}
	if d.yes("far part") {
		s.set("supports.far_end_part", -1, "support.s2")
		s.set("far_support.kind", -1, d.oneOf("far kind", "fixed", "supported"))
		s.set("far_support.bore", -1, `"10 mm"`)
		s.set("far_support.stiffness", -1, `"120 N/um"`)
		s.set("far_support.dynamic_rating", -1, `"15 kN"`)
		s.set("far_support.static_rating", -1, `"18 kN"`)
	}
	if d.yes("curve") {
		s.set("motor.rated_speed", -1, `"1500 rpm"`)
		s.set("motor.torque_at_max_speed", -1, d.qty("top torque", 0.5, 2, "N m"))
	}
	s.moves = nil
	at := 0.0
	n := rapid.IntRange(1, 4).Draw(t, "moves")
	for i := range n {
		to := d.num("to", 0, 720, 36)
		if i == n-1 && n > 1 && d.yes("closes") {
			to = 0
		}
		if to == at {
			to = math.Abs(at - 720)
		}
		m := &sheetMove{fmt.Sprintf("m%d", i), map[string]string{"distance": fmt.Sprintf(`"%.6g mm"`, to-at), "speed": d.qty("speed", 0.05, 1, "m/s")}}
		at = to
		switch rapid.IntRange(0, 3).Draw(t, "ramps") {
		case 0:
			m.lines["acceleration"] = d.qty("acceleration", 0.5, 8, "m/s2")
		case 1:
			m.lines["ramp_up"] = d.qty("ramp up", 0.05, 0.5, "s")
			m.lines["ramp_down"] = d.qty("ramp down", 0.05, 0.5, "s")
		default:
			m.lines["ramp"] = d.qty("ramp", 0.05, 0.5, "s")
		}
		if d.yes("process") {
			m.lines["thrust"] = d.qty("thrust", -200, 600, "N")
			m.lines["hold"] = d.qty("hold", 0, 300, "N")
		}
		if d.yes("loaded move") {
			m.lines["payload"] = d.qty("payload", 1, 60, "kg")
		}
		if d.yes("rests") {
			m.lines["dwell"] = d.qty("dwell", 0.1, 4, "s")
		}
		s.moves = append(s.moves, m)
	}
	return s
}

var kebab = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

// Every rule says what it asks, why and where from, and its tests have all
// their words.
func TestRegistry(t *testing.T) {
	if len(All()) < 30 {
		t.Fatalf("only %d rules", len(All()))
	}
	for i, r := range All() {
		if i > 0 && All()[i-1].Name >= r.Name {
			t.Errorf("%s is out of order", r.Name)
		}
		if r.index() != i || ByName(r.Name) != r {
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
			if names[l.Name] || l.Doc == "" || !(l.Default > 0) || l.By != nil || !r.OfParts() && r.Check == nil {
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
			for _, l := range x.Levers {
				if strings.Contains(l.Words, "%s") == (len(l.Leaf.Words) > 0) {
					t.Errorf("%s: the words %q do not suit the lever", r.Name, l.Words)
				}
			}
		}
	}
	for name := range TextRules() {
		if ByName(name) != nil {
			t.Errorf("%s is a rule and a check of the language", name)
		}
	}
}

// Everything of the whole sheet is judged, and holds.
func TestWholeSheet(t *testing.T) {
	s := wholeSheet()
	o := run(s.files(), Options{Fixes: true})
	wantNone(t, o.Findings)
	for name, r := range o.reports["cross"].results {
		if r.State == Unjudged || r.State == Failed {
			t.Errorf("%s: %s: %s %v", name, r.State, r.Why, r.Missing)
		}
	}
}

// bad matches what must never reach a reader.
var bad = regexp.MustCompile(`%!|NaN|[+-]Inf|infinit|<nil>|\bnan\b|e\+\d\d\d`)

func readable(t *rapid.T, s *sheet, words, about string) {
	if m := bad.FindString(words); m != "" || strings.TrimSpace(words) == "" {
		t.Fatalf("%s: %q in %q\n%s", about, m, words, s)
	}
}

// Findings, fixes and reasons of random axes are readable words with finite
// numbers; and so is what a test would say if it failed.
func TestWords(t *testing.T) {
	check(t, 60, func(rt *rapid.T) {
		s := drawSheet(rt)
		v := s.judge(Options{Fixes: true})
		for _, f := range v.findings {
			readable(rt, s, f.Message, f.Rule)
			for _, fix := range f.Fixes {
				w := fix.Words
				readable(rt, s, w, f.Rule+" way")
			}
			for _, e := range f.Enters {
				readable(rt, s, e.Words, f.Rule+" entry")
				if e.Place.Valid() && e.Place == f.Place {
					rt.Fatalf("%s: the marked line takes part too: %s\n%s", f.Rule, e.Words, s)
				}
			}
			if !f.Place.Valid() || f.Place.File != sheetFile {
				rt.Fatalf("%s stands at %v", f.Rule, f.Place)
			}
		}
		for name, r := range v.results {
			if r.State == Idle || r.State == Unjudged {
				if len(r.Missing) == 0 {
					readable(rt, s, r.Why, name+" why")
				}
			} else if r.Why != "" {
				rt.Fatalf("%s is %s and says why it is not judged: %s", name, r.State, r.Why)
			}
		}
		_, _, view := s.load(rt)
		view.Units()
		for _, r := range All() {
			for i := range r.Tests {
				x := &r.Tests[i]
				if !view.knows(x) || r.Applies != nil && r.Applies(view) != "" || x.Applies != nil && x.Applies(view) != "" {
					continue
				}
				limit, _, ok := view.limit(r, &x.Limit)
				if !ok {
					continue
				}
				if u := x.use(view.Calc, limit); u <= 1e-6 || math.IsInf(u, 0) {
					continue // far from the limit: nothing is ever said
				}
				readable(rt, s, x.Say(view, limit), r.Name)
			}
		}
	})
}

// lines lists every line of a sheet: path, move.
func (s *sheet) all() (out [][2]any) {
	for _, p := range slices.Sorted(maps.Keys(s.lines)) {
		out = append(out, [2]any{p, -1})
	}
	for i, m := range s.moves {
		for _, p := range slices.Sorted(maps.Keys(m.lines)) {
			out = append(out, [2]any{"motion.move." + p, i})
		}
	}
	return out
}

// Nothing passes that was not judged: taking one line out of a complete axis
// never makes more rules judged, and never makes a rule pass that failed but
// where the docs say what counts without the line.
func TestRemoveLine(t *testing.T) {
	try := func(fatal func(string, ...any), s *sheet) {
		before := s.judge(Options{}).states()
		for _, l := range s.all() {
			path, move := l[0].(string), l[1].(int)
			less := s.copy()
			less.set(path, move, "")
			v := less.judge(Options{})
			if v == nil {
				fatal("without %s the axis is not judged at all", path)
			}
			f := field(path)
			for rule, is := range v.states() {
				was := before[rule]
				if (is == Passed || is == Failed) && was == Unjudged && f.Default == "" && !slices.Contains(withdrawn[path], rule) || is == Passed && was == Failed && f.Default == "" && f.Sort != spec.Flag && !slices.Contains(withdrawn[path], rule) {
					fatal("without %s %s goes from %s to %s\n%s", path, rule, was, is, s)
				}
			}
		}
	}
	try(t.Fatalf, wholeSheet())
	check(t, 8, func(rt *rapid.T) { try(rt.Fatalf, drawSheet(rt)) })
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

// placeRE matches a place as shown prints it.
var placeRE = regexp.MustCompile(`\{?File:[^}]*\}`)
