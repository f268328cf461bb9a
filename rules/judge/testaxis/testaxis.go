// Package testaxis is for tests: one declared axis on which every rule can be judged and
// nothing fails, line by line, so that a test changes a line and judges again; and random
// axes as a person could have written them. It knows the language and no rule.
package testaxis

import (
	"encoding/csv"
	"flag"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"pgregory.net/rapid"
)

// SomeDay is the day on which the tests run.
var SomeDay = time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)

// Check runs a property a given number of times, the same cases each time, so
// that a run of the tests tells of changes in the code only. -rapid.checks and
// -rapid.seed on the command line look further.
func Check(t *testing.T, times int, property func(*rapid.T)) {
	t.Helper()
	if testing.Short() {
		times *= 5 // of which rapid takes a fifth again in a short run
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

// A Sheet is one declared axis with parts of its own, line by line, so that a
// test can change a line and judge again. Lines go by the path of the
// language and are written as they would be: `"38 kg"`. Lines of parts go
// under the role the part plays: "motor.max_speed".
type Sheet struct {
	Name  string
	Lines map[string]string
	Moves []*SheetMove
	More  string // further text of the axis block, such as waivers
}

type SheetMove struct {
	Name  string
	Lines map[string]string
}

// PartsOf names, for each role, the part that stands in a sheet's parts file.
var PartsOf = map[string]string{
	"motor": "motor.m1", "coupling": "coupling.c1", "grease": "grease.g1", "environment": "environment.p1",
	"drive_support": "support.s1", "far_support": "support.s2",
}

// WholeSheet is an axis on which every rule about one axis can be judged and
// nothing fails.
func WholeSheet() *Sheet {
	return &Sheet{
		Name: "cross",
		Lines: map[string]string{
			"orientation": `"horizontal"`, "environment": "environment.p1",
			"load.mass": `"30 kg"`, "load.friction": "0.01", "load.drag": `"18 N"`, "load.side_force": `"0 N"`,
			"motion.stroke": `"720 mm"`, "motion.overtravel": `"15 mm"`, "motion.emergency_deceleration": `"8 m/s2"`, "motion.stop_by": `"motor"`, "motion.reaction_time": `"10 ms"`,
			"duty.hours_per_day": "8", "duty.days_per_year": "240", "duty.service_life": `"5 years"`, "duty.shock": `"smooth"`,
			"screw.nominal_diameter": `"20 mm"`, "screw.lead": `"10 mm"`, "screw.root_diameter": `"17.3 mm"`,
			"screw.dynamic_rating": `"12.7 kN"`, "screw.static_rating": `"21 kN"`, "screw.process": `"ground"`, "screw.recirculation": `"end-cap"`,
			"screw.length": `"980 mm"`, "screw.grade": `"C5"`, "screw.end_lengths": `["110 mm", "60 mm"]`, "screw.end_diameters": `["15 mm", "12 mm"]`,
			"nut.flange_toward": `"fixed"`, "nut.preload": `"400 N"`, "nut.length": `"50 mm"`, "nut.stiffness": `"310 N/um"`, "nut.grease_port": "true",
			"supports.drive_end": `"fixed"`, "supports.far_end": `"supported"`, "supports.span": `"800 mm"`,
			"supports.drive_end_part": "support.s1", "drive.motor": "motor.m1", "drive.coupling": "coupling.c1",
			"drive_support.kind": `"fixed"`, "drive_support.bore": `"15 mm"`, "drive_support.stiffness": `"180 N/um"`,
			"drive_support.dynamic_rating": `"22.6 kN"`, "drive_support.static_rating": `"27.8 kN"`,
			"motor.max_speed": `"4500 rpm"`, "motor.rated_torque": `"1.3 N m"`, "motor.peak_torque": `"3.9 N m"`, "motor.rated_speed": `"3000 rpm"`, "motor.torque_at_max_speed": `"2.4 N m"`, "motor.rotor_inertia": `"0.28 kg cm2"`,
			"coupling.rated_torque": `"9 N m"`, "coupling.inertia": `"0.12 kg cm2"`, "coupling.torsional_stiffness": `"6000 N m/rad"`,
			"grease.thickener": `"lithium"`, "grease.base_oil": `"mineral"`, "grease.min_temperature": `"-20 °C"`, "grease.max_temperature": `"110 °C"`,
			"environment.min_temperature": `"5 °C"`, "environment.max_temperature": `"40 °C"`,
			"accuracy.positioning": `"80 um"`, "accuracy.repeatability": `"10 um"`, "accuracy.force": `"none"`, "accuracy.temperature_rise": `"2 K"`, "accuracy.rise_measured": "true",
			"lubrication.grease": "grease.g1", "lubrication.regrease_every": `"2 months"`,
		},
		Moves: []*SheetMove{
			{"out", map[string]string{"distance": `"720 mm"`, "speed": `"0.4 m/s"`, "ramp": `"0.15 s"`, "thrust": `"80 N"`, "hold": `"0 N"`, "dwell": `"0.9 s"`}},
			{"back", map[string]string{"distance": `"-720 mm"`, "speed": `"0.4 m/s"`, "ramp": `"0.15 s"`}},
		},
	}
}

func (s *Sheet) Copy() *Sheet {
	o := *s
	o.Lines = maps.Clone(s.Lines)
	o.Moves = nil
	for _, m := range s.Moves {
		o.Moves = append(o.Moves, &SheetMove{m.Name, maps.Clone(m.Lines)})
	}
	return &o
}

// With is a copy with some lines set: path, text, path, text … An empty text
// takes the line out.
func (s *Sheet) With(pairs ...string) *Sheet {
	o := s.Copy()
	for i := 0; i < len(pairs); i += 2 {
		o.Set(pairs[i], -1, pairs[i+1])
	}
	return o
}

// Line points at the lines a path of the language stands in.
func (s *Sheet) Line(path string, move int) (map[string]string, string) {
	if name, ok := strings.CutPrefix(path, "motion.move."); ok {
		return s.Moves[move].Lines, name
	}
	return s.Lines, path
}

func (s *Sheet) Set(path string, move int, text string) {
	if move < 0 && strings.HasPrefix(path, "motion.move.") {
		for i := range s.Moves {
			s.Set(path, i, text)
		}
		return
	}
	at, key := s.Line(path, move)
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

// Text is the axis file and the parts file of a sheet.
func (s *Sheet) Text() (axis, parts string) {
	blocks := map[string]map[string]string{}
	for path, text := range s.Lines {
		block, name := "", path
		if i := strings.IndexByte(path, '.'); i >= 0 {
			block, name = path[:i], path[i+1:]
		}
		if blocks[block] == nil {
			blocks[block] = map[string]string{}
		}
		blocks[block][name] = text
	}
	if len(s.Moves) > 0 && blocks["motion"] == nil {
		blocks["motion"] = map[string]string{}
	}
	var a, p strings.Builder
	fmt.Fprintf(&a, "axis %q {\n", s.Name)
	for _, block := range slices.Sorted(maps.Keys(blocks)) {
		if ref := PartsOf[block]; ref != "" {
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
			for _, m := range s.Moves {
				fmt.Fprintf(&a, "    move %q {\n", m.Name)
				sortedLines(&a, "      ", m.Lines)
				a.WriteString("    }\n")
			}
		}
		a.WriteString("  }\n")
	}
	// Parts that are referred to but have no lines left.
	for role, ref := range PartsOf {
		if kind, name, _ := strings.Cut(ref, "."); blocks[role] == nil && strings.Contains(a.String(), ref) {
			fmt.Fprintf(&p, "%s %q {\n}\n", kind, name)
		}
	}
	a.WriteString(s.More + "}\n")
	return a.String(), p.String()
}

func (s *Sheet) String() string {
	a, p := s.Text()
	return a + p
}

const SheetFile = "line/cross.axis.hcl"

// Files puts a sheet into a tree; further files go by pairs of name and text.
func (s *Sheet) Files(more ...string) fstest.MapFS {
	a, p := s.Text()
	return Memory(append([]string{SheetFile, a, "parts/all.parts.hcl", p}, more...)...)
}

func Memory(pairs ...string) fstest.MapFS {
	fsys := fstest.MapFS{}
	for i := 0; i < len(pairs); i += 2 {
		fsys[pairs[i]] = &fstest.MapFile{Data: []byte(pairs[i+1])}
	}
	return fsys
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

// DrawSheet draws an axis that some of the rules may well fail: horizontal,
// inclined or lifting, one to four moves that come back to their start or not.
func DrawSheet(t *rapid.T) *Sheet {
	d := drawer{t}
	s := WholeSheet()
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
		s.Set(path, -1, text)
	}
	if d.yes("weight") {
		s.Set("orientation", -1, `"vertical"`)
		if d.yes("inclined") {
			s.Set("orientation", -1, "")
			s.Set("incline", -1, d.qty("incline", 2, 80, "deg"))
		}
		if d.yes("balanced") {
			s.Set("load.counterbalance", -1, d.qty("counterbalance", 50, 1500, "N"))
			s.Set("load.counterbalance_by", -1, d.oneOf("kind", "weight", "spring"))
		}
		if d.yes("brake") {
			s.Set("motor.brake_torque", -1, d.qty("motor brake", 0.2, 5, "N m"))
		}
		if d.yes("drive at") {
			s.Set("supports.drive_at", -1, d.oneOf("where", "top", "bottom"))
		}
	}
	if d.yes("play") {
		s.Set("nut.preload", -1, "")
		s.Set("nut.backlash", -1, d.qty("play size", 1, 30, "um"))
	} else {
		s.Set("nut.preload", -1, d.qty("preload", 100, 2500, "N"))
	}
	if d.yes("stretched") {
		s.Set("supports.stretch", -1, d.qty("stretch", 0, 40, "um"))
	}
	if d.yes("loaded") {
		s.Set("supports.loaded_length", -1, d.qty("loaded length", 400, 780, "mm"))
	}
	if d.yes("far part") {
		s.Set("supports.far_end_part", -1, "support.s2")
		s.Set("far_support.kind", -1, d.oneOf("far kind", "fixed", "supported"))
		s.Set("far_support.bore", -1, `"10 mm"`)
		s.Set("far_support.stiffness", -1, `"120 N/um"`)
		s.Set("far_support.dynamic_rating", -1, `"15 kN"`)
		s.Set("far_support.static_rating", -1, `"18 kN"`)
	}
	if d.yes("curve") {
		s.Set("motor.rated_speed", -1, `"1500 rpm"`)
		s.Set("motor.torque_at_max_speed", -1, d.qty("top torque", 0.5, 2, "N m"))
	}
	s.Moves = nil
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
		m := &SheetMove{fmt.Sprintf("m%d", i), map[string]string{"distance": fmt.Sprintf(`"%.6g mm"`, to-at), "speed": d.qty("speed", 0.05, 1, "m/s")}}
		at = to
		switch rapid.IntRange(0, 3).Draw(t, "ramps") {
		case 0:
			m.Lines["acceleration"] = d.qty("acceleration", 0.5, 8, "m/s2")
		case 1:
			m.Lines["ramp_up"] = d.qty("ramp up", 0.05, 0.5, "s")
			m.Lines["ramp_down"] = d.qty("ramp down", 0.05, 0.5, "s")
		default:
			m.Lines["ramp"] = d.qty("ramp", 0.05, 0.5, "s")
		}
		if d.yes("process") {
			m.Lines["thrust"] = d.qty("thrust", -200, 600, "N")
			m.Lines["hold"] = d.qty("hold", 0, 300, "N")
		}
		if d.yes("loaded move") {
			m.Lines["payload"] = d.qty("payload", 1, 60, "kg")
		}
		if d.yes("rests") {
			m.Lines["dwell"] = d.qty("dwell", 0.1, 4, "s")
		}
		s.Moves = append(s.Moves, m)
	}
	return s
}

// Bad matches what must never reach a reader.
var Bad = regexp.MustCompile(`%!|NaN|[+-]Inf|infinit|<nil>|\bnan\b|e\+\d\d\d`)

// All lists every line of a sheet: path, move.
func (s *Sheet) All() (out [][2]any) {
	for _, p := range slices.Sorted(maps.Keys(s.Lines)) {
		out = append(out, [2]any{p, -1})
	}
	for i, m := range s.Moves {
		for _, p := range slices.Sorted(maps.Keys(m.Lines)) {
			out = append(out, [2]any{"motion.move." + p, i})
		}
	}
	return out
}

// PlaceRE matches a place as shown prints it.
var PlaceRE = regexp.MustCompile(`\{?File:[^}]*\}`)

// Quick is the whole sheet with a finding of critical-speed and nothing else,
// and further text in the axis.
func Quick(more string) *Sheet {
	s := WholeSheet().With("supports.span", `"870 mm"`, "motion.move.speed", `"0.58 m/s"`, "motion.overtravel", `"23 mm"`, "motion.reaction_time", `"2 ms"`, "screw.end_lengths", `["90 mm", "60 mm"]`, "motor.max_speed", `"6000 rpm"`)
	s.More = more
	return s
}

// Texts joins the axis blocks of sheets that share their parts.
func Texts(sheets ...*Sheet) (axes []string, parts string) {
	for _, s := range sheets {
		var a string
		a, parts = s.Text()
		axes = append(axes, a)
	}
	return axes, parts
}

// Zyx is a lifting axis on a cross axis on a long one.
func Zyx() (x, y, z *Sheet) {
	x = WholeSheet().Named("x", "load.mass", `"40 kg"`, "load.carries", "[axis.y]")
	y = WholeSheet().Named("y", "load.mass", `"20 kg"`, "load.carries", "[axis.z]")
	z = WholeSheet().Named("z", "load.mass", `"10 kg"`)
	z.Set("motion.move.payload", 0, `"3 kg"`)
	for _, s := range []*Sheet{x, y, z} { // they share their parts
		s.Set("motor.rotor_inertia", -1, `"0.5 kg cm2"`)
	}
	return x, y, z
}

// Named is a sheet under another name.
func (s *Sheet) Named(name string, pairs ...string) *Sheet {
	o := s.With(pairs...)
	o.Name = name
	return o
}

// Published reads the printed answer of a worked example, in its own unit, and
// the tolerance its rounding allows; root is the top of the project.
func Published(t *testing.T, root, id string) (answer, tolerance float64) {
	t.Helper()
	file, err := os.Open(filepath.Join(root, "testdata/published/worked_examples.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	col := map[string]int{}
	for i, h := range rows[0] {
		col[h] = i
	}
	for _, r := range rows {
		if r[col["id"]] != id {
			continue
		}
		a, err := strconv.ParseFloat(r[col["published"]], 64)
		if err != nil {
			t.Fatal(err)
		}
		tol, err := strconv.ParseFloat(r[col["tolerance_rel"]], 64)
		if err != nil {
			t.Fatal(err)
		}
		return a, tol
	}
	t.Fatalf("no example %s", id)
	return 0, 0
}

func Day(text string) time.Time {
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return d
}
