package rules

import (
	"math"
	"slices"
	"strings"
	"time"

	"trammel/spec"
	"trammel/spec/unit"
)

// A PartView is one part as a rule of parts sees it.
type PartView struct {
	*spec.Part
	Sys    unit.System // in which the part is written
	forced bool        // Sys was asked for: declared values are shown in it too
	force  *inForce    // in the folder that declares it
	rule   *Rule       // that is being asked
}

// A PartFault is one thing a rule found wrong with a part.
type PartFault struct {
	Part     *PartView // nil: the one that was asked
	At       string    // the field at whose value it stands; "": the part itself
	Severity Severity  // Off: the rule's
	Message  string
	Use      float64  // of the limit, 1 is the limit; 0 where there is none
	Limit    string   // the limit that was compared
	Enters   []string // the fields that took part
	Related  []spec.Related
}

func (j *Judge) partView(f *spec.Folder, p *spec.Part) *PartView {
	v := &PartView{Part: p, force: j.policies.of(f)}
	inch, metric := 0, 0
	for _, x := range p.Values() {
		if x.Field.Sort == spec.Quantity && x.Field.Unit == unit.Length {
			if isInch(x.Text) {
				inch++
			} else {
				metric++
			}
		}
	}
	if inch > metric {
		v.Sys = unit.Inch
	}
	if j.units != nil {
		v.Sys, v.forced = *j.units, true
	}
	return v
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

// Text is a value as it was written, or in the units the run asked for.
func (v *PartView) Text(name string) string {
	x := v.Get(name)
	if v.forced && x.Field.Sort == spec.Quantity {
		return unit.FormatExact(x.Num.Nominal, x.Field.Unit, v.Sys)
	}
	return x.Text
}

// Say is a field with its value: "root diameter 17.2 mm".
func (v *PartView) Say(name string) string { return words(name) + " " + v.Text(name) }

// Limit is the limit in force of the rule that is asked.
func (v *PartView) Limit(name string) float64 {
	for _, l := range v.force.settings[v.rule.index()].Limits {
		if l.Limit.Name == name {
			if math.IsNaN(l.Value) {
				return l.Limit.Default
			}
			return l.Value
		}
	}
	panic("rules: " + v.rule.Name + " has no limit " + name)
}

// OfParts lists what is found about the parts the axis uses. A run reports it
// once for all axes; who shows an axis by itself asks here.
func (rep *Report) OfParts() []Finding {
	var out []Finding
	seen := map[*spec.Part]bool{}
	for _, field := range partRefs {
		x := rep.View.Axis.Get(field)
		if x == nil || x.Part == nil || seen[x.Part] {
			continue
		}
		seen[x.Part] = true
		for f := rep.View.Axis.Folder; f != nil; f = f.Parent {
			if slices.Contains(f.Parts(), x.Part) {
				out = append(out, rep.judge.part(rep.judge.partView(f, x.Part))...)
			}
		}
	}
	return out
}

// part asks the rules of parts of one part.
func (j *Judge) part(v *PartView) []Finding {
	var out []Finding
	for i, r := range ordered {
		if r.Part == nil || v.force.settings[i].Severity == Off {
			continue
		}
		v.rule = r
		for _, ft := range r.Part(v) {
			out = append(out, j.partFinding(r, v, ft))
		}
	}
	return out
}

// parts asks the rules that look at all parts of a tree together.
func (j *Judge) parts(list []*PartView) []Finding {
	var out []Finding
	for i, r := range ordered {
		if r.Parts == nil {
			continue
		}
		for _, ft := range r.Parts(list) {
			if ft.Part.force.settings[i].Severity != Off {
				out = append(out, j.partFinding(r, ft.Part, ft))
			}
		}
	}
	return out
}

func (j *Judge) partFinding(r *Rule, v *PartView, ft PartFault) Finding {
	set := &v.force.settings[r.index()]
	f := Finding{
		Rule: r.Name, Severity: set.Severity, Place: v.Place, Message: ft.Message, Use: ft.Use, Related: ft.Related,
		Cause: v.Kind + "." + v.Name,
	}
	if ft.Severity != Off {
		f.Severity = min(f.Severity, ft.Severity)
	}
	if ft.Use == 0 {
		f.Use = math.NaN()
	}
	if ft.At != "" {
		f.Place = v.Get(ft.At).Place
		f.Cause += "." + ft.At
	}
	for _, name := range ft.Enters {
		if x := v.Get(name); x != nil && !x.Bad && name != ft.At {
			f.Enters = append(f.Enters, Entry{Words: v.Say(name), Place: x.Place})
		}
	}
	for _, l := range set.Limits {
		if l.Limit.Name == ft.Limit && l.From.Valid() {
			if shown := unit.Format(l.Value, l.Limit.Kind, v.Sys); !strings.Contains(f.Message, shown) {
				f.Message += "; a policy asks for " + l.Limit.Sense.String() + " " + shown + " (" + l.Limit.Doc + ")"
			}
			f.Related = append(slices.Clone(f.Related), spec.Related{Place: l.From, Message: "the policy sets the limit here"})
		}
	}
	for _, w := range v.force.waivers {
		if w.Rule != r.Name || w.Broken || !w.OfPart(v.Part) || f.Waiver != nil {
			continue
		}
		if until, err := time.Parse(time.DateOnly, w.Until.Text); err == nil && !j.today.After(until) {
			f.Waiver, f.WaiverPlace = w.Waiver, w.RulePlace
		}
	}
	return f
}
