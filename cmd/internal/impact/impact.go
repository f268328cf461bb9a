// Package impact finds the axes that changes of spec files touch. It is told what changed
// and looks into both states; where they come from it does not know.
package impact

import (
	"bytes"
	"errors"
	"io/fs"
	"maps"
	"path"
	"runtime"
	"slices"
	"strings"
	"sync"

	"trammel/spec"
)

// A Change is a spec file, or a model, that differs between two states.
type Change struct {
	Path string // below the root, with forward slashes
	Old  string // its path before; that of the file itself if it was not renamed, "" if it was added
	Kind byte   // A added, M modified, D deleted, R renamed, T turned from or into something other than a file
}

// A Find lists the axis files of a folder, and of those below it if recursive.
// If patterns are given, files that no part of a line of which matches one may be left
// out. They are extended regular expressions of POSIX.
type Find func(dir string, recursive bool, patterns ...string) ([]string, error)

// Assigned is the pattern for a file in which a field has a value: its name cannot be
// written otherwise, and between it and the equals sign stand at most spaces and comments
// that end on their own. Many a comment says of an axis that it carries something.
func Assigned(field string) string { return field + "[ \t]*[=/]" }

// literal is the pattern that finds a text.
func literal(text string) string {
	var b strings.Builder
	for _, c := range []byte(text) {
		if strings.IndexByte(`\.+*?()[]{}|^$`, c) >= 0 {
			b.WriteByte('\\')
		}
		b.WriteByte(c)
	}
	return b.String()
}

// An Impact is what changes of spec files touch.
type Impact struct {
	Files   []string            // axis files to judge, sorted
	Axes    map[string][]string // of a file the axes that are touched, sorted; nil: all
	Why     map[string][]string // of a file short reasons, such as "parts/screws.parts.hcl: screw.g20x10"
	Removed []string            // axis files that are no more, renamed ones not among them, sorted
	Same    []string            // changed files of any sort that differ in nothing but their name or mode, sorted
}

// And gives what is touched by the changes of both, as of a merge: an axis that is as it
// was on one of the sides was judged there.
func (i Impact) And(o Impact) Impact {
	out := Impact{Axes: map[string][]string{}, Why: map[string][]string{}, Removed: both(i.Removed, o.Removed), Same: append(slices.Clone(i.Same), o.Same...)}
	for _, f := range both(i.Files, o.Files) {
		axes := i.Axes[f]
		switch {
		case axes == nil:
			axes = o.Axes[f]
		case o.Axes[f] != nil:
			if axes = both(axes, o.Axes[f]); len(axes) == 0 {
				continue
			}
		}
		out.Files = append(out.Files, f)
		out.Axes[f] = axes
		out.Why[f] = append(slices.Clone(i.Why[f]), o.Why[f]...)
		slices.Sort(out.Why[f])
		out.Why[f] = slices.Compact(out.Why[f])
	}
	slices.Sort(out.Same)
	out.Same = slices.Compact(out.Same)
	return out
}

// both are the names that stand in two lists.
func both(a, b []string) []string {
	return slices.DeleteFunc(slices.Clone(a), func(s string) bool { return !slices.Contains(b, s) })
}

