package judge

import (
	"slices"

	"trammel/spec"
)

// restated makes of a rule that is evaluated for parts what is evaluated for an axis: an
// axis that writes values of its screw instead of the part's, or without a part,
// must not escape it. What rests on the part's own values alone is said at the
// part.
func restated(r *Rule) (reasons []Reason, check func(*View) []Fault) {
	reasons = []Reason{{"the axis declares no screw values of its own; the part is judged", func(v *View) bool { return v.ownScrew(r) == nil }}}
	for _, name := range r.Given {
		reasons = append(reasons, Reason{"nothing to compare: no " + Readable(name) + " declared for the screw",
			func(v *View) bool { return !v.ownScrew(r).Has(name) }})
	}
	return append(reasons, r.Reasons...), func(v *View) (out []Fault) {
		p := v.ownScrew(r)
		if p == nil {
			return nil
		}
		for _, ft := range r.Part(p) {
			if f, own := ft.ofAxis(p); own {
				out = append(out, f)
			}
		}
		return out
	}
}

// ownScrew is the screw of an axis as a rule of parts sees it; nil where the axis
// writes no value of it.
func (v *View) ownScrew(r *Rule) *PartView {
	p := v.Axis.Restated("screw", v.Value)
	if p == nil {
		return nil
	}
	return &PartView{Part: p, Sys: v.Units(), forced: v.forced, force: v.InForce, rule: r, own: true}
}

// ofAxis is the fault as one of the axis. own reports whether a value takes part
// that is not the part's.
func (ft *PartFault) ofAxis(p *PartView) (f Fault, own bool) {
	f = Fault{Move: -1, Severity: ft.Severity, Message: ft.Message, Compared: ft.Compared, Limit: ft.Limit, Related: ft.Related}
	at := func(name string) *spec.Field {
		if x := p.Get(name); x != nil {
			own = own || x.Origin != spec.OfPart
		}
		return spec.Language().FieldAt(p.Kind + "." + name)
	}
	if ft.At != "" {
		f.At = at(ft.At)
	}
	ofPart := !own
	for _, name := range ft.Inputs {
		e := at(name)
		if e == nil || slices.Contains(f.Inputs, e) {
			continue
		}
		if own && ofPart && f.At != nil {
			e, f.At, ofPart = f.At, e, false // it stands at the line the axis wrote
		}
		f.Inputs = append(f.Inputs, e)
	}
	return f, own
}
