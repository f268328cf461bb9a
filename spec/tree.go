package spec

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"

	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/spec/unit"
)

// File name endings of the three kinds of file, and the one name a machine
// block stands in.
const (
	AxisSuffix   = ".axis.hcl"
	PartsSuffix  = ".parts.hcl"
	PolicySuffix = ".policy.hcl"
	MachineFile  = "machine.axis.hcl"
	partsFolder  = "parts"
)

// IsSpec reports whether a file name is that of a spec file.
func IsSpec(name string) bool {
	return strings.HasSuffix(name, AxisSuffix) || strings.HasSuffix(name, PartsSuffix) || strings.HasSuffix(name, PolicySuffix)
}

// A Tree reads spec files below one root.
type Tree struct {
	fsys    fs.FS
	mu      sync.Mutex
	folders map[string]*folderOnce
	digests map[string]Digest
	tracked func(string) bool
	base    *Tree           // whose folders these are; nil for the tree's own
	instead map[*Part]*Part // see WithSubstitutes
}

type folderOnce struct {
	once   sync.Once
	folder *Folder
}

// NewTree returns a Tree over fsys, whose root bounds everything that is read.
// Use the FS of an os.Root so that links cannot lead out of it.
func NewTree(fsys fs.FS) *Tree {
	return &Tree{fsys: fsys, folders: map[string]*folderOnce{}, digests: map[string]Digest{}}
}

// Tracked has the tree take files for tracked of which has says so, and folders
// with such files below: what is tracked is found whatever an ignore file says.
// It is asked only where one names something. Without it nothing is tracked.
func (t *Tree) Tracked(has func(name string) bool) { t.tracked = has }

// WithSubstitutes returns a tree that reads the same files as t, with the same folders
// and parts, in which every axis that refers to a part of the map gets the values
// of the other one. It serves to ask what would come of using one part for
// another. The parts must be of t and of one kind; the other one need not lie
// where the axis would find it. What an axis says itself still goes before its
// part, and the reference keeps its text.
func (t *Tree) WithSubstitutes(parts map[*Part]*Part) *Tree {
	base := t
	if t.base != nil {
		base = t.base
	}
	return &Tree{fsys: t.fsys, base: base, instead: parts}
}

// FS returns the file system the tree reads.
func (t *Tree) FS() fs.FS { return t.fsys }

// A Folder is the scope of the axis files in it: its parts, machine and
// policies, and those above.
type Folder struct {
	Path     string // below the root; "." for the root
	Parent   *Folder
	Policies []*PolicyFile // of this folder, by file name
	Problems []Problem     // of this folder's parts, policy and machine files
	machine  *machine
	parts    map[string]*Part // by kind.name, of this folder only
	names    []*Part
	unread   Place // of what keeps a part's name from being known; not valid where all are
	digest   Digest
}

type machine struct {
	name   string
	place  Place
	values []*Value // by field index; nil where not given
	unread Place    // of what may have said more; not valid where all could be read
}

// MachineName is the name of the machine block in this folder or nearest
// above, "" where there is none.
func (f *Folder) MachineName() string {
	if m := f.nearestMachine(); m != nil {
		return m.name
	}
	return ""
}

func (f *Folder) nearestMachine() *machine {
	for ; f != nil; f = f.Parent {
		if f.machine != nil {
			return f.machine
		}
	}
	return nil
}

// unreadParts gives the place of what keeps the names of parts that axes of the
// folder can refer to from being known, if there is something.
func (f *Folder) unreadParts() (at Place, unread bool) {
	for ; f != nil; f = f.Parent {
		if f.unread.Valid() {
			return f.unread, true
		}
	}
	return at, false
}

// Part finds a part declared in this folder or above, nil where there is none.
func (f *Folder) Part(kind, name string) *Part {
	for key := kind + "." + name; f != nil; f = f.Parent {
		if p := f.parts[key]; p != nil {
			return p
		}
	}
	return nil
}

// Parts lists the parts declared in this very folder, in order.
func (f *Folder) Parts() []*Part { return f.names }

