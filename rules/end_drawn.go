package rules

import (
	"math"

	"trammel/rules/judge"
	"trammel/spec"
)

// A DrawnStep is one cylinder of an end as it is declared, in metres.
type DrawnStep struct {
	Words          string
	Long, Diameter float64
}

// DrawnEnds gives the steps of both ends, from the thread outward. Of an end whose steps
// are not declared, or not so that their diameters and lengths fill it, it gives nothing.
func DrawnEnds(v *judge.View) (out [2][]DrawnStep) {
	lengths, diameters := v.Value(judge.Field("screw.end_lengths")), v.Value(judge.Field("screw.end_diameters"))
	if lengths == nil || diameters == nil {
		return out
	}
	for i, e := range endsOf(v) {
		out[i] = e.grooved(v, e.drawn(lengths.Ends[i].Nominal, diameters.Ends[i].Nominal))
	}
	return out
}

// drawn gives the steps; what they leave of the end lies beside the thread and has its
// largest diameter, unless it would make a step of that diameter longer than declared.
func (e *endOf) drawn(long, thick float64) (out []DrawnStep) {
	const same = modelSame / 1000
	widest, rest := 0.0, long
	for _, s := range e.steps {
		d := (s.low + s.high) / 2
		switch {
		case s.length == nil && (s.diameter == nil || s.words == "shoulder" || s.diameter.Text == "none"):
			continue
		case s.length == nil || math.IsNaN(d):
			return nil
		case !s.diameter.Field.Thread:
			d = s.diameter.Num.Nominal
		}
		out = append(out, DrawnStep{e.words + ", " + s.words, s.length.Num.Nominal, d})
		widest, rest = max(widest, d), rest-s.length.Num.Nominal
	}
	if len(out) == 0 || rest < -same || rest > same && math.Abs(out[0].Diameter-thick) < same {
		return nil
	}
	if rest > same {
		out, widest = append([]DrawnStep{{e.words, rest, thick}}, out...), max(widest, thick)
	}
	if math.Abs(widest-thick) > same {
		return nil
	}
	return out
}

// grooved cuts the groove for a retaining ring, where its place within a step is declared.
func (e *endOf) grooved(v *judge.View, list []DrawnStep) []DrawnStep {
	width, bottom, at := e.value(v, "groove_width"), e.value(v, "groove_diameter"), e.value(v, "groove_at")
	if width == nil || bottom == nil || at == nil || v.Word(judge.Field(e.path+"groove")) != "ring" {
		return list
	}
	outer := at.Num.Nominal // from the outer end of the step
	for i := len(list) - 1; i >= 0; i-- {
		s := list[i]
		inner := s.Long - outer - width.Num.Nominal
		if outer > 0 && inner > 0 && bottom.Num.Nominal < s.Diameter {
			cut := []DrawnStep{{s.Words, inner, s.Diameter}, {e.words + ", groove", width.Num.Nominal, bottom.Num.Nominal}, {s.Words, outer, s.Diameter}}
			return append(append(append([]DrawnStep{}, list[:i]...), cut...), list[i+1:]...)
		}
		outer -= s.Long
	}
	return list
}

// step is the one of a name.
func (e *endOf) step(words string) *endStep {
	for i := range e.steps {
		if e.steps[i].words == words {
			return &e.steps[i]
		}
	}
	return nil
}

// besides is how much longer than its declared length a step may be drawn, since others of
// its diameter are declared for the same end: a thread is drawn as a plain cylinder.
func (e *endOf) besides(this *endStep, tolerance float64) (more float64) {
	for i := range e.steps {
		s := &e.steps[i]
		switch {
		case s == this || math.IsNaN(s.low) || s.low > this.high+tolerance || s.high < this.low-tolerance:
		case s.length == nil:
			return math.Inf(1)
		default:
			more += s.length.Num.High
		}
	}
	return more
}

// core is the core diameter of the thread for the lock nut, in metres; NaN without one.
func (e *endOf) core() float64 {
	if s := e.steps[2]; s.diameter != nil {
		if d, pitch, ok := spec.MetricThread(s.diameter.Text); ok {
			return spec.ThreadCore(d, pitch)
		}
	}
	return math.NaN()
}
