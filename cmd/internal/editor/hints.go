package editor

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"sort"
	"strings"
	"unicode/utf8"

	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
)

// beside says which quantity is shown beside which declared value.
var beside = []struct {
	path  string
	words string
	q     *mechanics.Quantity
}{
	{"motion.move.speed", "screw", mechanics.ByName("max_rotation_speed")},
	{"duty.service_life", "computed", mechanics.ByName("life_years")},
	{"load.mass", "moved", mechanics.ByName("moved_mass")},
	{"supports.span", "critical speed", mechanics.ByName("critical_speed")},
	{"accuracy.positioning", "computed ±", mechanics.ByName("accuracy_budget")},
	{"accuracy.repeatability", "computed ±", mechanics.ByName("repeatability_error")},
	{"nut.preload", "mean load", mechanics.ByName("mean_load")},
	{"screw.length", "needed", mechanics.ByName("needed_shaft_length")},
	{"motion.overtravel", "stop", mechanics.ByName("stopping_distance")},
}

// mostHint is how many characters a hint beside a value has.
const mostHint = 40

func (s *server) inlayHints(ctx context.Context, p *inRange) (any, *wireError) {
	out := []inlayHint{}
	d := s.docs[p.TextDocument.URI]
	if d == nil || !on(s.settings.InlayHints) || !strings.HasSuffix(d.name, spec.AxisSuffix) {
		return out, nil
	}
	s.fresh(ctx, d)
	from, to := d.text.offset(p.Range.Start, s.utf8), d.text.offset(p.Range.End, s.utf8)
	d.outline().file.all(func(b *node) {
		view := d.views[b.top().label()]
		if b.top().kind != "axis" || view == nil || view.text != d.text {
			return
		}
		for _, a := range b.attrs {
			if a.field == nil || a.valueEnd < from || a.from > to {
				continue
			}
			if label, tip := hint(view.rep, a); label != "" {
				out = append(out, inlayHint{Position: d.text.position(a.valueEnd, s.utf8), Label: label, PaddingLeft: true, Tooltip: tip})
			}
		}
	})
	return out, nil
}

// hint is what is shown beside a value of an axis, "" for nothing.
func hint(rep *judge.Report, a *attr) (label, tip string) {
	v := rep.View
	i := slices.IndexFunc(beside, func(h struct {
		path  string
		words string
		q     *mechanics.Quantity
	}) bool {
		return h.path == a.field.Path
	})
	if i < 0 || !v.Calc.Known(beside[i].q) {
		return "", ""
	}
	q := beside[i].q
	if a.in.kind == "move" {
		// The speed of the screw is that of the fastest move.
		if !v.Calc.Known(mechanics.MovePeakSpeed) || v.Axis.Moves[v.Largest(mechanics.MovePeakSpeed)].Name != a.in.label() {
			return "", ""
		}
	}
	label = beside[i].words + " " + v.F(q)
	if use := tightest(rep, q); use != "" && utf8.RuneCountInString(label+", "+use) <= mostHint {
		label += ", " + use
	}
	return label, q.Title + " " + q.Symbol
}

// tightest is how much of its limit a quantity uses, "" where no rule looks at it alone.
func tightest(rep *judge.Report, q *mechanics.Quantity) string {
	for i := range rep.Results {
		rule := rep.Judge.Book.ByName(rep.Results[i].Rule)
		if rule == nil || len(rule.Tests) != 1 || rule.Tests[0].Value != q || math.IsNaN(rep.Results[i].Utilisation) {
			continue
		}
		return judge.Percent(rep.Results[i].Utilisation) + " of limit"
	}
	return ""
}

func (s *server) codeLenses(ctx context.Context, p *inDocument) (any, *wireError) {
	out := []codeLens{}
	d := s.docs[p.TextDocument.URI]
	if d == nil || !on(s.settings.CodeLens) || !strings.HasSuffix(d.name, spec.AxisSuffix) {
		return out, nil
	}
	s.fresh(ctx, d)
	for _, b := range d.outline().file.blocks {
		if v := d.views[b.label()]; b.kind == "axis" && v != nil && v.text == d.text {
			at := s.span(d.text, b.start, b.open)
			out = append(out, codeLens{at, command{Title: summary(v.rep)}})
			if s.settings.LiveSheet {
				out = append(out, codeLens{at, command{Title: "open sheet", Command: openSheet, Arguments: []json.RawMessage{sheetArgument(d.uri, b.label())}}})
			}
		}
	}
	return out, nil
}

// summary is how an axis stands, on one line.
func summary(rep *judge.Report) string {
	results := slices.DeleteFunc(slices.Clone(rep.Results), func(r judge.Result) bool { return math.IsNaN(r.Utilisation) })
	sort.SliceStable(results, func(i, k int) bool { return results[i].Utilisation > results[k].Utilisation })
	parts := []string{standing(rep)}
	for _, r := range results[:min(3, len(results))] {
		parts = append(parts, r.Rule+" "+judge.Percent(r.Utilisation))
	}
	return strings.Join(parts, " · ")
}

