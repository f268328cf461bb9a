package editor

import (
	"bytes"
	"context"
	"fmt"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/unit"
)

// An edit of a file of a tree.
type fileEdit struct {
	file     string
	from, to int // bytes of the text that is edited
	text     string
	snippet  string // with places for the cursor, in the place of text
}

// edits makes an edit of the workspace; nil where one of its files is not as it was
// read, so that an edit could go astray.
func (s *server) edits(r *root, list []fileEdit) *workspaceEdit {
	byFile := map[string][]textEdit{}
	var order []string
	for _, e := range list {
		d, t := r.open[e.file], r.textOf(e.file)
		if d != nil && d.effective() != d.text && !strings.HasSuffix(e.file, spec.AxisSuffix) {
			return nil
		}
		if d != nil {
			t = d.text
		}
		if byFile[e.file] == nil {
			order = append(order, e.file)
		}
		text, snippet := e.text, e.snippet
		if snippet != "" {
			text = plain(snippet)
		}
		if i := bytes.IndexByte(t.src, '\n'); i > 0 && t.src[i-1] == '\r' {
			crlf := func(s string) string { return strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "\n", "\r\n") }
			text, snippet = crlf(text), crlf(snippet)
		}
		edit := textEdit{Range: s.span(t, e.from, e.to), NewText: text}
		if w := &s.client.Capabilities.Workspace.WorkspaceEdit; w.DocumentChanges && w.SnippetEditSupport {
			edit.snippet = snippet
		}
		byFile[e.file] = append(byFile[e.file], edit)
	}
	out := &workspaceEdit{}
	for _, file := range order {
		uri := r.uri(file)
		if !s.client.Capabilities.Workspace.WorkspaceEdit.DocumentChanges {
			if out.Changes == nil {
				out.Changes = map[string][]textEdit{}
			}
			out.Changes[uri] = byFile[file]
			continue
		}
		id := versionedID{URI: uri}
		if d := r.open[file]; d != nil {
			v := d.version
			id.Version = &v
		}
		out.DocumentChanges = append(out.DocumentChanges, documentEdit{id, byFile[file]})
	}
	return out
}

// mostActions is how many things are offered at once.
const mostActions = 60

func (s *server) codeActions(ctx context.Context, p *codeActionParams) (any, *wireError) {
	d := s.docs[p.TextDocument.URI]
	if d == nil {
		return []codeAction{}, nil
	}
	s.fresh(ctx, d)
	from, to := d.text.offset(p.Range.Start, s.utf8), d.text.offset(p.Range.End, s.utf8)
	out := []codeAction{}
	for i := range d.found {
		it := &d.found[i]
		if it.to < from || to < it.from || len(out) > mostActions || ctx.Err() != nil {
			continue
		}
		diag := s.diagnostic(d, it)
		var list []codeAction
		switch {
		case it.notJudged:
			list = s.missing(d, it)
		case it.OfText():
			list = s.corrections(d, it)
		default:
			list = s.fixActions(ctx, d, it)
		}
		for _, a := range list {
			a.Kind, a.Diagnostics = "quickfix", []diagnostic{diag}
			out = append(out, a)
		}
	}
	if a := d.outline().attrAt(from); a != nil && from >= a.valueAt {
		out = append(out, s.conversions(d, a)...)
		out = append(out, s.toPart(d, a)...)
	}
	return slices.DeleteFunc(out, func(a codeAction) bool { return !wanted(p.Context.Only, a.Kind) }), nil
}

// wanted reports whether a client that wants some kinds of action only wants this one.
func wanted(only []string, kind string) bool {
	return len(only) == 0 || slices.ContainsFunc(only, func(o string) bool { return o == "" || o == kind || strings.HasPrefix(kind, o+".") })
}

// fixActions are the fixes of a finding, and a waiver for it.
func (s *server) fixActions(ctx context.Context, d *doc, it *item) (out []codeAction) {
	for _, fix := range s.fixesOf(ctx, d, &it.Finding) {
		var list []fileEdit
		title := fix.Words
		for _, e := range fix.Edits {
			list = append(list, fileEdit{file: e.Place.File, from: int(e.Place.Byte), to: int(e.Place.EndByte), text: e.Text})
			if e.Place.File != d.name && !strings.Contains(title, " in ") {
				title += " in " + e.Place.File + s.whomItTouches(d, e.Place)
			}
		}
		if len(list) == 0 {
			continue // a remark; the message or the sheet has it
		}
		if edit := s.edits(d.root, list); edit != nil {
			out = append(out, codeAction{Title: title, Edit: edit})
		}
	}
	if len(out) == 1 {
		out[0].IsPreferred = true
	}
	if a := s.waiver(d, it); a != nil {
		out = append(out, *a)
	}
	return out
}