// Visible lists the parts of a kind that axes of the folder can refer to, those
// of the folder itself first.
func (f *Folder) Visible(kind string) []*Part {
	var list []*Part
	for ; f != nil; f = f.Parent {
		for _, p := range f.names {
			if p.Kind == kind {
				list = append(list, p)
			}
		}
	}
	return list
}

func (f *Folder) partNames(kind string) []string {
	var names []string
	for _, p := range f.Visible(kind) {
		names = append(names, p.Name)
	}
	return names
}

// ScopeOf gives the folder whose scope holds in a folder: itself, or for one
// named parts the nearest above that is not.
func ScopeOf(dir string) string {
	dir = path.Clean(dir)
	for path.Base(dir) == partsFolder {
		dir = path.Dir(dir)
	}
	return dir
}

// Folder returns the scope of a folder, a slash-separated path below the root.
// A folder named parts counts as its parent. It is read once.
func (t *Tree) Folder(dir string) *Folder {
	if t.base != nil {
		return t.base.Folder(dir)
	}
	dir = ScopeOf(dir)
	t.mu.Lock()
	slot := t.folders[dir]
	if slot == nil {
		slot = &folderOnce{}
		t.folders[dir] = slot
	}
	t.mu.Unlock()
	slot.once.Do(func() { slot.folder = t.readFolder(dir) })
	return slot.folder
}

func (t *Tree) readFolder(dir string) *Folder {
	f := &Folder{Path: dir, parts: map[string]*Part{}}
	var above Digest
	if dir != "." {
		f.Parent = t.Folder(path.Dir(dir))
		above = f.Parent.digest
	}
	files, problems := t.scopeFiles(dir)
	f.Problems = problems
	sum := newScopeSum(dir, above, problems)
	for _, name := range files {
		src, p := t.Read(name)
		sum.add(name, src, p)
		d := &decoder{path: name, scope: f, lasting: true}
		switch {
		case strings.HasSuffix(name, PartsSuffix):
			d.scope = nil
			t.readParts(f, d, d.take(src, p))
		case strings.HasSuffix(name, PolicySuffix):
			t.readPolicy(f, d, d.take(src, p))
		default:
			t.readMachine(f, d, d.take(src, p))
		}
	}
	f.digest = DigestOf(sum...)
	f.Problems = SortProblems(f.Problems)
	return f
}

// scopeFiles lists the files that make the scope of a folder, those above it
// left out, in the order in which they are read.
func (t *Tree) scopeFiles(dir string) (files []string, problems []Problem) {
	hasMachine := false
	for d := dir; d != ""; {
		next := ""
		entries, err := fs.ReadDir(t.fsys, d)
		if err != nil && (d != dir || !errors.Is(err, fs.ErrNotExist)) {
			problems = append(problems, fileProblem(d, err))
		}
		for _, e := range entries {
			name := e.Name()
			switch {
			case name == partsFolder && (e.IsDir() || d == dir && t.linksToFolder(e, path.Join(d, name))):
				next = path.Join(d, name)
			case strings.HasSuffix(name, PartsSuffix), strings.HasSuffix(name, PolicySuffix):
				files = append(files, path.Join(d, name))
			case name == MachineFile && d == dir:
				hasMachine = true
			}
		}
		d = next
	}
	if hasMachine {
		files = append(files, path.Join(dir, MachineFile))
	}
	return files, problems
}

// A Digest names content: two that are equal are of equal content.
type Digest [sha256.Size]byte

// Digest names everything that was read for the folder, and for those above.
func (f *Folder) Digest() Digest { return f.digest }

// FolderDigest is the Digest of the folder's scope as it is on disk; nothing
// is parsed for it.
func (t *Tree) FolderDigest(dir string) Digest {
	dir = ScopeOf(dir)
	t.mu.Lock()
	got, ok := t.digests[dir]
	t.mu.Unlock()
	if ok {
		return got
	}
	var above Digest
	if dir != "." {
		above = t.FolderDigest(path.Dir(dir))
	}
	files, problems := t.scopeFiles(dir)
	sum := newScopeSum(dir, above, problems)
	for _, name := range files {
		src, p := t.Read(name)
		sum.add(name, src, p)
	}
	got = DigestOf(sum...)
	t.mu.Lock()
	t.digests[dir] = got
	t.mu.Unlock()
	return got
}

