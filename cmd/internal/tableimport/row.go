package tableimport

import (
	"fmt"
	"strings"

	"trammel/spec"
)

// row takes one row into the draft of its axis.
func (a *adopter) row(r *row) {
	if r.trouble != "" {
		a.result.LeftOut++
		a.say(r.number, -1, "the row is left out: %s", r.trouble)
		return
	}
	d := a.draftOf(r)
	if d == nil {
		return
	}
	if a.m.moves != nil && a.draft != nil && a.draft.key == d.key {
		a.draft.last = r.number
	} else {
		a.flush()
		a.draft = d
	}
	mv := a.moveOf(r)
	for _, b := range a.bindings {
		to := mv
		switch {
		case !isMove(b.field):
		case a.m.moves == nil:
			to = a.draft.move(b.move)
		case mv == nil:
			continue
		}
		a.take(r, b, to)
	}
}

// name fills in a template of names; what cannot be is said, with what comes of it.
func (a *adopter) name(r *row, t *template, what string) (string, bool) {
	name, missing := t.fill(func(i int) string { return r.cell(a.titles[t.parts[i].text]).text })
	if missing < 0 {
		return name, true
	}
	at := a.titles[t.parts[missing].text]
	why := "is empty"
	if c := r.cell(at); c.trouble != "" {
		why = "cannot be read: " + c.trouble
	} else if strings.TrimSpace(c.text) != "" {
		why = fmt.Sprintf("reads %q, which holds no letter or digit", clip(c.text))
	}
	a.result.LeftOut++
	a.say(r.number, at, "%s: the cell that names it %s", what, why)
	return name, false
}

// draftOf is the draft of a row's axis, without values; nil where the axis has no name.
func (a *adopter) draftOf(r *row) *draft {
	d := &draft{first: r.number, last: r.number}
	var ok bool
	if d.axis, ok = a.name(r, a.m.axis, "the row is left out because it has no axis name"); !ok {
		return nil
	}
	d.axis = safeName(d.axis)
	d.file = d.axis
	if a.m.file != nil {
		if d.file, ok = a.name(r, a.m.file, "the row is left out because it has no file name"); !ok {
			return nil
		}
		d.file = safeName(d.file)
	}
	if a.m.folder != nil {
		if d.folder, ok = a.name(r, a.m.folder, "the row is left out because it has no folder name"); !ok {
			return nil
		}
		d.folder = folders(d.folder)
	}
	d.key = d.folder + "\x00" + d.file + "\x00" + d.axis
	d.called = strings.TrimSpace(a.called(r))
	return d
}

// moveOf is the move that a row is about, in the draft; nil where rows are not moves, or it
// is left out.
func (a *adopter) moveOf(r *row) *move {
	if a.m.moves == nil {
		// The order of the moves is that of the mapping, whichever are known.
		for _, b := range a.bindings {
			if isMove(b.field) {
				a.draft.move(b.move)
			}
		}
		return nil
	}
	name, ok := a.name(r, a.m.moves, "its move is left out because it has no name")
	if !ok {
		return nil
	}
	if len(a.draft.moves) == maxMoves {
		a.result.LeftOut++
		a.say(r.number, -1, "its move is left out: a cycle has at most %d moves", maxMoves)
		return nil
	}
	mv := a.draft.newMove(safeName(name))
	if mv.name != safeName(name) {
		a.result.Renamed++
		a.say(r.number, -1, "a second move %s of axis %s is written as %s", safeName(name), a.draft.axis, mv.name)
	}
	return mv
}

// take reads the cell of one binding into the draft.
func (a *adopter) take(r *row, b *binding, to *move) {
	v, why := b.reader.read(r.cell(b.index))
	switch {
	case why != "":
		a.result.Unread++
		a.say(r.number, b.index, "not read for %s: %s", b.field.Path, why)
		return
	case v == nil:
		a.result.Unknown++
		return
	}
	v.comment = a.whence(r, b, v.altered)
	if old := a.draft.set(b.field, b.end, to, v); old != nil && (old.dispute != "" || v.differs(old)) {
		a.result.Unread++
		a.say(r.number, b.index, "not read for %s: %s contradicts %s by %s; neither is used", b.field.Path, v.text, old.text, old.comment)
		if old.dispute == "" {
			old.dispute = v.text + " by " + v.comment
			a.result.Read--
			a.result.Unread++
		}
		return
	}
	a.result.Read++
	if b.field.Sort == spec.PartRef && len(a.parts) < 1000 {
		a.parts[v.text] = true
	}
}

// whence says where in the table a value stands, and how it is written there if that is
// not how the axis has it.
func (a *adopter) whence(r *row, b *binding, altered bool) string {
	text := a.column(b.index)
	if r.number != a.draft.first {
		text = a.rowName(r.number) + ", " + text
	}
	c := r.cell(b.index)
	if c.above != 0 && c.above != r.number {
		text += " as in " + a.rowName(c.above)
	}
	if altered {
		text += ": " + comment(c.text)
		if c.percent {
			text += " %"
		}
	}
	return text
}
