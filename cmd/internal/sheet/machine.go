package sheet

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// A Row is what the sheet of a machine takes from each of its axes.
type Row struct {
	place    spec.Place
	name     string
	machine  string
	facts    map[string]string // for the table side by side
	order    map[string]string // for the order
	carries  []string
	mass     string
	part     string
	grease   string
	every    float64 // regreasing interval in seconds, NaN where none is declared
	distance string
	findings [4]int // by severity
	drawing  *document.Drawing
}

// Name is the axis's name.
func (r Row) Name() string { return r.name }

// RowOf takes from a judged axis what the sheet of its machine shows.
func RowOf(rep *judge.Report, o Options) Row {
	m := &maker{rep: rep, v: rep.View, o: o}
	a := rep.View.Axis
	r := Row{place: o.Show(a.Place), name: a.Name, machine: a.Folder.MachineName(), facts: map[string]string{}, order: map[string]string{}, every: math.NaN()}
	for _, f := range side {
		q := mechanics.ByName(f.quantity)
		r.facts[f.title] = m.show(q, rep.View.V(q))
	}
	for _, x := range rep.Results {
		for _, f := range sideRules {
			if x.Rule == f {
				shown := x.State.String()
				if x.Utilisation == x.Utilisation {
					shown = unit.Format(judge.Margin(x.Utilisation), unit.Percentage, o.Sys)
				}
				r.facts["margin: "+f] = shown
			}
		}
	}
	for _, f := range all(rep) {
		if f.Waiver == nil {
			r.findings[f.Severity]++
		}
	}
	r.drawing = m.drawing(numbered(rep))
	get := func(path string) *spec.Value { return a.Get(spec.Language().FieldAt(path)) }
	if v := get("load.carries"); v != nil {
		for _, ref := range v.Axes {
			r.carries = append(r.carries, ref.Name)
		}
	}
	r.mass = m.show(mechanics.HeaviestMass, rep.View.V(mechanics.HeaviestMass))
	length := func(path string) string {
		if v := get(path); v != nil && !v.Bad {
			return unit.FormatExact(v.Num.Nominal, unit.Length, o.Sys)
		}
		return "—"
	}
	word := func(path string) string {
		if v := get(path); v != nil && !v.Bad {
			return v.Text
		}
		return "—"
	}
	ends := "—"
	if v := get("screw.end_lengths"); v != nil && !v.Bad {
		ends = unit.FormatExact(v.Ends[0].Nominal, unit.Length, o.Sys) + " / " + unit.FormatExact(v.Ends[1].Nominal, unit.Length, o.Sys)
		if d := get("screw.end_diameters"); d != nil && !d.Bad {
			ends += ", ⌀ " + unit.FormatExact(d.Ends[0].Nominal, unit.Length, o.Sys) + " / " + unit.FormatExact(d.Ends[1].Nominal, unit.Length, o.Sys)
		}
	}
	preload := word("nut.preload")
	if v := get("nut.preload"); v != nil && !v.Bad {
		preload = unit.FormatExact(v.Num.Nominal, unit.Force, o.Sys)
	}
	// The order of ISO 3408-1: nominal diameter, lead, length, grade.
	r.part = fmt.Sprintf("ball screw %s × %s × %s, %s", length("screw.nominal_diameter"), length("screw.lead"), length("screw.length"), word("screw.grade"))
	r.order = map[string]string{
		"screw": r.part, "part": word("screw.part"), "process": word("screw.process"), "ends (driven / far)": ends, "preload": preload,
		"flange toward": word("nut.flange_toward"), "nut length": length("nut.length"), "grease": word("lubrication.grease"),
		"supports": word("supports.drive_end_part") + " / " + word("supports.far_end_part"), "motor": word("drive.motor"), "environment": word("environment"),
	}
	r.grease = word("lubrication.grease")
	if v := get("lubrication.regrease_every"); v != nil && !v.Bad {
		r.every = v.Num.Low
	}
	r.distance = m.show(mechanics.RegreaseDistance, rep.View.V(mechanics.RegreaseDistance))
	return r
}

var side = []struct{ title, quantity string }{
	{"stroke", "motion.stroke"}, {"peak speed", "top_speed"}, {"maximum moved mass", "heaviest_mass"}, {"cycle time", "cycle_time"},
	{"mean load", "mean_load"}, {"peak force", "peak_force"}, {"lead", "screw.lead"}, {"maximum screw speed", "max_rotation_speed"},
	{"life", "life_years"}, {"static safety", "static_safety"}, {"buckling safety", "buckling_safety"}, {"axial stiffness", "axial_stiffness"},
	{"positioning budget", "accuracy_budget"}, {"rms torque", "rms_motor_torque"}, {"peak torque", "peak_motor_torque"},
}

var sideRules = []string{"min-lead", "life-margin", "critical-speed", "buckling"}

var orderLines = []string{"screw", "part", "process", "ends (driven / far)", "nut length", "preload", "flange toward", "grease", "supports", "motor", "environment"}