// DigestOf names a list of words.
func DigestOf(words ...string) Digest {
	var all []byte
	for _, w := range words {
		sum := sha256.Sum256([]byte(w))
		all = append(all, sum[:]...)
	}
	return sha256.Sum256(all)
}

// A scopeSum gathers the words that name the scope of a folder.
type scopeSum []string

func newScopeSum(dir string, above Digest, problems []Problem) scopeSum {
	s := scopeSum{string(above[:]), dir}
	for _, p := range problems {
		s = append(s, p.Place.File, p.Message)
	}
	return s
}

func (s *scopeSum) add(name string, src []byte, p *Problem) {
	if p != nil {
		*s = append(*s, name, "cannot be read", p.Message)
		return
	}
	sum := sha256.Sum256(src)
	*s = append(*s, name, "read", string(sum[:]))
}

// linksToFolder reports whether an entry is a link to a folder, or one that
// cannot be followed: reading it then says why.
func (t *Tree) linksToFolder(e fs.DirEntry, full string) bool {
	if e.Type()&fs.ModeSymlink == 0 {
		return false
	}
	info, err := fs.Stat(t.fsys, full)
	return err != nil || info.IsDir()
}

// fileProblem says that a file or folder could not be read.
func fileProblem(name string, err error) Problem {
	p := Problem{Rule: "file", Place: Place{File: name, Line: 1, Col: 1, EndLine: 1, EndCol: 1}}
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		p.Message = "there is no such file (any more)"
	case !utf8.ValidString(name):
		p.Message = "its name is not UTF-8; give it another"
	case errors.Is(err, fs.ErrPermission):
		p.Message = "permission to read it is denied"
	case strings.Contains(err.Error(), "escapes"):
		p.Message = "it is a link that leads out of the tree; nothing outside is read"
	case strings.Contains(err.Error(), "too many levels of symbolic links"), strings.Contains(err.Error(), "too many links"), strings.Contains(err.Error(), "too many symlinks"):
		p.Message = "it is a link that leads round in a circle"
	default:
		p.Message = "it cannot be read: " + err.Error()
	}
	return p
}

// Read reads the bytes of one file. It refuses what is no regular file or
// larger than MaxFileSize.
func (t *Tree) Read(name string) ([]byte, *Problem) {
	refuse := func(format string, args ...any) ([]byte, *Problem) {
		return nil, &Problem{Rule: "file", Place: Place{File: name, Line: 1, Col: 1, EndLine: 1, EndCol: 1}, Message: fmt.Sprintf(format, args...)}
	}
	// A pipe or device must not even be opened: that alone could block.
	info, err := fs.Stat(t.fsys, name)
	if err == nil && !info.Mode().IsRegular() {
		return refuse("it is no regular file (%s)", modeWord(info.Mode()))
	}
	if err == nil && info.Size() > MaxFileSize && info.Size()>>20 == MaxFileSize>>20 {
		return refuse("it is a little more than %d MB large; spec files are at most that", MaxFileSize>>20)
	}
	if err == nil && info.Size() > MaxFileSize {
		return refuse("it is %d MB large; spec files are at most %d MB", info.Size()>>20, MaxFileSize>>20)
	}
	if err != nil {
		p := fileProblem(name, err)
		return nil, &p
	}
	file, err := t.fsys.Open(name)
	if err != nil {
		p := fileProblem(name, err)
		return nil, &p
	}
	defer file.Close()
	// Something else may have taken its place since.
	if now, err := file.Stat(); err != nil || !now.Mode().IsRegular() {
		return refuse("it became something else while it was read")
	}
	src := make([]byte, 0, info.Size()+1)
	for idle := 0; ; idle++ {
		n, err := file.Read(src[len(src):cap(src)])
		src = src[:len(src)+n]
		if n > 0 {
			idle = 0
		} else if err == nil && idle > 100 {
			err = io.ErrNoProgress
		}
		if err == io.EOF {
			break
		}
		if err != nil {
			p := fileProblem(name, err)
			return nil, &p
		}
		if len(src) > MaxFileSize {
			return refuse("it grew beyond %d MB while it was read", MaxFileSize>>20)
		}
		if len(src) == cap(src) {
			src = slices.Grow(src, 4096)
		}
	}
	return src, nil
}

