// Package run judges many files at once: it hands them to workers, waits with axes that
// carry others until the masses of those are known, takes over what an earlier run found
// where nothing it hangs on has changed, and sorts what comes out, so that the number of
// workers leaves no trace. What a rule is, and how one axis is judged, is package judge's
// business; how results are kept on disk is the caller's.
package run

import (
	"cmp"
	"context"
	"fmt"
	"path"
	"runtime"
	"slices"
	"sort"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// Options of a run.
type Options struct {
	Today   time.Time                 // waivers are judged on this day
	Fixes   bool                      // solve for fixes of findings
	Workers int                       // 0: one for each processor
	LetGo   bool                      // the tree drops each folder with its last file: nobody looks at it behind the run
	Context context.Context           // when it ends, files not begun are left out; nil: it never does
	Whole   bool                      // the whole tree is read: parts no axis uses are reported
	Owns    func(folder string) bool  // the folders whose files are judged and whose scope is reported, for splitting a run; nil: all
	Note    func(*judge.Report) any   // what else is wanted of each axis; called by several goroutines at once
	Noted   func(note any)            // called with each note, made now or cached, by several goroutines at once
	Line    func(file string, l Line) // called with lines of axis files on which findings are, by several goroutines at once
	Done    func(axes int)            // called as files are done, by several goroutines at once
	As      Kind                      // Look or Remember; nil: every axis of the files is judged as it stands
}

// A Kind of run is Look or Remember, which exclude each other: what depends on who
// looks is not to be cached.
type Kind interface{ kind() }

// Look is a run for somebody who looks at each axis, or at some, or at text that is not
// in the tree.
type Look struct {
	Each   func(*judge.Report)              // called for each axis, by several goroutines at once; the report's View is good during the call only
	Source map[string][]byte                // content of axis files that is not read from the tree
	Read   func(name string) *spec.AxisFile // what was read of an axis file of the tree before the run; nil, or it gives nil: it is read
	Only   func(file, axis string) bool     // which axes of the files are judged; nil: all
	Known  func(*spec.Axis) *judge.Report   // what is known of an axis that carries no other, as judging it would say it; nil, or it gives nil: it is judged
	Units  *unit.System                     // in which findings are written; nil: those each axis is written in
	Bare   bool                             // nothing is said of parts, policies and machines: whoever looks asks ScopeOf
	Lean   bool                             // of each axis the summary keeps counts only, so that memory does not grow with what is found: Each has seen the rest
}

// Remember is a run that takes over what earlier ones found.
type Remember struct{ Cache Cache }

func (Look) kind()     {}
func (Remember) kind() {}

// A Summary is what a run found.
type Summary struct {
	Axes          int
	Judged        int                  // rules that came to a verdict, over all axes
	Unjudged      int                  // rules that could not be judged
	Findings      []judge.Finding      // sorted by place and rule; waived ones included
	MissingInputs []judge.MissingInput // sorted by place
	NextInputs    []judge.NextInputs   // sorted by place

	// Of a run with Owns, for Rulebook.InTree over all such runs; Place
	// leaves their places as they are.
	Parts []judge.PartFacts
	Uses  []spec.Place
}

// Files judges, by the rules of the book, the axes of the given spec files of a tree. The files of a folder
// that an axis needs (parts, policy, machine, carried axes) are read whether
// they are listed or not.
func Files(book *judge.Rulebook, tree *spec.Tree, files []string, opt Options) *Summary {
	if opt.Workers <= 0 {
		opt.Workers = runtime.GOMAXPROCS(0)
	}
	if opt.Context == nil {
		opt.Context = context.Background()
	}
	look, _ := opt.As.(Look)
	remember, _ := opt.As.(Remember)
	r := &runner{
		tree: tree, opt: opt, look: look, cache: remember.Cache, judge: book.NewJudge(opt.Today, opt.Fixes),
		folders: map[string]*folderAxes{}, seen: map[string]bool{}, uses: map[spec.Place]bool{}, partsFiles: map[string]bool{},
		below: map[string]int{},
	}
	r.judge.Units = look.Units
	if r.cache != nil {
		r.contents = newContents(r.cache)
		tree.Recall(r.contents)
	}
	for _, name := range files {
		if r.judges(name) {
			r.folder(path.Dir(name)).left++
		}
		if strings.HasSuffix(name, spec.PartsSuffix) {
			r.partsFiles[name] = true
		}
		if opt.LetGo {
			upwards(name, func(dir string) { r.below[dir]++ })
		}
	}
	r.each(len(files), func(w *worker, i int) {
		r.file(w, files[i])
		if opt.LetGo {
			r.letGo(files[i])
		}
	})
	if r.contents != nil {
		r.contents.keepAll()
	}
	sum := &r.sum
	switch {
	case opt.Owns != nil:
		sum.Parts = r.parts
		for at := range r.uses {
			sum.Uses = append(sum.Uses, at)
		}
	default:
		sum.Findings = append(sum.Findings, book.InTree(r.parts, func(at spec.Place) bool { return r.uses[at] }, opt.Whole)...)
	}
	sum.Sort()
	return sum
}

// upwards calls do with the folders whose scope holds for a file, but for the root.
func upwards(name string, do func(dir string)) {
	for dir := spec.ScopeOf(path.Dir(name)); dir != "."; dir = spec.ScopeOf(path.Dir(dir)) {
		do(dir)
	}
}

// letGo drops the folders of which a file was the last.
func (r *runner) letGo(name string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	upwards(name, func(dir string) {
		if r.below[dir]--; r.below[dir] > 0 {
			return
		}
		delete(r.below, dir)
		if f := r.tree.LetGo(dir); f != nil {
			r.judge.LetGo(f)
		}
	})
}

// owns reports whether the run is to report on a folder.
func (r *runner) owns(folder string) bool { return r.opt.Owns == nil || r.opt.Owns(folder) }

// judges reports whether a file holds axes this run is to judge.
func (r *runner) judges(name string) bool {
	return strings.HasSuffix(name, spec.AxisSuffix) && r.owns(path.Dir(name))
}

// Place rewrites every place, for showing paths as the reader sees them.
func (s *Summary) Place(show func(spec.Place) spec.Place) {
	for i := range s.Findings {
		f := &s.Findings[i]
		f.Place, f.WaiverPlace = show(f.Place), show(f.WaiverPlace)
		for k := range f.Inputs {
			f.Inputs[k].Place = show(f.Inputs[k].Place)
		}
		f.Related = slices.Clone(f.Related) // findings may share it
		for k := range f.Related {
			f.Related[k].Place = show(f.Related[k].Place)
		}
		f.Fixes = PlaceFixes(f.Fixes, show)
	}
	for i := range s.MissingInputs {
		s.MissingInputs[i].Place = show(s.MissingInputs[i].Place)
	}
	for i := range s.NextInputs {
		s.NextInputs[i].Place = show(s.NextInputs[i].Place)
	}
}

// PlaceFixes gives fixes with every place of their edits rewritten.
func PlaceFixes(fixes []judge.Fix, show func(spec.Place) spec.Place) []judge.Fix {
	fixes = slices.Clone(fixes)
	for i := range fixes {
		edits := slices.Clone(fixes[i].Edits)
		for k := range edits {
			edits[k].Place = show(edits[k].Place)
		}
		fixes[i].Edits = edits
	}
	return fixes
}

// Merge adds what another run found.
func (s *Summary) Merge(o *Summary) { s.add(o) }

// Sort orders findings by place and rule, and gaps by place.
func (s *Summary) Sort() {
	sort.SliceStable(s.Findings, func(i, k int) bool { return judge.LessFinding(&s.Findings[i], &s.Findings[k]) })
	sort.SliceStable(s.MissingInputs, func(i, k int) bool {
		a, b := &s.MissingInputs[i], &s.MissingInputs[k]
		return cmp.Or(spec.ComparePlaces(a.Place, b.Place), cmp.Compare(a.Axis, b.Axis), cmp.Compare(a.Missing, b.Missing), cmp.Compare(a.Why, b.Why)) < 0
	})
	sort.SliceStable(s.NextInputs, func(i, k int) bool {
		a, b := &s.NextInputs[i], &s.NextInputs[k]
		return cmp.Or(spec.ComparePlaces(a.Place, b.Place), cmp.Compare(a.Axis, b.Axis)) < 0
	})
	slices.SortFunc(s.Parts, func(a, b judge.PartFacts) int { return spec.ComparePlaces(a.Place, b.Place) })
	slices.SortFunc(s.Uses, spec.ComparePlaces)
}

type runner struct {
	tree  *spec.Tree
	opt   Options
	look  Look
	cache Cache // nil: nothing is cached
	judge *judge.Judge

	contents *contents // nil: nothing is cached

	mu         sync.Mutex
	sum        Summary
	folders    map[string]*folderAxes // of files not all done, by the folder of the axis files
	seen       map[string]bool        // folders whose scope is reported
	parts      []judge.PartFacts      // declared there
	uses       map[spec.Place]bool    // parts that axes refer to
	partsFiles map[string]bool        // listed ones
	below      map[string]int         // listed files that are not done, by the folders whose scope holds for them
}

// folderAxes is what is kept of the axes of a folder until all its files are
// done and its carriers are judged.
type folderAxes struct {
	left     int // listed axis files that are not done
	files    map[string]bool
	axes     map[string]*axisMass
	places   map[string][]spec.Place // of the axes of a name
	listed   map[string][]spec.Place // of the listed ones among them
	carriers []*spec.Axis
	of       map[*spec.Axis]*fileResult // the files of the carriers
	aside    []spec.Place               // parts used by axes of files that are not listed

	// For what is cached:
	fresh   bool // a file was not cached
	content map[string]content
	kept    []cachedFile  // whose carriers hold only if nothing beside them has changed
	waiting []*fileResult // whose carriers are not judged

	helped int // problems of carriers for which a name was looked for
}

// maxHelped is for how many unknown names of a folder's carriers a similar one
// is looked for.
const maxHelped = 100

// axisMass is what a carrier must know of an axis.
type axisMass struct {
	place spec.Place
	mass  unit.Quantity
	known bool
	state int        // for carriers: 0 waiting, 1 being judged, 2 judged
	axis  *spec.Axis // for carriers
}

type worker struct {
	bench *judge.Scratch
	sum   Summary
}

// each runs do for 0 … n−1 on all workers and merges what they found. A single worker
// works in the caller's goroutine, who can then recover from a panic.
func (r *runner) each(n int, do func(w *worker, i int)) {
	if min(r.opt.Workers, n) == 1 {
		w := &worker{bench: judge.NewScratch()}
		for i := 0; i < n && r.opt.Context.Err() == nil; i++ {
			do(w, i)
		}
		r.sum.add(&w.sum)
		return
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(r.opt.Workers, n) {
		wg.Go(func() {
			w := &worker{bench: judge.NewScratch()}
			for i := int(next.Add(1)) - 1; i < n && r.opt.Context.Err() == nil; i = int(next.Add(1)) - 1 {
				do(w, i)
			}
			r.mu.Lock()
			r.sum.add(&w.sum)
			r.mu.Unlock()
		})
	}
	wg.Wait()
}

func (s *Summary) add(o *Summary) {
	s.Axes += o.Axes
	s.Judged += o.Judged
	s.Unjudged += o.Unjudged
	s.Findings = append(s.Findings, o.Findings...)
	s.MissingInputs = append(s.MissingInputs, o.MissingInputs...)
	s.NextInputs = append(s.NextInputs, o.NextInputs...)
	s.Parts = append(s.Parts, o.Parts...)
	s.Uses = append(s.Uses, o.Uses...)
}

// A fileResult gathers what is found of one axis file.
type fileResult struct {
	name string
	CachedFile
	src []byte       // of the file; nil where it is not at hand
	key *spec.Digest // under which it is to be cached; nil: it is not
}

func (f *fileResult) problems(list []spec.Problem) {
	for _, p := range list {
		f.Findings = append(f.Findings, judge.FindingOf(p))
	}
}

func (r *runner) file(w *worker, name string) {
	if !r.look.Bare {
		r.scope(w, path.Dir(name))
	}
	if r.judges(name) {
		r.axisFile(w, name)
	}
}

// scope reports, once, what is wrong with the parts, policies and machine of a
// folder and those above, and notes their parts. Above the root is the root.
func (r *runner) scope(w *worker, dir string) {
	for dir = spec.ScopeOf(dir); ; dir = spec.ScopeOf(path.Dir(dir)) {
		r.mu.Lock()
		seen := r.seen[dir]
		r.seen[dir] = true
		r.mu.Unlock()
		if seen {
			return
		}
		if r.owns(dir) {
			k := r.scopeOf(dir)
			w.sum.Findings = append(w.sum.Findings, k.Findings...)
			r.mu.Lock()
			for _, p := range k.Parts {
				p.Listed = r.partsFiles[p.Place.File]
				r.parts = append(r.parts, p)
			}
			r.mu.Unlock()
		}
	}
}

func (r *runner) scopeOf(dir string) *CachedScope {
	if r.cache != nil && !r.cache.Empty() {
		if k := r.cache.Scope(scopeKey(r.tree.FolderDigest(dir))); k != nil && k.holds(r.judge.Today) {
			return k
		}
	}
	f := r.tree.Folder(dir)
	k := ScopeOf(r.judge, f)
	// Waivers of policies above hold for parts here too.
	for g := f; g != nil; g = g.Parent {
		for _, file := range g.Policies {
			for _, w := range file.Waivers {
				k.note(r.judge.WaiverDays(f, w), r.judge.Today)
			}
		}
	}
	if r.cache != nil {
		r.cache.PutScope(scopeKey(f.Digest()), k)
	}
	return k
}

// ScopeOf is what is found of the parts, policies and machine of one folder, those
// above left out; for how many days it holds is left open.
func ScopeOf(j *judge.Judge, f *spec.Folder) *CachedScope {
	k := &CachedScope{Findings: j.PolicyWaivers(f), Parts: j.PartFacts(f)}
	for _, list := range [][]spec.Problem{f.Problems, j.PolicyProblems(f)} {
		for _, p := range list {
			k.Findings = append(k.Findings, judge.FindingOf(p))
		}
	}
	return k
}

// axisFile judges a listed axis file, or takes over what is cached of it,
// and finishes the folder with its last file.
func (r *runner) axisFile(w *worker, name string) {
	dir := path.Dir(name)
	r.mu.Lock()
	f := r.folder(dir)
	r.mu.Unlock()
	r.axesOrCached(w, f, name)
	r.mu.Lock()
	f.left--
	last := f.left == 0
	if last {
		delete(r.folders, dir)
	}
	r.mu.Unlock()
	if last {
		r.finish(w, dir, f)
		if r.contents != nil {
			r.contents.keep(dir)
		}
	}
}

func (r *runner) axesOrCached(w *worker, f *folderAxes, name string) {
	src, given := r.look.Source[name]
	var p *spec.Problem
	var k *CachedFile
	if !given {
		if file := r.readBefore(name); file != nil {
			r.axes(w, f, file, nil, nil, true)
			return
		}
		if k = r.cachedUnread(f, name); k == nil {
			k, src, p = r.readOrCached(f, name)
		}
	}
	if k == nil {
		r.axes(w, f, r.tree.AxesOf(name, src, p), src, p, true)
	} else if k.Carries {
		r.mu.Lock()
		f.kept = append(f.kept, cachedFile{name, k})
		r.mu.Unlock()
	} else {
		r.takeOver(w, f, name, k)
	}
}

// readBefore is what was read of an axis file before the run, nil if nothing.
func (r *runner) readBefore(name string) *spec.AxisFile {
	if r.look.Read == nil {
		return nil
	}
	return r.look.Read(name)
}

// finish does what needs all files of a folder.
func (r *runner) finish(w *worker, dir string, f *folderAxes) {
	if len(f.kept) > 0 {
		// Carriers are taken over all or none, so that no kept one meets one that
		// is judged now.
		beside := r.beside(dir, f)
		all := !f.fresh
		for _, k := range f.kept {
			all = all && k.Beside == beside
		}
		for _, k := range f.kept {
			if all {
				r.takeOver(w, f, k.name, k.CachedFile)
				continue
			}
			r.readAxes(w, f, k.name, true)
		}
	}
	twice(w, f)
	r.carriers(w, dir, f)
	for _, res := range f.waiting {
		if res.key != nil {
			res.Beside = r.beside(dir, f)
			for _, at := range f.aside {
				res.use(at)
			}
		}
		r.done(w, res)
	}
}

// done adds what was found of a file to what the worker found, and has it
// cached.
func (r *runner) done(w *worker, res *fileResult) {
	if res.key != nil || r.opt.Line != nil {
		res.Lines = res.lines()
	}
	if res.key != nil {
		r.cache.PutFile(*res.key, &res.CachedFile)
	}
	r.tell(res.name, res.Lines)
	r.add(w, &res.CachedFile)
}

// tell passes on lines of a file.
func (r *runner) tell(name string, lines []Line) {
	if r.opt.Line != nil {
		for _, l := range lines {
			r.opt.Line(name, l)
		}
	}
}

// add adds what was found of a file, now or in a run before.
func (r *runner) add(w *worker, k *CachedFile) {
	w.sum.Axes += k.Axes
	w.sum.Judged += k.Judged
	w.sum.Unjudged += k.Unjudged
	w.sum.Findings = append(w.sum.Findings, k.Findings...)
	w.sum.MissingInputs = append(w.sum.MissingInputs, k.MissingInputs...)
	w.sum.NextInputs = append(w.sum.NextInputs, k.NextInputs...)
	r.mu.Lock()
	for _, at := range k.Uses {
		r.uses[at] = true
	}
	r.mu.Unlock()
	if r.opt.Noted != nil {
		for _, n := range k.Notes {
			r.opt.Noted(n)
		}
	}
	if r.opt.Done != nil {
		r.opt.Done(k.Axes)
	}
}

// axes takes in the axes of a file and its text, which could not be read if there is a problem. Listed
// files are judged and have their findings reported; others are there for what carriers must
// know of them.
func (r *runner) axes(w *worker, f *folderAxes, file *spec.AxisFile, src []byte, p *spec.Problem, listed bool) {
	name := file.Path
	res := &fileResult{name: name, src: src}
	if listed {
		res.problems(file.Problems)
		if r.cache != nil && p == nil {
			r.mu.Lock()
			digest := f.content[name].digest
			r.mu.Unlock()
			key := fileKey(r.tree.Folder(path.Dir(name)).Digest(), name, digest)
			res.key = &key
		}
	}
	carries, inListed := false, listed
	for _, a := range file.Axes {
		listed := listed && (r.look.Only == nil || r.look.Only(name, a.Name))
		// Of a whole tree every use counts; else only parts of judged axes are
		// asked of.
		if listed || r.opt.Whole {
			for _, part := range a.Parts() {
				res.use(part.Place)
			}
		}
		list := a.Get(judge.CarriesField)
		if list != nil && !list.Bad {
			r.enter(f, a, &axisMass{place: a.Place, axis: a}, inListed, listed)
			if listed {
				carries = true
				r.mu.Lock()
				f.of[a] = res
				r.mu.Unlock()
			}
			continue
		}
		// Of a list that cannot be read nothing is known.
		m, carried := &axisMass{place: a.Place}, unit.Quantity{}
		if list != nil {
			carried = judge.UnknownMass
		}
		if !listed {
			judge.Load(w.bench.Calc, a, carried, nil)
			m.take(w.bench.Calc, a)
			r.enter(f, a, m, inListed, false)
			continue
		}
		var rep *judge.Report
		if r.look.Known != nil {
			rep = r.look.Known(a)
		}
		if rep == nil {
			rep = r.judge.JudgeCarrier(w.bench, a, nil, list == nil)
		}
		m.take(rep.View.Calc, a)
		r.enter(f, a, m, true, true)
		r.record(w, res, rep)
		res.member(m, a)
	}
	r.mu.Lock()
	f.files[name] = true
	if carries {
		f.waiting = append(f.waiting, res)
	}
	if !listed {
		f.aside = append(f.aside, res.Uses...)
	}
	r.mu.Unlock()
	switch {
	case !listed:
		r.add(w, &CachedFile{Uses: res.Uses})
	case carries:
		res.Carries = true
	default:
		r.done(w, res)
	}
}

// take notes the moved mass of a judged axis with its heaviest payload, each at
// the ends of its own tolerance too. What moves it how does not matter: the
// mass is known where masses and payloads are.
func (m *axisMass) take(c *mechanics.Calc, a *spec.Axis) {
	x, ok := c.Value(mechanics.MovedMass)
	if !ok {
		return
	}
	m.mass = unit.Quantity{Nominal: x, Low: x, High: x}
	for _, f := range []*spec.Field{movedMassField, judge.Field("load.mass")} {
		if v := a.Get(f); v != nil && !v.Bad {
			m.mass.Low += v.Num.Low - v.Num.Nominal
			m.mass.High += v.Num.High - v.Num.Nominal
			break
		}
	}
	var heaviest unit.Quantity
	for _, mv := range a.Moves {
		switch p := mv.Get(payloadField); {
		case p == nil:
		case p.Bad:
			return
		default:
			heaviest.Nominal = max(heaviest.Nominal, p.Num.Nominal)
			heaviest.Low = max(heaviest.Low, p.Num.Low)
			heaviest.High = max(heaviest.High, p.Num.High)
		}
	}
	m.mass.Nominal += heaviest.Nominal
	m.mass.Low += heaviest.Low
	m.mass.High += heaviest.High
	m.known = true
}

var movedMassField, payloadField = judge.Field("load.moved_mass"), judge.Field("motion.move.payload")

func (r *runner) folder(dir string) *folderAxes {
	f := r.folders[dir]
	if f == nil {
		f = &folderAxes{files: map[string]bool{}, axes: map[string]*axisMass{}, places: map[string][]spec.Place{}, listed: map[string][]spec.Place{}, of: map[*spec.Axis]*fileResult{}, content: map[string]content{}}
		r.folders[dir] = f
	}
	return f
}

// enter notes an axis of a folder: whether its file is listed, and whether it is to be
// judged.
func (r *runner) enter(f *folderAxes, a *spec.Axis, m *axisMass, listed, judged bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	f.enter(a.Name, m, listed)
	if m.axis != nil && judged {
		f.carriers = append(f.carriers, a)
	}
}

func (f *folderAxes) enter(name string, m *axisMass, listed bool) {
	// Which file was read first is chance: of two of one name the earlier in
	// place is meant.
	if first := f.axes[name]; first == nil || spec.ComparePlaces(m.place, first.place) < 0 {
		f.axes[name] = m
	}
	f.places[name] = append(f.places[name], m.place)
	if listed {
		f.listed[name] = append(f.listed[name], m.place)
	}
}

// record takes over what a report found. Only who looks at each report may keep it.
func (r *runner) record(w *worker, res *fileResult, rep *judge.Report) {
	res.Axes++
	for i := range rep.Results {
		switch rep.Results[i].State {
		case judge.Passed, judge.Failed:
			res.Judged++
		case judge.Unjudged:
			res.Unjudged++
		}
	}
	if r.cache != nil {
		res.model(rep.View.Axis)
	}
	if r.look.Each != nil {
		r.look.Each(rep)
	} else {
		defer w.bench.TakeBack(rep)
	}
	if r.look.Lean {
		return
	}
	if r.opt.Note != nil {
		res.Notes = append(res.Notes, r.opt.Note(rep))
	}
	for i := range rep.Findings {
		res.Findings = append(res.Findings, rep.Findings[i].Told()) // fixes are found; what is kept is small
	}
	res.MissingInputs = append(res.MissingInputs, rep.MissingInputs...)
	if rep.NextInputs != nil {
		res.NextInputs = append(res.NextInputs, *rep.NextInputs)
	}
	if res.key != nil {
		a := rep.View.Axis
		for _, w := range a.Waivers {
			res.note(r.judge.WaiverDays(a.Folder, w), r.judge.Today)
		}
		for _, w := range rep.View.InForce.Waivers {
			res.note(r.judge.WaiverDays(a.Folder, w), r.judge.Today)
		}
		for _, rule := range r.judge.Book.Turning() {
			if day, ok := rule.Turns(rep.View); ok {
				res.last(day, r.judge.Today)
			}
		}
	}
}

// twice reports axes of one name in one folder, at the later place.
func twice(w *worker, f *folderAxes) {
	for name, places := range f.listed {
		slices.SortFunc(places, spec.ComparePlaces)
		for _, late := range places[1:] {
			w.sum.Findings = append(w.sum.Findings, judge.FindingOf(spec.Problem{
				Rule: "duplicate-name", Place: late, Help: "give one of them another name",
				Message: fmt.Sprintf("this folder has two axes named %s", name),
				Related: []spec.Related{{Place: places[0], Message: "the other one"}},
			}))
		}
	}
}

// carriers judges the axes of a folder that carry others, once all its files
// are read.
func (r *runner) carriers(w *worker, dir string, f *folderAxes) {
	r.siblings(w, dir, f)
	slices.SortFunc(f.carriers, func(a, b *spec.Axis) int { return spec.ComparePlaces(a.Place, b.Place) })
	for _, a := range f.carriers {
		r.carrier(w, f, a, nil)
	}
}

// siblings reads the axis files of a folder with carriers that were not listed:
// one of them may hold what is carried, or a second axis of its name.
func (r *runner) siblings(w *worker, dir string, f *folderAxes) {
	if len(f.carriers) == 0 {
		return
	}
	names, _ := r.tree.AxisFiles(dir)
	for _, name := range names {
		if f.files[name] {
			continue
		}
		if file := r.readBefore(name); file != nil {
			r.axes(w, f, file, nil, nil, false)
			continue
		}
		r.readAxes(w, f, name, false)
	}
}

// readAxes reads a file of which nothing was taken from before, and takes in its axes.
func (r *runner) readAxes(w *worker, f *folderAxes, name string, listed bool) {
	src, p := r.tree.Read(name)
	r.readAgain(f, name, src, p)
	r.axes(w, f, r.tree.AxesOf(name, src, p), src, p, listed)
}

// circleWords names the axes of a circle, of many the first and last ones.
func circleWords(way []*spec.Axis, last string) string {
	const ends = 4
	var names []string
	for i, a := range way {
		switch {
		case i < ends || i >= len(way)-ends:
			names = append(names, a.Name)
		case i == ends:
			names = append(names, fmt.Sprintf("(%d more)", len(way)-2*ends))
		}
	}
	return strings.Join(append(names, last), " → ")
}

// carrier judges a carrying axis after those it carries. path is the way that
// led here, to name a cycle.
func (r *runner) carrier(w *worker, f *folderAxes, a *spec.Axis, way []*spec.Axis) {
	m := f.axes[a.Name]
	if m.axis != a {
		m = &axisMass{place: a.Place, axis: a} // the second of two of one name
	}
	if m.state != 0 {
		return
	}
	m.state = 1
	way = append(way, a)
	res := f.of[a]
	if res == nil {
		res = f.of[way[0]] // its own file is not listed
	}
	var carried []judge.CarriedAxis
	whole, circle := true, false
	for _, ref := range a.Get(judge.CarriesField).Axes {
		c := f.axes[ref.Name]
		if places := f.places[ref.Name]; len(places) > 1 {
			slices.SortFunc(places, spec.ComparePlaces)
			p := spec.Problem{Rule: "duplicate-name", Place: ref.Place, Help: "give each a name of its own",
				Message: fmt.Sprintf("this folder has two axes named %s, and it is unclear which of them is carried", ref.Name)}
			for i, words := range []string{"one of them", "the other one"} {
				p.Related = append(p.Related, spec.Related{Place: places[i], Message: words})
			}
			res.problems([]spec.Problem{p})
			whole = false
			continue
		}
		switch {
		case c == nil:
			p := spec.Problem{Rule: "unknown-name", Place: ref.Place, Message: fmt.Sprintf("this folder has no axis %s to carry", ref.Name)}
			if f.helped++; f.helped <= maxHelped {
				var names []string
				for n := range f.axes {
					if n != a.Name {
						names = append(names, n)
					}
				}
				p.Help = judge.DidYouMean(ref.Name, names)
			}
			res.problems([]spec.Problem{p})
			whole = false
			continue
		case c.state == 1:
			if !circle { // of more circles through one axis the first says it
				res.problems([]spec.Problem{{Rule: "value", Place: ref.Place, Message: "axes carry each other in a circle: " + circleWords(way, ref.Name)}})
			}
			circle = true
		case c.axis != nil && c.state == 0:
			r.carrier(w, f, c.axis, way)
		}
		if !c.known {
			whole = false
			continue
		}
		carried = append(carried, judge.CarriedAxis{Ref: ref, Mass: c.mass})
	}
	rep := r.judge.JudgeCarrier(w.bench, a, carried, whole)
	m.take(rep.View.Calc, a)
	// The tolerances of what it carries, unless they are in a whole mass of its
	// own.
	if v := a.Get(movedMassField); v == nil || v.Bad {
		for _, c := range carried {
			m.mass.Low += c.Mass.Low - c.Mass.Nominal
			m.mass.High += c.Mass.High - c.Mass.Nominal
		}
	}
	m.state = 2
	if f.of[a] != nil {
		r.record(w, res, rep)
		res.member(m, a)
	}
}
