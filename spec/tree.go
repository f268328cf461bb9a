package spec

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	"sync"
	"unicode/utf8"

	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/spec/plain"
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
	digests map[string]scopeDigest
	tracked func(string) bool
	base    *Tree           // whose folders these are; nil for the tree's own
	instead map[*Part]*Part // see WithSubstitutes
	ends    string          // see Ends
	unsaved map[string][]byte
	read    map[string]*readFile // of parts files, where some are unsaved: see piece
	models  models

	listings map[string][]listed // see Still
	contents Contents            // nil: every file is read
}

type folderOnce struct {
	once   sync.Once
	folder *Folder
}

// NewTree returns a Tree over fsys, whose root bounds everything that is read.
// Use the FS of an os.Root so that links cannot lead out of it.
func NewTree(fsys fs.FS) *Tree {
	return &Tree{fsys: fsys, folders: map[string]*folderOnce{}, digests: map[string]scopeDigest{}}
}

// Tracked has the tree take files for tracked of which has says so, and folders
// with such files below: what is tracked is found whatever an ignore file says.
// It is called only where one names something. Without it nothing is tracked.
func (t *Tree) Tracked(has func(name string) bool) { t.tracked = has }

// Unsaved has the tree take a text for what stands in a file, be it there or not: one that
// is being written; nil takes that back. It is called before anything is read, or what was
// read with the file is forgotten. The text is at most MaxFileSize long.
func (t *Tree) Unsaved(name string, text []byte) {
	if text == nil {
		delete(t.unsaved, name)
		return
	}
	if t.unsaved == nil {
		t.unsaved = map[string][]byte{}
	}
	t.unsaved[name] = text
}

// unsavedIn puts the unsaved files of a folder's scope to those that were found.
func (t *Tree) unsavedIn(dir string, files []string, machine bool) ([]string, bool) {
	for _, name := range slices.Sorted(maps.Keys(t.unsaved)) {
		switch {
		case name == path.Join(dir, MachineFile):
			machine = true
		case ScopeOf(path.Dir(name)) == dir && !strings.HasSuffix(name, AxisSuffix) && !slices.Contains(files, name):
			files = append(files, name)
		}
	}
	return files, machine
}

// Ends says why the tree ends at its root, for whoever looks for a part there in vain:
// "it lies in no repository". It is called before anything is read.
func (t *Tree) Ends(why string) { t.ends = why }

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
	return &Tree{fsys: t.fsys, base: base, instead: parts, unsaved: t.unsaved}
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
	ends     string // why nothing above the root is looked at; may be empty
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

// Forget has the scope of a folder, and of all below it, read anew when it is next
// wanted. Who holds a Folder or an Axis of before may go on using it. It is not to
// be called while others use the tree.
func (t *Tree) Forget(dir string) {
	dir = ScopeOf(dir)
	below := func(d string) bool { return dir == "." || d == dir || strings.HasPrefix(d, dir+"/") }
	maps.DeleteFunc(t.folders, func(d string, _ *folderOnce) bool { return below(d) })
	maps.DeleteFunc(t.digests, func(d string, _ scopeDigest) bool { return below(d) })
	maps.DeleteFunc(t.listings, func(d string, _ []listed) bool { return below(d) })
}

// LetGo drops what was read for the scope of a folder, which the tree keeps otherwise, and
// returns it, nil where nothing was. Who holds the Folder or an Axis of it may go on using it.
func (t *Tree) LetGo(dir string) *Folder {
	dir = ScopeOf(dir)
	t.mu.Lock()
	defer t.mu.Unlock()
	slot := t.folders[dir]
	delete(t.folders, dir)
	delete(t.digests, dir)
	t.dropListing(dir)
	if slot == nil {
		return nil
	}
	return slot.folder
}