func modeWord(m fs.FileMode) string {
	switch {
	case m.IsDir():
		return "a folder"
	case m&fs.ModeNamedPipe != 0:
		return "a pipe"
	case m&fs.ModeSocket != 0:
		return "a socket"
	case m&fs.ModeDevice != 0:
		return "a device"
	}
	return "something else"
}

// take parses what was read of a file; the body is nil where nothing could be.
func (d *decoder) take(src []byte, p *Problem) *hclsyntax.Body {
	if p != nil {
		d.problems = append(d.problems, *p)
		d.broken = true
		return nil
	}
	return d.parse(src)
}

func (d *decoder) parse(src []byte) *hclsyntax.Body {
	body, broken, problems := parse(d.path, src)
	d.problems = append(d.problems, problems...)
	d.broken = broken
	if broken && body != nil {
		if s, ok := salvageOf(d.path, src); ok {
			d.broken, body, d.lost, d.bad = false, s.body, s.lost, s.bad
		}
	}
	if body != nil {
		d.readGiven(body)
	}
	return body
}

func (t *Tree) readParts(f *Folder, d *decoder, body *hclsyntax.Body) {
	if body != nil {
		add := func(p *Part) { d.declare(f, p) }
		series := map[string]Place{}
		d.entries(body, theSchema.PartsFile, "a parts file", nil, func(b *Block, blk *hclsyntax.Block) {
			switch b.Name {
			case "given": // read already
			case "series":
				at := d.place(blk.LabelRanges[0])

				if first, again := series[blk.Labels[0]]; again {
					p := d.report("duplicate-name", at, "give one of them another name", "this file has two series named %s", blk.Labels[0])
					p.Related = []Related{{first, "first here"}}
				}
				series[blk.Labels[0]] = at
				if !d.series(blk, add) {
					f.unread = at
				}
			default:
				add(d.part(b, blk))
			}
		}, func(l lost) { f.unread = l.at })
	}
	f.Problems = append(f.Problems, d.sorted()...)
	if at, bad := d.unparsed(); bad {
		f.unread = at
	}
}

// part reads the block of one part.
func (d *decoder) part(b *Block, blk *hclsyntax.Block) *Part {
	p := &Part{Kind: b.Name, Name: blk.Labels[0], Place: d.place(blk.LabelRanges[0]), values: make([]*Value, len(b.Fields))}
	var losses []lost
	d.entries(blk.Body, b, b.Name, func(fd *Field, a *hclsyntax.Attribute) {
		v := d.value(fd, a)
		v.Origin = OfPart
		p.values[fd.index] = v
	}, nil, func(l lost) { losses = append(losses, l) })
	if d.isBad(blk.DefRange()) {
		for i, f := range b.Fields {
			p.values[i] = unreadable(f, p.Place, OfPart)
		}
	}
	for _, l := range lose(losses, p.values, 0, OfPart) {
		loseAll(b, p.values, 0, l.at)
	}
	return p
}

// unparsed gives the place of the first thing that no part of the file could be
// read for, if there is one.
func (d *decoder) unparsed() (at Place, bad bool) {
	if !d.broken && len(d.bad) == 0 {
		return at, false
	}
	for _, p := range SortProblems(d.problems) {
		if p.Rule == "syntax" || p.Rule == "file" {
			return p.Place, true
		}
	}
	return Place{File: d.path, Line: 1, Col: 1, EndLine: 1, EndCol: 1}, true
}

// declare enters a part into its folder, if its name is not taken.
func (d *decoder) declare(f *Folder, p *Part) {
	first := f.parts[p.Kind+"."+p.Name]
	if first == nil {
		first = f.Parent.partOrNil(p.Kind, p.Name)
	}
	if first != nil {
		pr := d.report("duplicate-name", p.Place, "give one of them another name", "%s.%s is declared twice where axes here look for it", p.Kind, p.Name)
		pr.Related = []Related{{first.Place, "declared here too"}}
		return
	}
	f.parts[p.Kind+"."+p.Name] = p
	f.names = append(f.names, p)
}

