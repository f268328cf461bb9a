package sheet

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/sanitize"
	"trammel/rules/sizing"
	"trammel/spec/unit"
)

// Free makes the sheet that says what screw an axis needs.
func Free(f *sizing.FreeDesign, o Options) *document.Document {
	m := &maker{v: f.View, o: o}
	s := m.head("Screw required for axis " + f.View.Axis.Name)
	t := &document.Table{
		Head:   []string{"lead", "nominal diameter", "minimum root diameter", "minimum dynamic rating", "minimum static rating", "maximum speed", "rejected by"},
		Number: []bool{true, true, true, true, true, true, false},
	}
	from := func(x float64, k unit.Kind) string {
		if x == 0 {
			return "—"
		}
		return unit.FormatExact(x, k, o.Sys)
	}
	for i := range f.Needs {
		n := &f.Needs[i]
		row := []string{unit.FormatExact(n.Lead, unit.Length, o.Sys), "none", "—", "—", "—", "—", strings.Join(n.Breaks, ", ")}
		if n.Diameter == n.Diameter {
			row[1], row[2], row[3], row[4] = unit.FormatExact(n.Diameter, unit.Length, o.Sys), from(n.Root, unit.Length), from(n.Dynamic, unit.Force), from(n.Static, unit.Force)
		}
		if n.Speed == n.Speed {
			row[5] = unit.Format(n.Speed, unit.RotationSpeed, o.Sys)
		}
		t.Rows = append(t.Rows, row)
	}
	needs := document.Section{ID: "needs", Title: "Required screw", Blocks: []document.Block{
		document.Paragraph(fmt.Sprintf("For each lead of ISO 3408-2: the smallest nominal diameter of that standard with which the axis passes, everything but the screw as declared, with its minimum root diameter and ratings (ISO 3408-5). The root diameter is taken as at most %s of the nominal diameter (common practice, no source): ask the supplier for it. — means none required.",
			unit.Format(sizing.RootShare, unit.Percentage, o.Sys))),
		t,
	}}
	p := &sizingPage{z: &sizing.Result{View: f.View, Standing: f.Standing, Open: f.Open, Waived: f.Waived}, m: m, o: o}
	whatever := p.standing(fmt.Sprintf("%s judged; a finding of level %s or above rejects a combination", sanitize.Count(f.Judged, "rule", "rules"), f.Level))
	whatever.Title = "Independent of the screw"
	s.Sections = []document.Section{needs, whatever, m.caution()}
	if f.Partly {
		s.Sections[0].Title = "Screw required by the rules judged"
		s.Sections[0], s.Sections[1] = s.Sections[1], s.Sections[0]
	}
	return s
}

// FreeSchema names the version of the JSON written by FreeJSON.
const FreeSchema = "trammel.size-free/1"

type freeJSON struct {
	Schema   string        `json:"schema"`
	Machine  string        `json:"machine"`
	Axis     string        `json:"axis"`
	File     string        `json:"file"`
	Line     int32         `json:"line"`
	Judged   int           `json:"rules_judged"`
	Partly   bool          `json:"errors_not_judged"`
	Level    string        `json:"rejected_from"`
	Needs    []needJSON    `json:"needs"`
	Standing []findingJSON `json:"standing"`
	Open     []gapJSON     `json:"not_judged"`
	Waived   []string      `json:"waived"`
}

type needJSON struct {
	Lead     float64  `json:"lead"`             // m
	Diameter *float64 `json:"nominal_diameter"` // m; null: none serves
	Root     float64  `json:"root_diameter"`    // m; 0: none asked
	Dynamic  float64  `json:"dynamic_rating"`   // N
	Static   float64  `json:"static_rating"`    // N
	Speed    *float64 `json:"maximum_speed"`    // rad/s
	Breaks   []string `json:"rejected_by"`
}

// FreeJSON writes a free design as JSON; numbers are in SI units.
func FreeJSON(w io.Writer, f *sizing.FreeDesign, o Options) error {
	a := f.View.Axis
	at := o.Show(a.Place)
	out := freeJSON{Schema: FreeSchema, Machine: a.Folder.MachineName(), Axis: a.Name, File: at.File, Line: at.Line, Judged: f.Judged, Partly: f.Partly, Level: f.Level.String(),
		Needs: []needJSON{}, Standing: findingsJSON(f.Standing), Open: gapsJSON(f.Open), Waived: append([]string{}, f.Waived...)}
	for _, n := range f.Needs {
		out.Needs = append(out.Needs, needJSON{n.Lead, sanitize.Finite(n.Diameter), n.Root, n.Dynamic, n.Static, sanitize.Finite(math.Abs(n.Speed)), append([]string{}, n.Breaks...)})
	}
	return encode(w, out)
}

func encode(w io.Writer, x any) error {
	e := json.NewEncoder(sanitize.JSON(w))
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(x)
}
