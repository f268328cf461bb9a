package editor

import (
	"encoding/json"
	"maps"
	"net/url"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// A root is one tree with what is known of it.
type root struct {
	dir       string // absolute, links resolved
	named     string // the same as the client names it, who may have come by a link
	tree      *spec.Tree
	open      map[string]*doc // by name below the root
	texts     map[string]*text
	unsettled []*doc              // changed, and not yet taken in; see settle
	first     map[*doc]bool       // to be judged before others: what they use has changed
	names     map[string][]string // of the axes of a file
	scopes    map[*spec.Folder]*run.CachedScope
	index     *index // which parts axes use; nil until somebody needs to know
	state     int    // another one whenever something may have changed
}

// A doc is an open file.
type doc struct {
	uri     string
	name    string // below its root, with slashes
	root    *root
	version int
	text    *text
	good    *text // of a file that others are read with: the last text without errors of syntax, while there is none the text
	whole   bool  // good has no errors of syntax

	stale        bool                 // it is to be judged
	seen         map[string]*lastSeen // by axis: what was last found of it while it could be read
	found        []item               // what was found when it was judged last
	views        map[string]*viewed   // by axis: the calculation, for whoever asks about a value
	lines        *outline
	lined        *text          // of which lines is
	problems     []spec.Problem // of its syntax
	parsed       *text          // of which problems are
	shown        []diagnostic   // what the client was sent; nil: nothing
	shownVersion int
	took         time.Duration // to judge it last, where other files are read with it
}

// scopeFile reports whether other files are read with this one.
func scopeFile(name string) bool {
	return !strings.HasSuffix(name, spec.AxisSuffix) || path.Base(name) == spec.MachineFile
}

// effective is the text that others are read with.
func (d *doc) effective() *text {
	if d.good != nil {
		return d.good
	}
	return d.text
}

// pathOf is the path of a file URI; ok is false for any other.
func pathOf(uri string) (name string, ok bool) {
	u, err := url.Parse(uri)
	if err != nil || u.Scheme != "file" || u.Host != "" && u.Host != "localhost" || strings.ContainsRune(u.Path, 0) {
		return "", false
	}
	p := u.Path
	if len(p) > 2 && p[0] == '/' && p[2] == ':' {
		p = p[1:] // a drive
	}
	p = filepath.Clean(filepath.FromSlash(p))
	return p, filepath.IsAbs(p)
}

func uriOf(name string) string {
	p := filepath.ToSlash(name)
	if !strings.HasPrefix(p, "/") {
		p = "/" + p
	}
	return (&url.URL{Scheme: "file", Path: p}).String()
}

// real is a path with the links in its folder followed.
func real(name string) string {
	if dir, err := filepath.EvalSymlinks(filepath.Dir(name)); err == nil {
		return filepath.Join(dir, filepath.Base(name))
	}
	return name
}

func (s *server) addFolder(uri string) {
	name, ok := pathOf(uri)
	if !ok {
		s.log.Printf("folder %s is no folder of this computer", uri)
		return
	}
	if dir, err := filepath.EvalSymlinks(name); err == nil {
		name = dir
	}
	if !slices.Contains(s.folders, name) {
		s.folders = append(s.folders, name)
	}
}

func within(dir, name string) bool {
	rel, err := filepath.Rel(dir, name)
	return err == nil && filepath.IsLocal(rel)
}

// rootFor is the tree of a file, as the check would find it from a folder of the
// client; nil where the file lies in none.
func (s *server) rootFor(full string) *root {
	dir := filepath.Dir(full)
	at := s.Root(dir)
	inside := len(s.folders) == 0 // a client without folders opens single files
	for _, f := range s.folders {
		switch {
		case at != "" && (within(f, at) || within(at, f)), within(f, full):
			inside = true
		}
		if at == "" && within(f, full) {
			at = f
		}
	}
	if !inside {
		return nil
	}
	if at == "" {
		at = dir
	}
	if r := s.roots[at]; r != nil {
		return r
	}
	base, err := s.Open(at)
	if err != nil {
		s.log.Printf("%s: %v", at, err)
		return nil
	}
	r := &root{dir: at, named: at, tree: spec.NewTree(base), open: map[string]*doc{}, first: map[*doc]bool{}}
	s.Prepare(at, r.tree)
	r.forget(".")
	s.roots[at] = r
	return r
}

// forget has everything of a folder and below read anew.
func (r *root) forget(dir string) {
	r.tree.Forget(dir)
	r.state++
	r.texts, r.names = map[string]*text{}, map[string][]string{}
	r.scopes = map[*spec.Folder]*run.CachedScope{}
	for _, d := range r.open {
		if in := spec.ScopeOf(path.Dir(d.name)); dir == "." || in == dir || strings.HasPrefix(in, dir+"/") {
			d.stale = true
		}
	}
}

// textOf is the text of a file of the tree, open or not.
func (r *root) textOf(name string) *text {
	if d := r.open[name]; d != nil {
		return d.effective()
	}
	t := r.texts[name]
	if t == nil {
		src, _ := r.tree.Read(name) // what cannot be read is empty
		t = newText(src)
		r.texts[name] = t
	}
	return t
}

// uri is how the client names a file of the tree.
func (r *root) uri(name string) string {
	if d := r.open[name]; d != nil {
		return d.uri
	}
	return uriOf(filepath.Join(r.named, filepath.FromSlash(name)))
}

func (s *server) didOpen(p *struct {
	TextDocument struct {
		URI     string `json:"uri"`
		Version int    `json:"version"`
		Text    string `json:"text"`
	} `json:"textDocument"`
}) *wireError {
	uri := p.TextDocument.URI
	full, ok := pathOf(uri)
	if !ok || !spec.IsSpec(full) {
		return failed(invalidParams, "%s is not a spec file of this computer", uri)
	}
	named := full
	full = real(full)
	r := s.rootFor(full)
	if r == nil {
		return failed(invalidParams, "%s lies outside the folders of this client; nothing is read there", uri)
	}
	rel, err := filepath.Rel(r.dir, full)
	if err != nil || !filepath.IsLocal(rel) {
		return failed(invalidParams, "%s lies outside %s", uri, r.dir)
	}
	if base, same := strings.CutSuffix(named, string(filepath.Separator)+rel); same && len(r.open) == 0 {
		r.named = base
	}
	d := &doc{uri: uri, name: filepath.ToSlash(rel), root: r, version: p.TextDocument.Version, stale: true}
	if had := r.open[d.name]; had != nil && had.uri != uri {
		return failed(invalidParams, "%s is open already as %s", uri, had.uri)
	} else if had != nil {
		s.drop(had) // the client has read it anew
	}
	s.rescan(r)
	if scopeFile(d.name) {
		if src, no := r.tree.Read(d.name); no == nil && len(spec.Syntax(d.name, src)) == 0 {
			d.good, d.whole = newText(src), true
		}
	}
	r.open[d.name], s.docs[uri] = d, d
	s.put(d, newText([]byte(p.TextDocument.Text)))
	return nil
}

// put makes a text that of an open file.
func (s *server) put(d *doc, t *text) {
	d.text, d.stale = t, true
	d.root.state++
	s.fixes = map[fixKey][]judge.Finding{}
	delete(d.root.texts, d.name)
	if !scopeFile(d.name) {
		d.root.tree.Unsaved(d.name, t.src)
		d.root.beside(d)
		d.root.index.touch(d.root, d.name)
		return
	}
	d.root.unsettled = append(d.root.unsettled, d)
}

// settle takes in the changes of files that others are read with. It is called before
// anything is read, and not with each change, of which there can be many.
func (r *root) settle() {
	list := r.unsettled
	r.unsettled = nil
	for i, d := range list {
		if slices.Contains(list[:i], d) || r.open[d.name] != d {
			continue
		}
		if whole := len(d.syntax()) == 0; whole || !d.whole {
			dir := spec.ScopeOf(path.Dir(d.name))
			before := r.tree.Folder(dir)
			d.good, d.whole = d.text, whole
			r.tree.Unsaved(d.name, d.text.src)
			r.changed(d.name)
			r.usersFirst(changedParts(before, r.tree.Folder(dir)))
		}
	}
}

// syntax lists what keeps the file from being read.
func (d *doc) syntax() []spec.Problem {
	if d.parsed != d.text {
		d.problems, d.parsed = d.root.tree.Syntax(d.name, d.text.src), d.text
	}
	return d.problems
}

// beside has open files of an axis file's folder judged again to which it matters what
// stands in it: those with axes that carry others, and, where its axes have other names
// than before, all.
func (r *root) beside(d *doc) {
	before := r.names[d.name]
	delete(r.names, d.name)
	renamed := !slices.Equal(before, r.namesIn(d.name))
	for _, o := range r.open {
		if path.Dir(o.name) == path.Dir(d.name) && (renamed || slices.ContainsFunc(slices.Collect(maps.Values(o.views)), (*viewed).carries)) {
			o.stale = true
		}
	}
}

// namesIn lists the names of the axes of a file.
func (r *root) namesIn(name string) []string {
	list, known := r.names[name]
	if !known {
		for _, b := range r.outlineOf(name).file.blocks {
			if b.kind == "axis" {
				list = append(list, b.label())
			}
		}
		r.names[name] = list
	}
	return list
}

// changed takes in that a file others are read with has changed.
func (r *root) changed(name string) {
	dir := spec.ScopeOf(path.Dir(name))
	r.forget(dir)
	for _, d := range r.open {
		if !strings.HasSuffix(d.name, spec.AxisSuffix) {
			d.stale = true // parts are looked at all together
		}
	}
	r.index.touch(r, name)
}

// changedParts lists the parts of a folder that say something else than before.
func changedParts(before, after *spec.Folder) (out []use) {
	was := map[use]*spec.Part{}
	for _, p := range before.Parts() {
		was[use{p.Kind, p.Name}] = p
	}
	for _, p := range after.Parts() {
		if old := was[use{p.Kind, p.Name}]; old == nil || old != p && !sayTheSame(old, p) {
			out = append(out, use{p.Kind, p.Name})
		}
	}
	return out
}

func sayTheSame(a, b *spec.Part) bool {
	return slices.EqualFunc(a.Values(), b.Values(), func(v, w *spec.Value) bool { return v.Field == w.Field && v.Text == w.Text && v.Bad == w.Bad })
}

// usersFirst has the open files judged first whose axes used some parts when they were
// judged last.
func (r *root) usersFirst(parts []use) {
	for _, d := range r.open {
		for _, v := range d.views {
			for _, p := range v.rep.View.Axis.Parts() {
				if slices.Contains(parts, use{p.Kind, p.Name}) {
					r.first[d] = true
				}
			}
		}
	}
}

// most is how large an open file may become: what is larger than a spec file may be is
// not read anyway.
const most = 8 * spec.MaxFileSize

func (s *server) didChange(p *struct {
	TextDocument documentID `json:"textDocument"`
	Changes      []change   `json:"contentChanges"`
}) *wireError {
	d := s.docs[p.TextDocument.URI]
	if d == nil {
		return failed(invalidParams, "%s is not open", p.TextDocument.URI)
	}
	if p.TextDocument.Version != nil {
		d.version = *p.TextDocument.Version
	}
	t := d.text
	for _, c := range p.Changes {
		var from, to, size int
		t, from, to, size = t.apply(c, s.utf8)
		if len(t.src) > most {
			s.drop(d)
			return failed(invalidParams, "%s has become larger than %d MB and is looked at no more", d.uri, most>>20)
		}
		if c.Range != nil {
			d.move(from, to, size)
		}
	}
	s.put(d, t)
	return nil
}

// lose forgets a file of which a change could not be read: its text is not known any more.
func (s *server) lose(raw json.RawMessage) {
	var p struct {
		TextDocument struct {
			URI string `json:"uri"`
		} `json:"textDocument"`
	}
	_ = json.Unmarshal(raw, &p) // as far as it can be read
	if d := s.docs[p.TextDocument.URI]; d != nil {
		s.log.Printf("%s is looked at no more until it is opened again", d.uri)
		s.drop(d)
	}
}

func (s *server) didSave(p *inDocument) *wireError {
	if d := s.docs[p.TextDocument.URI]; d != nil {
		s.rescan(d.root)
		d.stale = true
	}
	return nil
}

// forgetModels has the axes judged again that name models, wherever those lie.
func (r *root) forgetModels() {
	r.tree.ForgetModels()
	r.state++
	for _, d := range r.open {
		d.stale = d.stale || strings.HasSuffix(d.name, spec.AxisSuffix)
	}
}

// rescan looks for changes on disk, where the client does not say that there are some.
func (s *server) rescan(r *root) {
	if !s.watched {
		r.forget(".")
		r.forgetModels()
		r.index.touch(r, "")
	}
}

func (s *server) didClose(p *inDocument) *wireError {
	d := s.docs[p.TextDocument.URI]
	if d == nil {
		return failed(invalidParams, "%s is not open", p.TextDocument.URI)
	}
	s.drop(d)
	return nil
}

// drop forgets an open file: what is on disk counts again.
func (s *server) drop(d *doc) {
	delete(s.docs, d.uri)
	delete(d.root.open, d.name)
	delete(d.root.first, d)
	d.root.tree.Unsaved(d.name, nil)
	s.fixes = map[fixKey][]judge.Finding{}
	if d.shown != nil {
		s.notify("textDocument/publishDiagnostics", publishParams{URI: d.uri, Diagnostics: []diagnostic{}})
	}
	d.root.changed(d.name)
	s.refresh(d.root)
}

func (s *server) didChangeFiles(p *struct {
	Changes []folder `json:"changes"`
}) *wireError {
	for _, c := range p.Changes {
		full, ok := pathOf(c.URI)
		if !ok {
			continue
		}
		full = real(full)
		for _, r := range s.roots {
			rel, err := filepath.Rel(r.dir, full)
			switch {
			case err != nil || !filepath.IsLocal(rel) || r.open[filepath.ToSlash(rel)] != nil:
			case spec.IsModel(rel):
				r.forgetModels()
			default:
				r.changed(filepath.ToSlash(rel))
			}
		}
	}
	s.fixes = map[fixKey][]judge.Finding{}
	return nil
}

func (s *server) didChangeFolders(p *struct {
	Event struct {
		Added   []folder `json:"added"`
		Removed []folder `json:"removed"`
	} `json:"event"`
}) *wireError {
	for _, f := range p.Event.Removed {
		if name, ok := pathOf(f.URI); ok {
			if dir, err := filepath.EvalSymlinks(name); err == nil {
				name = dir
			}
			s.folders = slices.DeleteFunc(s.folders, func(have string) bool { return have == name })
		}
	}
	for _, f := range p.Event.Added {
		s.addFolder(f.URI)
	}
	return nil
}

// inOrder lists the open files of a tree by name.
func (r *root) inOrder() []*doc {
	var out []*doc
	for _, name := range slices.Sorted(maps.Keys(r.open)) {
		out = append(out, r.open[name])
	}
	return out
}