// Of finds the axes that changed spec files touch: those of changed axis
// files; those that use a part whose values changed, or inherit from a machine
// whose values changed; those in the scope of a changed policy; and those that
// carry one of them. Find lists the axis files of now.
//
// What is wrong with a parts, policy or machine file itself is not an axis:
// who wants to know must have the changed files read as well.
func Of(old, now *State, changes []Change, find Find) (Impact, error) {
	a := &affected{
		was: old, is: now, find: find,
		hits: map[string]*hit{}, gone: map[string]bool{}, before: map[string]string{}, kept: map[string]string{},
	}
	models := map[string]bool{}
	parts, machines, policies := map[string]bool{}, map[string]bool{}, map[string]map[string]bool{}
	for _, c := range changes {
		var sides []string
		if c.Kind != 'A' && !hidden(c.Old) {
			sides = append(sides, c.Old)
		}
		if c.Kind != 'D' && !hidden(c.Path) {
			sides = append(sides, c.Path)
		}
		same := a.same(c)
		if same {
			a.kept[c.Path] = c.Old
		}
		a.axisFile(c)
		if same {
			continue
		}
		for _, name := range sides {
			dir := path.Dir(name)
			switch {
			case spec.IsModel(name):
				models[name] = true
			case strings.HasSuffix(name, spec.PartsSuffix):
				parts[spec.ScopeOf(dir)] = true
			case path.Base(name) == spec.MachineFile:
				machines[dir] = true
			case strings.HasSuffix(name, spec.PolicySuffix):
				if policies[spec.ScopeOf(dir)] == nil {
					policies[spec.ScopeOf(dir)] = map[string]bool{}
				}
				policies[spec.ScopeOf(dir)][name] = true
			}
		}
	}
	for _, dir := range slices.Sorted(maps.Keys(parts)) {
		if err := a.parts(dir); err != nil {
			return Impact{}, err
		}
	}
	for _, dir := range slices.Sorted(maps.Keys(machines)) {
		if err := a.machine(dir); err != nil {
			return Impact{}, err
		}
	}
	for _, dir := range slices.Sorted(maps.Keys(policies)) {
		files, err := a.below(dir)
		if err != nil {
			return Impact{}, err
		}
		for _, name := range files {
			for policy := range policies[dir] {
				a.touch(name, policy)
			}
		}
	}
	if err := a.models(models); err != nil {
		return Impact{}, err
	}
	if err := a.carriers(); err != nil {
		return Impact{}, err
	}
	return a.impact(), nil
}

// A State is one of the two states. It keeps what was read of it, for whoever judges
// the axes that are touched.
type State struct {
	tree  *spec.Tree
	mu    sync.Mutex
	files map[string]*spec.AxisFile
	kept  int             // axes in files
	bare  map[string]bool // by folder: no spec file lies in it and below
}

// NewState makes a state of the files in it.
func NewState(fsys fs.FS) *State {
	return &State{tree: spec.NewTree(fsys), files: map[string]*spec.AxisFile{}, bare: map[string]bool{}}
}

// Tree is the tree that the state is read by.
func (s *State) Tree() *spec.Tree { return s.tree }

// maxKept is how many axes that were read are kept, some 20 KB each; more are read again.
const maxKept = 20_000

// Take gives what was read of an axis file and forgets it; nil if it must be read.
func (s *State) Take(name string) *spec.AxisFile {
	s.mu.Lock()
	defer s.mu.Unlock()
	f := s.files[name]
	if f != nil {
		s.kept -= len(f.Axes)
		delete(s.files, name)
	}
	return f
}

func (s *State) axes(name string) []*spec.Axis {
	s.mu.Lock()
	f := s.files[name]
	s.mu.Unlock()
	if f != nil {
		return f.Axes
	}
	f = s.tree.ReadAxes(name)
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, again := s.files[name]; !again && s.kept < maxKept {
		s.files[name] = f
		s.kept += len(f.Axes)
	}
	return f.Axes
}

// ahead has files read at once that will be read one by one, where they lie behind
// something that answers many questions as quickly as one.
func (s *State) ahead(names []string) {
	if fsys, ok := s.tree.FS().(interface{ Ahead(names []string) }); ok {
		fsys.Ahead(names)
	}
}

// atOnce is how many files are read ahead.
const atOnce = 1000

// each does something for all of some files.
func (s *State) each(files []string, do func(name string)) {
	for some := range slices.Chunk(files, atOnce) {
		s.ahead(some)
		each(some, do)
	}
}

type affected struct {
	was, is *State
	find    Find
	mu      sync.Mutex
	hits    map[string]*hit
	gone    map[string]bool   // axis files that are no more under their name
	before  map[string]string // where a changed axis file stood
	kept    map[string]string // files that are the same but for their name or mode, and where they stood
	removed []string
}

// A hit is an axis file that is touched.
type hit struct {
	all  bool
	axes map[string]bool
	why  map[string]bool
}

