package docs

import (
	"fmt"
	"slices"
	"strings"

	"trammel/rules"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// graph lists the computed quantities in order of their names.
func graph() []*mechanics.Quantity {
	var out []*mechanics.Quantity
	for _, q := range mechanics.All() {
		if !q.Leaf() {
			out = append(out, q)
		}
	}
	slices.SortFunc(out, func(a, b *mechanics.Quantity) int { return strings.Compare(a.Name, b.Name) })
	return out
}

// assumedTable lists what is assumed where nobody declares it.
func assumedTable() string {
	var s strings.Builder
	s.WriteString("| line | what is assumed without it | quantity |\n|---|---|---|\n")
	for _, a := range mechanics.Assumptions() {
		fmt.Fprintf(&s, "| %s | %s | %s |\n", fieldLink(spec.Language().FieldAt(a.Leaf.Name), ""), cell(a.Why), quantityList([]*mechanics.Quantity{a.Taken}, ""))
	}
	return s.String()
}

// declaredTable lists the quantities that come straight from what is declared.
func declaredTable() string {
	var s strings.Builder
	s.WriteString("| name | symbol | unit | meaning | formulas that take it |\n|---|---|---|---|---|\n")
	var leaves []*mechanics.Quantity // in the order of the language, then the rest
	for _, f := range spec.Language().Fields {
		if q := mechanics.ByName(f.Path); q != nil && q.Leaf() {
			leaves = append(leaves, q)
		}
	}
	for _, q := range mechanics.All() {
		if q.Leaf() && !slices.Contains(leaves, q) {
			leaves = append(leaves, q)
		}
	}
	for _, q := range leaves {
		name := code(q.Name)
		if f := spec.Language().FieldAt(q.Name); f != nil {
			name = fieldLink(f, "")
		}
		var takers []*mechanics.Quantity
		for _, t := range mechanics.All() {
			if slices.Contains(t.Needs, q) || slices.Contains(t.May, q) {
				takers = append(takers, t)
			}
		}
		symbol := ""
		if q.Symbol != "" {
			symbol = code(q.Symbol)
		}
		fmt.Fprintf(&s, "| %s | %s | %s | %s | %s |\n", name, symbol, cell(unitOf(q)), cell(q.Title), quantityList(takers, ""))
	}
	return s.String()
}

func unitOf(q *mechanics.Quantity) string {
	switch {
	case len(q.Words) > 0:
		return "one of " + codes(q.Words)
	case q.Kind == unit.None:
		return "bare number"
	case q.Kind.SI() == "1":
		return q.Kind.String()
	}
	return code(q.Kind.SI())
}

func shape(q *mechanics.Quantity) string {
	switch q.Shape {
	case mechanics.PerMove:
		return "one value for each move"
	case mechanics.PerPhase:
		return "four values for each move: ramp up, steady, ramp down, rest"
	}
	return ""
}

func quantityLink(q *mechanics.Quantity, up string) string {
	if !q.Leaf() {
		return fmt.Sprintf("[%s](%squantities.md#%s)", code(q.Name), up, anchor(q.Name))
	}
	if f := spec.Language().FieldAt(q.Name); f != nil {
		return fieldLink(f, up)
	}
	return fmt.Sprintf("[%s](%squantities.md#declared)", code(q.Name), up)
}

func quantityList(list []*mechanics.Quantity, up string) string {
	var out []string
	for _, q := range list {
		out = append(out, quantityLink(q, up))
	}
	return strings.Join(out, ", ")
}

// usedBy lists the rules that compare a quantity or need it for their words.
func usedBy(q *mechanics.Quantity) string {
	var out []string
	for _, r := range rules.Book().All() {
		for i := range r.Tests {
			t := &r.Tests[i]
			if t.Value == q || t.Against == q || slices.Contains(t.Needs, q) {
				out = append(out, fmt.Sprintf("[%s](rules/%s.md)", r.Name, r.Name))
				break
			}
		}
	}
	return strings.Join(out, ", ")
}