// tokenKinds are the kinds of semantic tokens, by their index.
var tokenKinds = []string{"keyword", "property", "string", "number", "comment", "variable", "operator", "enumMember", "function"}

const (
	kindKeyword = iota
	kindProperty
	kindString
	kindNumber
	kindComment
	kindVariable
	kindOperator
	kindWord
	kindFunction
)

// semanticTokens colours a file: few editors know a quantity with its unit by
// themselves.
func (s *server) semanticTokens(_ context.Context, p *inDocument) (any, *wireError) {
	d := s.docs[p.TextDocument.URI]
	if d == nil {
		return map[string]any{"data": []int{}}, nil
	}
	return s.coloured(d, 0, len(d.text.src)), nil
}

// semanticTokensIn colours what is on the screen, and what stands in the same sections.
func (s *server) semanticTokensIn(_ context.Context, p *inRange) (any, *wireError) {
	d := s.docs[p.TextDocument.URI]
	if d == nil {
		return map[string]any{"data": []int{}}, nil
	}
	return s.coloured(d, d.text.offset(p.Range.Start, s.utf8), d.text.offset(p.Range.End, s.utf8)), nil
}

// coloured are the semantic tokens of the sections that have a byte of a stretch.
func (s *server) coloured(d *doc, from, to int) map[string]any {
	var list []*section
	size := 0
	for _, in := range d.outline().sections {
		if in.at > to || in.at+len(in.src) < from {
			continue
		}
		if in.colours == nil {
			in.colours = s.coloursOf(in)
		}
		if size += len(in.colours); len(in.colours) > 0 {
			list = append(list, in)
		}
	}
	data := make([]int, 0, size)
	last := 0 // the line of the last token
	for _, in := range list {
		n := len(data)
		data = append(data, in.colours...)
		line := d.text.position(in.at, true).Line
		data[n] += line - last
		last = line
		for i := 0; i < len(in.colours); i += 5 {
			last += in.colours[i]
		}
	}
	return map[string]any{"data": data}
}

// coloursOf are the semantic tokens of a section.
func (s *server) coloursOf(in *section) []int {
	text := newText([]byte(in.src))
	data := []int{}
	last := position{}
	put := func(from, to, kind int) {
		for from < to {
			start := text.position(from, s.utf8)
			line, at := text.line(start.Line)
			end := min(to, at+len(line))
			if n := text.position(end, s.utf8).Character - start.Character; n > 0 {
				char := start.Character
				if start.Line == last.Line {
					char -= last.Character
				}
				data = append(data, start.Line-last.Line, char, n, kind, 0)
				last = start
			}
			next := start.Line + 1
			if next >= len(text.lines) {
				return
			}
			from = max(end, text.lines[next])
		}
	}
	c := &colours{kinds: map[int]int{}}
	c.of(in.file)
	for i, t := range in.tokens {
		if kind, ok := c.kind(in.tokens, i); ok {
			put(t.Range.Start.Byte-in.at, t.Range.End.Byte-in.at, kind)
		}
	}
	return data
}

// colours knows what names are, by their first byte.
type colours struct{ kinds map[int]int }

func (c *colours) of(b *node) {
	if b.up != nil {
		c.kinds[b.start] = kindKeyword
	}
	for _, a := range b.attrs {
		c.kinds[a.from] = kindProperty
		if a.field == nil {
			continue
		}
		for _, t := range a.value {
			switch {
			case t.Type != hclsyntax.TokenQuotedLit:
			case a.field.Sort == spec.Quantity:
				c.kinds[t.Range.Start.Byte] = kindNumber
			case a.field.Sort == spec.Word:
				c.kinds[t.Range.Start.Byte] = kindWord
			}
		}
	}
	for _, in := range b.blocks {
		c.of(in)
	}
}

func (c *colours) kind(all hclsyntax.Tokens, i int) (int, bool) {
	t := all[i]
	if kind, ok := c.kinds[t.Range.Start.Byte]; ok && (t.Type == hclsyntax.TokenIdent || t.Type == hclsyntax.TokenQuotedLit) {
		return kind, true
	}
	switch t.Type {
	case hclsyntax.TokenComment:
		return kindComment, true
	case hclsyntax.TokenQuotedLit, hclsyntax.TokenStringLit:
		return kindString, true
	case hclsyntax.TokenNumberLit:
		return kindNumber, true
	case hclsyntax.TokenIdent:
		switch text := string(t.Bytes); {
		case text == "true" || text == "false" || text == "null":
			return kindWord, true
		case i+1 < len(all) && all[i+1].Type == hclsyntax.TokenOParen:
			return kindFunction, true
		}
		return kindVariable, true
	}
	return 0, false
}

// semanticLegend names the kinds for the client.
func semanticLegend() map[string]any {
	return map[string]any{"legend": map[string]any{"tokenTypes": tokenKinds, "tokenModifiers": []string{}}, "full": true, "range": true}
}
