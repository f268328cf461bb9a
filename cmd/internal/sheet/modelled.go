package sheet

import (
	"fmt"
	"strconv"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/svg"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/spec/step"
	"trammel/spec/unit"
)

// manySegments are more than a shaft that people turn has.
const manySegments = 60

var surfaceWords = map[step.Surface]string{step.Cylinder: "cylinder", step.Cone: "cone", step.Torus: "rounding", step.Sphere: "sphere"}

// modelled shows the shaft of the model that the axis names, with the declared one.
func (m *maker) modelled() (s document.Section, ok bool) {
	named := m.v.Value(judge.Field("screw.model"))
	if named == nil {
		return s, false
	}
	s = document.Section{ID: "model", Title: "Shaft in the model"}
	shaft, why := rules.ShaftOf(m.v)
	if shaft == nil {
		intro(&s, fmt.Sprintf("%s: %s.", named.Text, why))
		return s, true
	}
	intro(&s, fmt.Sprintf("Read from %s, from the driven end on where text and model tell which it is. Nothing is calculated with it; model-agrees compares it with what is declared.", named.Text))
	t := &document.Table{Head: []string{"from", "to", "surface", "diameter", "face"}, Number: []bool{true, true, false, true, false}}
	for i, x := range shaft.Profile.Segments {
		if i == manySegments {
			t.Rows = append(t.Rows, []string{"", "", fmt.Sprintf("%d more", len(shaft.Profile.Segments)-i), "", ""})
			break
		}
		thick := m.mm(x.Diameter[0])
		if other := m.mm(x.Diameter[1]); other != thick {
			thick += " to " + other
		}
		t.Rows = append(t.Rows, []string{m.mm(x.From), m.mm(x.To), surfaceWords[x.Surface], thick, "#" + strconv.FormatUint(x.ID, 10)})
	}
	for _, x := range shaft.Profile.Features {
		t.Rows = append(t.Rows, []string{m.mm(x.From), m.mm(x.To), x.Kind, "", "#" + strconv.FormatUint(x.ID, 10)})
	}
	s.Add(m.outlines(shaft.Profile))
	s.Add(t)
	return s, true
}

func (m *maker) mm(x float64) string { return unit.Format(x/1000, unit.Length, m.o.Sys) }

// outlines draws the model and the declared shaft over each other.
func (m *maker) outlines(p *step.Profile) *document.Figure {
	declared := ShaftOf(m.rep)
	long, thick := p.Length, 0.0
	for _, list := range [][]step.Segment{p.Segments, declared.segments} {
		for _, x := range list {
			long, thick = max(long, x.To), max(thick, x.Diameter[0], x.Diameter[1])
		}
	}
	xu, xs := m.scale(unit.Length, long/1000)
	yu, ys := m.scale(unit.Length, thick/1000)
	outline := func(list []step.Segment) (out []svg.Point) {
		for _, x := range list {
			out = append(out, svg.Point{X: xs(x.From / 1000), Y: ys(x.Diameter[0] / 1000)}, svg.Point{X: xs(x.To / 1000), Y: ys(x.Diameter[1] / 1000)})
		}
		if len(out) > 0 {
			out = append([]svg.Point{{X: out[0].X}}, append(out, svg.Point{X: out[len(out)-1].X})...)
		}
		return out
	}
	chart := &svg.Chart{X: svg.Axis{Label: label("from the driven end", xu)}, Y: svg.Axis{Label: label("diameter", yu)},
		Lines: []svg.Line{{Weight: svg.Own, Points: outline(p.Segments)}}}
	alt := fmt.Sprintf("model %s long", m.mm(p.Length))
	if declared.segments != nil {
		chart.Lines = append(chart.Lines, svg.Line{Points: outline(declared.segments)})
		alt += fmt.Sprintf("; declared %s", m.mm(declared.segments[len(declared.segments)-1].To))
	}
	return figure("plot-model", "Shaft in the model (heavy line) and as declared (thin line)", alt, chart)
}
