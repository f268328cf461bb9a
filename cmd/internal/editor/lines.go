package editor

import (
	"bytes"
	"fmt"
	"path"
	"regexp"
	"slices"
	"strings"

	"trammel/spec"
)

// Actions that write lines: those that are missing, and one that belongs into a part.

// axisNode is the block of an axis, nil where there is none.
func (d *doc) axisNode(name string) *node {
	for _, b := range d.outline().file.blocks {
		if b.kind == "axis" && b.label() == name {
			return b
		}
	}
	return nil
}

// missing writes the line for the lack of which rules are not judged: into the axis, or
// into its part, where that is where it belongs. No value is proposed.
func (s *server) missing(d *doc, it *item) (out []codeAction) {
	f := spec.Language().FieldAt(it.lacks)
	b := d.axisNode(it.Axis)
	if f == nil || b == nil || strings.Count(f.Path, ".") > 1 {
		return nil
	}
	role, _, inBlock := strings.Cut(f.Path, ".")
	if part := s.partOf(d, it.Axis, role); inBlock && part != nil {
		file := part.Place.File
		if n := partNode(d.root.outlineOf(file), part); n != nil && fieldOf(n, f.Name) != nil {
			if e, ok := lineIn(d.root.textOf(file), file, n, f.Name+" = "+fill(fieldOf(n, f.Name))); ok {
				title := "write " + f.Name + " in " + part.Ref() + " in " + file + s.whoseToo(d, part)
				out = append(out, codeAction{Title: title, Edit: s.edits(d.root, []fileEdit{e})})
			}
		}
	}
	var e fileEdit
	ok := false
	switch i := slices.IndexFunc(b.blocks, func(n *node) bool { return n.kind == role }); {
	case !inBlock:
		e, ok = lineIn(d.text, d.name, b, f.Name+" = "+fill(f))
	case i >= 0 && fieldOf(b.blocks[i], f.Name) != nil:
		e, ok = lineIn(d.text, d.name, b.blocks[i], f.Name+" = "+fill(f))
	case i < 0 && blockOf(b, role) != nil && slices.Contains(blockOf(b, role).Fields, f):
		e, ok = lineIn(d.text, d.name, b, role+" {\n    "+f.Name+" = "+fill(f)+"\n  }")
	}
	if ok {
		out = append(out, codeAction{Title: "write " + f.Path + " here", Edit: s.edits(d.root, []fileEdit{e})})
	}
	return slices.DeleteFunc(out, func(a codeAction) bool { return a.Edit == nil })
}

// partOf is the part that an axis refers to for a role, nil for none.
func (s *server) partOf(d *doc, axis, role string) *spec.Part {
	v := d.views[axis]
	if v == nil || v.old {
		return nil
	}
	for _, f := range spec.Language().Fields {
		if f.Sort == spec.PartRef && f.Role == role {
			if x := v.rep.View.Axis.Get(f); x != nil && x.Part != nil {
				return d.root.tree.Folder(path.Dir(d.name)).Part(x.Part.Kind, x.Part.Name)
			}
		}
	}
	return nil
}

// partNode is the block of a part; nil where it is a row of a series.
func partNode(o *outline, p *spec.Part) *node {
	i := slices.IndexFunc(o.file.blocks, func(n *node) bool { return n.kind == p.Kind && n.label() == p.Name })
	if i < 0 {
		return nil
	}
	return o.file.blocks[i]
}

// whoseToo says how many axes use a part, where it is more than one.
func (s *server) whoseToo(d *doc, p *spec.Part) string {
	s.wholeIndex(d.root)
	if n := len(s.users(d.root, p)); n > 1 {
		return fmt.Sprintf(", which %d axes use", n)
	}
	return ""
}

// lineIn writes a line, which is a snippet, at the end of a block whose closing brace
// stands on a line of its own.
func lineIn(t *text, file string, b *node, line string) (fileEdit, bool) {
	brace := b.end - 1
	if b.end <= b.open || b.end > len(t.src) || t.src[brace] != '}' {
		return fileEdit{}, false
	}
	start := t.lines[t.position(brace, true).Line]
	indent := t.src[start:brace]
	if len(bytes.TrimLeft(indent, " \t")) > 0 {
		return fileEdit{}, false
	}
	return fileEdit{file: file, from: start, to: start, snippet: string(indent) + "  " + line + "\n"}, true
}

var (
	choice = regexp.MustCompile(`\$\{\d\|(?:\\.|[^|])*\|\}`)
	stop   = regexp.MustCompile(`\$\d`)
	escape = regexp.MustCompile(`\\(.)`)
)

// plain is the text of a snippet, for a client that knows none.
func plain(snippet string) string {
	return escape.ReplaceAllString(stop.ReplaceAllString(choice.ReplaceAllString(snippet, ""), ""), "$1")
}

// toPart moves a value that an axis says itself into the part it uses.
func (s *server) toPart(d *doc, a *attr) (out []codeAction) {
	if a.field == nil || a.in.up == nil || a.in.up.kind != "axis" || len(a.references()) > 0 || !a.equals || strings.Contains(a.written(), "${") {
		return nil
	}
	role := a.in.kind
	part := s.partOf(d, a.in.top().label(), role)
	if part == nil {
		return nil
	}
	file := part.Place.File
	n, t := partNode(d.root.outlineOf(file), part), d.root.textOf(file)
	if n == nil || fieldOf(n, a.text) == nil {
		return nil
	}
	written := string(d.text.src[a.valueAt:a.valueEnd])
	in := fileEdit{file: file, text: written}
	if i := slices.IndexFunc(n.attrs, func(o *attr) bool { return o.text == a.text && o.equals }); i >= 0 {
		in.from, in.to = n.attrs[i].valueAt, n.attrs[i].valueEnd
	} else {
		line, ok := lineIn(t, file, n, "")
		if !ok {
			return nil
		}
		in.from, in.to, in.text = line.from, line.to, strings.TrimSuffix(line.snippet, "\n")+a.text+" = "+written+"\n"
	}
	from := d.text.lines[d.text.position(a.from, true).Line]
	to := len(d.text.src)
	if next := d.text.position(a.valueEnd, true).Line + 1; next < len(d.text.lines) {
		to = d.text.lines[next]
	}
	if strings.TrimSpace(string(d.text.src[from:a.from])) != "" || !onlyComment(d.text.src[a.valueEnd:to]) {
		return nil // something else stands on its line
	}
	edit := s.edits(d.root, []fileEdit{{file: d.name, from: from, to: to}, in})
	if edit == nil {
		return nil
	}
	return []codeAction{{Title: "move " + a.text + " into " + part.Ref() + " in " + file + s.whoseToo(d, part), Kind: "refactor.rewrite", Edit: edit}}
}

// onlyComment reports whether nothing but a comment is left of a line.
func onlyComment(rest []byte) bool {
	rest = bytes.TrimSpace(rest)
	return len(rest) == 0 || rest[0] == '#' || bytes.HasPrefix(rest, []byte("//"))
}
