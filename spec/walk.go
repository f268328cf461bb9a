package spec

import (
	"io/fs"
	"path"
	"strings"

	"github.com/bmatcuk/doublestar/v4"
)

// Walk finds the spec files in a folder of the tree and below and calls found
// for each, a folder's files in order of their names before its sub-folders.
// Hidden folders and what a .gitignore names are passed over; links to folders
// are not followed. Folders that cannot be read are reported and passed over.
func (t *Tree) Walk(dir string, found func(name string)) []Problem {
	w := &walker{tree: t, found: found}
	w.walk(path.Clean(dir), t.ignoreAbove(path.Clean(dir)))
	return w.problems
}

// Ignored reports whether a .gitignore of the tree names a file.
func (t *Tree) Ignored(name string) bool {
	rules := t.ignoreAbove(name)
	parts := strings.Split(name, "/")
	for i := range parts {
		if rules.match(strings.Join(parts[:i+1], "/"), i < len(parts)-1) {
			return true
		}
	}
	return false
}

// AxisFiles lists the axis files of a folder, in order of their names.
func (t *Tree) AxisFiles(dir string) ([]string, error) {
	entries, err := fs.ReadDir(t.fsys, dir)
	var names []string
	for _, e := range entries {
		if strings.HasSuffix(e.Name(), AxisSuffix) && !e.IsDir() && !strings.HasPrefix(e.Name(), ".") {
			names = append(names, path.Join(dir, e.Name()))
		}
	}
	return names, err
}

type walker struct {
	tree     *Tree
	found    func(string)
	problems []Problem
}

func (w *walker) walk(dir string, rules ignoreRules) {
	entries, err := fs.ReadDir(w.tree.fsys, dir)
	if err != nil {
		w.problems = append(w.problems, fileProblem(dir, err))
		return
	}
	for _, e := range entries {
		if e.Name() == ".gitignore" {
			rules = rules.with(w.tree, dir)
		}
	}
	var folders []string
	for _, e := range entries {
		name := e.Name()
		full := path.Join(dir, name)
		switch {
		case e.IsDir():
			if strings.HasPrefix(name, ".") || rules.match(full, true) {
				continue
			}
			folders = append(folders, full)
		case IsSpec(name) && !strings.HasPrefix(name, "."):
			if rules.match(full, false) {
				continue
			}
			if e.Type()&fs.ModeSymlink != 0 {
				if info, err := fs.Stat(w.tree.fsys, full); err == nil && info.IsDir() {
					continue
				}
			}
			w.found(full)
		}
	}
	for _, f := range folders {
		w.walk(f, rules)
	}
}

// An ignoreRule is one line of a .gitignore.
type ignoreRule struct {
	base    string // folder of the file
	pattern string // doublestar pattern below base
	keep    bool   // the line began with !
	folder  bool   // it ended with /
}

type ignoreRules []ignoreRule

// ignoreAbove collects the rules of a path's folder chain, its own folder
// left out: walking it reads that one.
func (t *Tree) ignoreAbove(dir string) ignoreRules {
	var rules ignoreRules
	if dir == "." {
		return nil
	}
	rules = rules.with(t, ".")
	parts := strings.Split(path.Dir(dir), "/")
	for i := range parts {
		if parts[0] != "." {
			rules = rules.with(t, strings.Join(parts[:i+1], "/"))
		}
	}
	return rules
}

func (r ignoreRules) with(t *Tree, dir string) ignoreRules {
	src, p := t.Read(path.Join(dir, ".gitignore"))
	if p != nil {
		return r
	}
	out := append(ignoreRules(nil), r...)
	for line := range strings.Lines(string(src)) {
		line = strings.TrimRight(line, "\r\n")
		if trimmed := strings.TrimRight(line, " "); !strings.HasSuffix(trimmed, `\`) {
			line = trimmed
		}
		if line == "" || line[0] == '#' {
			continue
		}
		rule := ignoreRule{base: dir}
		if line[0] == '!' {
			rule.keep, line = true, line[1:]
		}
		rule.folder = strings.HasSuffix(line, "/")
		line = strings.TrimSuffix(line, "/")
		switch {
		case strings.HasPrefix(line, "/"):
			rule.pattern = line[1:]
		case strings.Contains(line, "/"):
			rule.pattern = line
		default:
			rule.pattern = "**/" + line
		}
		if rule.pattern == "" || !doublestar.ValidatePattern(rule.pattern) {
			continue
		}
		out = append(out, rule)
	}
	return out
}

// match reports whether a path is ignored: the last rule that fits decides.
func (r ignoreRules) match(name string, isFolder bool) bool {
	for i := len(r) - 1; i >= 0; i-- {
		rule := r[i]
		if rule.folder && !isFolder {
			continue
		}
		below := name
		if rule.base != "." {
			var ok bool
			if below, ok = strings.CutPrefix(name, rule.base+"/"); !ok {
				continue
			}
		}
		if doublestar.MatchUnvalidated(rule.pattern, below) {
			return !rule.keep
		}
	}
	return false
}