func (f *Folder) partOrNil(kind, name string) *Part {
	if f == nil {
		return nil
	}
	return f.Part(kind, name)
}

func (t *Tree) readMachine(f *Folder, d *decoder, body *hclsyntax.Body) {
	var blocks hclsyntax.Blocks
	if body != nil && !d.tooMany(body) {
		blocks = body.Blocks
	}
	for _, blk := range blocks {
		if blk.Type != "machine" {
			continue
		}
		if !d.labels(theSchema.Machine, blk, d.place(blk.TypeRange)) {
			continue
		}
		at := d.place(blk.LabelRanges[0])
		if f.machine != nil {
			p := d.report("duplicate-name", at, "a folder is one machine", "a second machine block in the same folder")
			p.Related = []Related{{f.machine.place, "first here"}}
			continue
		}
		m := &machine{name: blk.Labels[0], place: at, values: make([]*Value, len(theSchema.Fields))}
		var losses []lost
		note := func(l lost) { losses = append(losses, l) }
		take := func(fd *Field, a *hclsyntax.Attribute) {
			v := d.value(fd, a)
			v.Origin = Machine
			m.values[fd.index] = v
		}
		seen := map[string]Place{}
		d.entries(blk.Body, theSchema.Machine, "machine", take, func(b *Block, inner *hclsyntax.Block) {
			at := d.place(inner.TypeRange)
			if first, again := seen[b.Name]; again {
				p := d.report("duplicate-name", at, "write both in one block", "machine %s has a second block %s", m.name, b.Name)
				p.Related = []Related{{first, "first here"}}
				note(lost{in: theSchema.Machine, name: b.Name, at: at, block: true})
				return
			}
			seen[b.Name] = at
			d.entries(inner.Body, b, b.Name+" of a machine", take, nil, note)
		}, note)
		if d.isBad(blk.DefRange()) {
			m.unread = at
		}
		for _, l := range lose(losses, m.values, 0, Machine) {
			m.unread = l.at
		}
		f.machine = m
	}
	f.Problems = append(f.Problems, d.sorted()...)
	if at, bad := d.unparsed(); bad && f.machine == nil {
		f.machine = &machine{values: make([]*Value, len(theSchema.Fields)), unread: at}
	}
}

// An AxisFile is what one axis file says.
type AxisFile struct {
	Path     string
	Axes     []*Axis
	Problems []Problem
}

// ReadAxes reads one axis file of the tree.
func (t *Tree) ReadAxes(name string) *AxisFile {
	src, p := t.Read(name)
	return t.AxesOf(name, src, p)
}

// AxesOf reads an axis file from src as if it stood at name in the tree, or says
// with p, which Read has given, that there is nothing to read.
func (t *Tree) AxesOf(name string, src []byte, p *Problem) *AxisFile {
	f := t.Folder(path.Dir(name))
	d := &decoder{path: name, scope: f, instead: t.instead}
	file := d.axisFile(f, d.take(src, p))
	if path.Base(name) == MachineFile {
		// Reading the folder has reported what is wrong with the file as such.
		file.Problems = slices.DeleteFunc(file.Problems, func(p Problem) bool {
			return slices.ContainsFunc(f.Problems, func(o Problem) bool {
				return p.Place == o.Place && p.Rule == o.Rule && p.Message == o.Message
			})
		})
	}
	return file
}

func (d *decoder) axisFile(f *Folder, body *hclsyntax.Body) *AxisFile {
	file := &AxisFile{Path: d.path}
	tooMany := false
	if body != nil {
		d.entries(body, theSchema.AxisFile, "an axis file", nil, func(b *Block, blk *hclsyntax.Block) {
			switch b.Name {
			case "axis":
				if len(file.Axes) == maxAxes {
					if !tooMany {
						d.report("syntax", d.place(blk.TypeRange), "split the file", "more than %d axes in one file are not read", maxAxes)
					}
					tooMany = true
					return
				}
				file.Axes = append(file.Axes, d.axis(f, blk))
			case "machine":
				if path.Base(d.path) != MachineFile {
					d.report("syntax", d.place(blk.TypeRange), "move it to "+path.Join(f.Path, MachineFile), "a machine block stands in a file named %s", MachineFile)
				}
			}
		}, nil)
	}
	for _, a := range file.Axes {
		a.InFile = len(file.Axes)
	}
	file.Problems = d.sorted()
	return file
}

