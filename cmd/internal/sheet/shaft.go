package sheet

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"trammel/cmd/internal/drawing"
	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/step"
)

// A Shaft is the shaft of an axis as it is declared, turned from end to end: an end with
// its steps or, where these do not fill it, of its largest diameter; the thread as a
// cylinder of the nominal diameter; the other end. Keyways are not drawn.
type Shaft struct {
	name     string
	segments []step.Segment
	faces    []string // their names
	missing  []string // what must be declared to draw it
}

// ShaftOf takes the shaft from an axis that was judged.
func ShaftOf(rep *judge.Report) *Shaft {
	v := rep.View
	s := &Shaft{name: "shaft of " + v.Axis.Name}
	value := func(path string) *spec.Value {
		x := v.Value(judge.Field(path))
		if x == nil {
			s.missing = append(s.missing, path)
		}
		return x
	}
	length, nominal := value("screw.length"), value("screw.nominal_diameter")
	ends, diameters := value("screw.end_lengths"), value("screw.end_diameters")
	if s.missing != nil {
		return s
	}
	thread := []string{"thread, nominal diameter " + v.Text(nominal)}
	for _, path := range []string{"screw.lead", "screw.root_diameter"} {
		if x := v.Value(judge.Field(path)); x != nil {
			thread = append(thread, judge.Readable(x.Field.Name)+" "+v.Text(x))
		}
	}
	steps := drawing.OfEnds(v).Cylinders()
	slices.Reverse(steps[0])
	s.end("driven end", steps[0], ends.Ends[0].Nominal, diameters.Ends[0].Nominal)
	s.add(strings.Join(thread, ", "), length.Num.Nominal-ends.Ends[0].Nominal-ends.Ends[1].Nominal, nominal.Num.Nominal)
	s.end("far end", steps[1], ends.Ends[1].Nominal, diameters.Ends[1].Nominal)
	return s
}

// end adds an end by its steps, or whole where there are none.
func (s *Shaft) end(face string, steps []drawing.Cylinder, long, diameter float64) {
	if steps == nil {
		s.add(face, long, diameter)
	}
	for _, step := range steps {
		s.add(step.Words, step.Long, step.Diameter)
	}
}

// add adds a cylinder, given in metres; an end of no length is none, and two of one
// diameter are one.
func (s *Shaft) add(face string, long, diameter float64) {
	if long == 0 {
		return
	}
	from := 0.0
	if n := len(s.segments); n > 0 {
		from = s.segments[n-1].To
	}
	d := 1000 * diameter
	if n := len(s.segments) - 1; n >= 0 && s.segments[n].Diameter[0] == d && long > 0 {
		s.segments[n].To += 1000 * long
		s.faces[n] += "; " + face
		return
	}
	s.segments = append(s.segments, step.Segment{Surface: step.Cylinder, From: from, To: from + 1000*long, Diameter: [2]float64{d, d}})
	s.faces = append(s.faces, face)
}

// STEP writes the shaft as a model. It is an error where not all of it is declared.
func (s *Shaft) STEP(w io.Writer) error {
	if s.missing != nil {
		return fmt.Errorf("%s cannot be drawn: declare %s", s.name, strings.Join(s.missing, ", "))
	}
	if err := step.Write(w, s.name, s.segments, step.Vec{}, step.Vec{0, 0, 1}, func(i int) string { return s.faces[i] }); err != nil {
		return fmt.Errorf("%s cannot be drawn: %w; check screw.length, end_lengths and end_diameters", s.name, err)
	}
	return nil
}
