package docs

import (
	"fmt"
	"strings"

	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// limitTable lists the limits of a rule.
func limitTable(r *judge.Rule) string {
	var s strings.Builder
	s.WriteString("| name | limits | must be | default | breach is |\n|---|---|---|---|---|\n")
	row := func(l *judge.Limit, breach string) {
		sense := "at most"
		if l.Sense == judge.AtLeast {
			sense = "at least"
		}
		fmt.Fprintf(&s, "| %s | %s | %s | %s | %s |\n", code(l.Name), cell(l.Doc), sense, cell(limitDefault(l)), breach)
	}
	for i := range r.Tests {
		t := &r.Tests[i]
		row(&t.Limit, r.Severity.String())
		if t.Advice != nil {
			row(t.Advice, min(r.Severity, judge.Warning).String())
		}
	}
	for i := range r.Limits {
		row(&r.Limits[i], r.Severity.String())
	}
	return s.String()
}

func limitDefault(l *judge.Limit) string {
	switch {
	case l.Spread != "":
		return l.Spread
	case l.By != nil:
		return "depends on the axis"
	}
	return unit.FormatExact(l.Default, l.Kind, unit.Metric)
}

// compared says what a test compares with its limit.
func compared(t judge.Test) string {
	s := fmt.Sprintf("%s compares %s", code(t.Limit.Name), quantityLink(t.Value, "../"))
	switch {
	case t.Against != nil:
		s += " with " + quantityLink(t.Against, "../") + " times the limit"
	default:
		s += " with the limit"
	}
	if t.Value.Formula != "" {
		s += ": " + code(t.Value.Symbol+" = "+t.Value.Formula)
	}
	return s
}

// inputs collects the declared values that the tests of a rule rest on: those
// that must be there, and those that are counted where they are given.
func inputs(r *judge.Rule) (must, may []*spec.Field) {
	needed, seen := map[*mechanics.Quantity]bool{}, map[*mechanics.Quantity]bool{}
	var need, see func(q *mechanics.Quantity)
	need = func(q *mechanics.Quantity) {
		if needed[q] {
			return
		}
		needed[q] = true
		for _, n := range q.Needs {
			need(n)
		}
	}
	see = func(q *mechanics.Quantity) {
		if seen[q] {
			return
		}
		seen[q] = true
		for _, n := range append(append([]*mechanics.Quantity{}, q.Needs...), q.May...) {
			see(n)
		}
	}
	for i := range r.Tests {
		t := &r.Tests[i]
		for _, q := range append([]*mechanics.Quantity{t.Value, t.Against}, t.Needs...) {
			if q != nil {
				need(q)
				see(q)
			}
		}
	}
	facts := map[*spec.Field]bool{}
	for _, f := range r.Facts {
		facts[f] = true
	}
	for _, f := range spec.Language().Fields {
		q := mechanics.ByName(f.Path)
		switch {
		case facts[f] || q != nil && q.Leaf() && needed[q]:
			must = append(must, f)
		case q != nil && q.Leaf() && seen[q]:
			may = append(may, f)
		}
	}
	return must, may
}

func needs(r *judge.Rule) string {
	must, _ := inputs(r)
	return fieldList(must, "../")
}

func helps(r *judge.Rule) string {
	_, may := inputs(r)
	return fieldList(may, "../")
}

// reasonList lists why a rule's question may not arise; a reason of one limit
// among several says of which.
func reasonList(r *judge.Rule) []string {
	var out []string
	for _, x := range r.Reasons {
		out = append(out, x.Words)
	}
	for i := range r.Tests {
		t := &r.Tests[i]
		for _, x := range t.Reasons {
			words := x.Words
			if len(r.Tests) > 1 {
				words += "; then " + code(t.Limit.Name) + " is not compared"
			}
			out = append(out, words)
		}
	}
	return out
}

// parameterList lists the fixes a rule's findings look for.
func parameterList(r *judge.Rule) []string {
	var out []string
	seen := map[*judge.Parameter]bool{}
	for i := range r.Tests {
		for _, l := range r.Tests[i].Parameters {
			if !seen[l] {
				seen[l] = true
				out = append(out, strings.ReplaceAll(l.Words, "%s", "…"))
			}
		}
	}
	return out
}

// policyExample writes a rule block with every limit of the rule.
func policyExample(r *judge.Rule) string {
	var s strings.Builder
	fmt.Fprintf(&s, "rule %q {\n", r.Name)
	line := func(name, value string) { fmt.Fprintf(&s, "  %-*s = %s\n", width(r), name, value) }
	for i := range r.Tests {
		t := &r.Tests[i]
		for _, l := range []*judge.Limit{&t.Limit, t.Advice} {
			if l != nil {
				line(l.Name, limitExample(l))
			}
		}
	}
	for i := range r.Limits {
		line(r.Limits[i].Name, limitExample(&r.Limits[i]))
	}
	sev := r.Severity
	if sev == judge.Off {
		sev = judge.Note
	}
	line("severity", fmt.Sprintf("%q", sev))
	line("reason", `"agreed for this line, drawing 1042"`)
	s.WriteString("}\n")
	return s.String()
}

func width(r *judge.Rule) int {
	w := len("severity")
	for i := range r.Tests {
		t := &r.Tests[i]
		w = max(w, len(t.Limit.Name))
		if t.Advice != nil {
			w = max(w, len(t.Advice.Name))
		}
	}
	for i := range r.Limits {
		w = max(w, len(r.Limits[i].Name))
	}
	return w
}

func limitExample(l *judge.Limit) string {
	x := l.Default
	if !(x > 0) {
		x = 1
	}
	s := unit.FormatExact(x, l.Kind, unit.Metric)
	if l.Kind == unit.None {
		return s
	}
	return fmt.Sprintf("%q", s)
}
