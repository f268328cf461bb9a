// Package docs makes the reference pages of this folder from the language, the
// rules and the calculation graph, so that they cannot say anything else than
// the program does. The prose around the tables stands in templates.
//
// The test of this package compares the pages on disk with what is made, and
// writes them with -update.
package docs

import (
	"bytes"
	"embed"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/template"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

//go:embed templates/*.md
var texts embed.FS

// A Page is one generated file.
type Page struct {
	Path string // below this folder, with forward slashes
	Text []byte
}

// rulesFolder holds one page for each rule. Nothing in it is written by hand.
const rulesFolder = "rules"

// Pages makes all generated pages, in order of their paths.
func Pages() ([]Page, error) {
	t, err := template.New("").Funcs(functions).ParseFS(texts, "templates/*.md")
	if err != nil {
		return nil, err
	}
	var out []Page
	make := func(name, tmpl string, data any) error {
		var b bytes.Buffer
		if err := t.ExecuteTemplate(&b, tmpl, data); err != nil {
			return err
		}
		out = append(out, Page{name, tidy(b.String())})
		return nil
	}
	if err := make("language.md", "language.md", spec.Language()); err != nil {
		return nil, err
	}
	if err := make("quantities.md", "quantities.md", graph()); err != nil {
		return nil, err
	}
	if err := make(rulesFolder+"/README.md", "rules.md", rules.Book().All()); err != nil {
		return nil, err
	}
	for _, r := range rules.Book().All() {
		if err := make(rulesFolder+"/"+r.Name+".md", "rule.md", r); err != nil {
			return nil, err
		}
	}
	slices.SortFunc(out, func(a, b Page) int { return strings.Compare(a.Path, b.Path) })
	return out, nil
}

// Stale lists the generated files below dir that are missing, differ from what
// is made, or belong to a rule that is gone.
func Stale(dir string, pages []Page) ([]string, error) {
	var out []string
	made := map[string]bool{}
	for _, p := range pages {
		made[p.Path] = true
		have, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(p.Path)))
		if err != nil && !os.IsNotExist(err) {
			return nil, err
		}
		if err != nil || !bytes.Equal(have, p.Text) {
			out = append(out, p.Path)
		}
	}
	entries, err := os.ReadDir(filepath.Join(dir, rulesFolder))
	if err != nil && !os.IsNotExist(err) {
		return nil, err
	}
	for _, e := range entries {
		if name := rulesFolder + "/" + e.Name(); !made[name] {
			out = append(out, name)
		}
	}
	return out, nil
}