// axis reads one axis block and resolves its values.
func (d *decoder) axis(f *Folder, blk *hclsyntax.Block) *Axis {
	a := &Axis{
		Name: blk.Labels[0], Place: d.place(blk.LabelRanges[0]), Folder: f, Broken: d.broken || d.isBad(blk.DefRange()),
		values: make([]*Value, theSchema.Moves), blocks: make([]axisBlock, len(theSchema.Axis.Blocks)), spot: d.spotOf(blk),
	}
	var losses []lost
	note := func(l lost) { losses = append(losses, l) }
	own := func(fd *Field, at *hclsyntax.Attribute) { a.values[fd.index] = d.value(fd, at) }
	d.entries(blk.Body, theSchema.Axis, "axis", own, func(b *Block, inner *hclsyntax.Block) {
		if b.Name == "waive" {
			a.Waivers = append(a.Waivers, d.waiver(b, inner))
			return
		}
		i := slices.Index(theSchema.Axis.Blocks, b)
		at := d.place(inner.TypeRange)
		if a.blocks[i].head.Valid() {
			p := d.report("duplicate-name", at, "write both in one block", "axis %s has a second block %s", a.Name, b.Name)
			p.Related = []Related{{a.blocks[i].head, "first here"}}
			note(lost{in: theSchema.Axis, name: b.Name, at: at, block: true})
			return
		}
		a.blocks[i] = axisBlock{at, d.spotOf(inner)}
		d.entries(inner.Body, b, b.Name, own, func(_ *Block, mv *hclsyntax.Block) { d.move(a, mv) }, note)
	}, note)
	a.Broken = a.Broken || d.broken || d.full()
	unclear := lose(losses, a.values, 0, Own)
	if m := f.nearestMachine(); m != nil {
		a.inherit(m)
	}
	for _, ref := range theSchema.refs {
		v := a.values[ref.field.index]
		if v == nil || v.Part == nil {
			continue
		}
		if p := d.instead[v.Part]; p != nil {
			other := *v // the value may be the machine's, which all its axes share
			other.Part = p
			v = &other
			a.values[ref.field.index] = v
		}
		for i, pv := range v.Part.values {
			if pv == nil || ref.target[i] < 0 {
				continue
			}
			if have := a.values[ref.target[i]]; have == nil || have.Origin == Machine {
				a.values[ref.target[i]] = pv
			}
		}
	}
	for i, v := range theSchema.defaults[:theSchema.Moves] {
		if v != nil && a.values[i] == nil {
			a.values[i] = v
		}
	}
	for _, l := range unclear {
		a.loseUnclear(l)
	}
	a.loseRoles()
	a.noteUnread()
	return a
}

// inherit takes over what the machine says and the axis does not.
func (a *Axis) inherit(m *machine) {
	for i, v := range m.values[:theSchema.Moves] {
		f := theSchema.Fields[i]
		if v == nil && m.unread.Valid() {
			v = unreadable(f, m.unread, Machine)
			v.Unclear = true
		}
		if v != nil && a.values[i] == nil && f.Inherit && !a.saysOtherwise(f) {
			a.values[i] = v
		}
	}
}

// otherWays are pairs of fields that say the same thing in two ways: what an
// axis says itself in one of them keeps the machine's other one out.
var otherWays = [][2]string{{"orientation", "incline"}, {"duty.shock", "duty.load_factor"}}

func (a *Axis) saysOtherwise(f *Field) bool {
	for _, w := range otherWays {
		for i := range w {
			if w[i] != f.Path {
				continue
			}
			if v := a.values[theSchema.byPath[w[1-i]].index]; v != nil && v.Origin == Own {
				return true
			}
		}
	}
	return false
}

