package editor

import (
	"context"
	"fmt"
	"path"
	"reflect"
	"slices"
	"strings"
	"time"

	"trammel/cmd/internal/report"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/mechanics"
	"trammel/spec"
)

// An item is one thing to show in an open file.
type item struct {
	judge.Finding        // of what is not judged: its place, the axis and the words
	notJudged     bool   // it is a gap and no finding
	lacks         string // the path of the line that is missing, "" where it is something else
	from, to      int    // bytes of the text
}

// lastSeen is what was found of an axis when it could last be read.
type lastSeen struct{ items []item }

// viewed is the calculation of an axis.
type viewed struct {
	rep  *judge.Report
	text *text // of the file it was judged in
	old  bool  // the axis, or one that it carries, cannot be read as it stands
}

// carries reports whether the axis carries others.
func (v *viewed) carries() bool { return v.rep.View.Axis.Get(judge.CarriesField) != nil }

// step judges something that is stale and shows what came of it. It is false where
// nothing is, or nothing yet: a file of many parts waits until nobody writes.
func (s *server) step(ctx context.Context) bool {
	s.waits = false
	for _, r := range s.roots {
		r.settle()
		if d := r.next(); d != nil {
			if d.took > slow && time.Since(s.heard) < quiet {
				s.waits = true
				continue
			}
			s.judge(ctx, d)
			return true
		}
		if r.index.step(r) {
			return true
		}
	}
	return false
}

// A file that takes longer than slow to judge is judged when nothing was heard for a
// while: the next key is not to wait for it.
const (
	slow  = 16 * time.Millisecond
	quiet = 150 * time.Millisecond
)

// next is the open file to be judged next: first those whose axes use what has changed,
// then other axes, then the files that are read with them.
func (r *root) next() (next *doc) {
	rank := func(d *doc) int {
		switch {
		case !strings.HasSuffix(d.name, spec.AxisSuffix):
			return 2
		case r.first[d]:
			return 0
		}
		return 1
	}
	for _, d := range r.inOrder() {
		if d.stale && (next == nil || rank(d) < rank(next)) {
			next = d
		}
	}
	return next
}

// fresh sees to it that a file is judged as it stands.
func (s *server) fresh(ctx context.Context, d *doc) {
	d.root.settle()
	if d.stale {
		s.judge(ctx, d)
	}
}

// judge judges an open file, with the axis files of its folder that are stale too.
func (s *server) judge(ctx context.Context, d *doc) {
	list := []*doc{d}
	if strings.HasSuffix(d.name, spec.AxisSuffix) {
		list = nil
		for _, o := range d.root.inOrder() {
			if o.stale && d.root.first[o] == d.root.first[d] && path.Dir(o.name) == path.Dir(d.name) && strings.HasSuffix(o.name, spec.AxisSuffix) {
				list = append(list, o)
			}
		}
	}
	for _, o := range list {
		o.stale = false
	}
	defer s.survive("judging "+d.name, func() {})
	found := map[*doc][]item{}
	begun := time.Now()
	if strings.HasSuffix(d.name, spec.AxisSuffix) {
		s.axes(ctx, d.root, path.Dir(d.name), list, found)
	}
	for _, o := range list {
		if scopeFile(o.name) {
			found[o] = append(found[o], s.ofScope(o)...)
		}
		o.found = found[o]
		sortItems(o.found)
		s.show(o)
		delete(d.root.first, o)
	}
	if !strings.HasSuffix(d.name, spec.AxisSuffix) {
		d.took = time.Since(begun)
	}
	s.refresh(d.root)
}

// order is that of the check.
func sortItems(items []item) {
	slices.SortStableFunc(items, func(a, b item) int {
		switch {
		case judge.LessFinding(&a.Finding, &b.Finding):
			return -1
		case judge.LessFinding(&b.Finding, &a.Finding):
			return 1
		}
		return 0
	})
}

// options are those of every run here. One worker works in this goroutine.
func (s *server) options(ctx context.Context, fixes bool, look run.Look) run.Options {
	look.Bare = true
	return run.Options{Today: s.Today(), Fixes: fixes, Workers: 1, Context: ctx, As: look}
}

// files lists the axis files of a folder, and those of the open ones whose text is not
// what the tree reads.
func (r *root) files(dir string) (names []string, source map[string][]byte) {
	names, _ = r.tree.AxisFiles(dir)
	source = map[string][]byte{}
	for _, d := range r.open {
		if path.Dir(d.name) == dir && strings.HasSuffix(d.name, spec.AxisSuffix) {
			source[d.name] = d.text.src
			if !slices.Contains(names, d.name) {
				names = append(names, d.name)
			}
		}
	}
	return names, source
}