// Machine makes the sheet of a machine from its axes.
func Machine(name string, rows []Row, o Options) *document.Document {
	sort.Slice(rows, func(i, k int) bool { return spec.ComparePlaces(rows[i].place, rows[k].place) < 0 })
	s := &document.Document{Title: "Calculation sheet: machine " + name}
	s.Facts.Add("Axes", fmt.Sprint(len(rows)))
	s.Facts.Add("Units", [...]string{"metric", "inch"}[o.Sys])
	if o.Date != "" {
		s.Facts.Add("Date", o.Date)
	}
	// One row an axis keeps the table narrow on paper; many facts go in two
	// tables.
	table := func(caption string, lines []string, of func(Row) map[string]string) *document.Table {
		t := &document.Table{Caption: caption, Named: true, Head: []string{"axis"}, Number: []bool{false}}
		for _, r := range rows {
			t.Head, t.Number = append(t.Head, r.name), append(t.Number, false)
		}
		for _, l := range lines {
			row := []string{l}
			for _, r := range rows {
				row = append(row, of(r)[l])
			}
			t.Rows = append(t.Rows, row)
		}
		return t
	}
	var lines []string
	for _, f := range side {
		lines = append(lines, f.title)
	}
	for _, f := range sideRules {
		lines = append(lines, "margin: "+f)
	}
	axes := table("", lines, func(r Row) map[string]string { return r.facts })
	count := []string{"findings"}
	for _, r := range rows {
		count = append(count, sanitize.Count(r.findings[judge.Error], "error", "errors")+", "+sanitize.Count(r.findings[judge.Warning], "warning", "warnings")+", "+sanitize.Count(r.findings[judge.Note], "note", "notes"))
	}
	axes.Rows = append(axes.Rows, count)
	m := &maker{o: o}
	section := func(id, title, text string, b document.Block) {
		sec := document.Section{ID: id, Title: title}
		intro(&sec, text)
		sec.Add(b)
		s.Sections = append(s.Sections, sec)
	}
	section("axes", "Axes", "", axes)
	drawn := document.Section{ID: "drawings", Title: "Drawings"}
	intro(&drawn, "Numbers in squares are those of the findings on the sheet of the axis.")
	for i, r := range rows {
		r.drawing.ID = "drawing-" + strconv.Itoa(i+1)
		drawn.Add(document.Paragraph(r.name), r.drawing)
	}
	s.Sections = append(s.Sections, drawn)
	section("carried", "Carried axes", "Which axis carries which, with the mass each screw moves, heaviest payload included.", document.ListOf(tree(rows)...))
	section("order", "Order data", "Designation in the order of ISO 3408-1: nominal diameter × lead × length, grade. Check it against the supplier's drawing.", table("", orderLines, func(r Row) map[string]string { return r.order }))
	section("greasing", "Regreasing plan", "Months in which an axis is due in the first year after commissioning, rounded to the earlier month. The interval continues after the first year.", greasing(rows, o))
	s.Sections = append(s.Sections, m.caution())
	return s
}

// tree writes what rides on what, one line an axis, indented by depth.
func tree(rows []Row) []string {
	by := map[string]Row{}
	carried := map[string]bool{}
	for _, r := range rows {
		by[r.name] = r
		for _, c := range r.carries {
			carried[c] = true
		}
	}
	var out []string
	shown := map[string]bool{}
	var walk func(r Row, depth int)
	walk = func(r Row, depth int) {
		// Carried in a circle or by two: a finding says so.
		if shown[r.name] {
			return
		}
		shown[r.name] = true
		out = append(out, strings.Repeat("└ ", min(depth, 1))+strings.Repeat("  ", max(0, depth-1))+r.name+": "+r.mass)
		for _, c := range r.carries {
			if x, ok := by[c]; ok {
				walk(x, depth+1)
			}
		}
	}
	for _, r := range rows {
		if !carried[r.name] {
			walk(r, 0)
		}
	}
	for _, r := range rows { // those of a circle
		walk(r, 0)
	}
	return out
}

// greasing is the regreasing plan in calendar terms: in which months of a year
// after commissioning each axis is due.
func greasing(rows []Row, o Options) *document.Table {
	t := &document.Table{Head: []string{"axis", "grease", "interval", "travel per interval"}, Number: []bool{false, false, true, true}}
	for i := range 12 {
		t.Head, t.Number = append(t.Head, fmt.Sprint(i+1)), append(t.Number, false)
	}
	for _, r := range rows {
		every, months := "—", make([]string, 12)
		if r.every == r.every {
			every = unit.FormatExact(r.every, unit.Span, o.Sys)
			step := r.every / (mechanics.Year / 12)
			if step < 1 {
				for i := range months {
					months[i] = "●"
				}
			} else {
				for x := step; x < 13; x += step {
					if k := int(x + 1e-9); k >= 1 && k <= 12 {
						months[k-1] = "●"
					}
				}
			}
		}
		t.Rows = append(t.Rows, append([]string{r.name, r.grease, every, r.distance}, months...))
	}
	return t
}
