package judge

import (
	"slices"
	"strings"

	"trammel/rules/mechanics"
	"trammel/spec"
)

// A Fix is one way to make a finding go, by itself. Made in the files as it
// says, the finding is gone, no other has come and none is worse. A fix that no
// edit can make is a remark without edits: what a part must be like that is not
// the one used, or a thing to do.
type Fix struct {
	Words   string      // "speed ≤ 0.489 m/s"
	Changes []FixChange // what the axis then says
	Edits   []spec.Edit // what makes it say so, by place; all of them are needed
}

// FixWords says on one line what fixes a finding, "" where nothing is known.
func FixWords(fixes []Fix) string {
	switch len(fixes) {
	case 0:
		return ""
	case 1:
		return "fix with: " + fixes[0].Words
	}
	var list []string
	for i := range fixes {
		list = append(list, fixes[i].Words)
	}
	return "fix with any one of: " + strings.Join(list, " · ")
}

// A FixChange is one field of the axis that a fix gives another value.
type FixChange struct {
	Path     string // of the field in the language
	Move     string // the move it belongs to; "" for a field of the axis
	Old, New string // as written, without quotes; Old is "" where there was nothing
}

// A Draft is a fix as a rule proposes it. Without lines it is a remark.
type Draft struct {
	Words string
	Lines []spec.Line
}

func Remark(words string) Draft { return Draft{Words: words} }

// Change drafts a fix that gives one field of the axis another value.
func Change(words, path, text string) Draft {
	return Draft{words, []spec.Line{{Field: Field(path), Move: -1, Text: text}}}
}

// Declare is change, where the value is the axis's or the machine's to say: what a
// part is made like is no line to edit, and stays a remark.
func Declare(v *View, words, path, text string) Draft {
	if x := v.Value(Field(path)); x != nil && x.Origin == spec.OfPart {
		return Remark(words)
	}
	return Change(words, path, text)
}

// findFixes finds the fixes of a finding.
func (j *Judge) findFixes(b *Scratch, rep *Report, f *Finding) {
	if f.Waiver != nil {
		return
	}
	drafts := f.drafts
	if f.test != nil && f.test.Fixes != nil {
		drafts = f.test.Fixes(rep.View)
	}
	for _, d := range drafts {
		j.offer(b, rep, f, d)
	}
	if f.test == nil {
		return
	}
	offered := map[string]bool{}
	for _, l := range f.test.Parameters {
		if l.If != nil && !l.If(rep.View) || l.Group != "" && offered[l.Group] {
			continue
		}
		if d, ok := j.solve(b, rep.View, j.Book.byName[f.Rule], f.test, l); ok && j.offer(b, rep, f, d) {
			offered[l.Group] = true
		}
	}
}

// offer adds a fix to a finding if it is true: the axis is judged again with its
// lines as the edits make them.
func (j *Judge) offer(b *Scratch, rep *Report, f *Finding, d Draft) bool {
	if len(d.Lines) == 0 {
		f.Fixes = append(f.Fixes, Fix{Words: d.Words})
		return true
	}
	v := rep.View
	with, edits, ok := v.Axis.Rewrite(d.Lines)
	if !ok {
		return false
	}
	if !b.spend(wholeRun+Phases(len(with.Moves))) || !j.helps(b, rep, f, with) {
		return false
	}
	fix := Fix{Words: d.Words}
	if j.harmsParts(v.Axis, with) {
		f.Fixes = append(f.Fixes, fix) // no part is so; another must be
		return true
	}
	fix.Edits = edits
	for _, l := range d.Lines {
		c := FixChange{Path: l.Field.Path, New: l.Text}
		have := v.Axis.Get
		if l.Move >= 0 {
			m := v.Axis.Moves[l.Move]
			c.Move, have = m.Name, m.Get
		}
		if x := have(l.Field); x != nil {
			c.Old = x.Text
		}
		fix.Changes = append(fix.Changes, c)
	}
	f.Fixes = append(f.Fixes, fix)
	return true
}

// same reports whether two findings of one axis are of one question: of one
// test, or of one rule about the same line.
func (f *Finding) same(g *Finding) bool {
	if f.test != nil || g.test != nil {
		return f.test == g.test && f.Rule == g.Rule
	}
	return f.Rule == g.Rule && f.Cause == g.Cause
}