// related lists, of the axis files of a folder, some open ones and those that have an
// axis of the same name: what those find in common, the check finds. An axis that carries
// others has run.Files read the rest.
func (r *root) related(all []string, docs []*doc) (out []string) {
	own := map[string]bool{}
	for _, d := range docs {
		for _, n := range r.namesIn(d.name) {
			own[n] = true
		}
	}
	for _, name := range all {
		if slices.ContainsFunc(docs, func(d *doc) bool { return d.name == name }) || slices.ContainsFunc(r.namesIn(name), func(n string) bool { return own[n] }) {
			out = append(out, name)
		}
	}
	return out
}

// axes judges the axes of some open files of a folder. What can be read of a file with
// errors of syntax is judged; an axis of which not all can be read keeps what was last
// found of it, and so does one that carries it.
func (s *server) axes(ctx context.Context, r *root, dir string, docs []*doc, found map[*doc][]item) {
	byName := map[string]*doc{}
	broken := map[*doc]bool{}
	for _, d := range docs {
		byName[d.name] = d
		broken[d] = len(d.syntax()) > 0
		if d.seen == nil {
			d.seen, d.views = map[string]*lastSeen{}, map[string]*viewed{}
		}
	}
	all, source := r.files(dir)
	names := r.related(all, docs)
	reports := map[*doc]map[string]*judge.Report{}
	var moved *judge.Report // the last one that was not made anew
	look := run.Look{
		Source: source,
		Only:   func(file, _ string) bool { return byName[file] != nil },
		Known: func(a *spec.Axis) *judge.Report {
			d := byName[a.Place.File]
			moved = s.known(d, a, broken[d])
			return moved
		},
		Each: func(rep *judge.Report) {
			d := byName[rep.View.Axis.Place.File]
			if reports[d] == nil {
				reports[d] = map[string]*judge.Report{}
			}
			if rep != moved {
				rep = keep(rep)
			}
			reports[d][rep.View.Axis.Name] = rep
		},
	}
	sum := run.Files(s.Book, r.tree, names, s.options(ctx, false, look))
	kept := keptAxes(docs, broken, reports)
	fresh := map[*doc]map[string]*lastSeen{}
	for _, d := range docs {
		fresh[d] = map[string]*lastSeen{}
		for name, rep := range reports[d] {
			fresh[d][name] = &lastSeen{d.gaps(rep)}
			if !kept[d][name] || d.views[name] == nil {
				d.views[name] = &viewed{rep: rep, text: d.text}
			}
			d.views[name].old = kept[d][name]
		}
	}
	for i := range sum.Findings {
		f := &sum.Findings[i]
		d := byName[f.Place.File]
		if d == nil || f.Waiver != nil {
			continue
		}
		it := d.item(f)
		if f.Axis == "" || fresh[d][f.Axis] == nil {
			found[d] = append(found[d], it)
			continue
		}
		fresh[d][f.Axis].items = append(fresh[d][f.Axis].items, it)
	}
	for _, d := range docs {
		for name, now := range fresh[d] {
			if !kept[d][name] || d.seen[name] == nil {
				d.seen[name] = now
			}
		}
		for name, seen := range d.seen {
			if fresh[d][name] == nil && !broken[d] {
				delete(d.seen, name)
				delete(d.views, name)
				continue
			}
			found[d] = append(found[d], seen.items...)
		}
	}
}

// known is what was found of an axis that says what it said when it was judged last: with
// most keys only one axis of a file says something else. One that is half typed, which
// keeps what was last found of it, need not be judged either: its report says nothing. It
// is nil where the axis is to be judged.
func (s *server) known(d *doc, a *spec.Axis, broken bool) *judge.Report {
	v := d.views[a.Name]
	switch {
	case v == nil || !v.rep.Judge.On(s.Today()):
		return nil
	case broken && (a.Broken || a.Unread) && d.seen[a.Name] != nil:
		view := *v.rep.View
		view.Axis = a
		return &judge.Report{View: &view, Judge: v.rep.Judge}
	}
	return v.rep.Moved(a)
}

// keptAxes says which axes keep what was last found of them.
func keptAxes(docs []*doc, broken map[*doc]bool, reports map[*doc]map[string]*judge.Report) map[*doc]map[string]bool {
	kept := map[*doc]map[string]bool{}
	names := map[string]bool{} // in the folder
	for _, d := range docs {
		kept[d] = map[string]bool{}
		if !broken[d] {
			continue
		}
		for name := range d.seen {
			if reports[d][name] == nil {
				names[name] = true // its head cannot be read
			}
		}
		for name, rep := range reports[d] {
			if a := rep.View.Axis; a.Broken || a.Unread {
				kept[d][name], names[name] = true, true
			}
		}
	}
	for more := len(names) > 0; more; {
		more = false
		for _, d := range docs {
			for name, rep := range reports[d] {
				list := rep.View.Axis.Get(judge.CarriesField)
				if kept[d][name] || list == nil || !slices.ContainsFunc(list.Axes, func(a spec.AxisRef) bool { return names[a.Name] }) {
					continue
				}
				kept[d][name], names[name], more = true, true, true
			}
		}
	}
	return kept
}

