package rules

import (
	"cmp"
	"fmt"
	"path"
	"runtime"
	"slices"
	"sort"
	"strings"
	"sync"
	"time"

	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// Options of a run.
type Options struct {
	Today   time.Time                    // waivers are held against this day
	Ways    bool                         // solve for ways out of findings
	Workers int                          // 0: one for each processor
	Each    func(*Report)                // called for each axis, by several goroutines at once; the report's View is good during the call only
	Source  map[string][]byte            // content of axis files that is not read from the tree
	Whole   bool                         // the whole tree is read: parts no axis uses are reported
	Only    func(file, axis string) bool // which axes of the files are judged; nil: all
	Units   *unit.System                 // in which findings are written; nil: those each axis is written in
	Lean    bool                         // of each axis the summary keeps counts only, so that memory does not grow with what is found: Each has seen the rest
}

// A Summary is what a run found.
type Summary struct {
	Axes     int
	Judged   int       // rules that came to a verdict, over all axes
	Unjudged int       // rules that could not be judged
	Findings []Finding // sorted by place and rule; waived ones included
	Gaps     []Gap     // sorted by place
	Unlocks  []Unlock  // sorted by place
}

// Run judges the axes of the given spec files of a tree. The files of a folder
// that an axis needs (parts, policy, machine, carried axes) are read whether
// they are listed or not.
func Run(tree *spec.Tree, files []string, opt Options) *Summary {
	if opt.Workers <= 0 {
		opt.Workers = runtime.GOMAXPROCS(0)
	}
	r := &runner{
		tree: tree, opt: opt, judge: NewJudge(opt.Today, opt.Ways),
		folders: map[string]*folderAxes{}, seenFolder: map[*spec.Folder]bool{},
	}
	r.judge.units = opt.Units
	r.each(len(files), func(w *worker, i int) { r.file(w, files[i]) })
	r.twice()
	r.carriers()
	sum := &r.sum
	if opt.Whole {
		var folders []*spec.Folder
		for f := range r.seenFolder {
			folders = append(folders, f)
		}
		sum.Findings = append(sum.Findings, similar(r.judge, folders)...)
		for _, f := range folders {
			for _, p := range f.Parts() {
				if !p.Used() {
					sum.Findings = append(sum.Findings, unused(r.judge, f, p)...)
				}
			}
		}
	}
	sum.Sort()
	return sum
}

// Place rewrites every place, for showing paths as the reader sees them.
func (s *Summary) Place(show func(spec.Place) spec.Place) {
	for i := range s.Findings {
		f := &s.Findings[i]
		f.Place, f.WaiverPlace = show(f.Place), show(f.WaiverPlace)
		for k := range f.Enters {
			f.Enters[k].Place = show(f.Enters[k].Place)
		}
		if len(f.Related) > 0 {
			f.Related = slices.Clone(f.Related)
		}
		for k := range f.Related {
			f.Related[k].Place = show(f.Related[k].Place)
		}
	}
	for i := range s.Gaps {
		s.Gaps[i].Place = show(s.Gaps[i].Place)
	}
	for i := range s.Unlocks {
		s.Unlocks[i].Place = show(s.Unlocks[i].Place)
	}
}

// Merge adds what another run found.
func (s *Summary) Merge(o *Summary) { s.add(o) }

// Sort orders findings by place and rule, and gaps by place.
func (s *Summary) Sort() {
	sort.SliceStable(s.Findings, func(i, k int) bool { return lessFinding(&s.Findings[i], &s.Findings[k]) })
	sort.SliceStable(s.Gaps, func(i, k int) bool {
		a, b := &s.Gaps[i], &s.Gaps[k]
		return cmp.Or(spec.ComparePlaces(a.Place, b.Place), cmp.Compare(a.Axis, b.Axis), cmp.Compare(a.Missing, b.Missing), cmp.Compare(a.Why, b.Why)) < 0
	})
	sort.SliceStable(s.Unlocks, func(i, k int) bool {
		a, b := &s.Unlocks[i], &s.Unlocks[k]
		return cmp.Or(spec.ComparePlaces(a.Place, b.Place), cmp.Compare(a.Axis, b.Axis)) < 0
	})
}

type runner struct {
	tree  *spec.Tree
	opt   Options
	judge *Judge

	mu         sync.Mutex
	sum        Summary
	folders    map[string]*folderAxes // by the folder of the axis files
	seenFolder map[*spec.Folder]bool
}

// folderAxes is what is kept of the axes of a folder until its carriers are
// judged.
type folderAxes struct {
	files    map[string]bool
	axes     map[string]*axisMass
	places   map[string][]spec.Place // of the listed axes of a name
	carriers []*spec.Axis
	helped   int // problems of carriers for which a name was looked for
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
	bench *Bench
	sum   Summary
}

// each runs do for 0 … n−1 on all workers and merges what they found.
func (r *runner) each(n int, do func(w *worker, i int)) {
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(r.opt.Workers, max(n, 1)) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			w := &worker{bench: NewBench()}
			for i := range next {
				do(w, i)
			}
			r.mu.Lock()
			r.sum.add(&w.sum)
			r.mu.Unlock()
		}()
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
}

