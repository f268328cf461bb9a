package editor

import (
	"bytes"
	"context"
	"path"
	"slices"
	"strings"
	"unicode"

	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/spec"
)

// A target is something that has a name and can be referred to.
type target struct {
	kind string // of a part; "axis"; "given"
	name string
	file string // of a given value or an axis
	part *spec.Part
}

// A mention is a place where the name of a target stands.
type mention struct {
	file     string
	from, to int
	declares bool
}

// targetAt finds what is named at a byte, in a reference or where it is declared.
func (s *server) targetAt(d *doc, at int) (t target, from, to int, ok bool) {
	o := d.outline()
	if a := o.attrAt(at); a != nil {
		for _, ref := range a.references() {
			if ref.from <= at && at <= ref.to {
				return s.resolve(d, ref.kind, ref.name.text), ref.name.from, ref.name.to, true
			}
		}
		if a.in.kind == "given" && at <= a.to {
			return target{kind: "given", name: a.name(), file: d.name}, a.from, a.to, true
		}
		return t, 0, 0, false
	}
	if b := o.head(at); b != nil && b.up.up == nil && len(b.labels) > 0 && b.kind != "machine" && b.kind != "series" && b.kind != "rule" && b.kind != "require" && b.kind != "waive" {
		return s.resolve(d, b.kind, b.label()), b.labels[0].from, b.labels[0].to, true
	}
	return t, 0, 0, false
}

func (s *server) resolve(d *doc, kind, name string) target {
	t := target{kind: kind, name: name, file: d.name}
	if kind != "given" && kind != "axis" {
		t.part = d.root.tree.Folder(path.Dir(d.name)).Part(kind, name)
	}
	return t
}

// mentions lists the places where a target is named. Of a part all axis files of the
// tree are looked through that use it.
func (s *server) mentions(ctx context.Context, r *root, t target) (out []mention) {
	files := []string{t.file}
	switch {
	case t.kind == "axis":
		files, _ = r.files(path.Dir(t.file))
	case t.kind != "given" && t.part == nil:
		return nil
	case t.part != nil:
		files = s.filesWith(ctx, r, t)
	}
	slices.Sort(files)
	for _, file := range slices.Compact(files) {
		if ctx.Err() != nil {
			return nil
		}
		out = append(out, mentionsIn(r.outlineOf(file), file, t)...)
	}
	if t.part != nil && !slices.ContainsFunc(out, func(m mention) bool { return m.declares }) {
		text := r.textOf(t.part.Place.File)
		from, to := text.stretch(t.part.Place) // a row of a series
		if to-from > 2 && text.src[from] == '"' {
			out = append(out, mention{t.part.Place.File, from + 1, to - 1, true})
		}
	}
	return out
}

// filesWith lists the files in which a part may be named.
func (s *server) filesWith(ctx context.Context, r *root, t target) []string {
	r.wantIndex()
	for ctx.Err() == nil && r.index.step(r) {
	}
	files := []string{t.part.Place.File}
	r.tree.Walk(".", func(file string) {
		may := isMachine(file) || !strings.HasSuffix(file, spec.AxisSuffix) || slices.Contains(r.index.uses[file], use{t.kind, t.name})
		if may && r.tree.Folder(r.index.scopeOf(path.Dir(file))).Part(t.kind, t.name) == t.part {
			files = append(files, file)
		}
	})
	return files
}

func mentionsIn(o *outline, file string, t target) (out []mention) {
	o.file.all(func(b *node) {
		if b.up != nil && b.up.up == nil && b.kind == t.kind && b.label() == t.name && (t.part == nil || t.part.Place.File == file) {
			out = append(out, mention{file, b.labels[0].from, b.labels[0].to, true})
		}
		for _, a := range b.attrs {
			if b.kind == "given" && t.kind == "given" && a.name() == t.name {
				out = append(out, mention{file, a.from, a.to, true})
			}
			out = append(out, mentionsInValue(a, file, t)...)
		}
	})
	return out
}

func mentionsInValue(a *attr, file string, t target) (out []mention) {
	for _, ref := range a.references() {
		if ref.kind == t.kind && ref.name.text == t.name {
			out = append(out, mention{file, ref.name.from, ref.name.to, false})
		}
	}
	skip := 0
	switch {
	case a.name() == "fits" && a.in.kind == "nut" && t.kind == "screw":
	case a.name() == "axes" && a.in.kind == "waive" && t.kind == "axis":
	case a.name() == "parts" && a.in.kind == "waive" && t.part != nil:
		skip = len(t.kind) + 1
	default:
		return out
	}
	for _, w := range a.value {
		if text := string(w.Bytes); w.Type == hclsyntax.TokenQuotedLit && len(text) > skip && text[skip:] == t.name && (skip == 0 || text[:skip] == t.kind+".") {
			out = append(out, mention{file, w.Range.Start.Byte + skip, w.Range.End.Byte, false})
		}
	}
	return out
}

