package run

import (
	"cmp"
	"maps"
	"path"
	"slices"
	"sync"

	"trammel/spec"
)

// A FileContent is what a file held when it had an identity.
type FileContent struct {
	Name     string // below the root
	Identity spec.Identity
	Content  spec.Digest
}

// contents is what is known of what files held, by folder; those of a folder are let go
// with its last file. It is a spec.Contents.
type contents struct {
	cache Cache
	mu    sync.Mutex
	dirs  map[string]*dirContents
}

type dirContents struct {
	files   map[string]FileContent
	used    map[string]bool // files that were looked up
	changed bool
	done    bool // its files are let go: what is read behind them is read in the next run too
}

func newContents(cache Cache) *contents {
	return &contents{cache: cache, dirs: map[string]*dirContents{}}
}

// of gives the files of a folder. The caller holds mu.
func (c *contents) of(dir string) *dirContents {
	d := c.dirs[dir]
	if d == nil {
		d = &dirContents{files: map[string]FileContent{}, used: map[string]bool{}}
		if !c.cache.Empty() {
			for _, f := range c.cache.Contents(dir) {
				d.files[f.Name] = f
			}
		}
		c.dirs[dir] = d
	}
	return d
}

// Known is that of spec.Contents.
func (c *contents) Known(name string) (spec.Identity, spec.Digest, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	d := c.of(path.Dir(name))
	f, ok := d.files[name]
	if ok {
		d.used[name] = true
	}
	return f.Identity, f.Content, ok
}

// Note is that of spec.Contents.
func (c *contents) Note(name string, id spec.Identity, content spec.Digest) {
	c.mu.Lock()
	defer c.mu.Unlock()
	d := c.of(path.Dir(name))
	if d.done {
		return
	}
	f := FileContent{name, id, content}
	d.used[name] = true
	d.changed = d.changed || d.files[name] != f
	d.files[name] = f
}

// keep has what is new of a folder cached, and lets it go.
func (c *contents) keep(dir string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	d := c.dirs[dir]
	c.dirs[dir] = &dirContents{done: true}
	if d == nil || !d.changed {
		return
	}
	maps.DeleteFunc(d.files, func(name string, _ FileContent) bool { return !d.used[name] })
	all := slices.SortedFunc(maps.Values(d.files), func(a, b FileContent) int { return cmp.Compare(a.Name, b.Name) })
	c.cache.PutContents(dir, all)
}

// keepAll does so with all folders that are left.
func (c *contents) keepAll() {
	for _, dir := range slices.Sorted(maps.Keys(c.dirs)) {
		c.keep(dir)
	}
}