func (s *Summary) add(o *Summary) {
	s.Axes += o.Axes
	s.Judged += o.Judged
	s.Unjudged += o.Unjudged
	s.Findings = append(s.Findings, o.Findings...)
	s.Gaps = append(s.Gaps, o.Gaps...)
	s.Unlocks = append(s.Unlocks, o.Unlocks...)
}

func (w *worker) problems(list []spec.Problem) {
	for _, p := range list {
		w.sum.Findings = append(w.sum.Findings, FindingOf(p))
	}
}

func (r *runner) file(w *worker, name string) {
	r.scope(w, r.tree.Folder(path.Dir(name)))
	if strings.HasSuffix(name, spec.AxisSuffix) {
		r.axes(w, name, true)
	}
}

// scope reports, once, what is wrong with the parts, policies and machine of a
// folder and those above.
func (r *runner) scope(w *worker, f *spec.Folder) {
	for ; f != nil; f = f.Parent {
		r.mu.Lock()
		seen := r.seenFolder[f]
		r.seenFolder[f] = true
		r.mu.Unlock()
		if seen {
			return
		}
		w.problems(f.Problems)
		w.problems(r.judge.PolicyProblems(f))
		w.sum.Findings = append(w.sum.Findings, r.judge.expired(f)...)
	}
}