func (s *server) locations(r *root, list []mention) []location {
	out := []location{}
	for _, m := range list {
		out = append(out, location{r.uri(m.file), s.span(s.shownText(r, m.file), m.from, m.to)})
	}
	return out
}

// shownText is a file's text as the client has it.
func (s *server) shownText(r *root, file string) *text {
	if d := r.open[file]; d != nil {
		return d.text
	}
	return r.textOf(file)
}

func (s *server) definition(ctx context.Context, p *atPosition) (any, *wireError) {
	d, at, ok := s.at(p)
	if !ok {
		return nil, nil
	}
	if b := d.outline().head(at); b != nil && b.kind == "waive" {
		return s.limitsOf(d, b.label()), nil
	}
	t, _, _, ok := s.targetAt(d, at)
	if !ok {
		return nil, nil
	}
	if t.part != nil {
		return []location{s.locate(d.root, t.part.Place)}, nil
	}
	list := slices.DeleteFunc(s.mentions(ctx, d.root, t), func(m mention) bool { return !m.declares })
	return s.locations(d.root, list), nil
}

// limitsOf are the places of the policies that set the limits in force for a rule.
func (s *server) limitsOf(d *doc, rule string) []location {
	out := []location{}
	set, _ := s.settingOf(d, rule)
	for _, l := range set.Limits {
		if l.From.Valid() {
			out = append(out, s.locate(d.root, l.From))
		}
	}
	if set.SeverityFrom.Valid() {
		out = append(out, s.locate(d.root, set.SeverityFrom))
	}
	return out
}

func (s *server) references(ctx context.Context, p *struct {
	atPosition
	Context struct {
		IncludeDeclaration bool `json:"includeDeclaration"`
	} `json:"context"`
}) (any, *wireError) {
	d, at, ok := s.at(&p.atPosition)
	if !ok {
		return nil, nil
	}
	t, _, _, ok := s.targetAt(d, at)
	if !ok {
		return nil, nil
	}
	list := s.mentions(ctx, d.root, t)
	if !p.Context.IncludeDeclaration {
		list = slices.DeleteFunc(list, func(m mention) bool { return m.declares })
	}
	return s.locations(d.root, list), nil
}

func (s *server) prepareRename(_ context.Context, p *atPosition) (any, *wireError) {
	d, at, ok := s.at(p)
	if !ok {
		return nil, nil
	}
	_, from, to, ok := s.targetAt(d, at)
	if !ok {
		return nil, nil
	}
	return s.span(d.text, from, to), nil
}

// rename gives a part, an axis or a given value another name, in all files that name it.
func (s *server) rename(ctx context.Context, p *struct {
	atPosition
	NewName string `json:"newName"`
}) (any, *wireError) {
	d, at, ok := s.at(&p.atPosition)
	if !ok {
		return nil, failed(invalidParams, "the file is not open")
	}
	t, _, _, ok := s.targetAt(d, at)
	if !ok {
		return nil, failed(requestFailed, "there is no name of a part, an axis or a given value here")
	}
	if why := s.cannotRename(d, t, p.NewName); why != "" {
		return nil, failed(requestFailed, "%s", why)
	}
	list := s.mentions(ctx, d.root, t)
	if !slices.ContainsFunc(list, func(m mention) bool { return m.declares }) {
		return nil, failed(requestFailed, "%s %s is not declared where it can be renamed", t.kind, t.name)
	}
	if at, ok := s.outOfReach(d.root, t, list); !ok {
		return nil, failed(requestFailed, "%s stands at %s too, where it cannot be changed; change it there first", t.name, at)
	}
	var edits []fileEdit
	for _, m := range list {
		edits = append(edits, fileEdit{file: m.file, from: m.from, to: m.to, text: p.NewName})
	}
	edit := s.edits(d.root, edits)
	if edit == nil {
		return nil, failed(requestFailed, "a file with this name has errors of syntax; fix them first")
	}
	return edit, nil
}