func (d *decoder) move(a *Axis, blk *hclsyntax.Block) {
	m := &Move{Name: blk.Labels[0], Place: d.place(blk.LabelRanges[0]), values: make([]*Value, len(theSchema.Fields)-theSchema.Moves), spot: d.spotOf(blk)}
	if len(a.Moves) >= maxMoves {
		if !a.Broken {
			d.report("value", m.Place, "", "a cycle of more than %d moves is not read", maxMoves)
			a.Broken = true
		}
		return
	}
	for _, o := range a.Moves {
		if o.Name == m.Name {
			p := d.report("duplicate-name", m.Place, "give one of them another name", "axis %s has two moves named %s", a.Name, m.Name)
			p.Related = []Related{{o.Place, "first here"}}
			break
		}
	}
	var losses []lost
	d.entries(blk.Body, theSchema.Move, "move", func(fd *Field, at *hclsyntax.Attribute) {
		m.values[fd.index-theSchema.Moves] = d.value(fd, at)
	}, nil, func(l lost) { losses = append(losses, l) })
	unclear := lose(losses, m.values, theSchema.Moves, Own)
	for i, v := range theSchema.defaults[theSchema.Moves:] {
		if v != nil && m.values[i] == nil {
			m.values[i] = v
		}
	}
	for _, l := range unclear {
		loseAll(theSchema.Move, m.values, theSchema.Moves, l.at)
	}
	a.Moves = append(a.Moves, m)
}

func (d *decoder) waiver(b *Block, blk *hclsyntax.Block) *Waiver {
	w := &Waiver{Rule: blk.Labels[0], RulePlace: d.place(blk.LabelRanges[0])}
	d.entries(blk.Body, b, "waive", func(f *Field, at *hclsyntax.Attribute) {
		if f.Name == "axes" || f.Name == "parts" {
			names := d.names(f, at)
			w.Broken = w.Broken || names == nil
			if f.Name == "axes" {
				w.Axes = names
			} else {
				w.Parts = names
			}
			return
		}
		v := d.value(f, at)
		w.Broken = w.Broken || v.Bad
		switch f.Name {
		case "reason":
			w.Reason = v
		case "until":
			w.Until = v
		}
	}, nil, func(lost) { w.Broken = true })
	for _, miss := range []struct {
		v    *Value
		name string
		eg   string
	}{{w.Reason, "reason", `reason = "…"`}, {w.Until, "until", `until = "2027-06-30"`}} {
		if miss.v == nil || !miss.v.Bad && miss.v.Text == "" {
			d.report("value", w.RulePlace, "write "+miss.eg, "a waiver needs a %s", map[string]string{"reason": "reason", "until": "last day (until)"}[miss.name])
			w.Broken = true
		}
	}
	return w
}

// names reads a list of texts; nil where it is none.
func (d *decoder) names(f *Field, a *hclsyntax.Attribute) []string {
	t, ok := a.Expr.(*hclsyntax.TupleConsExpr)
	if !ok {
		d.report("value", d.place(a.Expr.Range()), "", "%s is a list of names, such as %s", f.Name, f.Example)
		return nil
	}
	out := []string{}
	for _, e := range t.Exprs {
		_, s, isText, ok := d.literal(e)
		if ok && !isText {
			d.report("value", d.place(e.Range()), "", "%s is a list of names in quotes", f.Name)
		}
		if !ok || !isText {
			return nil
		}
		out = append(out, s)
	}
	return out
}

// A PolicyFile is what one policy file says.
type PolicyFile struct {
	Path    string
	Rules   []*PolicyRule
	Waivers []*Waiver
	House   []*HouseRule
}

// A PolicyRule sets limits and severity of one rule.
type PolicyRule struct {
	Rule     string
	Place    Place // of the rule's name
	Limits   []PolicyLimit
	Severity *Value // nil where not given
	Reason   *Value
}

// A PolicyLimit is one limit as written: text with a unit, or a bare number.
type PolicyLimit struct {
	Name      string
	NamePlace Place
	Text      string
	Number    float64
	IsText    bool
	Place     Place
}

// A HouseRule is a condition of the house.
type HouseRule struct {
	Name      string
	Place     Place
	That      *Expr
	When      *Expr // nil: always
	Message   string
	Severity  string
	Reason    string
	ThatPlace Place
}

