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
	for line := range strings.Lines(strings.TrimPrefix(string(src), string(bom))) {
		if rule, ok := ignoreLine(strings.TrimSuffix(strings.TrimSuffix(line, "\n"), "\r")); ok {
			rule.base = dir
			out = append(out, rule)
		}
	}
	return out
}

// ignoreLine reads one line of a .gitignore; ok is false where it says nothing.
func ignoreLine(line string) (rule ignoreRule, ok bool) {
	if strings.HasPrefix(line, "#") {
		return rule, false
	}
	// Spaces at the end do not count unless a backslash stands before them.
	end := 0
	for i := 0; i < len(line); i++ {
		if line[i] == '\\' && i+1 < len(line) {
			i++
			end = i + 1
		} else if line[i] != ' ' {
			end = i + 1
		}
	}
	line = line[:end]
	line, rule.keep = strings.CutPrefix(line, "!")
	line, rule.folder = strings.CutSuffix(line, "/")
	anchored := strings.Contains(line, "/")
	line = strings.TrimPrefix(line, "/")
	if line == "" {
		return rule, false
	}
	if !anchored {
		line = "**/" + line
	} else if strings.HasSuffix(line, "/**") {
		line += "/*" // what is in the folder, not the folder
	}
	rule.pattern = asDoublestar(line)
	return rule, doublestar.ValidatePattern(rule.pattern)
}

// asDoublestar writes a pattern so that doublestar reads it as git does: braces
// mean themselves, ] may stand first in a class, three stars are two.
func asDoublestar(pattern string) string {
	for strings.Contains(pattern, "***") {
		pattern = strings.ReplaceAll(pattern, "***", "**")
	}
	if !strings.ContainsAny(pattern, "{}[") {
		return pattern
	}
	var b strings.Builder
	for i := 0; i < len(pattern); i++ {
		c := pattern[i]
		switch c {
		case '\\':
			if b.WriteByte(c); i+1 == len(pattern) {
				return b.String()
			}
			i++
			c = pattern[i]
		case '{', '}':
			b.WriteByte('\\')
		case '[':
			b.WriteByte(c)
			if i+1 < len(pattern) && (pattern[i+1] == '!' || pattern[i+1] == '^') {
				i++
				b.WriteByte(pattern[i])
			}
			if i+1 < len(pattern) && pattern[i+1] == ']' {
				i++
				b.WriteString("\\]")
			}
			continue
		}
		b.WriteByte(c)
	}
	return b.String()
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
