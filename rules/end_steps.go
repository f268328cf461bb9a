package rules

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var endSteps = judge.Rule{
	Name:     "end-steps",
	Question: "Do the steps of each machined end agree with each other and with what sits on them?",
	Doc: `From the thread outward, an end consists of shoulder, bearing seat, thread for the lock nut
and stub. Their declared dimensions must agree:

- the steps together fit into the length of the end;
- each step is no thicker than the one inside it, since bearing, lock nut and coupling are
  fitted from the outside; the shoulder of a fixed or supported end is thicker than its seat;
- no step is thicker than the largest diameter of the end, which end-journal uses to judge
  whether the nut passes;
- no step is thinner than the diameter that journal-strength uses for the end. For the core of
  the thread, d − 1.22687 · P, and the bottom of a groove this is a warning, at a far end only if
  it is fixed: force and torque pass through them;
- the seat has the diameter of the support's bore, the stub that of the coupling's bore;
- a keyway or groove with dimensions is also declared for journal-strength, and lies within
  its step;
- a keyway is not deeper than 65 % of its width or a quarter of the stub, as those of ISO/R 773
  (from memory): a warning. The height of the key is often taken for the depth.

Dimensions that are not declared are not compared.`,
	Source:   "geometry; core of a metric thread: ISO 724, depth of keyways: ISO/R 773 (both from memory)",
	Severity: judge.Error,
	Fit:      true,
	Reasons:  []judge.Reason{{Words: "no step of either end is declared", If: func(v *judge.View) bool { return !saysSteps(v) }}},
	Check: func(v *judge.View) (out []judge.Fault) {
		for _, e := range endsOf(v) {
			out = append(out, e.lengths(v)...)
			out = append(out, e.thickness(v)...)
			out = append(out, e.strength(v)...)
			out = append(out, e.bores(v)...)
			out = append(out, e.cuts(v)...)
		}
		return out
	},
}

// An endStep is one step of a machined end; values that are not declared are nil.
type endStep struct {
	words            string
	diameter, length *spec.Value
	low, high        float64 // of the diameter
}

// An endOf is one end with its steps from the thread outward, as far as declared.
type endOf struct {
	index int
	words string
	path  string // of its block
	steps [4]endStep
}

var endStepFields = [4][3]string{{"shoulder", "shoulder_diameter", "shoulder_length"}, {"seat", "seat_diameter", "seat_length"}, {"thread", "lock_thread", "lock_thread_length"}, {"stub", "stub_diameter", "stub_length"}}

var endCuts = []string{"groove_width", "groove_diameter", "groove_at", "keyway_width", "keyway_length", "keyway_depth"}

var endPaths = [2]string{"drive_journal.", "far_journal."}

// ofEnds are the fields that say something of a step or of a cut.
var ofEnds = func() (out []*spec.Field) {
	for _, path := range endPaths {
		names := slices.Clone(endCuts)
		for _, f := range endStepFields {
			names = append(names, f[1:]...)
		}
		for _, n := range names {
			if f := spec.Language().FieldAt(path + n); f != nil { // only the driven end has a keyway
				out = append(out, f)
			}
		}
	}
	return out
}()

// saysSteps reports whether an axis says anything of them.
func saysSteps(v *judge.View) bool {
	return slices.ContainsFunc(ofEnds, func(f *spec.Field) bool { return v.Value(f) != nil })
}

func endsOf(v *judge.View) (out [2]endOf) {
	for i, words := range [2]string{"driven end", "far end"} {
		e := endOf{index: i, words: words, path: endPaths[i]}
		for k, f := range endStepFields {
			s := endStep{words: f[0], diameter: v.Value(judge.Field(e.path + f[1])), length: v.Value(judge.Field(e.path + f[2])), low: math.NaN(), high: math.NaN()}
			switch {
			case s.diameter == nil:
			case s.diameter.Field.Thread:
				if d, _, ok := spec.MetricThread(s.diameter.Text); ok {
					s.low, s.high = d, d
				}
			default:
				s.low, s.high = s.diameter.Num.Low, s.diameter.Num.High
			}
			e.steps[k] = s
		}
		out[i] = e
	}
	return out
}

// value is a declared value of the end's block, nil where there is none.
func (e *endOf) value(v *judge.View, name string) *spec.Value {
	if f := spec.Language().FieldAt(e.path + name); f != nil {
		return v.Value(f)
	}
	return nil // only the driven end has a keyway
}

// fault is one about a value.
func (e *endOf) fault(x *spec.Value, message string, inputs ...*spec.Field) judge.Fault {
	return judge.Fault{At: x.Field, Move: -1, Inputs: inputs, Message: e.words + ": " + message}
}