// keep is a report that outlives the call it was made for.
func keep(rep *judge.Report) *judge.Report {
	out, view := *rep, *rep.View
	view.Calc = mechanics.NewCalc()
	view.Calc.CopyFrom(rep.View.Calc)
	out.View = &view
	return &out
}

func (d *doc) item(f *judge.Finding) item {
	from, to := d.text.stretch(f.Place)
	return item{Finding: *f, from: from, to: to}
}

// gaps are the items of what is not judged of an axis. What is missing in a part is
// shown at the axis that misses it.
func (d *doc) gaps(rep *judge.Report) (out []item) {
	paths := map[string]string{}
	for i := range rep.Results {
		for _, m := range rep.Results[i].Missing {
			paths[m.Words] = m.Path()
		}
	}
	for i := range rep.MissingInputs {
		g := &rep.MissingInputs[i]
		at := g.Place
		if at.File != d.name {
			at = rep.View.Axis.Place
		}
		f := judge.Finding{Place: at, Axis: g.Axis, Message: "not judged: " + report.GapLine(g)}
		it := d.item(&f)
		it.notJudged, it.lacks = true, paths[g.Missing]
		out = append(out, it)
	}
	return out
}

// move has what is kept of a text follow a change of it: the bytes from from to to
// became size bytes.
func (d *doc) move(from, to, size int) {
	moved := func(at int) int {
		switch {
		case at >= to:
			return at + size - (to - from)
		case at > from:
			return from
		}
		return at
	}
	place := func(p spec.Place) spec.Place {
		if p.File == d.name && p.EndByte > 0 {
			p.Byte, p.EndByte = int32(moved(int(p.Byte))), int32(moved(int(p.EndByte)))
		}
		return p
	}
	all := func(items []item) {
		for i := range items {
			it := &items[i]
			it.from, it.to = moved(it.from), moved(it.to)
			it.Related, it.Inputs = slices.Clone(it.Related), slices.Clone(it.Inputs)
			for k := range it.Related {
				it.Related[k].Place = place(it.Related[k].Place)
			}
			for k := range it.Inputs {
				it.Inputs[k].Place = place(it.Inputs[k].Place)
			}
		}
	}
	for _, seen := range d.seen {
		all(seen.items)
	}
	all(d.found)
}

// ofScope lists what is found in a file with which others are read.
func (s *server) ofScope(d *doc) (out []item) {
	if problems := d.syntax(); len(problems) > 0 {
		for _, p := range problems {
			f := judge.FindingOf(p)
			out = append(out, d.item(&f))
		}
		for _, it := range d.found {
			if !it.OfText() && it.Axis == "" {
				out = append(out, it) // as last known
			}
		}
		return out
	}
	r := d.root
	k := s.scope(r, path.Dir(d.name))
	list := slices.Clone(k.Findings)
	if strings.HasSuffix(d.name, spec.PartsSuffix) {
		list = append(list, s.ofParts(r, k)...)
	}
	for i := range list {
		if f := &list[i]; f.Place.File == d.name && f.Waiver == nil {
			out = append(out, d.item(f))
		}
	}
	return out
}

// scope is what is found of the parts, policies and machine of a folder.
func (s *server) scope(r *root, dir string) *run.CachedScope {
	f := r.tree.Folder(dir)
	k := r.scopes[f]
	if k == nil {
		k = run.ScopeOf(s.Book.NewJudge(s.Today(), false), f)
		r.scopes[f] = k
	}
	return k
}

// ofParts lists what is found of parts: of all of the tree together once it is known
// which parts its axes use, until then of each by itself.
func (s *server) ofParts(r *root, own *run.CachedScope) []judge.Finding {
	r.wantIndex()
	parts := own.Parts
	whole := r.index.ready
	if whole {
		parts = nil
		for _, dir := range r.index.folders() {
			parts = append(parts, s.scope(r, dir).Parts...)
		}
	}
	parts = slices.Clone(parts)
	for i := range parts {
		parts[i].Listed = true
	}
	used := r.index.used(r)
	return s.Book.InTree(parts, func(at spec.Place) bool { return used[at] }, whole)
}

func (s *server) diagnostics(d *doc) []diagnostic {
	list := []diagnostic{}
	for i := range d.found {
		if it := &d.found[i]; !it.notJudged || on(s.settings.NotJudged) {
			list = append(list, s.diagnostic(d, it))
		}
	}
	return list
}

