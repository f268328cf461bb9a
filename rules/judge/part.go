package judge

import (
	"math"
	"slices"

	"trammel/spec"
	"trammel/spec/unit"
)

// A PartView is one part as a rule of parts sees it.
type PartView struct {
	*spec.Part
	Sys    unit.System // in which the part is written
	forced bool        // Sys was requested: declared values are shown in it too
	force  *InForce    // in the folder that declares it
	rule   *Rule       // that is being asked
	own    bool        // it is the screw of an axis that writes values of it itself
}

// A PartFault is one thing a rule found wrong with a part.
type PartFault struct {
	At       string   // the field at whose value it stands; "": the part itself
	Severity Severity // Off: the rule's
	Message  string
	Compared Compared // none where no two numbers were compared
	Limit    string   // the name of the limit that was compared
	Inputs   []string // the fields that took part
	Related  []spec.Related
}

func (j *Judge) ViewPart(f *spec.Folder, p *spec.Part) *PartView {
	v := &PartView{Part: p, force: j.policies.of(f)}
	inch, metric := 0, 0
	for _, x := range p.Values() {
		if x.Field.Sort == spec.Quantity && x.Field.Unit == unit.Length {
			if IsInch(x.Text) {
				inch++
			} else {
				metric++
			}
		}
	}
	if inch > metric {
		v.Sys = unit.Inch
	}
	if j.Units != nil {
		v.Sys, v.forced = *j.Units, true
	}
	return v
}

// Ref is the part as it is named in words.
func (v *PartView) Ref() string {
	if v.own {
		return "the " + v.Kind
	}
	return v.Part.Ref()
}

// Num is the number of a field in SI units, at the middle of its tolerance; NaN
// where it is not given.
func (v *PartView) Num(name string) float64 {
	if x := v.Get(name); x != nil && !x.Bad {
		return x.Num.Nominal
	}
	return math.NaN()
}

// Has reports whether all of some fields are given.
func (v *PartView) Has(names ...string) bool {
	for _, n := range names {
		if x := v.Get(n); x == nil || x.Bad {
			return false
		}
	}
	return true
}

// Text is a value as it was written, or in the units the run requested.
func (v *PartView) Text(name string) string {
	x := v.Get(name)
	if v.forced && x.Field.Sort == spec.Quantity {
		return unit.FormatExact(x.Num.Nominal, x.Field.Unit, v.Sys)
	}
	return x.Text
}

// Apart writes two numbers of which one exceeds the other, with the digits it
// takes to see that.
func (v *PartView) Apart(x, y float64, k unit.Kind) (string, string) {
	return unit.Apart(x, y, k, v.Sys)
}

// Say is a field with its value: "root diameter 17.3 mm".
func (v *PartView) Say(name string) string { return Readable(name) + " " + v.Text(name) }

// Limit is the limit in force of the rule that is evaluated.
func (v *PartView) Limit(name string) float64 { return v.force.limitNamed(v.rule, name) }

// OfParts lists what is found about the parts the axis uses. A run reports it
// once for all axes; who shows an axis by itself asks here.
func (rep *Report) OfParts() []Finding {
	var out []Finding
	for _, p := range rep.View.Axis.Parts() {
		for f := rep.View.Axis.Folder; f != nil; f = f.Parent {
			if slices.Contains(f.Parts(), p) {
				out = append(out, rep.Judge.AskPart(rep.Judge.ViewPart(f, p))...)
			}
		}
	}
	return out
}

// AskPart asks the rules of parts of one part.
func (j *Judge) AskPart(v *PartView) []Finding {
	var out []Finding
	for i, r := range j.Book.all {
		if r.Part == nil || v.force.Settings[i].Severity == Off {
			continue
		}
		v.rule = r
		for _, ft := range r.Part(v) {
			out = append(out, j.partFinding(r, v, ft))
		}
	}
	return out
}

// PartFacts are what was found of one part, and what the rules that look at all
// parts of a tree together ask of it.
type PartFacts struct {
	Kind, Name string
	Ref        string // as an axis refers to it
	Place      spec.Place
	Listed     bool                 // its file is among those that are checked: it is judged whether an axis uses it or not
	Used       bool                 // an axis refers to it; for the rules, set by Rulebook.InTree
	Faults     []Finding            // of the rules of single parts
	Values     map[string]PartValue // of the fields that rules look at (Rule.PartFields); what is not given or not readable is left out
	Asked      []PartAsked          // by Rulebook.AcrossParts
}

