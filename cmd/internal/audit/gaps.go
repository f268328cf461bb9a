package audit

import (
	"cmp"
	"fmt"
	"slices"
	"sort"
	"strings"

	"trammel/rules/judge"
	"trammel/spec"
)

// Gaps over the fleet are kept as patterns: the sets of lines that rules wait
// for, with how often each set occurs. There are few of them however many axes
// there are.
type gaps struct {
	lines    []*line
	index    map[string]int
	patterns map[string]*pattern
	waiting  int // rules over all axes that wait for lines
	other    int // rules not judged for another reason
	reasons  map[string]int
}

// A line is one kind of missing line.
type line struct {
	key      string
	words    string
	axes     int
	machines map[int32]bool
	inPart   bool
	inherit  bool
}

// count says how many lines have to be written to have it everywhere.
func (l *line) count() int {
	switch {
	case l.inPart:
		return 1
	case l.inherit:
		return len(l.machines)
	}
	return l.axes
}

type pattern struct {
	lines []int
	rules int
}

func (g *gaps) init() {
	g.index, g.patterns, g.reasons = map[string]int{}, map[string]*pattern{}, map[string]int{}
}

// A want is one line an axis lacks.
type want struct {
	key, words      string
	inPart, inherit bool
}

type waiting struct {
	rules [][]want
	other map[string]int // reasons
}

// waitingOf takes the waiting rules from a report.
func waitingOf(rep *judge.Report) waiting {
	w := waiting{other: map[string]int{}}
	for i := range rep.Results {
		r := &rep.Results[i]
		if r.State != judge.Unjudged {
			continue
		}
		if len(r.Missing) == 0 {
			w.other[r.Why]++
			continue
		}
		var list []want
		for _, m := range r.Missing {
			list = append(list, wantOf(m))
		}
		w.rules = append(w.rules, list)
	}
	return w
}

// wantOf names a missing line so that the same line of other axes has the same
// name.
func wantOf(m judge.MissingLine) want {
	if name, _, ok := strings.Cut(m.Words, " of move "); ok {
		path := "motion.move." + strings.ReplaceAll(name, " ", "_")
		return want{key: path, words: path}
	}
	if strings.Contains(m.Words, " of ") { // a field of a part, which stands once
		return want{key: fmt.Sprint(m.Words, "\x00", m.Place.File, ":", m.Place.Line), words: m.Words, inPart: true}
	}
	f := spec.Language().FieldAt(m.Words)
	return want{key: m.Words, words: m.Words, inherit: f != nil && f.Inherit}
}

func (g *gaps) add(w waiting, machine int32) {
	seen := map[int]bool{}
	for _, list := range w.rules {
		var ids []int
		for _, x := range list {
			id, ok := g.index[x.key]
			if !ok {
				id = len(g.lines)
				g.lines = append(g.lines, &line{key: x.key, words: x.words, inPart: x.inPart, inherit: x.inherit, machines: map[int32]bool{}})
				g.index[x.key] = id
			}
			if !seen[id] {
				seen[id] = true
				g.lines[id].axes++
				g.lines[id].machines[machine] = true
			}
			if !slices.Contains(ids, id) {
				ids = append(ids, id)
			}
		}
		sort.Ints(ids)
		key := fmt.Sprint(ids)
		p := g.patterns[key]
		if p == nil {
			p = &pattern{lines: ids}
			g.patterns[key] = p
		}
		p.rules++
		g.waiting++
	}
	for why, n := range w.other {
		g.other += n
		g.reasons[why] += n
	}
}

// A Step is some kinds of lines to write together, and what that lets be judged.
type Step struct {
	Lines   []string
	Written int    // lines to write, over the fleet
	Where   string // one line in a part, in each of n machines, in each of n axes
	Judged  int    // rules this step lets be judged, besides those of the steps before
	Sum     int    // with all steps so far
}

// shown names the lines of a step, each with the one that may stand in its place.
func (s *Step) shown() string {
	var out []string
	for _, l := range s.Lines {
		if f := spec.Language().FieldAt(l); f != nil && f.Other() != nil {
			l += " or " + f.Instead
		}
		out = append(out, l)
	}
	return strings.Join(out, " + ")
}

// Steps chooses kinds of missing lines: again and again those of one waiting
// rule that let the most rules of the fleet be judged for each kind, until all
// are or there are most steps.
func (g *gaps) steps(most int) []Step {
	var list []*pattern
	for _, p := range g.patterns {
		list = append(list, p)
	}
	name := func(ids []int) string {
		var n []string
		for _, id := range ids {
			n = append(n, g.lines[id].key)
		}
		slices.Sort(n)
		return strings.Join(n, ", ")
	}
	names := map[*pattern]string{}
	for _, p := range list {
		names[p] = name(p.lines)
	}
	slices.SortFunc(list, func(a, b *pattern) int {
		return cmp.Or(cmp.Compare(b.rules, a.rules), cmp.Compare(names[a], names[b]))
	})
	// Where every part lacks lines of its own there are very many patterns; the
	// frequent ones decide.
	frequent := list[:min(len(list), 2000)]
	have := map[int]bool{}
	lacks := func(p *pattern) (n []int) {
		for _, id := range p.lines {
			if !have[id] {
				n = append(n, id)
			}
		}
		return n
	}
	var out []Step
	sum := 0
	for len(out) < most {
		var best []int
		gain, written := 0.0, 0
		tried := map[string]bool{}
		for _, p := range frequent {
			add := lacks(p)
			if len(add) == 0 || tried[fmt.Sprint(add)] {
				continue
			}
			if len(tried) == 200 {
				break
			}
			tried[fmt.Sprint(add)] = true
			opens, lines := 0, 0
			for _, o := range frequent {
				left := 0
				for _, id := range o.lines {
					if !have[id] {
						left++
						if !slices.Contains(add, id) {
							left = -1
							break
						}
					}
				}
				if left > 0 {
					opens += o.rules
				}
			}
			for _, id := range add {
				lines += g.lines[id].count()
			}
			if x := float64(opens) / float64(len(add)); x > gain || x == gain && lines < written {
				best, gain, written = add, x, lines
			}
		}
		if best == nil {
			break
		}
		s := Step{Written: written}
		slices.SortFunc(best, func(a, b int) int { return cmp.Compare(g.lines[a].words, g.lines[b].words) })
		var where []string
		for _, id := range best {
			l := g.lines[id]
			s.Lines = append(s.Lines, l.words)
			where = append(where, l.place())
			have[id] = true
		}
		s.Where = strings.Join(slices.Compact(where), "; ")
		for _, p := range list {
			if p.rules > 0 && len(lacks(p)) == 0 {
				s.Judged += p.rules
			}
		}
		s.Judged, sum = s.Judged-sum, s.Judged
		s.Sum = sum
		out = append(out, s)
	}
	return out
}

// place says where the line has to be written.
func (l *line) place() string {
	switch {
	case l.inPart:
		return fmt.Sprintf("once, in the part %s use", plural(l.axes, "axis", "axes"))
	case l.inherit:
		return fmt.Sprintf("in %s, for %s", plural(len(l.machines), "machine", "machines"), plural(l.axes, "axis", "axes"))
	}
	return fmt.Sprintf("in %s", plural(l.axes, "axis", "axes"))
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return thousands(n) + " " + many
}

// thousands sets off the thousands of a number.
func thousands(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0 && n >= 10000; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