// Write writes the pages below dir and removes those of rules that are gone.
func Write(dir string, pages []Page) error {
	stale, err := Stale(dir, pages)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Join(dir, rulesFolder), 0o755); err != nil {
		return err
	}
	for _, name := range stale {
		full := filepath.Join(dir, filepath.FromSlash(name))
		i := slices.IndexFunc(pages, func(p Page) bool { return p.Path == name })
		if i < 0 {
			err = os.Remove(full)
		} else {
			err = os.WriteFile(full, pages[i].Text, 0o644)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// tidy takes out trailing spaces and the runs of empty lines that templates
// leave behind.
func tidy(s string) []byte {
	var out []string
	for line := range strings.Lines(s) {
		line = strings.TrimRight(line, " \t\n")
		if line == "" && (len(out) == 0 || out[len(out)-1] == "") {
			continue
		}
		out = append(out, line)
	}
	return []byte(strings.TrimRight(strings.Join(out, "\n"), "\n") + "\n")
}

var functions = template.FuncMap{
	"fields":     fieldTable,
	"units":      unitTable,
	"functions":  func() string { return codes(spec.Functions()) },
	"megabytes":  func() int { return spec.MaxFileSize >> 20 },
	"depth":      func() int { return spec.MaxDepth },
	"textRules":  textRuleTable,
	"cell":       cell,
	"severity":   func(r *judge.Rule) string { return r.Severity.String() },
	"limits":     limitTable,
	"compared":   compared,
	"needs":      needs,
	"helps":      helps,
	"fieldList":  func(list []*spec.Field) string { return fieldList(list, "../") },
	"parameters": parameterList,
	"reasons":    reasonList,
	"policy":     policyExample,
	"declared":   declaredTable,
	"assumed":    assumedTable,
	"unseen":     rules.Unseen,
	"unitOf":     unitOf,
	"shape":      shape,
	"linked":     func(list []*mechanics.Quantity) string { return quantityList(list, "") },
	"usedBy":     usedBy,
	"ranges":     rangeTable,
}

// cell makes text fit for a cell of a table.
func cell(s string) string {
	return strings.ReplaceAll(strings.ReplaceAll(s, "|", `\|`), "\n", " ")
}

func code(s string) string { return "`" + s + "`" }

func codes(list []string) string {
	var out []string
	for _, s := range list {
		out = append(out, code(s))
	}
	return strings.Join(out, ", ")
}

// anchor is the anchor a heading gets: letters, digits, - and _ in lower case,
// spaces as hyphens.
func anchor(heading string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(heading) {
		switch {
		case r == ' ':
			b.WriteByte('-')
		case r == '-' || r == '_' || r >= '0' && r <= '9' || r >= 'a' && r <= 'z':
			b.WriteRune(r)
		}
	}
	return b.String()
}

func fieldTable(b *spec.Block) string {
	var s strings.Builder
	like, own := alike(b), 0
	s.WriteString("| field | value | example | default | machine | meaning |\n|---|---|---|---|---|---|\n")
	for _, f := range b.Fields {
		if ofEveryPart(b, f) || like != nil && slices.ContainsFunc(like.Fields, func(x *spec.Field) bool { return x.Name == f.Name && x.Doc == f.Doc }) {
			continue
		}
		own++
		machine := ""
		if f.Inherit {
			machine = "yes"
		}
		fmt.Fprintf(&s, "| %s | %s | %s | %s | %s | %s |\n", code(f.Name), cell(valueOf(b, f)), cell(code(f.Example)), cell(defaultOf(f)), machine, cell(f.Doc))
	}
	switch {
	case like == nil:
	case own == 0:
		return fmt.Sprintf("It takes the fields of [`%s`](#block-%s).\n", like.Name, like.Name)
	default:
		fmt.Fprintf(&s, "\nIt takes the fields of [the part](#%s) too%s; what is declared here overrides the part.\n", partAnchor(like.Name), besides(b, like))
	}
	return s.String()
}

// besides names the fields of a part that the block of the axis does not take.
func besides(b, part *spec.Block) string {
	var names []string
	for _, f := range part.Fields {
		if !slices.ContainsFunc(b.Fields, func(x *spec.Field) bool { return x.Name == f.Name }) {
			names = append(names, code(f.Name))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return ", but not " + strings.Join(names, ", ")
}

// alike is the block with the same fields that has them on the page already, or will: the part
// that a block of an axis uses, or the other end. nil: none.
func alike(b *spec.Block) *spec.Block {
	if b.Label != "" {
		return nil
	}
	for _, p := range spec.Language().PartKinds() {
		if p.Name == b.Name {
			return p
		}
	}
	for _, x := range spec.Language().Axis.Blocks {
		if b.Name == "far_journal" && x.Name == "drive_journal" {
			return x
		}
	}
	return nil
}

// ofEveryPart reports whether f is one of the fields that all parts have, which the page
// names once.
func ofEveryPart(b *spec.Block, f *spec.Field) bool {
	return slices.Contains(spec.Language().PartKinds(), b) && (f.Name == "description" || f.Name == "cost")
}

func valueOf(b *spec.Block, f *spec.Field) string {
	r := f.Permitted()
	if r != "" {
		r = ", " + r
	}
	switch f.Sort {
	case spec.Quantity:
		if f.Pair {
			return fmt.Sprintf("list of two, each [%s](#units)%s", f.Unit.WithArticle(), r)
		}
		return fmt.Sprintf("[%s](#units)%s", f.Unit, r)
	case spec.Number:
		return "bare number" + r
	case spec.Word:
		return "one of " + codes(f.Words)
	case spec.Flag:
		return "`true` or `false`"
	case spec.PartRef:
		return fmt.Sprintf("reference to one [%s](#%s)", f.Part, partAnchor(f.Part))
	case spec.AxisRefs:
		return "list of axes"
	case spec.Date:
		return "a day"
	}
	switch {
	case f.Name == "limit" && b.Name == "rule":
		return "text with a unit, or a bare number"
	case strings.HasPrefix(f.Example, `"`):
		return "text"
	case strings.HasPrefix(f.Example, "[["):
		return "list of rows"
	case strings.HasPrefix(f.Example, "["):
		return "list of names"
	}
	return "condition"
}

// rangeTable lists the usual ranges on the page of the rule that asks for them.
func rangeTable(r *judge.Rule) string {
	if r.Name != "magnitude" {
		return ""
	}
	var s strings.Builder
	s.WriteString("| field | usual from | to | permitted |\n|---|---|---|---|\n")
	for _, u := range rules.UsualRanges() {
		fmt.Fprintf(&s, "| %s | %s | %s | %s |\n", code(u.Path), u.Low, u.High, cell(u.Permitted))
	}
	return s.String()
}

func defaultOf(f *spec.Field) string {
	switch {
	case f.Default == "":
		return ""
	case f.Why == "":
		return code(f.Default)
	}
	return code(f.Default) + ": " + f.Why
}

// unitTable lists the kinds of quantity that a field, a limit or a computed
// quantity has, with every spelling that is read.
func unitTable() string {
	used := map[unit.Kind]bool{}
	for _, f := range spec.Language().Fields {
		if f.Sort == spec.Quantity {
			used[f.Unit] = true
		}
	}
	for _, p := range spec.Language().PartKinds() {
		for _, f := range p.Fields {
			if f.Sort == spec.Quantity {
				used[f.Unit] = true
			}
		}
	}
	for _, q := range mechanics.All() {
		used[q.Kind] = true
	}
	for _, r := range rules.Book().All() {
		for i := range r.Tests {
			used[r.Tests[i].Limit.Kind] = true
		}
	}
	delete(used, unit.None)
	var kinds []unit.Kind
	for k := range used {
		kinds = append(kinds, k)
	}
	slices.Sort(kinds)
	var s strings.Builder
	s.WriteString("| kind | spellings | computed in |\n|---|---|---|\n")
	for _, k := range kinds {
		fmt.Fprintf(&s, "| %s | %s | %s |\n", k, cell(codes(k.Units())), cell(code(k.SI())))
	}
	return s.String()
}

func textRuleTable() string {
	var s strings.Builder
	s.WriteString("| check | asks |\n|---|---|\n")
	for _, n := range judge.TextRuleNames() {
		fmt.Fprintf(&s, "| %s | %s |\n", code(n), cell(judge.TextRules()[n]))
	}
	return s.String()
}

func blockAnchor(name string) string { return anchor("Block " + name) }
func partAnchor(kind string) string  { return anchor("Part " + kind) }

// fieldLink links a field to the table that describes it.
func fieldLink(f *spec.Field, up string) string {
	return fmt.Sprintf("[%s](%slanguage.md#%s)", code(f.Path), up, fieldAnchor(f))
}

func fieldAnchor(f *spec.Field) string {
	block, _, ok := strings.Cut(f.Path, ".")
	if !ok {
		return blockAnchor("axis")
	}
	if strings.HasPrefix(f.Path, "motion.move.") {
		return blockAnchor("move")
	}
	for _, b := range spec.Language().Axis.Blocks {
		if b.Name == block {
			return blockAnchor(block)
		}
	}
	for _, r := range spec.Language().Fields {
		if r.Sort == spec.PartRef && r.Role == block {
			return partAnchor(r.Part)
		}
	}
	return ""
}

func fieldList(list []*spec.Field, up string) string {
	var out []string
	for _, f := range list {
		s := fieldLink(f, up)
		if f.Default != "" {
			s += " (default " + code(f.Default) + ")"
		}
		out = append(out, s)
	}
	return strings.Join(out, ", ")
}