// better reports whether, as judged after a fix, a finding is gone, none has
// come, none is more serious or further beyond its limit, and none is gone only
// because its rule cannot be judged any more. That a waiver accepts nothing any
// more is no harm.
func (rep *Report) better(after *Report, gone *Finding) bool {
	for i := range after.Results {
		if rep.loses(after, gone, i) {
			return false
		}
	}
	if after.count(gone) >= rep.count(gone) {
		return false
	}
	for i := range after.Findings {
		if f := &after.Findings[i]; rep.suffers(after, gone, f) || rep.matters(gone, f) && f.Waiver == nil && rep.like(f).Waiver != nil {
			return false
		}
	}
	return true
}

// refuses is what better says as soon as a rule has answered: after is what is judged
// so far, result its last answer and findings what this answer found. Waivers are looked
// at after all rules.
func (rep *Report) refuses(after *Report, gone *Finding, result int, findings []Finding) bool {
	if r := rep.Judge.Book.byName[after.Results[result].Rule]; r != nil && r.Waiver != nil {
		return false
	}
	if rep.loses(after, gone, result) {
		return true
	}
	for i := range findings {
		f := &findings[i]
		if f.same(gone) && after.count(gone) >= rep.count(gone) || rep.suffers(after, gone, f) {
			return true
		}
	}
	return false
}

// loses reports whether a rule that found something cannot be judged any more.
func (rep *Report) loses(after *Report, gone *Finding, i int) bool {
	return after.Results[i].State == Unjudged && rep.Results[i].State == Failed && !rep.mirrors(after.Results[i].Rule, gone)
}

// suffers reports whether a finding after a fix has come, or is worse than it was.
func (rep *Report) suffers(after *Report, gone, f *Finding) bool {
	if !rep.matters(gone, f) {
		return false
	}
	was := rep.like(f)
	return was == nil || after.count(f) > rep.count(f) || f.Severity > was.Severity || f.Utilisation > was.Utilisation*(1+1e-6)
}

// matters reports whether a finding after a fix counts beside the one it is to fix.
func (rep *Report) matters(gone, f *Finding) bool {
	r := rep.Judge.Book.byName[f.Rule]
	return (r == nil || r.Waiver == nil) && !f.same(gone) && !rep.mirrors(f.Rule, gone)
}

func (rep *Report) count(f *Finding) (n int) {
	for i := range rep.Findings {
		if rep.Findings[i].same(f) {
			n++
		}
	}
	return n
}

// like is the first finding of the same question, nil if there is none.
func (rep *Report) like(f *Finding) *Finding {
	if k := slices.IndexFunc(rep.Findings, func(o Finding) bool { return o.same(f) }); k >= 0 {
		return &rep.Findings[k]
	}
	return nil
}

// mirrors reports whether a rule compares the text with what is made after it, so that a
// fix of another rule's finding may part the two.
func (rep *Report) mirrors(rule string, gone *Finding) bool {
	r := rep.Judge.Book.byName[rule]
	return r != nil && r.Mirror && rule != gone.Rule
}

// harmsParts reports whether a part that is changed with the axis comes to have
// findings of its own that it had not.
func (j *Judge) harmsParts(before, after *spec.Axis) bool {
	was, is := before.Parts(), after.Parts()
	for i, p := range is {
		if p == was[i] {
			continue
		}
		folder := before.Folder
		for folder != nil && !slices.Contains(folder.Parts(), was[i]) {
			folder = folder.Parent
		}
		if folder == nil {
			return true
		}
		old := j.AskPart(j.ViewPart(folder, was[i]))
		for _, f := range j.AskPart(j.ViewPart(folder, p)) {
			k := slices.IndexFunc(old, func(o Finding) bool { return o.same(&f) })
			if k < 0 || f.Severity > old[k].Severity || f.Waiver == nil && old[k].Waiver != nil || f.Utilisation > old[k].Utilisation*(1+1e-6) {
				return true
			}
		}
	}
	return false
}

// lines are what the axis must say for a parameter to stand at the value that text
// writes: every move that is not yet so is changed.
func (l *Parameter) lines(v *View, text string, x float64, only int) []spec.Line {
	f := FieldOfLeaf[l.Leaf.ID()]
	if l.Leaf.Shape == mechanics.Scalar {
		return []spec.Line{{Field: f, Move: -1, Text: text}}
	}
	var out []spec.Line
	for i, m := range v.Axis.Moves {
		have := m.Get(f)
		if have == nil || have.Bad || only >= 0 && only != i {
			continue
		}
		if l.Up && have.Num.Low < x || !l.Up && have.Num.High > x {
			out = append(out, spec.Line{Field: f, Move: i, Text: text})
		}
	}
	return out
}