// cannotRename says why a name cannot be used, "" where it can.
func (s *server) cannotRename(d *doc, t target, name string) string {
	if !plainName(name) {
		return "a name here has letters, digits, _ and -, a letter first"
	}
	switch {
	case t.kind == "given":
		for _, b := range d.outline().file.blocks {
			if b.kind == "given" && slices.ContainsFunc(b.attrs, func(a *attr) bool { return a.name() == name }) {
				return "given." + name + " is there already"
			}
		}
	case t.kind == "axis":
		files, _ := d.root.files(path.Dir(d.name))
		for _, file := range files {
			if slices.ContainsFunc(d.root.outlineOf(file).file.blocks, func(b *node) bool { return b.kind == "axis" && b.label() == name }) {
				return "this folder has an axis " + name + " already"
			}
		}
	case t.part != nil:
		return s.cannotRenamePart(d.root, t, name)
	}
	return ""
}

// outOfReach gives a place where a nut names a screw and no mention is, as in the row of
// a series; ok is true where there is none.
func (s *server) outOfReach(r *root, t target, list []mention) (at spec.Place, ok bool) {
	if t.kind != "screw" {
		return at, true
	}
	for dir := range foldersOf(r) {
		f := r.tree.Folder(dir)
		for _, nut := range f.Parts() {
			v := nut.Get("fits")
			if nut.Kind != "nut" || v == nil || v.Text != t.name || f.Part("screw", t.name) != t.part {
				continue
			}
			from, to := r.textOf(v.Place.File).stretch(v.Place)
			if !slices.ContainsFunc(list, func(m mention) bool { return m.file == v.Place.File && from <= m.from && m.to <= to }) {
				return v.Place, false
			}
		}
	}
	return at, true
}

func (s *server) cannotRenamePart(r *root, t target, name string) string {
	for dir := range foldersOf(r) {
		f := r.tree.Folder(dir)
		if f.Part(t.kind, t.name) != t.part {
			continue
		}
		if f.Part(t.kind, name) != nil {
			return t.kind + " " + name + " is declared already where it would be looked for"
		}
		if nut := f.Part("nut", t.name); t.kind == "screw" && nut != nil && nut.Get("fits") == nil {
			return "nut " + t.name + " belongs to the screw by its name alone; write fits = \"" + t.name + "\" in it first"
		}
	}
	if t.kind == "nut" && t.part.Get("fits") == nil {
		return "the nut belongs to its screw by its name alone; write fits in it first"
	}
	return ""
}

// foldersOf lists the folders of a tree that hold spec files.
func foldersOf(r *root) map[string]bool {
	out := map[string]bool{}
	r.tree.Walk(".", func(file string) { out[spec.ScopeOf(path.Dir(file))] = true })
	return out
}

// plainName reports whether a name can stand behind a point without brackets.
func plainName(s string) bool {
	for i, r := range s {
		if !unicode.IsLetter(r) && r != '_' && (i == 0 || !unicode.IsDigit(r) && r != '-') {
			return false
		}
	}
	return s != "" && len(s) <= 100
}

func (s *server) documentSymbols(_ context.Context, p *inDocument) (any, *wireError) {
	d := s.docs[p.TextDocument.URI]
	if d == nil {
		return []documentSymbol{}, nil
	}
	if !s.client.Capabilities.TextDocument.DocumentSymbol.Hierarchical {
		return s.flatSymbols(d, d.outline().file, "", []symbolInformation{}), nil
	}
	return s.symbols(d.text, d.outline().file), nil
}

var symbolKinds = map[string]int{"axis": symbolClass, "machine": symbolModule, "move": symbolEvent}

func symbolName(b *node) (name string, kind int) {
	name = b.kind
	if b.label() != "" {
		name += " " + b.label()
	}
	if kind = symbolKinds[b.kind]; kind == 0 {
		kind = symbolObject
	}
	return name, kind
}

func (s *server) symbols(t *text, in *node) []documentSymbol {
	out := []documentSymbol{}
	for _, b := range in.blocks {
		name, kind := symbolName(b)
		sym := documentSymbol{Name: name, Kind: kind, Range: s.span(t, b.start, b.end), SelectionRange: s.span(t, b.start, min(b.open, b.end)), Children: s.symbols(t, b)}
		for _, a := range b.attrs {
			if b.kind == "given" {
				sym.Children = append(sym.Children, documentSymbol{Name: a.name(), Kind: symbolProperty, Range: s.span(t, a.from, a.valueEnd), SelectionRange: s.span(t, a.from, a.to)})
			}
		}
		out = append(out, sym)
	}
	return out
}

func (s *server) flatSymbols(d *doc, in *node, up string, out []symbolInformation) []symbolInformation {
	for _, b := range in.blocks {
		name, kind := symbolName(b)
		out = append(out, symbolInformation{name, kind, location{d.uri, s.span(d.text, b.start, b.end)}, up})
		out = s.flatSymbols(d, b, name, out)
	}
	return out
}

// mostSymbols is how many symbols of a workspace are listed.
const mostSymbols = 300