// touch notes that axes of a file are touched, all of them if none is named.
func (a *affected) touch(name, why string, axes ...string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	h := a.hits[name]
	if h == nil {
		h = &hit{axes: map[string]bool{}, why: map[string]bool{}}
		a.hits[name] = h
	}
	h.all = h.all || len(axes) == 0
	h.why[why] = true
	for _, x := range axes {
		h.axes[x] = true
	}
}

// axisFile takes in a change of an axis file.
func (a *affected) axisFile(c Change) {
	is := c.Kind != 'D' && strings.HasSuffix(c.Path, spec.AxisSuffix) && !hidden(c.Path)
	was := c.Kind != 'A' && strings.HasSuffix(c.Old, spec.AxisSuffix) && !hidden(c.Old)
	if was && (!is || c.Old != c.Path) {
		a.gone[c.Old] = true
	}
	if was && !is {
		a.removed = append(a.removed, c.Old)
	}
	if !is {
		return
	}
	if _, same := a.kept[c.Path]; same && was {
		a.before[c.Path] = c.Old
		return
	}
	switch {
	case !was:
		a.touch(c.Path, "added")
	case c.Old != c.Path:
		a.touch(c.Path, "renamed from "+c.Old)
		a.before[c.Path] = c.Old
	default:
		a.touch(c.Path, "changed")
		a.before[c.Path] = c.Old
	}
}

// below lists the axis files of a folder and below that are still there.
func (a *affected) below(dir string, patterns ...string) ([]string, error) {
	return a.list(dir, true, patterns...)
}

func (a *affected) list(dir string, recursive bool, patterns ...string) ([]string, error) {
	files, err := a.find(dir, recursive, patterns...)
	return slices.DeleteFunc(slices.Clone(files), func(name string) bool {
		if hidden(name) {
			return true
		}
		if a.gone[name] {
			// Unless another file has taken its name.
			_, err := fs.Stat(a.is.tree.FS(), name)
			return err != nil
		}
		return false
	}), err
}

// same reports whether a changed file differs in nothing but its name or mode, and what
// it says means the same where it stands now: in the same scope, or in a folder that was
// moved as a whole.
func (a *affected) same(c Change) bool {
	if c.Kind != 'M' && c.Kind != 'R' || hidden(c.Old) != hidden(c.Path) || suffix(c.Old) != suffix(c.Path) {
		return false
	}
	if c.Old != c.Path && (spec.IsModel(c.Old) || spec.IsModel(c.Path)) {
		return false // axes name it by its path
	}
	one, p := a.was.tree.Read(c.Old)
	two, q := a.is.tree.Read(c.Path)
	if p != nil || q != nil || !bytes.Equal(one, two) {
		return false
	}
	old, now := path.Dir(c.Old), path.Dir(c.Path)
	if old == now || spec.ScopeOf(old) == spec.ScopeOf(now) && suffix(c.Path) != spec.AxisSuffix {
		return true
	}
	return a.was.without(now) && a.is.without(old) && a.sameInputs(c)
}

// suffix tells the sorts of spec files; a machine file is one of its own.
func suffix(name string) string {
	for _, s := range []string{spec.MachineFile, spec.AxisSuffix, spec.PartsSuffix, spec.PolicySuffix} {
		if path.Base(name) == s || s != spec.MachineFile && strings.HasSuffix(name, s) {
			return s
		}
	}
	return ""
}

// without reports whether a state has no spec file in a folder and below. Other files, and
// folders that are listed though they hold nothing, do not count; in a folder of very many
// of them it is not looked further.
func (s *State) without(dir string) bool {
	answer, known := s.bare[dir]
	if !known {
		left := 1000
		answer = s.noSpecs(dir, &left)
		s.bare[dir] = answer
	}
	return answer
}

func (s *State) noSpecs(dir string, left *int) bool {
	list, err := fs.ReadDir(s.tree.FS(), dir)
	if *left -= len(list); err != nil || *left < 0 {
		return errors.Is(err, fs.ErrNotExist)
	}
	for _, e := range list {
		link := e.Type()&fs.ModeSymlink != 0
		if link || spec.IsSpec(e.Name()) || e.IsDir() && !hidden(e.Name()) && !s.noSpecs(path.Join(dir, e.Name()), left) {
			return false
		}
	}
	return true
}

