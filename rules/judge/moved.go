package judge

import (
	"slices"

	"trammel/spec"
)

// Moved is the report on an axis that says what the report's axis says, elsewhere in its
// file: nothing is judged again. It is nil where the axis says something else, or where
// that cannot be told. The report is one made without fixes, that carries no other axis
// and has a View of its own; of the new one the View is the old one's with another axis.
func (rep *Report) Moved(to *spec.Axis) *Report {
	from := rep.View.Axis
	places, same := from.Moved(to)
	if !same || len(rep.View.Carried) > 0 || !rep.View.whole {
		return nil
	}
	m := &mover{places: places, file: from.Place.File}
	out, view := *rep, *rep.View
	view.Axis = to
	out.View = &view
	out.Results = slices.Clone(rep.Results)
	for i := range out.Results {
		lines := slices.Clone(out.Results[i].Missing)
		for k := range lines {
			m.move(&lines[k].Place)
		}
		out.Results[i].Missing = lines
	}
	out.Findings = slices.Clone(rep.Findings)
	for i := range out.Findings {
		m.finding(&out.Findings[i], from, to)
	}
	out.MissingInputs = slices.Clone(rep.MissingInputs)
	for i := range out.MissingInputs {
		m.move(&out.MissingInputs[i].Place)
	}
	if rep.NextInputs != nil {
		next := *rep.NextInputs
		m.move(&next.Place)
		out.NextInputs = &next
	}
	if m.lost || m.lines && view.cites {
		return nil
	}
	return &out
}

// A mover gives places in the file of an axis their new places.
type mover struct {
	places map[spec.Place]spec.Place
	file   string
	lines  bool // some stand on another line than before
	lost   bool // of one it is not known where it is
}

func (m *mover) move(p *spec.Place) {
	to, known := m.places[*p]
	switch {
	case known:
		m.lines = m.lines || to.Line != p.Line
		*p = to
	case p.File == m.file:
		m.lost = true
	}
}

func (m *mover) finding(f *Finding, from, to *spec.Axis) {
	m.move(&f.Place)
	m.move(&f.WaiverPlace)
	if i := slices.Index(from.Waivers, f.Waiver); i >= 0 {
		f.Waiver = to.Waivers[i]
	}
	f.Inputs, f.Related = slices.Clone(f.Inputs), slices.Clone(f.Related)
	for i := range f.Inputs {
		m.move(&f.Inputs[i].Place)
	}
	for i := range f.Related {
		m.move(&f.Related[i].Place)
	}
}