// workspaceSymbols lists the axes and parts of the trees with open files whose names
// hold what is looked for.
func (s *server) workspaceSymbols(ctx context.Context, p *struct {
	Query string `json:"query"`
}) (any, *wireError) {
	out := []symbolInformation{}
	query := strings.ToLower(p.Query)
	for _, r := range s.roots {
		r.settle()
		r.tree.Walk(".", func(file string) {
			if ctx.Err() != nil || len(out) >= mostSymbols {
				return
			}
			t := s.shownText(r, file)
			if query != "" && !bytes.Contains(bytes.ToLower(t.src), []byte(lastField(query))) {
				return
			}
			for _, b := range r.outlineOf(file).file.blocks {
				name, kind := symbolName(b)
				if b.label() != "" && strings.Contains(strings.ToLower(name), query) && len(out) < mostSymbols {
					out = append(out, symbolInformation{name, kind, location{r.uri(file), s.span(t, b.start, b.end)}, path.Dir(file)})
				}
			}
		})
	}
	return out, nil
}

func lastField(s string) string {
	if f := strings.Fields(s); len(f) > 0 {
		return f[len(f)-1]
	}
	return s
}

func (s *server) formatting(_ context.Context, p *inDocument) (any, *wireError) {
	d := s.docs[p.TextDocument.URI]
	if d == nil {
		return []textEdit{}, nil
	}
	tidied, problems := s.Tidy(d.name, d.text.src)
	if len(problems) > 0 || bytes.Equal(tidied, d.text.src) {
		return []textEdit{}, nil
	}
	old := d.text.src
	from := 0
	for from < len(old) && from < len(tidied) && old[from] == tidied[from] {
		from++
	}
	end := 0
	for end < len(old)-from && end < len(tidied)-from && old[len(old)-1-end] == tidied[len(tidied)-1-end] {
		end++
	}
	from, end = wholeLines(old, from, end)
	return []textEdit{{Range: s.span(d.text, from, len(old)-end), NewText: string(tidied[from : len(tidied)-end])}}, nil
}

// wholeLines widens what is changed so that no character, and no line end, is cut.
func wholeLines(src []byte, from, end int) (int, int) {
	from = bytes.LastIndexByte(src[:from], '\n') + 1
	if i := bytes.IndexByte(src[len(src)-end:], '\n'); i >= 0 {
		return from, end - i - 1
	}
	return from, 0
}

func (s *server) folding(_ context.Context, p *inDocument) (any, *wireError) {
	out := []foldingRange{}
	d := s.docs[p.TextDocument.URI]
	if d == nil {
		return out, nil
	}
	o := d.outline()
	line := func(at int) int { return d.text.position(at, true).Line }
	o.file.all(func(b *node) {
		if from, to := line(b.start), line(b.end); b.up != nil && to > from {
			out = append(out, foldingRange{StartLine: from, EndLine: to - 1})
		}
		for _, a := range b.attrs {
			if from, to := line(a.from), line(a.valueEnd); to > from {
				out = append(out, foldingRange{StartLine: from, EndLine: to})
			}
		}
	})
	first, last := -1, -1
	flush := func() {
		if last > first {
			out = append(out, foldingRange{StartLine: first, EndLine: last, Kind: "comment"})
		}
	}
	for _, in := range o.sections {
		for _, t := range in.tokens {
			if t.Type != hclsyntax.TokenComment {
				continue
			}
			n := line(t.Range.Start.Byte)
			if first < 0 || n != last+1 {
				flush()
				first = n
			}
			last = n
		}
	}
	flush()
	return out, nil
}

func (s *server) selection(_ context.Context, p *struct {
	TextDocument documentID `json:"textDocument"`
	Positions    []position `json:"positions"`
}) (any, *wireError) {
	out := []*selectionRange{}
	d := s.docs[p.TextDocument.URI]
	if d == nil {
		return out, nil
	}
	for _, pos := range p.Positions {
		at := d.text.offset(pos, s.utf8)
		var r *selectionRange
		add := func(from, to int) {
			next := s.span(d.text, from, to)
			if r == nil || r.Range != next {
				r = &selectionRange{Range: next, Parent: r}
			}
		}
		add(0, len(d.text.src))
		var chain []*node
		for b := d.outline().within(at); b.up != nil; b = b.up {
			chain = append(chain, b)
		}
		slices.Reverse(chain)
		for _, b := range chain {
			add(b.start, b.end)
		}
		if a := d.outline().attrAt(at); a != nil {
			add(a.from, a.valueEnd)
			if at >= a.valueAt {
				add(a.valueAt, a.valueEnd)
			} else {
				add(a.from, a.to)
			}
		}
		out = append(out, r)
	}
	return out, nil
}