func (t *Tree) readPolicy(f *Folder, d *decoder, body *hclsyntax.Body) {
	pf := &PolicyFile{Path: d.path}
	if body != nil {
		seen := map[string]Place{}
		once := func(b *Block, blk *hclsyntax.Block) bool {
			at := d.place(blk.LabelRanges[0])
			key := b.Name + " " + blk.Labels[0]
			first, again := seen[key]
			if again {
				p := d.report("duplicate-name", at, "", "%s %q stands twice in this file", b.Name, blk.Labels[0])
				p.Related = []Related{{first, "first here"}}
			}
			seen[key] = at
			return !again
		}
		d.entries(body, theSchema.PolicyFile, "a policy file", nil, func(b *Block, blk *hclsyntax.Block) {
			switch b.Name {
			case "rule":
				if once(b, blk) {
					pf.Rules = append(pf.Rules, d.policyRule(b, blk))
				}
			case "require":
				if once(b, blk) {
					if h := d.houseRule(b, blk); h != nil {
						pf.House = append(pf.House, h)
					}
				}
			case "waive":
				pf.Waivers = append(pf.Waivers, d.waiver(b, blk))
			}
		}, nil)
	}
	f.Policies = append(f.Policies, pf)
	f.Problems = append(f.Problems, d.sorted()...)
}

// policyRule reads a rule block. Which limits a rule has is for the rules to
// say; here every attribute but severity and reason is one.
func (d *decoder) policyRule(b *Block, blk *hclsyntax.Block) *PolicyRule {
	r := &PolicyRule{Rule: blk.Labels[0], Place: d.place(blk.LabelRanges[0])}
	if d.tooMany(blk.Body) {
		return r
	}
	for _, inner := range blk.Body.Blocks {
		d.report("unknown-name", d.place(inner.TypeRange), "", "rule holds attributes only, found block %q", clip(inner.Type))
	}
	for name, a := range blk.Body.Attributes {
		switch name {
		case "severity":
			r.Severity = d.value(b.field(name), a)
		case "reason":
			r.Reason = d.value(b.field(name), a)
		default:
			c, s, isText, ok := d.literal(a.Expr)
			if !ok {
				continue
			}
			l := PolicyLimit{Name: name, NamePlace: d.place(a.NameRange), Text: s, IsText: isText, Place: d.place(a.Expr.Range())}
			if !isText {
				n, fine := asNumber(c)
				if !fine {
					d.report("value", l.Place, "", "%s is a number, or text with a unit", clip(name))
					continue
				}
				l.Number = n
			}
			r.Limits = append(r.Limits, l)
		}
	}
	slices.SortFunc(r.Limits, func(a, b PolicyLimit) int { return ComparePlaces(a.NamePlace, b.NamePlace) })
	return r
}

// roleRef is a field that refers to a part, with the axis field that each
// field of the part fills.
type roleRef struct {
	field  *Field
	target []int
}

// finish computes what the schema needs for resolving.
func (s *Schema) finish() {
	s.defaults = make([]*Value, len(s.Fields))
	s.roleField = map[string]*Field{}
	for i, f := range s.Fields {
		if f.Sort == PartRef {
			s.roleField[f.Role] = f
			ref := roleRef{field: f}
			for _, pf := range s.parts[f.Part].Fields {
				t := -1
				if af := s.byPath[f.Role+"."+pf.Name]; af != nil {
					t = af.index
				}
				ref.target = append(ref.target, t)
			}
			s.refs = append(s.refs, ref)
		}
		if f.Default == "" {
			continue
		}
		v := &Value{Field: f, Origin: Default, Text: f.Default}
		switch f.Sort {
		case Quantity:
			q, err := unit.Parse(f.Default, f.Unit)
			if err != nil {
				panic("spec: default of " + f.Path + ": " + err.Error())
			}
			v.Num = q
		case Number:
			q, err := unit.Parse(f.Default, unit.None)
			if err != nil {
				panic("spec: default of " + f.Path + ": " + err.Error())
			}
			v.Num = q
		case Word:
			v.Word = slices.Index(f.Words, f.Default)
			if v.Word < 0 {
				panic("spec: default of " + f.Path)
			}
		default:
			panic("spec: default of " + f.Path)
		}
		s.defaults[i] = v
	}
}
