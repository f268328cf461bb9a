package spec

import (
	"io/fs"
	"path"
)

// A listed is what is known of something in a folder without looking at it.
type listed struct {
	name string
	mode fs.FileMode // the kind alone
}

// list lists what is in a folder, in order of the names: of one that was listed before, if
// the tree is still, what concerns a scope.
func (t *Tree) list(dir string) ([]listed, error) {
	t.mu.Lock()
	known, ok := t.listings[dir]
	t.mu.Unlock()
	if ok {
		return known, nil
	}
	entries, err := fs.ReadDir(t.fsys, dir)
	all := make([]listed, len(entries))
	for i, e := range entries {
		all[i] = listed{e.Name(), e.Type()}
	}
	return all, err
}

// Still has the tree list each folder once: what a walk found in it is all that is in it
// for whoever asks for its scope or its axis files. Without it every listing is a new one.
func (t *Tree) Still() { t.listings = map[string][]listed{} }

// keep has the tree remember of a folder what concerns a scope.
func (t *Tree) keep(dir string, all []fs.DirEntry) {
	if t.listings == nil {
		return
	}
	var few []listed
	for _, e := range all {
		if IsSpec(e.Name()) || e.Name() == partsFolder {
			few = append(few, listed{e.Name(), e.Type()})
		}
	}
	t.mu.Lock()
	t.listings[dir] = few
	t.mu.Unlock()
}

// dropListing forgets the listings of a folder's scope. The caller holds mu, or is alone.
func (t *Tree) dropListing(dir string) {
	for _, ok := t.listings[dir]; ok; _, ok = t.listings[dir] {
		delete(t.listings, dir)
		dir = path.Join(dir, partsFolder)
	}
}
