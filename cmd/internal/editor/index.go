package editor

import (
	"maps"
	"path"
	"slices"
	"strings"

	"trammel/spec"
)

// An index knows which parts the axes of a tree use. It is made, a little at a time when
// there is nothing else to do, for who has a parts file open: the rules that look at all
// parts together need it.
type index struct {
	uses  map[string][]use    // by axis file
	parts map[string]bool     // folders with parts files
	names map[string][]string // of the parts of those folders
	todo  []string            // axis files to be read
	ready bool                // all were read once
}

// A use is a part as an axis refers to it.
type use struct{ kind, name string }

func (r *root) wantIndex() {
	if r.index == nil {
		r.index = &index{}
		r.index.again(r)
	}
}

// again has all files of the tree read.
func (x *index) again(r *root) {
	x.uses, x.parts, x.names, x.todo = map[string][]use{}, map[string]bool{}, map[string][]string{}, nil
	r.tree.Walk(".", func(name string) {
		switch {
		case strings.HasSuffix(name, spec.AxisSuffix):
			x.todo = append(x.todo, name)
		case strings.HasSuffix(name, spec.PartsSuffix):
			x.parts[spec.ScopeOf(path.Dir(name))] = true
		}
	})
	for dir := range x.parts {
		x.names[dir] = partNames(r.tree.Folder(dir))
	}
	x.ready = false
}

func partNames(f *spec.Folder) (out []string) {
	for _, p := range f.Parts() {
		out = append(out, p.Kind+"."+p.Name)
	}
	return out
}

// touch takes in that a file has changed; "" stands for any file of the tree.
func (x *index) touch(r *root, name string) {
	switch {
	case x == nil:
	case name == "":
		x.parts = nil // begun again with the next step
	case x.parts == nil:
	case strings.HasSuffix(name, spec.PartsSuffix):
		dir := spec.ScopeOf(path.Dir(name))
		names := partNames(r.tree.Folder(dir))
		if x.parts[dir] = true; !slices.Equal(names, x.names[dir]) {
			x.names[dir] = names
			x.below(dir)
		}
	case path.Base(name) == spec.MachineFile:
		x.below(path.Dir(name))
		x.later(name)
	case strings.HasSuffix(name, spec.AxisSuffix):
		x.later(name)
	}
}

// below has the axis files of a folder and below read again.
func (x *index) below(dir string) {
	waits := map[string]bool{}
	for _, file := range x.todo {
		waits[file] = true
	}
	for _, file := range slices.Sorted(maps.Keys(x.uses)) {
		if (dir == "." || strings.HasPrefix(file, dir+"/")) && !waits[file] {
			x.todo = append(x.todo, file)
		}
	}
}

func (x *index) later(file string) {
	if !slices.Contains(x.todo, file) {
		x.todo = append(x.todo, file)
	}
}

// atOnce is how many files are read while nothing else can be done.
const atOnce = 20

// step reads some files; it is false where there is nothing to read.
func (x *index) step(r *root) bool {
	if x == nil {
		return false
	}
	if x.parts == nil {
		x.again(r)
	}
	if len(x.todo) == 0 && x.ready {
		return false
	}
	changed := false
	for range min(atOnce, len(x.todo)) {
		name := x.todo[0]
		x.todo = x.todo[1:]
		now := usesOf(r, name)
		changed = changed || !slices.Equal(now, x.uses[name])
		x.uses[name] = now
	}
	if done := len(x.todo) == 0; done && (changed || !x.ready) {
		x.ready = true
		changed = true
	}
	if changed && x.ready {
		for _, d := range r.open {
			d.stale = d.stale || strings.HasSuffix(d.name, spec.PartsSuffix)
		}
	}
	return true
}

func usesOf(r *root, name string) (out []use) {
	src, no := r.tree.Read(name)
	for _, a := range r.tree.AxesOf(name, src, no).Axes {
		for _, p := range a.Parts() {
			if u := (use{p.Kind, p.Name}); !slices.Contains(out, u) {
				out = append(out, u)
			}
		}
	}
	return out
}

func (x *index) folders() []string { return slices.Sorted(maps.Keys(x.parts)) }

// used are the places of the parts that axes use.
func (x *index) used(r *root) map[spec.Place]bool {
	byFolder := map[string]map[use]bool{}
	for file, list := range x.uses {
		dir := x.scopeOf(path.Dir(file))
		if byFolder[dir] == nil {
			byFolder[dir] = map[use]bool{}
		}
		for _, u := range list {
			byFolder[dir][u] = true
		}
	}
	out := map[spec.Place]bool{}
	for dir, list := range byFolder {
		f := r.tree.Folder(dir)
		for u := range list {
			if p := f.Part(u.kind, u.name); p != nil {
				out[p.Place] = true
			}
		}
	}
	return out
}

// scopeOf is the nearest folder from which the same parts are seen: no folder without
// parts need be read to know them.
func (x *index) scopeOf(dir string) string {
	for dir = spec.ScopeOf(dir); dir != "." && !x.parts[dir]; {
		dir = path.Dir(dir)
	}
	return dir
}

// usesPart reports whether an axis file uses a part.
func (x *index) usesPart(r *root, file string, p *spec.Part) bool {
	return slices.Contains(x.uses[file], use{p.Kind, p.Name}) && r.tree.Folder(x.scopeOf(path.Dir(file))).Part(p.Kind, p.Name) == p
}

// wholeIndex has the index finished now.
func (s *server) wholeIndex(r *root) {
	r.wantIndex()
	for r.index.step(r) {
	}
}
