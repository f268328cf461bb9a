package spec

import (
	"io/fs"
	"path"
	"strings"

	"github.com/bmatcuk/doublestar/v4"
)

// Walk finds the spec files in a folder of the tree and below and calls found
// for each, a folder's files in order of their names before its sub-folders.
// Hidden folders and what a .gitignore names are passed over, unless it is
// tracked; links to folders are not followed. What has the name of a spec file
// and is a folder counts as found, so that reading it says so. Folders that
// cannot be read are reported and passed over; after a thousand of them the walk
// ends.
func (t *Tree) Walk(dir string, found func(name string)) []Problem {
	w := &walker{tree: t, found: found}
	rules := t.ignoreAbove(path.Clean(dir))
	w.walk(path.Clean(dir), rules, false)
	return append(w.problems, rules.work.problems()...)
}

// AxisFiles lists the axis files of a folder, in order of their names.
func (t *Tree) AxisFiles(dir string) ([]string, error) {
	entries, err := t.list(dir)
	var names []string
	for _, e := range entries {
		if strings.HasSuffix(e.name, AxisSuffix) && !e.mode.IsDir() && !strings.HasPrefix(e.name, ".") {
			names = append(names, path.Join(dir, e.name))
		}
	}
	return names, err
}

type walker struct {
	tree     *Tree
	found    func(string)
	count    int // of found
	problems []Problem
}

// most is how many folders that cannot be read are reported.
const most = 1000

// walk goes through a folder; ignored is true where an ignore file names it, and
// only what is tracked counts.
func (w *walker) walk(dir string, rules ignoreRules, ignored bool) {
	if len(w.problems) >= most {
		return
	}
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
	untracked := func(full string) bool { return w.tree.tracked == nil || !w.tree.tracked(full) }
	type below struct {
		name    string
		ignored bool
	}
	var folders []below
	before := w.count
	for _, e := range entries {
		name := e.Name()
		full := path.Join(dir, name)
		switch {
		case strings.HasPrefix(name, "."):
		case e.IsDir():
			hidden := ignored || rules.match(full, true)
			if hidden && untracked(full) {
				continue
			}
			folders = append(folders, below{full, hidden})
			if IsSpec(name) {
				w.take(full)
			}
		case IsSpec(name):
			if hidden := ignored || rules.match(full, false); !hidden || !untracked(full) {
				w.take(full)
			}
		}
	}
	for _, f := range folders {
		w.walk(f.name, rules, f.ignored)
	}
	if w.count > before { // else nobody asks for its scope
		w.tree.keep(dir, entries)
	}
}

func (w *walker) take(name string) {
	w.count++
	w.found(name)
}

// ignoreRules are the .gitignore files in force in a folder, the nearest last.
type ignoreRules struct {
	files []*ignoreFile
	work  *ignoreWork
}

// ignoreWork bounds the work of a walk with the patterns of .gitignore files:
// where who wrote them made them take long, the rest is not ignored.
type ignoreWork struct {
	left int
	file string // whose patterns were the last that could be looked at
}

// maxIgnoreWork is in comparisons of a byte, about; honest files take a hundredth
// of it for a large fleet.
const maxIgnoreWork = 1 << 30

func (w *ignoreWork) problems() []Problem {
	if w.left >= 0 {
		return nil
	}
	return []Problem{{
		Rule: "file", Place: Place{File: w.file, Line: 1, Col: 1, EndLine: 1, EndCol: 1},
		Message: "its patterns take too much work; from here on nothing is passed over. Shorten it, or write names without * and ?",
	}}
}

// An ignoreFile is one .gitignore. Names and paths without wildcards, which long
// lists are made of, are looked up; only patterns are tried one by one.
type ignoreFile struct {
	name  string               // of the file
	base  string               // its folder
	names map[string]lastLines // by the last part of a path
	paths map[string]lastLines // by the path below base
	wild  []ignorePattern
	keep  []bool // of each line that says something: it began with !
}