// sameInputs reports whether the axes of a moved file have the same values, machine and
// policies as before. Of another file there is nothing to say: it counts for the axes.
func (a *affected) sameInputs(c Change) bool {
	if suffix(c.Path) != spec.AxisSuffix {
		return true
	}
	was, is := a.was.axes(c.Old), a.is.axes(c.Path)
	if len(was) != len(is) {
		return false
	}
	for i, x := range was {
		y := is[i]
		if x.ModelPath() != y.ModelPath() {
			return false // what the file says begins where it stands
		}
		if x.Folder.MachineName() != y.Folder.MachineName() || !slices.Equal(policiesOf(a.was, x.Folder), policiesOf(a.is, y.Folder)) {
			return false
		}
		for _, f := range inherited() {
			v, w := x.Get(f), y.Get(f)
			if !sameValue(v, w) || v != nil && v.Part != nil && (w.Part == nil || !samePart(v.Part, w.Part)) {
				return false
			}
		}
	}
	return true
}

// policiesOf are the texts of the policies that hold in a folder, the nearest first.
func policiesOf(s *State, f *spec.Folder) []string {
	var out []string
	for ; f != nil; f = f.Parent {
		for _, p := range f.Policies {
			text, _ := s.tree.Read(p.Path)
			out = append(out, string(text))
		}
	}
	return out
}

// A partKey names a part by where axes look for it.
type partKey struct{ scope, kind, name string }

func keyOf(p *spec.Part) partKey {
	return partKey{spec.ScopeOf(path.Dir(p.Place.File)), p.Kind, p.Name}
}

// parts takes in that parts files of a folder changed. Parts are compared by
// what they say: a comment or another layout touches nobody.
func (a *affected) parts(dir string) error {
	was, is := partsOf(a.was.tree.Folder(dir)), partsOf(a.is.tree.Folder(dir))
	changed := map[partKey]string{}
	for key, p := range is {
		if o := was[key]; o == nil || !samePart(o, p) {
			changed[key] = p.Place.File
		}
	}
	lost := false
	for key, p := range was {
		if is[key] == nil {
			changed[key] = p.Place.File
			lost = true
		}
	}
	if len(changed) == 0 {
		return nil
	}
	files, err := a.users(dir, changed)
	if err != nil {
		return err
	}
	a.is.each(files, func(name string) { a.use(a.is, name, changed) })
	if lost {
		a.was.each(files, func(name string) { a.use(a.was, name, changed) }) // what used a part that is gone has none now
	}
	return nil
}

// users lists the axis files that may use one of the parts.
func (a *affected) users(dir string, changed map[partKey]string) ([]string, error) {
	seen := map[string]bool{
		// A name may be written with escapes, and the Kelvin sign is read as K.
		literal(`\u`): true, literal(`\U`): true, "\u212a": true,
	}
	for key := range changed {
		seen[literal(asciiOf(key))] = true
	}
	files, err := a.below(dir, slices.Sorted(maps.Keys(seen))...)
	if err != nil {
		return nil, err
	}
	// A machine hands its parts down to axes that do not name them.
	from := map[string]bool{}
	for _, name := range files {
		if path.Base(name) == spec.MachineFile {
			from[path.Dir(name)] = true
		}
	}
	if len(from) == 0 {
		return files, nil
	}
	all, err := a.below(dir)
	for _, name := range all {
		for d := path.Dir(name); ; d = path.Dir(d) {
			if from[d] {
				files = append(files, name)
				break
			}
			if d == "." || d == dir {
				break
			}
		}
	}
	slices.Sort(files)
	return slices.Compact(files), err
}

// asciiOf is the longest stretch of a part's name that any way of writing it
// has; for letters beyond ASCII there are several.
func asciiOf(key partKey) string {
	best, start := "", 0
	for i := 0; i <= len(key.name); i++ {
		if i == len(key.name) || key.name[i] >= 0x80 {
			if i-start > len(best) {
				best = key.name[start:i]
			}
			start = i + 1
		}
	}
	if best == "" {
		return key.kind
	}
	return best
}