// axes reads an axis file. Listed files have their findings reported; others
// are read for what carriers must know of them.
func (r *runner) axes(w *worker, name string, listed bool) {
	var file *spec.AxisFile
	if src, ok := r.opt.Source[name]; ok {
		file = r.tree.ReadAxesFrom(name, src)
	} else {
		file = r.tree.ReadAxes(name)
	}
	if listed {
		w.problems(file.Problems)
	}
	dir := path.Dir(name)
	for _, a := range file.Axes {
		listed := listed && (r.opt.Only == nil || r.opt.Only(name, a.Name))
		if v := a.Get(carriesField); v != nil && len(v.Axes) > 0 && !v.Bad {
			r.enter(dir, a, &axisMass{place: a.Place, axis: a}, listed)
			continue
		}
		if !listed {
			m := &axisMass{place: a.Place}
			load(w.bench.calc, a, unit.Quantity{}, nil)
			m.take(w.bench.calc, a)
			r.enter(dir, a, m, false)
			continue
		}
		rep := r.judge.Judge(w.bench, a, nil)
		m := &axisMass{place: a.Place}
		m.take(rep.View.Calc, a)
		r.enter(dir, a, m, true)
		r.keep(w, rep)
	}
	r.mu.Lock()
	r.folder(dir).files[name] = true
	r.mu.Unlock()
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
	for _, f := range []*spec.Field{movedMassField, field("load.mass")} {
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

var movedMassField, payloadField = field("load.moved_mass"), field("motion.move.payload")

func (r *runner) folder(dir string) *folderAxes {
	f := r.folders[dir]
	if f == nil {
		f = &folderAxes{files: map[string]bool{}, axes: map[string]*axisMass{}, places: map[string][]spec.Place{}}
		r.folders[dir] = f
	}
	return f
}

// enter notes an axis of a folder.
func (r *runner) enter(dir string, a *spec.Axis, m *axisMass, listed bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	f := r.folder(dir)
	// Which file was read first is chance: of two of one name the earlier in
	// place is meant.
	if first := f.axes[a.Name]; first == nil || spec.ComparePlaces(a.Place, first.place) < 0 {
		f.axes[a.Name] = m
	}
	if listed {
		f.places[a.Name] = append(f.places[a.Name], a.Place)
	}
	if m.axis != nil && listed {
		f.carriers = append(f.carriers, a)
	}
}

// keep takes over what a report found.
func (r *runner) keep(w *worker, rep *Report) {
	w.sum.Axes++
	for i := range rep.Results {
		switch rep.Results[i].State {
		case Passed, Failed:
			w.sum.Judged++
		case Unjudged:
			w.sum.Unjudged++
		}
	}
	if r.opt.Lean {
		if r.opt.Each != nil {
			r.opt.Each(rep)
		}
		return
	}
	for i := range rep.Findings {
		f := rep.Findings[i]
		f.test = nil // ways out are solved for; what is kept is small
		w.sum.Findings = append(w.sum.Findings, f)
	}
	w.sum.Gaps = append(w.sum.Gaps, rep.Gaps...)
	if rep.Unlock != nil {
		w.sum.Unlocks = append(w.sum.Unlocks, *rep.Unlock)
	}
	if r.opt.Each != nil {
		r.opt.Each(rep)
	}
}

// twice reports axes of one name in one folder, at the later place.
func (r *runner) twice() {
	for _, f := range r.folders {
		for name, places := range f.places {
			slices.SortFunc(places, spec.ComparePlaces)
			for _, late := range places[1:] {
				r.sum.Findings = append(r.sum.Findings, FindingOf(spec.Problem{
					Rule: "duplicate-name", Place: late, Help: "give one of them another name",
					Message: fmt.Sprintf("this folder has two axes named %s", name),
					Related: []spec.Related{{Place: places[0], Message: "the other one"}},
				}))
			}
		}
	}
}

// carriers judges the axes that carry others, once all files are read.
func (r *runner) carriers() {
	var dirs []string
	for dir, f := range r.folders {
		if len(f.carriers) > 0 {
			dirs = append(dirs, dir)
		}
	}
	sort.Strings(dirs)
	r.each(len(dirs), func(w *worker, i int) {
		r.mu.Lock()
		f := r.folders[dirs[i]]
		r.mu.Unlock()
		r.siblings(w, dirs[i], f)
		slices.SortFunc(f.carriers, func(a, b *spec.Axis) int { return spec.ComparePlaces(a.Place, b.Place) })
		for _, a := range f.carriers {
			r.carrier(w, f, a, nil)
		}
	})
}

// siblings reads the folder's axis files that were not listed, if a carrier
// refers to an axis not seen yet.
func (r *runner) siblings(w *worker, dir string, f *folderAxes) {
	complete := true
	for _, a := range f.carriers {
		for _, ref := range a.Get(carriesField).Axes {
			complete = complete && f.axes[ref.Name] != nil
		}
	}
	if complete {
		return
	}
	names, _ := r.tree.AxisFiles(dir)
	for _, name := range names {
		r.mu.Lock()
		read := f.files[name]
		r.mu.Unlock()
		if !read {
			r.axes(w, name, false)
		}
	}
}

// circleWords names the axes of a circle, of many the first and last ones.
func circleWords(way []*spec.Axis, last string) string {
	const ends = 4
	var names []string
	for i, a := range way {
		switch {
		case len(way) <= 2*ends || i < ends || i >= len(way)-ends:
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
	if m == nil || m.axis != a {
		m = &axisMass{place: a.Place, axis: a} // the second of two of one name
	}
	if m.state != 0 {
		return
	}
	m.state = 1
	way = append(way, a)
	var carried []carriedBy
	whole, circle := true, false
	for _, ref := range a.Get(carriesField).Axes {
		c := f.axes[ref.Name]
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
				p.Help = near(ref.Name, names)
			}
			w.problems([]spec.Problem{p})
			whole = false
			continue
		case c.state == 1:
			if !circle { // of more circles through one axis the first says it
				w.problems([]spec.Problem{{Rule: "value", Place: ref.Place, Message: "axes carry each other in a circle: " + circleWords(way, ref.Name)}})
			}
			whole, circle = false, true
			continue
		case c.axis != nil && c.state == 0:
			r.carrier(w, f, c.axis, way)
		}
		if !c.known {
			whole = false
			continue
		}
		carried = append(carried, carriedBy{ref, c.mass})
	}
	rep := r.judge.judgeCarrier(w.bench, a, carried, whole)
	m.take(rep.View.Calc, a)
	// The tolerances of what it carries, unless they are in a whole mass of its
	// own.
	if v := a.Get(movedMassField); v == nil || v.Bad {
		for _, c := range carried {
			m.mass.Low += c.mass.Low - c.mass.Nominal
			m.mass.High += c.mass.High - c.mass.Nominal
		}
	}
	m.state = 2
	if slices.Contains(f.carriers, a) {
		r.keep(w, rep)
	}
}
