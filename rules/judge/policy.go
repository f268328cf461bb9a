package judge

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"sync"

	"trammel/spec"
	"trammel/spec/unit"
)

// A Setting is what is in force for one rule in one folder.
type Setting struct {
	Rule         *Rule
	Severity     Severity
	SeverityFrom spec.Place // not valid: the rule's own default
	Limits       []LimitSetting
	Reason       string // of the nearest policy that set anything
}

// A LimitSetting is one limit in force.
type LimitSetting struct {
	Limit *Limit
	Value float64    // SI; NaN where the rule's own default holds
	From  spec.Place // not valid: the rule's own default
}

// InForce is everything a folder's policies decide.
type InForce struct {
	book     *Rulebook
	Settings []Setting // by index of the rule
	House    []*HouseRule
	Waivers  []*spec.Waiver
	problems []spec.Problem // of this folder's own policies
}

// policies works out what is in force, once a folder.
type policies struct {
	book *Rulebook
	mu   sync.Mutex
	seen map[*spec.Folder]*InForce
}

func (p *policies) of(f *spec.Folder) *InForce {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.ofLocked(f)
}

// LetGo drops what is known of a folder of which no axis is judged any more.
func (j *Judge) LetGo(f *spec.Folder) {
	j.policies.mu.Lock()
	defer j.policies.mu.Unlock()
	delete(j.policies.seen, f)
}

func (p *policies) ofLocked(f *spec.Folder) *InForce {
	if got := p.seen[f]; got != nil {
		return got
	}
	var out *InForce
	if f.Parent == nil {
		out = p.book.byDefault()
	} else {
		out = p.ofLocked(f.Parent)
		if len(f.Policies) > 0 {
			out = out.copy()
		}
	}
	out.apply(f)
	p.seen[f] = out
	return out
}

func (b *Rulebook) byDefault() *InForce {
	out := &InForce{book: b, Settings: make([]Setting, len(b.all))}
	for i, r := range b.all {
		s := Setting{Rule: r, Severity: r.Severity}
		for _, l := range r.limits() {
			s.Limits = append(s.Limits, LimitSetting{Limit: l, Value: math.NaN()})
		}
		out.Settings[i] = s
	}
	return out
}

func (f *InForce) copy() *InForce {
	out := &InForce{book: f.book, Settings: append([]Setting(nil), f.Settings...)}
	for i := range out.Settings {
		out.Settings[i].Limits = append([]LimitSetting(nil), out.Settings[i].Limits...)
	}
	out.House = append(out.House, f.House...)
	out.Waivers = append(out.Waivers, f.Waivers...)
	return out
}

func (f *InForce) report(rule string, at spec.Place, help, format string, args ...any) {
	f.problems = append(f.problems, spec.Problem{Rule: rule, Place: at, Message: fmt.Sprintf(format, args...), Help: help})
}

// apply lays a folder's own policies over what holds above it.
func (f *InForce) apply(folder *spec.Folder) {
	set := map[string]spec.Place{}
	for _, file := range folder.Policies {
		for _, r := range file.Rules {
			if f.full(r.Place) {
				return
			}
			f.applyRule(r, set)
		}
		for _, h := range file.House {
			if f.full(h.Place) {
				return
			}
			if hr := f.compile(h); hr != nil {
				f.House = append(f.House, hr)
			}
		}
		for _, w := range file.Waivers {
			if f.full(w.RulePlace) {
				return
			}
			f.waiverName(w)
			f.Waivers = append(f.Waivers, w)
		}
	}
}

// maxPolicyProblems is the number of problems of a folder's policies from which
// on nothing more is read of them: the rest would only be more of the same.
const maxPolicyProblems = 100

// full reports whether there are too many problems to go on, and says so where
// that is.
func (f *InForce) full(at spec.Place) bool {
	if len(f.problems) < maxPolicyProblems {
		return false
	}
	f.report("syntax", at, "fix the problems above first", "too many problems in the policies of this folder: the rest is not read")
	return true
}

func (f *InForce) waiverName(w *spec.Waiver) {
	if p := f.unknownWaived(w); p != nil {
		f.problems = append(f.problems, *p)
	}
}

func (f *InForce) unknownWaived(w *spec.Waiver) *spec.Problem {
	if textRules[w.Rule] != "" {
		return &spec.Problem{Rule: "value", Place: w.RulePlace, Message: fmt.Sprintf("%s is a check of the language itself and cannot be waived", w.Rule), Help: "fix the text"}
	}
	names := f.book.names()
	for _, h := range f.House {
		names = append(names, h.Rule.Name)
	}
	for _, n := range names {
		if n == w.Rule {
			return nil
		}
	}
	return &spec.Problem{Rule: "unknown-name", Place: w.RulePlace, Message: fmt.Sprintf("there is no rule %q to waive", w.Rule), Help: DidYouMean(w.Rule, names)}
}