// lastLines are the last lines with a name, counted from 1: one that holds for
// files too, and one for folders only.
type lastLines struct{ any, folder int }

type ignorePattern struct {
	line           int
	folder, whole  bool // for folders only; for the path below base, not its last part
	pattern        string
	prefix, suffix string // what a path must begin and end with
}

// ignoreAbove collects the rules of a path's folder chain, its own folder
// left out: walking it reads that one.
func (t *Tree) ignoreAbove(dir string) ignoreRules {
	rules := ignoreRules{work: &ignoreWork{left: maxIgnoreWork}}
	if dir == "." {
		return rules
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
	name := path.Join(dir, ".gitignore")
	src, p := t.Read(name)
	if p != nil {
		return r
	}
	f := readIgnore(string(src))
	f.name, f.base = name, dir
	return ignoreRules{append(r.files[:len(r.files):len(r.files)], f), r.work}
}

func readIgnore(src string) *ignoreFile {
	f := &ignoreFile{names: map[string]lastLines{}, paths: map[string]lastLines{}}
	for line := range strings.Lines(strings.TrimPrefix(src, string(bom))) {
		rule, ok := ignoreLine(strings.TrimSuffix(strings.TrimSuffix(line, "\n"), "\r"))
		if !ok {
			continue
		}
		f.keep = append(f.keep, rule.keep)
		n := len(f.keep)
		name, free := strings.CutPrefix(rule.pattern, "**/")
		if free = free && !strings.Contains(name, "/"); !free {
			name = rule.pattern
		}
		switch {
		case strings.ContainsAny(name, "*?[\\"):
			p := ignorePattern{line: n, folder: rule.folder, whole: !free, pattern: name}
			p.prefix = p.pattern[:strings.IndexAny(p.pattern, "*?[\\")]
			p.suffix = p.pattern[strings.LastIndexAny(p.pattern, "*?[]\\/")+1:]
			f.wild = append(f.wild, p)
		case free:
			f.names[name] = f.names[name].with(n, rule.folder)
		default:
			f.paths[name] = f.paths[name].with(n, rule.folder)
		}
	}
	return f
}

func (l lastLines) with(line int, folder bool) lastLines {
	if folder {
		l.folder = line
	} else {
		l.any = line
	}
	return l
}

func (l lastLines) of(isFolder bool) int {
	if isFolder {
		return max(l.any, l.folder)
	}
	return l.any
}

// An ignoreRule is one line of a .gitignore.
type ignoreRule struct {
	pattern string // doublestar pattern below the folder of the file
	keep    bool   // the line began with !
	folder  bool   // it ended with /
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
	for i := len(r.files) - 1; i >= 0; i-- {
		f, below := r.files[i], name
		if f.base != "." {
			var ok bool
			if below, ok = strings.CutPrefix(name, f.base+"/"); !ok {
				continue
			}
		}
		line := f.last(below, isFolder, r.work)
		if r.work.left < 0 {
			return false
		}
		if line > 0 {
			return !f.keep[line-1]
		}
	}
	return false
}

// last is the last line that fits a path below the file's folder; 0 where none
// does.
func (f *ignoreFile) last(below string, isFolder bool, work *ignoreWork) int {
	base := path.Base(below)
	found := max(f.names[base].of(isFolder), f.paths[below].of(isFolder))
	for i := len(f.wild) - 1; i >= 0 && f.wild[i].line > found; i-- {
		p := &f.wild[i]
		if work.left < 0 {
			return 0
		}
		work.file = f.name
		work.left -= 8
		on := base
		if p.whole {
			on = below
		}
		if p.folder && !isFolder || !strings.HasPrefix(on, p.prefix) || !strings.HasSuffix(on, p.suffix) {
			continue
		}
		work.left -= len(p.pattern) * len(on)
		if doublestar.MatchUnvalidated(p.pattern, on) {
			return p.line
		}
	}
	return found
}