// beyond is a fault about a length that exceeds a limit, or falls below it.
func (e *endOf) beyond(x *spec.Value, value, limit float64, sense judge.Sense, message string, inputs ...*spec.Field) judge.Fault {
	f := e.fault(x, message, inputs...)
	if c := (judge.Compared{Value: value, Limit: limit, Kind: unit.Length, Sense: sense}); judge.Above(c.Use(), 1) {
		f.Compared = c // two that are equal use all of the limit, and no more
	}
	return f
}

// shown writes a step with its diameter.
func (s *endStep) shown(v *judge.View) string { return s.words + " " + v.Text(s.diameter) }

// lengths finds steps that are longer than their end.
func (e *endOf) lengths(v *judge.View) []judge.Fault {
	ends := v.Value(judge.Field("screw.end_lengths"))
	if ends == nil {
		return nil
	}
	sum := 0.0
	var parts []string
	var last *spec.Value
	inputs := []*spec.Field{ends.Field}
	for _, s := range e.steps {
		if s.length == nil {
			continue
		}
		sum, last = sum+s.length.Num.High, s.length
		parts, inputs = append(parts, s.words+" "+v.Text(s.length)), append(inputs, s.length.Field)
	}
	if last == nil || !judge.Above(sum, ends.Ends[e.index].Low) {
		return nil
	}
	need, have := v.Apart(sum, ends.Ends[e.index].Low, unit.Length)
	words := fmt.Sprintf("%s need %s; end_lengths gives %s", strings.Join(parts, " + "), need, have)
	return []judge.Fault{e.beyond(last, sum, ends.Ends[e.index].Low, judge.AtMost, words, inputs[:len(inputs)-1]...)}
}

// thickness finds steps over which what sits further in cannot be mounted, and those that
// are thicker than the end.
func (e *endOf) thickness(v *judge.View) (out []judge.Fault) {
	held := v.Word(judge.Field([2]string{"supports.drive_end", "supports.far_end"}[e.index])) != "free"
	shoulder, seat := &e.steps[0], &e.steps[1]
	if held && judge.Reaches(seat.high, shoulder.low) {
		out = append(out, e.beyond(shoulder.diameter, shoulder.low, seat.high, judge.AtLeast, fmt.Sprintf("%s is no thicker than the %s: the bearing has no shoulder to rest on", shoulder.shown(v), seat.shown(v)), seat.diameter.Field))
	}
	for i := 1; i < len(e.steps); i++ {
		for k := i - 1; k > 0; k-- { // the nearest one that is declared
			inner, outer := &e.steps[k], &e.steps[i]
			if inner.diameter == nil {
				continue
			}
			if judge.Above(outer.high, inner.low) {
				out = append(out, e.beyond(outer.diameter, outer.high, inner.low, judge.AtMost, fmt.Sprintf("%s is thicker than the %s: what sits there cannot be fitted from the outside", outer.shown(v), inner.shown(v)), inner.diameter.Field))
			}
			break
		}
	}
	ends := v.Value(judge.Field("screw.end_diameters"))
	if ends == nil {
		return out
	}
	for _, s := range e.steps {
		if most := ends.Ends[e.index].High; judge.Above(s.high, most) {
			out = append(out, e.beyond(s.diameter, s.high, most, judge.AtMost, fmt.Sprintf("%s exceeds the largest diameter %s of end_diameters", s.shown(v), v.Show(most, unit.Length)), ends.Field))
		}
	}
	return out
}

// strength finds steps that are thinner than the diameter with which journal-strength
// judges the end.
func (e *endOf) strength(v *judge.View) (out []judge.Fault) {
	judged := v.V([2]*m.Quantity{m.DriveJournal, m.FarJournal}[e.index])
	say := func(x *spec.Value, d float64, what string) judge.Fault {
		return e.beyond(x, d, judged, judge.AtLeast, fmt.Sprintf("%s is thinner than the %s used to judge its strength: declare diameter", what, v.Show(judged, unit.Length)), judge.Field(e.path+"diameter"))
	}
	for _, s := range e.steps {
		if s.diameter != nil && judge.Above(judged, s.low) {
			out = append(out, say(s.diameter, s.low, s.shown(v)))
		}
	}
	if e.index == 1 && v.V(m.FarEnd) != m.FixedEnd {
		return out // nothing passes through it
	}
	warn := func(x *spec.Value, d float64, what string) {
		f := say(x, d, what)
		f.Severity = judge.Warning
		out = append(out, f)
	}
	if x, thread := e.core(), e.steps[2]; judge.Above(judged, x) && !judge.Above(judged, thread.low) {
		warn(thread.diameter, x, fmt.Sprintf("core %s of thread %s", v.Show(x, unit.Length), thread.diameter.Text))
	}
	if groove := e.value(v, "groove_diameter"); groove != nil && judge.Above(judged, groove.Num.Low) {
		warn(groove, groove.Num.Low, "bottom "+v.Text(groove)+" of the groove")
	}
	return out
}

