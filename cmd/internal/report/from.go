package report

import (
	"path"
	"path/filepath"
	"strings"

	"trammel/spec"
)

// From says from where a reader sees a tree.
type From struct {
	Prefix string `json:"prefix"` // leads from the current folder to the root; "" where they are the same
	Inside string `json:"inside"` // the current folder below the root; "" where it lies elsewhere
}

// Show gives a place as seen from the current folder.
func (f From) Show(p spec.Place) spec.Place {
	if p.File == "" || f.Prefix == "" {
		return p
	}
	// Where the current folder lies inside the tree the way up to the root and
	// down again is cut short.
	if rest, ok := strings.CutPrefix(p.File, f.Inside+"/"); ok && f.Inside != "" {
		p.File = rest
		return p
	}
	p.File = path.Join(f.Prefix, p.File)
	return p
}

// InTree turns a shown path back into one below the root.
func (f From) InTree(shown string) (string, bool) {
	name, ok := shown, true
	switch {
	case f.Prefix == "":
	case f.Inside != "":
		name = path.Join(f.Inside, shown)
	default:
		if name, ok = strings.CutPrefix(shown, f.Prefix+"/"); !ok {
			ok = shown == f.Prefix
			name = "."
		}
	}
	return name, ok && filepath.IsLocal(filepath.FromSlash(name))
}

// Name is InTree, or the path as shown where it is none below the root.
func (f From) Name(shown string) string {
	if name, ok := f.InTree(shown); ok {
		return name
	}
	return shown
}