func (t *Tree) readFolder(dir string) *Folder {
	f := &Folder{Path: dir, parts: map[string]*Part{}, ends: t.ends}
	var above Digest
	if dir != "." {
		f.Parent = t.Folder(path.Dir(dir))
		above = f.Parent.digest
	}
	files, problems := t.scopeFiles(dir)
	f.Problems = problems
	sum := newScopeSum(dir, above, problems)
	for _, name := range files {
		content, src, p := t.hashed(name)
		sum.add(name, content, p)
		d := &decoder{path: name, scope: f, lasting: true}
		switch {
		case strings.HasSuffix(name, PartsSuffix):
			d.scope = nil
			if t.unsaved != nil && p == nil && t.readPieces(f, d, src) {
				break
			}
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
		entries, err := t.list(d)
		if err != nil && (d != dir || !errors.Is(err, fs.ErrNotExist)) {
			problems = append(problems, fileProblem(d, err))
		}
		for _, e := range entries {
			name := e.name
			switch {
			case name == partsFolder && (e.mode.IsDir() || d == dir && t.linksToFolder(e, path.Join(d, name))):
				next = path.Join(d, name)
			case strings.HasSuffix(name, PartsSuffix), strings.HasSuffix(name, PolicySuffix):
				files = append(files, path.Join(d, name))
			case name == MachineFile && d == dir:
				hasMachine = true
			}
		}
		d = next
	}
	if files, hasMachine = t.unsavedIn(dir, files, hasMachine); hasMachine {
		files = append(files, path.Join(dir, MachineFile))
	}
	return files, problems
}

// A Digest names content: two that are equal are of equal content.
type Digest [sha256.Size]byte

// Digest names everything that was read for the folder, and for those above.
func (f *Folder) Digest() Digest { return f.digest }

// A scopeDigest names what was read for a folder, and its machine file alone, if it
// has one that could be read.
type scopeDigest struct {
	all, machine Digest
	hasMachine   bool
}

// FolderDigest is the Digest of the folder's scope as it is on disk; nothing
// is parsed for it.
func (t *Tree) FolderDigest(dir string) Digest { return t.digestOf(ScopeOf(dir)).all }

// MachineDigest is the SHA-256 of a folder's machine file as it was read for
// FolderDigest; false where there is none or it cannot be read.
func (t *Tree) MachineDigest(dir string) (Digest, bool) {
	if ScopeOf(dir) != dir {
		return Digest{}, false
	}
	d := t.digestOf(dir)
	return d.machine, d.hasMachine
}

func (t *Tree) digestOf(dir string) scopeDigest {
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
		content, _, p := t.Content(name)
		sum.add(name, content, p)
		if name == path.Join(dir, MachineFile) {
			got.machine, got.hasMachine = content, p == nil
		}
	}
	got.all = DigestOf(sum...)
	t.mu.Lock()
	t.digests[dir] = got
	t.mu.Unlock()
	return got
}

// DigestOf names a list of words.
func DigestOf(words ...string) Digest {
	all := make([]byte, 0, len(words)*sha256.Size)
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

func (s *scopeSum) add(name string, content Digest, p *Problem) {
	if p != nil {
		*s = append(*s, name, "cannot be read", p.Message)
		return
	}
	*s = append(*s, name, "read", string(content[:]))
}

// linksToFolder reports whether an entry is a link to a folder, or one that
// cannot be followed: reading it then says why.
func (t *Tree) linksToFolder(e listed, full string) bool {
	if e.mode&fs.ModeSymlink == 0 {
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
		p.Message = "there is no such file"
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

// open says what a file is and opens it if it is regular and not too large: a pipe or
// device must not even be opened, that alone could block.
func (t *Tree) open(name string) (fs.File, fs.FileInfo, error) {
	if quick, ok := t.fsys.(interface {
		OpenRegular(name string) (fs.File, fs.FileInfo, error)
	}); ok {
		return quick.OpenRegular(name)
	}
	info, err := fs.Stat(t.fsys, name)
	if err != nil || !info.Mode().IsRegular() || info.Size() > MaxFileSize {
		return nil, info, err
	}
	file, err := t.fsys.Open(name)
	return file, info, err
}

// Read reads the bytes of one file. It refuses what is no regular file or
// larger than MaxFileSize.
func (t *Tree) Read(name string) ([]byte, *Problem) {
	return t.readTelling(name, func(fs.File, fs.FileInfo) {})
}

// readTelling is Read; opened is told of the file before anything is read of it.
func (t *Tree) readTelling(name string, opened func(fs.File, fs.FileInfo)) ([]byte, *Problem) {
	refuse := func(format string, args ...any) ([]byte, *Problem) {
		return nil, &Problem{Rule: "file", Place: Place{File: name, Line: 1, Col: 1, EndLine: 1, EndCol: 1}, Message: fmt.Sprintf(format, args...)}
	}
	if src, ok := t.unsaved[name]; ok {
		return src, nil
	}
	file, info, err := t.open(name)
	if file != nil {
		defer file.Close()
	}
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
	// Something else may have taken its place since.
	now, err := file.Stat()
	if err != nil || !now.Mode().IsRegular() {
		return refuse("it became something else while it was read")
	}
	opened(file, now)
	src := make([]byte, 0, info.Size()+1)
	for idle := 0; ; idle++ {
		n, err := file.Read(src[len(src):cap(src)])
		src = src[:len(src)+n]
		if n > 0 && err == nil && int64(len(src)) == now.Size() {
			break // what it was when it was opened; asking for its end takes as long again
		}
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
	if d.memory == nil {
		d.memory = new(plain.Memory)
	}
	d.left = bytes.Count(src, []byte("="))
	body, broken, problems := parse(d.path, src, d.memory)
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
