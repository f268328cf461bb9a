package run

import (
	"crypto/sha256"
	"maps"
	"path"
	"slices"
	"strconv"
	"time"

	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/unit"
)

// Cache remembers results from run to run, by digests of everything that they
// depend on in the tree. What else they depend on (the program, Options.Fixes,
// what Options.Note makes) must be the same in all runs that share one. Its
// methods are called by several goroutines at once. What it gives back is not
// changed.
type Cache interface {
	Empty() bool                      // nothing at all is cached, so that nothing need be looked up
	File(key spec.Digest) *CachedFile // nil where nothing is cached
	PutFile(key spec.Digest, k *CachedFile)
	Scope(key spec.Digest) *CachedScope
	PutScope(key spec.Digest, k *CachedScope)
	Contents(folder string) []FileContent // of files right in a folder
	PutContents(folder string, files []FileContent)
}

// CachedFile is what a run found of one axis file.
type CachedFile struct {
	Days
	Axes, Judged, Unjudged int
	Findings               []judge.Finding
	MissingInputs          []judge.MissingInput
	NextInputs             []judge.NextInputs
	Members                []Member
	Uses                   []spec.Place // of the parts its axes refer to, each once
	Models                 []ModelUse   // that its axes name, each once
	Lines                  []Line       // on which its findings are
	Notes                  []any        // as Options.Note made them
	Carries                bool         // an axis of it carries others, so that all the folder's axis files enter
	Beside                 spec.Digest  // where Carries: of those files
}

// A ModelUse is a model as it was when an axis was judged by it.
type ModelUse struct {
	Path   string
	Digest spec.Digest
}

// CachedScope is what a run found of the parts, policies and machine of one
// folder, those above left out.
type CachedScope struct {
	Days
	Findings []judge.Finding
	Parts    []judge.PartFacts
}

// A Member is an axis as others of its folder must know it.
type Member struct {
	Name  string
	Place spec.Place
	Mass  unit.Quantity // as others carry it
	Known bool          // whether Mass is
}

// Days are those for which a result holds, as waivers run out and days to come
// come near. They are written
// as 2027-06-30; "" is no bound.
type Days struct {
	After string // it holds from the day after this one
	Until string // to this one
}

func (d *Days) holds(today time.Time) bool {
	day := today.Format(time.DateOnly)
	return day > d.After && (d.Until == "" || day <= d.Until)
}

// note narrows the days to those on which a waiver with these last days holds as it does
// today.
func (d *Days) note(days []time.Time, today time.Time) {
	for _, day := range days {
		d.last(day, today)
	}
}

// last narrows the days to those on the same side of a day as today; the day
// itself belongs to those before.
func (d *Days) last(day, today time.Time) {
	text := day.Format(time.DateOnly)
	switch {
	case today.After(day):
		d.After = max(d.After, text)
	case d.Until == "" || text < d.Until:
		d.Until = text
	}
}

// cachedFile is a file of which something is cached.
type cachedFile struct {
	name string
	*CachedFile
}

// content is what an axis file held when it was read.
type content struct {
	digest spec.Digest
	listed bool
}

func (f *fileResult) use(at spec.Place) {
	if !slices.Contains(f.Uses, at) {
		f.Uses = append(f.Uses, at)
	}
}

func (f *fileResult) member(m *axisMass, a *spec.Axis) {
	f.Members = append(f.Members, Member{a.Name, a.Place, m.mass, m.known})
}

// readOrCached finds what is cached of a listed axis file; else it is nil and the file read,
// as it has to be judged.
func (r *runner) readOrCached(f *folderAxes, name string) (k *CachedFile, src []byte, p *spec.Problem) {
	if r.cache == nil {
		src, p = r.tree.Read(name)
		return nil, src, p
	}
	digest, src, p := r.tree.Content(name)
	if p == nil {
		k = r.keptOf(name, digest)
	}
	if k == nil && p == nil && src == nil { // it was recognised: what is judged is read
		src, p = r.tree.Read(name)
		digest = contentDigest(src, p)
	}
	if p != nil {
		digest = contentDigest(nil, p)
	}
	r.noteContent(f, name, digest, k == nil)
	return k, src, p
}

