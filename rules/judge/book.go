package judge

import (
	"cmp"
	"slices"

	"trammel/rules/mechanics"
)

// A Rulebook is a set of rules, made ready to be asked. It does not change and may
// be used by several goroutines at once.
type Rulebook struct {
	all    []*Rule // by name
	byName map[string]*Rule
	parts  []*Rule // those that look at all parts of a tree together
	waiver []*Rule // those about waivers
	turn   []*Rule // those that come out otherwise from some day on
}

// New makes a rulebook of rules, which it copies. It panics where two have one name,
// or one has that of a check of the language: both are slips in a program, none of a
// spec file.
func New(rules []*Rule) *Rulebook {
	b := &Rulebook{byName: map[string]*Rule{}}
	for _, r := range rules {
		if b.byName[r.Name] != nil || textRules[r.Name] != "" {
			panic("judge: two rules are named " + r.Name)
		}
		r = r.ready()
		b.byName[r.Name] = r
		b.all = append(b.all, r)
	}
	slices.SortFunc(b.all, func(a, b *Rule) int { return cmp.Compare(a.Name, b.Name) })
	for i, r := range b.all {
		r.Index = i
		if r.Parts != nil {
			b.parts = append(b.parts, r)
		}
		if r.Waiver != nil {
			b.waiver = append(b.waiver, r)
		}
		if r.Turns != nil {
			b.turn = append(b.turn, r)
		}
	}
	return b
}

// ready is a copy of a rule with all that is made from what it declares.
func (r *Rule) ready() *Rule {
	own := *r
	r = &own
	if r.Part != nil && r.Check == nil {
		r.Reasons, r.Check = restated(r)
	}
	if len(r.Reasons) > 0 {
		r.Applies = firstOf(r.Reasons)
	}
	r.Tests = slices.Clone(r.Tests)
	for i := range r.Tests {
		t := &r.Tests[i]
		if len(t.Reasons) > 0 {
			t.Applies = firstOf(t.Reasons)
		}
		t.all = []*mechanics.Quantity{t.Value}
		if t.Against != nil {
			t.all = append(t.all, t.Against)
		}
		t.all = append(t.all, t.Needs...)
		t.watches()
		t.assumes, t.assumePlan = t.assumptions()
		t.casePlan = mechanics.Plan(t.watch, mechanics.Case)
	}
	return r
}

// watches makes what a test looks at from all and Also.
func (t *Test) watches() {
	t.watch, t.under = slices.Concat(t.all, t.Also), mechanics.Set{}
	t.under.AddUnder(t.watch...)
}

// All lists the rules in order of their names.
func (b *Rulebook) All() []*Rule { return b.all }

// ByName finds a rule, nil where there is none.
func (b *Rulebook) ByName(name string) *Rule { return b.byName[name] }

// AcrossParts lists the rules that look at all parts of a tree together.
func (b *Rulebook) AcrossParts() []*Rule { return b.parts }

// Turning lists the rules that have Turns.
func (b *Rulebook) Turning() []*Rule { return b.turn }

// Caution is what can hurt whoever fixes a finding of a rule, "" for nothing of its own.
func (b *Rulebook) Caution(rule string) string {
	if r := b.byName[rule]; r != nil {
		return r.Caution
	}
	return ""
}

// known reports whether a rule of that name exists, a check of the language among them.
func (b *Rulebook) known(name string) bool { return b.byName[name] != nil || textRules[name] != "" }

// names lists the names of all rules and checks of the language, in no order.
func (b *Rulebook) names() []string {
	names := TextRuleNames()
	for _, r := range b.all {
		names = append(names, r.Name)
	}
	return names
}