// use notes the axes of a file that refer to a changed part.
func (a *affected) use(s *State, name string, changed map[partKey]string) {
	for _, x := range s.axes(name) {
		for _, f := range partFields {
			v := x.Get(f)
			if v == nil || v.Part == nil {
				continue
			}
			if file, ok := changed[keyOf(v.Part)]; ok {
				a.touch(name, file+": "+v.Text, x.Name)
			}
		}
	}
}

var partFields = func() (list []*spec.Field) {
	for _, f := range inherited() {
		if f.Sort == spec.PartRef {
			list = append(list, f)
		}
	}
	return list
}()

// inherited are the fields an axis has outside of its moves.
func inherited() []*spec.Field { return spec.Language().Fields[:spec.Language().Moves] }

func partsOf(f *spec.Folder) map[partKey]*spec.Part {
	m := map[partKey]*spec.Part{}
	for _, p := range f.Parts() {
		m[keyOf(p)] = p
	}
	return m
}

// samePart compares what axes have of a part.
func samePart(a, b *spec.Part) bool {
	for _, kind := range spec.Language().PartKinds() {
		if kind.Name != a.Kind {
			continue
		}
		for _, f := range kind.Fields {
			if !f.Apart && !sameValue(a.Get(f.Name), b.Get(f.Name)) {
				return false
			}
		}
	}
	return true
}

func sameValue(a, b *spec.Value) bool {
	if a == nil || b == nil {
		return a == b
	}
	return a.Text == b.Text && a.Num == b.Num && a.Ends == b.Ends && a.Word == b.Word && a.Flag == b.Flag && a.Bad == b.Bad
}

// models takes in that models changed.
func (a *affected) models(changed map[string]bool) error {
	if len(changed) == 0 {
		return nil
	}
	files, err := a.below(".", Assigned("model"))
	if err != nil {
		return err
	}
	a.is.each(files, func(name string) {
		for _, x := range a.is.axes(name) {
			if p := x.ModelPath(); changed[p] {
				a.touch(name, p+": model", x.Name)
			}
		}
	})
	return nil
}

// machine takes in that the machine file of a folder changed. What a machine
// hands down is seen by an axis that says nothing itself; asked in every
// folder, this tells nearer machines from farther ones.
func (a *affected) machine(dir string) error {
	if a.sameMachine(dir) {
		return nil
	}
	files, err := a.below(dir)
	if err != nil {
		return err
	}
	folders := map[string][]string{}
	for _, name := range files {
		d := spec.ScopeOf(path.Dir(name))
		folders[d] = append(folders[d], name)
	}
	why := path.Join(dir, spec.MachineFile) + ": machine"
	each(slices.Sorted(maps.Keys(folders)), func(d string) {
		if !a.sameMachine(d) {
			for _, name := range folders[d] {
				a.touch(name, why)
			}
		}
	})
	return nil
}

func (a *affected) sameMachine(dir string) bool {
	if a.was.tree.Folder(dir).MachineName() != a.is.tree.Folder(dir).MachineName() {
		return false
	}
	was, is := bare(a.was.tree, dir), bare(a.is.tree, dir)
	if was == nil || is == nil {
		return false
	}
	for _, f := range inherited() {
		if !sameValue(handedDown(was, f), handedDown(is, f)) {
			return false
		}
	}
	return true
}

// bare is an axis of a folder that says nothing itself.
func bare(t *spec.Tree, dir string) *spec.Axis {
	file := t.AxesOf(path.Join(dir, "bare"+spec.AxisSuffix), []byte("axis \"bare\" {\n}\n"), nil)
	if len(file.Axes) != 1 {
		return nil
	}
	return file.Axes[0]
}

func handedDown(x *spec.Axis, f *spec.Field) *spec.Value {
	if v := x.Get(f); v != nil && v.Origin == spec.Machine {
		return v
	}
	return nil
}