// whomItTouches says who else uses what an edit in another file changes.
func (s *server) whomItTouches(d *doc, at spec.Place) string {
	if strings.HasSuffix(at.File, spec.AxisSuffix) {
		return ", for all axes of the machine"
	}
	for _, p := range d.root.tree.Folder(path.Dir(at.File)).Parts() {
		if !slices.ContainsFunc(p.Values(), func(v *spec.Value) bool { return v.Place == at }) {
			continue
		}
		return s.whoseToo(d, p)
	}
	return ""
}

// waiver writes a waiver into the axis. Why it is accepted, and until when, is for the
// designer to say; it holds only once both are there.
func (s *server) waiver(d *doc, it *item) *codeAction {
	if it.Axis == "" || s.Book.ByName(it.Rule) == nil {
		return nil
	}
	for _, b := range d.outline().file.blocks {
		if b.kind != "axis" || b.label() != it.Axis || b.end <= b.open || b.end > len(d.text.src) {
			continue
		}
		text := fmt.Sprintf("  waive %q {\n    reason = \"$1\"\n    until  = \"$2\"\n  }\n", it.Rule)
		brace := b.end - 1
		if line := d.text.lines[d.text.position(brace, true).Line]; strings.TrimSpace(string(d.text.src[line:brace])) != "" {
			text = "\n" + text
		}
		edit := s.edits(d.root, []fileEdit{{file: d.name, from: brace, to: brace, snippet: text}})
		if edit == nil {
			return nil
		}
		return &codeAction{Title: "accept for a time: waive " + it.Rule + ", with reason and last day", Edit: edit}
	}
	return nil
}

var (
	meantName = regexp.MustCompile(`did you mean "?([^"?]+)"?\?`)
	toWrite   = regexp.MustCompile(`write (?:it in quotes, such as )?("(?:[^"\\]|\\.)*")`)
)

// corrections are what the message of an error of the text proposes, if the text is the
// better for it.
func (s *server) corrections(d *doc, it *item) (out []codeAction) {
	old := string(d.text.src[it.from:it.to])
	propose := func(text string) {
		if text != "" && text != old && s.better(d, it, text) {
			if edit := s.edits(d.root, []fileEdit{{file: d.name, from: it.from, to: it.to, text: text}}); edit != nil {
				out = append(out, codeAction{Title: "write " + text, IsPreferred: true, Edit: edit})
			}
		}
	}
	if m := meantName.FindStringSubmatch(it.Message); m != nil {
		text := m[1]
		switch {
		case strings.HasPrefix(old, `"`):
			text = strconv.Quote(text)
		case strings.Contains(old, ".") && !strings.Contains(text, "."):
			text = old[:strings.LastIndexByte(old, '.')+1] + text
		}
		propose(text)
	}
	if m := toWrite.FindStringSubmatch(it.Message); m != nil && strings.HasPrefix(strings.Trim(m[1], `"`), strings.Trim(old, `" `)) {
		propose(m[1])
	}
	return out
}

// better reports whether a text in the place of an error makes it go and brings no
// other.
func (s *server) better(d *doc, it *item, text string) bool {
	count := func(src []byte) (n int) {
		file := d.root.tree.AxesOf(d.name, src, nil)
		for _, p := range file.Problems {
			if p.Place.Line == it.Place.Line {
				n++
			}
		}
		return n
	}
	if !strings.HasSuffix(d.name, spec.AxisSuffix) {
		return true // it is read with the next change
	}
	after := slices.Concat(d.text.src[:it.from], []byte(text), d.text.src[it.to:])
	return count(after) < count(d.text.src)
}

// mostUnits is how many other units are offered.
const mostUnits = 8

// conversions write a quantity in another unit, where that is exact.
func (s *server) conversions(d *doc, a *attr) (out []codeAction) {
	if a.field == nil || a.field.Sort != spec.Quantity || a.field.Pair || len(a.value) != 3 {
		return nil
	}
	old := strings.Trim(a.written(), `"`)
	q, err := unit.Parse(old, a.field.Unit)
	if err != nil || !q.Exact() || a.valueEnd > len(d.text.src) {
		return nil
	}
	seen := map[float64]bool{}
	for _, u := range a.field.Unit.Units() {
		x, ok := unit.In(q.Nominal, a.field.Unit, u)
		text := strconv.FormatFloat(x, 'g', 6, 64)
		if !ok || seen[x] || u == unit.UnitOf(old) || strings.ContainsAny(text, "e") || len(out) == mostUnits {
			continue
		}
		seen[x] = true
		text += " " + u
		if again, err := unit.Parse(text, a.field.Unit); err != nil || !judge.Reaches(again.Nominal, q.Nominal) || judge.Above(again.Nominal, q.Nominal) {
			continue
		}
		if edit := s.edits(d.root, []fileEdit{{file: d.name, from: a.valueAt, to: a.valueEnd, text: strconv.Quote(text)}}); edit != nil {
			out = append(out, codeAction{Title: "write as " + text, Kind: "refactor.rewrite", Edit: edit})
		}
	}
	return out
}