// bores compares seat and stub with the bores of support and coupling.
func (e *endOf) bores(v *judge.View) (out []judge.Fault) {
	for _, c := range []struct {
		step *endStep
		path string
		of   string
	}{{&e.steps[1], [2]string{"drive_support.bore", "far_support.bore"}[e.index], "support"}, {&e.steps[3], "coupling.bore", "coupling"}} {
		if c.of == "coupling" && e.index != 0 || c.step.diameter == nil {
			continue
		}
		bore := v.Value(judge.Field(c.path))
		if bore == nil {
			continue
		}
		words := fmt.Sprintf("%s and the bore %s of its %s differ", c.step.shown(v), v.Text(bore), c.of)
		switch {
		case judge.Above(c.step.low, bore.Num.High):
			out = append(out, e.beyond(c.step.diameter, c.step.low, bore.Num.High, judge.AtMost, words, bore.Field))
		case judge.Above(bore.Num.Low, c.step.high):
			out = append(out, e.beyond(c.step.diameter, c.step.high, bore.Num.Low, judge.AtLeast, words, bore.Field))
		}
	}
	return out
}

// cuts looks at keyway and groove.
func (e *endOf) cuts(v *judge.View) (out []judge.Fault) {
	for _, c := range []struct{ kind, is string }{{"keyway", "end-milled"}, {"groove", "ring"}} {
		kind := e.value(v, c.kind)
		if kind == nil || kind.Text != "none" {
			continue
		}
		for _, n := range endCuts {
			if x := e.value(v, n); x != nil && strings.HasPrefix(n, c.kind) {
				out = append(out, e.fault(x, fmt.Sprintf("%s is declared, and %s is \"none\": the strength is judged without its notch; declare %s = %q", judge.Readable(n), c.kind, c.kind, c.is), kind.Field))
				break
			}
		}
	}
	within := func(name string, step *spec.Value, words string) {
		if x := e.value(v, name); x != nil && step != nil && judge.Above(x.Num.High, step.Num.Low) {
			out = append(out, e.beyond(x, x.Num.High, step.Num.Low, judge.AtMost, fmt.Sprintf("%s %s exceeds the %s %s", judge.Readable(name), v.Text(x), words, v.Text(step)), step.Field))
		}
	}
	within("keyway_length", e.steps[3].length, "stub length")
	within("keyway_width", e.steps[3].diameter, "stub diameter")
	out = append(out, e.deep(v)...)
	if at, ends := e.value(v, "groove_at"), v.Value(judge.Field("screw.end_lengths")); at != nil && ends != nil && judge.Above(at.Num.High, ends.Ends[e.index].Low) {
		out = append(out, e.beyond(at, at.Num.High, ends.Ends[e.index].Low, judge.AtMost, fmt.Sprintf("groove %s from the end lies beyond the end of %s", v.Text(at), v.Show(ends.Ends[e.index].Low, unit.Length)), ends.Field))
	}
	if bottom, seat := e.value(v, "groove_diameter"), e.steps[1].diameter; bottom != nil && seat != nil && judge.Reaches(bottom.Num.High, seat.Num.Low) {
		out = append(out, e.beyond(bottom, bottom.Num.High, seat.Num.Low, judge.AtMost, fmt.Sprintf("groove diameter %s leaves no groove in the seat %s", v.Text(bottom), v.Text(seat)), seat.Field))
	}
	return out
}

// How deep a keyway in a shaft is at most, over its width and over the diameter: 2.5 in 4 mm,
// and 2.5 mm in a diameter just above 10, of ISO/R 773 (from memory).
const deepest, deepestIn = 0.65, 0.25

// deep finds keyways deeper than those of which the strength calculation has the factors.
func (e *endOf) deep(v *judge.View) []judge.Fault {
	depth, width, stub := e.value(v, "keyway_depth"), e.value(v, "keyway_width"), &e.steps[3]
	if depth == nil {
		return nil
	}
	var words string
	var limit float64
	var of *spec.Field
	switch {
	case width != nil && judge.Above(depth.Num.High, deepest*width.Num.Low):
		limit, of = deepest*width.Num.Low, width.Field
		words = fmt.Sprintf("keyway depth %s is more than %s of the width %s: is it the height of the key?", v.Text(depth), judge.Percent(deepest), v.Text(width))
	case judge.Above(depth.Num.High, deepestIn*stub.low):
		limit, of = deepestIn*stub.low, stub.diameter.Field
		words = fmt.Sprintf("keyway depth %s is more than a quarter of the %s: too deep for the factors used to judge its strength", v.Text(depth), stub.shown(v))
	default:
		return nil
	}
	f := e.beyond(depth, depth.Num.High, limit, judge.AtMost, words, of)
	f.Severity = judge.Warning
	return []judge.Fault{f}
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