// pull answers with what is found of a file, for a client that asks instead of being
// told.
func (s *server) pull(ctx context.Context, p *inDocument) (any, *wireError) {
	d := s.docs[p.TextDocument.URI]
	if d == nil {
		return map[string]any{"kind": "full", "items": []diagnostic{}}, nil
	}
	s.fresh(ctx, d)
	for strings.HasSuffix(d.name, spec.PartsSuffix) && ctx.Err() == nil && d.root.index.step(d.root) {
		s.fresh(ctx, d)
	}
	return map[string]any{"kind": "full", "items": s.diagnostics(d)}, nil
}

// show sends what is found of a file, if it is not what the client has.
func (s *server) show(d *doc) {
	list := s.diagnostics(d)
	if d.shown != nil && reflect.DeepEqual(d.shown, list) && d.shownVersion == d.version {
		return
	}
	d.shown, d.shownVersion = list, d.version
	p := publishParams{URI: d.uri, Diagnostics: list}
	if s.publish.VersionSupport {
		p.Version = &d.version
	}
	s.notify("textDocument/publishDiagnostics", p)
}

var severities = map[judge.Severity]int{judge.Error: severityError, judge.Warning: severityWarning, judge.Note: severityInformation}

// needless are the rules that find something that may go.
var needless = []string{"unused-part", "waiver-unneeded"}

func (s *server) diagnostic(d *doc, it *item) diagnostic {
	out := diagnostic{
		Range: s.span(d.text, it.from, it.to), Severity: severities[it.Severity], Code: it.Rule, Source: "trammel", Message: it.Message,
		Data: &findingData{Axis: it.Axis},
	}
	if it.notJudged {
		out.Severity, out.Code, out.Data = severityHint, "not-judged", nil
		return out
	}
	caps := &s.publish
	if slices.Contains(needless, it.Rule) && len(caps.TagSupport) > 0 && string(caps.TagSupport) != "false" {
		out.Tags = []int{tagUnnecessary}
	}
	if !caps.RelatedInformation {
		out.Message += s.inWords(d, it)
		return out
	}
	for _, r := range it.Related {
		out.RelatedInformation = append(out.RelatedInformation, relatedAt{s.locate(d.root, r.Place), r.Message})
	}
	for _, e := range it.Inputs {
		if e.Place.Valid() {
			out.RelatedInformation = append(out.RelatedInformation, relatedAt{s.locate(d.root, e.Place), e.Words})
		}
	}
	return out
}

// inWords is what belongs to a finding, for a client that shows its message only.
func (s *server) inWords(d *doc, it *item) string {
	var b strings.Builder
	for _, r := range it.Related {
		fmt.Fprintf(&b, "\n%s: %s", judge.At(r.Place, d.name), r.Message)
	}
	var inputs []string
	for _, e := range it.Inputs {
		inputs = append(inputs, e.Words)
	}
	if len(inputs) > 0 {
		b.WriteString("\ninputs: " + strings.Join(inputs, ", "))
	}
	if words := judge.FixWords(s.fixesOf(context.Background(), d, &it.Finding)); words != "" {
		b.WriteString("\n" + words)
	}
	return b.String()
}

func (s *server) span(t *text, from, to int) span {
	return span{t.position(from, s.utf8), t.position(to, s.utf8)}
}

// locate is a place as the client names it.
func (s *server) locate(r *root, p spec.Place) location {
	t := r.textOf(p.File)
	from, to := t.stretch(p)
	return location{r.uri(p.File), s.span(t, from, to)}
}

// A fixKey names an axis whose fixes were looked for.
type fixKey struct {
	root       *root
	file, axis string
}

// fixesOf are the fixes of a finding. They are looked for when somebody wants them: they
// take longer than all else.
func (s *server) fixesOf(ctx context.Context, d *doc, f *judge.Finding) []judge.Fix {
	if f.Axis == "" {
		return nil
	}
	key := fixKey{d.root, d.name, f.Axis}
	list, known := s.fixes[key]
	if !known {
		names, source := d.root.files(path.Dir(d.name))
		look := run.Look{Source: source, Only: func(file, axis string) bool { return file == d.name && axis == f.Axis },
			Each: func(rep *judge.Report) { list = rep.Findings }}
		run.Files(s.Book, d.root.tree, names, s.options(ctx, true, look))
		if ctx.Err() != nil {
			return nil
		}
		s.fixes[key] = list
	}
	for i := range list {
		if g := &list[i]; g.Rule == f.Rule && g.Message == f.Message && g.Place == f.Place {
			return g.Fixes
		}
	}
	return nil
}