// cachedUnread is what is cached of a machine file, whose content was named already with the
// folder's scope: it is not read a second time.
func (r *runner) cachedUnread(f *folderAxes, name string) *CachedFile {
	if r.cache == nil || r.cache.Empty() || path.Base(name) != spec.MachineFile {
		return nil
	}
	digest, ok := r.tree.MachineDigest(path.Dir(name))
	if !ok {
		return nil
	}
	k := r.keptOf(name, digest)
	if k != nil {
		r.noteContent(f, name, digest, false)
	}
	return k
}

// keptOf is what the cache has of a file with this content, if it still holds.
func (r *runner) keptOf(name string, content spec.Digest) *CachedFile {
	if r.cache.Empty() {
		return nil
	}
	k := r.cache.File(fileKey(r.tree.FolderDigest(path.Dir(name)), name, content))
	if k != nil && (!k.holds(r.judge.Today) || !r.sameModels(k.Models)) {
		return nil
	}
	return k
}

func (r *runner) noteContent(f *folderAxes, name string, digest spec.Digest, fresh bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	f.content[name] = content{digest, true}
	f.fresh = f.fresh || fresh
}

// sameModels reports whether models are what they were.
func (r *runner) sameModels(list []ModelUse) bool {
	return !slices.ContainsFunc(list, func(m ModelUse) bool { return r.tree.ModelDigest(m.Path) != m.Digest })
}

// model notes the model of an axis that is judged.
func (f *fileResult) model(a *spec.Axis) {
	if m := a.Model(); m != nil {
		if use := (ModelUse{m.Path, m.Digest}); !slices.Contains(f.Models, use) {
			f.Models = append(f.Models, use)
		}
	}
}

// readAgain notes the content of a file that is read behind the listed ones.
func (r *runner) readAgain(f *folderAxes, name string, src []byte, p *spec.Problem) {
	if r.cache != nil {
		f.content[name] = content{contentDigest(src, p), f.content[name].listed}
	}
}

// takeOver takes what is cached of a file as if it were found now.
func (r *runner) takeOver(w *worker, f *folderAxes, name string, k *CachedFile) {
	r.mu.Lock()
	f.files[name] = true
	for _, m := range k.Members {
		f.enter(m.Name, &axisMass{place: m.Place, mass: m.Mass, known: m.Known, state: 2}, true)
	}
	r.mu.Unlock()
	r.tell(name, k.Lines)
	r.add(w, k)
}

// beside names the content of all axis files of a folder, on which the carriers
// among them depend.
func (r *runner) beside(dir string, f *folderAxes) spec.Digest {
	words := []string{"beside"}
	names, err := r.tree.AxisFiles(dir)
	if err != nil {
		words = append(words, err.Error())
	}
	for _, name := range names {
		if _, read := f.content[name]; !read {
			digest, _, p := r.tree.Content(name)
			if p != nil {
				digest = contentDigest(nil, p)
			}
			f.content[name] = content{digest: digest}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(f.content)) {
		c := f.content[name]
		words = append(words, name, string(c.digest[:]), strconv.FormatBool(c.listed))
	}
	return spec.DigestOf(words...)
}

func contentDigest(src []byte, p *spec.Problem) spec.Digest {
	if p != nil {
		return spec.DigestOf("cannot be read", p.Message)
	}
	return sha256.Sum256(src)
}

// fileKey names an axis file with its scope.
func fileKey(scope spec.Digest, name string, content spec.Digest) spec.Digest {
	return spec.DigestOf("file", string(scope[:]), name, string(content[:]))
}

// scopeKey names the scope of a folder, apart from a file of the same digest.
func scopeKey(scope spec.Digest) spec.Digest { return spec.DigestOf("scope", string(scope[:])) }