// A PartValue is one value of a part.
type PartValue struct {
	Text   string  // as declared
	Number float64 // in SI units
}

// PartAsked is what is in force of one rule for one part.
type PartAsked struct {
	Severity    Severity
	Waiver      *spec.Waiver // nil for none
	WaiverPlace spec.Place
}

// A PartsFault is one thing that a rule found wrong with a part among others.
type PartsFault struct {
	Part    *PartFacts
	Message string
	Related []spec.Related
}

// Has reports whether all of some fields are among the values.
func (p *PartFacts) Has(names ...string) bool {
	return !slices.ContainsFunc(names, func(n string) bool {
		_, ok := p.Values[n]
		return !ok
	})
}

// PartFacts gathers the facts of the parts of a folder.
func (j *Judge) PartFacts(f *spec.Folder) (out []PartFacts) {
	for _, p := range f.Parts() {
		v := j.ViewPart(f, p)
		facts := PartFacts{Kind: p.Kind, Name: p.Name, Ref: p.Ref(), Place: p.Place, Faults: j.AskPart(v)}
		for _, r := range j.Book.parts {
			asked := PartAsked{Severity: v.force.Settings[r.Index].Severity}
			asked.Waiver, asked.WaiverPlace = j.partWaiver(r, v)
			facts.Asked = append(facts.Asked, asked)
			for _, name := range r.PartFields {
				if x := p.Get(name); x != nil && !x.Bad {
					if facts.Values == nil {
						facts.Values = map[string]PartValue{}
					}
					facts.Values[name] = PartValue{x.Text, x.Num.Nominal}
				}
			}
		}
		out = append(out, facts)
	}
	return out
}

// InTree lists what is found about the parts of a tree: of each that is
// listed or used by itself, and, where the whole tree is read, of all together.
// used says of the place of a part whether an axis refers to it.
func (b *Rulebook) InTree(parts []PartFacts, used func(spec.Place) bool, whole bool) []Finding {
	var out []Finding
	var all []*PartFacts
	for i := range parts {
		p := &parts[i]
		if p.Used = used(p.Place); p.Used || p.Listed {
			out = append(out, p.Faults...)
		}
		all = append(all, p)
	}
	if !whole {
		return out
	}
	slices.SortFunc(all, func(a, b *PartFacts) int { return spec.ComparePlaces(a.Place, b.Place) })
	for i, r := range b.parts {
		for _, ft := range r.Parts(all) {
			if a := &ft.Part.Asked[i]; a.Severity != Off {
				out = append(out, Finding{
					Rule: r.Name, Severity: a.Severity, Place: ft.Part.Place, Message: ft.Message, Utilisation: math.NaN(), Related: ft.Related,
					Cause: ft.Part.Kind + "." + ft.Part.Name, Waiver: a.Waiver, WaiverPlace: a.WaiverPlace,
				})
			}
		}
	}
	return out
}

// partWaiver is the waiver in force of a rule for a part, nil for none.
func (j *Judge) partWaiver(r *Rule, v *PartView) (*spec.Waiver, spec.Place) {
	for _, w := range v.force.Waivers {
		if w.Rule != r.Name || w.Broken || !w.OfPart(v.Part) {
			continue
		}
		if !j.over(w) {
			return w, w.RulePlace
		}
	}
	return nil, spec.Place{}
}

func (j *Judge) partFinding(r *Rule, v *PartView, ft PartFault) Finding {
	set := &v.force.Settings[r.Index]
	f := Finding{
		Rule: r.Name, Severity: set.Severity, Place: v.Place, Message: ft.Message, Utilisation: ft.Compared.Use(), Compared: ft.Compared, Related: ft.Related,
		Cause: v.Kind + "." + v.Name,
	}
	if ft.Severity != Off {
		f.Severity = min(f.Severity, ft.Severity)
	}
	if ft.At != "" {
		f.Place = v.Get(ft.At).Place
		f.Cause += "." + ft.At
	}
	for _, name := range ft.Inputs {
		if x := v.Get(name); x != nil && !x.Bad && name != ft.At {
			f.Inputs = append(f.Inputs, Entry{Words: v.Say(name), Place: x.Place})
		}
	}
	for _, l := range set.Limits {
		if l.Limit.Name == ft.Limit && l.From.Valid() {
			f.Related = append(slices.Clone(f.Related), spec.Related{Place: l.From, Message: "the policy sets the limit here"})
		}
	}
	f.Waiver, f.WaiverPlace = j.partWaiver(r, v)
	return f
}