// applyRule takes over one rule block. set holds the places of what the other
// policy files of the folder have set: no file goes before another, so nothing
// may be set twice.
func (f *InForce) applyRule(pr *spec.PolicyRule, set map[string]spec.Place) {
	r := f.book.byName[pr.Rule]
	if r == nil {
		if textRules[pr.Rule] != "" {
			f.report("value", pr.Place, "", "%s is a check of the language itself and cannot be set", pr.Rule)
			return
		}
		f.report("unknown-name", pr.Place, DidYouMean(pr.Rule, f.book.names()), "there is no rule %q", pr.Rule)
		return
	}
	again := func(what string, at spec.Place) bool {
		key := r.Name + " " + what
		first, twice := set[key]
		if twice {
			f.report("duplicate-name", at, "keep one of them", "another policy file in this folder also sets %s of %s", what, r.Name)
			f.problems[len(f.problems)-1].Related = []spec.Related{{Place: first, Message: "set here"}}
			return true
		}
		set[key] = at
		return false
	}
	s := &f.Settings[r.Index]
	looser, open := "", false
	if v := pr.Severity; v != nil && !v.Bad && !again("severity", v.Place) {
		sev, _ := ParseSeverity(v.Text)
		if sev < r.Severity {
			looser = "severity " + v.Text
		}
		s.Severity, s.SeverityFrom = sev, v.Place
	}
	for _, l := range pr.Limits {
		i := -1
		var names []string
		for k := range s.Limits {
			names = append(names, s.Limits[k].Limit.Name)
			if s.Limits[k].Limit.Name == l.Name {
				i = k
			}
		}
		if i < 0 {
			help := "it has no limit to set"
			if len(names) > 0 {
				help = "it has " + strings.Join(names, ", ") + ", severity and reason"
			}
			f.report("unknown-name", l.NamePlace, help, "rule %s has no limit %q", r.Name, l.Name)
			continue
		}
		ls := &s.Limits[i]
		x, ok := f.limit(r, ls.Limit, l)
		if !ok || again(l.Name, l.NamePlace) {
			continue
		}
		// A limit that replaces one depending on the axis may be looser for some.
		if ls.Limit.By != nil {
			looser, open = l.Name+" "+shownLimit(l), true
		} else if ls.Limit.Sense == AtMost && x > ls.Limit.Default*(1+1e-12) || ls.Limit.Sense == AtLeast && x < ls.Limit.Default*(1-1e-12) {
			looser = l.Name + " " + shownLimit(l)
		}
		ls.Value, ls.From = x, l.Place
	}
	reason := ""
	if pr.Reason != nil && !pr.Reason.Bad {
		reason = strings.TrimSpace(pr.Reason.Text)
	}
	if looser != "" && reason == "" && pr.Reason == nil {
		is := "is"
		if open {
			is = "may be, for some axes,"
		}
		f.report("value", pr.Place, `write reason = "…"`, "%s %s looser than the default of %s and needs a reason", looser, is, r.Name)
	} else if looser != "" && reason == "" {
		f.report("value", pr.Reason.Place, "", "the reason for a looser %s is empty", r.Name)
	}
	if reason != "" {
		s.Reason = reason
	}
}

func shownLimit(l spec.PolicyLimit) string {
	if l.IsText {
		return l.Text
	}
	return Rough(l.Number)
}

// limit reads a limit as written in a policy.
func (f *InForce) limit(r *Rule, l *Limit, w spec.PolicyLimit) (float64, bool) {
	x := w.Number
	if l.Kind == unit.None {
		if w.IsText {
			f.report("value", w.Place, spec.Bare(l.Name, w.Text), "%s of %s is a number without unit or quotes, found the text %q", l.Name, r.Name, w.Text)
			return 0, false
		}
	} else {
		if !w.IsText {
			f.report("unit", w.Place, fmt.Sprintf("write it in quotes, such as %q", unit.WithUnit(Rough(w.Number), l.Kind, unit.Format(l.Default, l.Kind, unit.Metric))),
				"%s of %s needs a unit; the bare number %s has none", l.Name, r.Name, Rough(w.Number))
			return 0, false
		}
		q, err := unit.Parse(w.Text, l.Kind)
		if err != nil {
			f.report("unit", w.Place, "", "%s of %s: %v", l.Name, r.Name, err)
			return 0, false
		}
		if !q.Exact() {
			f.report("value", w.Place, "", "a limit has no tolerance")
			return 0, false
		}
		x = q.Nominal
	}
	if !(x > 0) || math.IsInf(x, 0) {
		f.report("value", w.Place, "", "%s of %s must be above zero", l.Name, r.Name)
		return 0, false
	}
	return x, true
}

// limit is the limit of a test in force for an axis. ok is false where a
// default that depends on the axis is not defined for it.
func (v *View) limit(r *Rule, l *Limit) (x float64, because string, ok bool) {
	set := v.InForce.Settings[r.Index].Limits
	for i := range set {
		if set[i].Limit == l && !math.IsNaN(set[i].Value) {
			return set[i].Value, "", true
		}
	}
	if l.By != nil {
		return l.By(v)
	}
	return l.Default, "", true
}

func DidYouMean(name string, names []string) string {
	sort.Strings(names)
	if n := spec.Nearest(name, names); n != "" {
		return "did you mean " + n + "?"
	}
	return ""
}

// limitNamed is a limit in force of a rule that is no Test's.
func (f *InForce) limitNamed(r *Rule, name string) float64 {
	for _, l := range f.Settings[r.Index].Limits {
		if l.Limit.Name == name {
			if math.IsNaN(l.Value) {
				return l.Limit.Default
			}
			return l.Value
		}
	}
	panic("rules: " + r.Name + " has no limit " + name)
}

// CheckLimit is a limit in force of a rule that looks at facts. It panics where there is
// no such rule or limit: rules name their own.
func (v *View) CheckLimit(rule, name string) float64 {
	return v.InForce.limitNamed(v.InForce.book.byName[rule], name)
}

// TestLimit is the limit in force of a test of a rule, by the test's place in the rule,
// and why it is this for the axis. ok is false where it is not defined for it.
func (v *View) TestLimit(rule string, test int) (x float64, because string, ok bool) {
	r := v.InForce.book.byName[rule]
	return v.limit(r, &r.Tests[test].Limit)
}

// SeverityOf is the severity in force of a rule.
func (v *View) SeverityOf(rule string) Severity {
	return v.InForce.Settings[v.InForce.book.byName[rule].Index].Severity
}