// carriers adds the axes that carry a touched one, and those that carry them.
func (a *affected) carriers() error {
	dirs := map[string]bool{}
	for name := range a.hits {
		dirs[path.Dir(name)] = true
	}
	for name := range a.gone {
		dirs[path.Dir(name)] = true
	}
	// Few folders are looked up one by one; many, all at once.
	var files []string
	if len(dirs) <= 8 {
		for dir := range dirs {
			some, err := a.list(dir, false, Assigned(carries.Name))
			if err != nil {
				return err
			}
			files = append(files, some...)
		}
	} else {
		all, err := a.below(".", Assigned(carries.Name))
		if err != nil {
			return err
		}
		for _, name := range all {
			if dirs[path.Dir(name)] {
				files = append(files, name)
			}
		}
	}
	slices.Sort(files)
	folders := map[string][]string{}
	for _, name := range files {
		if h := a.hits[name]; h == nil || !h.all {
			folders[path.Dir(name)] = append(folders[path.Dir(name)], name)
		}
	}
	for dirs := range slices.Chunk(slices.Sorted(maps.Keys(folders)), atOnce) {
		var ahead []string
		for _, dir := range dirs {
			ahead = append(ahead, folders[dir]...)
		}
		a.is.ahead(ahead)
		each(dirs, func(dir string) { a.carriersIn(dir, folders[dir]) })
	}
	return nil
}

var carries = spec.Language().FieldAt("load.carries")

// carriersIn works on one folder. Files are those that may hold carriers not
// touched yet.
func (a *affected) carriersIn(dir string, files []string) {
	type carrier struct {
		file string
		axis *spec.Axis
		done bool
	}
	var list []*carrier
	for _, name := range files {
		for _, x := range a.is.axes(name) {
			if v := x.Get(carries); v != nil && len(v.Axes) > 0 {
				list = append(list, &carrier{file: name, axis: x})
			}
		}
	}
	if len(list) == 0 {
		return
	}
	touched := a.names(dir)
	for more := true; more; {
		more = false
		for _, c := range list {
			if c.done {
				continue
			}
			for _, ref := range c.axis.Get(carries).Axes {
				if touched[ref.Name] {
					a.touch(c.file, "carries "+ref.Name, c.axis.Name)
					touched[c.axis.Name] = true
					c.done, more = true, true
				}
			}
		}
	}
}

// names are the axes of a folder that are touched so far, those that are gone
// included.
func (a *affected) names(dir string) map[string]bool {
	names := map[string]bool{}
	add := func(s *State, file string) {
		if path.Dir(file) == dir {
			for _, x := range s.axes(file) {
				names[x.Name] = true
			}
		}
	}
	a.mu.Lock()
	var whole []string
	for name, h := range a.hits {
		if path.Dir(name) != dir {
			continue
		}
		if h.all {
			whole = append(whole, name)
		}
		for x := range h.axes {
			names[x] = true
		}
	}
	a.mu.Unlock()
	for _, name := range whole {
		add(a.is, name)
		if was, ok := a.before[name]; ok {
			add(a.was, was)
		}
	}
	stays := map[string]bool{}
	for now, old := range a.kept {
		stays[old] = path.Dir(now) == path.Dir(old)
	}
	for name := range a.gone {
		if !stays[name] {
			add(a.was, name)
		}
	}
	return names
}

func (a *affected) impact() Impact {
	i := Impact{Axes: map[string][]string{}, Why: map[string][]string{}}
	for _, name := range slices.Sorted(maps.Keys(a.hits)) {
		h := a.hits[name]
		i.Files = append(i.Files, name)
		i.Why[name] = slices.Sorted(maps.Keys(h.why))
		i.Axes[name] = nil
		if !h.all {
			i.Axes[name] = slices.Sorted(maps.Keys(h.axes))
		}
	}
	slices.Sort(a.removed)
	i.Removed = slices.Compact(a.removed)
	i.Same = slices.Sorted(maps.Keys(a.kept))
	return i
}

// hidden reports whether a name or a folder on the way to it begins with a
// dot: such files are passed over when folders are walked.
func hidden(name string) bool {
	return strings.HasPrefix(name, ".") || strings.Contains(name, "/.")
}

// each does something for all names, on all processors.
func each(list []string, do func(string)) {
	var wg sync.WaitGroup
	next := make(chan string)
	for range min(len(list), runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for name := range next {
				do(name)
			}
		})
	}
	for _, name := range list {
		next <- name
	}
	close(next)
	wg.Wait()
}
