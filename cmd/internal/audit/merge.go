package audit

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// Limits of the search for screws that could be one. Each try judges axes anew.
const (
	mostTargets = 4      // screws tried in place of the others of their size
	mostTried   = 60_000 // axes judged anew, over all tries
)

// A Merge says whether one screw could take the place of others of the same
// nominal diameter and lead. It is found by judging every axis that uses one
// of the others with the values of the one; nut, supports and all else stay.
type Merge struct {
	Size    string // 20 mm × 10 mm
	Into    string
	Parts   []Replaced
	Axes    int  // that use any of the others
	Keep    int  // of those, where no rule comes out worse
	Tried   int  // screws tried as the one
	OutOf   int  // screws of this size in use
	Skipped bool // not tried: the limit of axes judged anew was reached
}

// A Replaced is one screw that might be replaced.
type Replaced struct {
	Part  string
	Near  bool // the same process, and a dynamic rating within 15 %
	Axes  int
	Worse []Worse // axes where some rule comes out worse
	Moved bool    // an axis that uses it does not see the other: that must stand in a folder above both
}

// A Worse is an axis where a rule comes out worse with the other screw.
type Worse struct {
	Machine, Axis string
	Rules         []string
	row           *Row
}

type sized struct {
	index          int
	d, lead, ca    float64
	process, shown string
	axes           int
}

// FindMerges looks for screws that could be one. It judges axes anew, on the
// given number of workers (0: one for each processor), until the context ends.
func (f *Fleet) FindMerges(ctx context.Context, workers int) {
	groups, without := f.sameSize()
	f.mergesNote = ""
	if without > 0 {
		f.mergesNote = plural(without, "screw", "screws") + " without nominal diameter or lead could not be compared."
	}
	tried := 0
	for _, g := range groups {
		m := f.merge(ctx, g, workers, &tried)
		if ctx.Err() != nil {
			return
		}
		f.merges = append(f.merges, m)
	}
	// What saves most parts comes first.
	slices.SortStableFunc(f.merges, func(a, b Merge) int {
		return cmp.Or(cmp.Compare(b.free(), a.free()), cmp.Compare(b.Keep, a.Keep), cmp.Compare(a.Size, b.Size))
	})
}

// free counts the screws that could go.
func (m *Merge) free() (n int) {
	for i := range m.Parts {
		if len(m.Parts[i].Worse) == 0 && !m.Skipped {
			n++
		}
	}
	return n
}

// sameSize groups the screws in use by nominal diameter and lead, where there
// is more than one; the group with most axes comes first. It counts the screws
// of which the one or the other is not known.
func (f *Fleet) sameSize() (out [][]sized, without int) {
	by := map[[2]int64][]sized{}
	for i := range f.parts[screws] {
		p := &f.parts[screws][i]
		s := sized{index: i, ca: math.NaN(), shown: p.shown, axes: p.axes}
		d, lead := p.part.Get("nominal_diameter"), p.part.Get("lead")
		if d == nil || lead == nil || d.Bad || lead.Bad {
			without++
			continue
		}
		s.d, s.lead = d.Num.Nominal, lead.Num.Nominal
		if x := p.part.Get("dynamic_rating"); x != nil && !x.Bad {
			s.ca = x.Num.Nominal
		}
		if x := p.part.Get("process"); x != nil && !x.Bad {
			s.process = x.Text
		}
		// To the micrometre: an inch lead is never a metric one.
		key := [2]int64{int64(math.Round(s.d * 1e6)), int64(math.Round(s.lead * 1e6))}
		by[key] = append(by[key], s)
	}
	for _, g := range by {
		if len(g) < 2 {
			continue
		}
		// The strongest is the likeliest to serve for all.
		slices.SortFunc(g, func(a, b sized) int {
			ca := func(s sized) float64 {
				if s.ca != s.ca {
					return 0
				}
				return s.ca
			}
			return cmp.Or(cmp.Compare(ca(b), ca(a)), cmp.Compare(b.axes, a.axes), f.comparePart(a.index, b.index))
		})
		out = append(out, g)
	}
	axes := func(g []sized) (n int) {
		for _, s := range g {
			n += s.axes
		}
		return n
	}
	slices.SortFunc(out, func(a, b []sized) int {
		return cmp.Or(cmp.Compare(axes(b), axes(a)), cmp.Compare(a[0].d, b[0].d), cmp.Compare(a[0].lead, b[0].lead))
	})
	return out, without
}

func (f *Fleet) comparePart(i, k int) int {
	a, b := &f.parts[screws][i], &f.parts[screws][k]
	return cmp.Or(cmp.Compare(a.tree, b.tree), spec.ComparePlaces(a.part.Place, b.part.Place))
}

// merge tries the screws of one size in each other's place and keeps the best.
func (f *Fleet) merge(ctx context.Context, g []sized, workers int, tried *int) Merge {
	size := fmt.Sprintf("%s × %s", f.parts[screws][g[0].index].part.Get("nominal_diameter").Text, f.parts[screws][g[0].index].part.Get("lead").Text)
	best := Merge{Size: size, OutOf: len(g), Skipped: true, Into: g[0].shown}
	rows := map[int][]*Row{}
	for _, s := range g {
		rows[s.index] = nil
	}
	total := 0
	for _, r := range f.rows {
		if _, ok := rows[int(r.parts[screws])]; ok {
			rows[int(r.parts[screws])] = append(rows[int(r.parts[screws])], r)
			total++
		}
	}
	for k, into := range g[:min(mostTargets, len(g))] {
		n := total - len(rows[into.index])
		if *tried+n > mostTried {
			break
		}
		*tried += n
		m := f.try(ctx, g, into, rows, workers)
		m.Size, m.OutOf = size, len(g)
		if ctx.Err() != nil {
			return m
		}
		if best.Skipped || m.free() > best.free() || m.free() == best.free() && m.Keep > best.Keep {
			m.Tried = best.Tried
			best = m
		}
		best.Tried = k + 1
		if m.free() == len(m.Parts) {
			break
		}
	}
	return best
}

// try judges the axes of the other screws of the group with into.
func (f *Fleet) try(ctx context.Context, g []sized, into sized, rows map[int][]*Row, workers int) Merge {
	m := Merge{Into: into.shown}
	instead := map[*spec.Part]*spec.Part{}
	target := f.parts[screws][into.index].part
	at := map[int]int{} // index in m.Parts by index of the part
	affected := map[fileKey]map[string]bool{}
	byPlace := map[fileKey]map[spec.Place]*Row{}
	for _, s := range g {
		if s.index == into.index {
			continue
		}
		at[s.index] = len(m.Parts)
		near := s.process != "" && s.process == into.process && math.Abs(s.ca-into.ca) <= 0.15*math.Max(s.ca, into.ca)
		m.Parts = append(m.Parts, Replaced{Part: s.shown, Near: near, Axes: s.axes})
		instead[f.parts[screws][s.index].part] = target
		for _, r := range rows[s.index] {
			key := fileKey{r.tree, r.Place.File}
			if affected[key] == nil {
				affected[key], byPlace[key] = map[string]bool{}, map[spec.Place]*Row{}
			}
			affected[key][r.Axis] = true
			byPlace[key][r.Place] = r
			m.Axes++
		}
	}
	var mu sync.Mutex
	for t := range f.trees {
		var files []string
		for key := range affected {
			if int(key.tree) == t {
				files = append(files, key.file)
			}
		}
		if len(files) == 0 {
			continue
		}
		slices.Sort(files)
		run.Files(rules.Book(), f.trees[t].Tree.WithSubstitutes(instead), files, run.Options{
			Today: f.today, Workers: workers, As: run.Look{Lean: true, Only: func(file, axis string) bool { return ctx.Err() == nil && affected[fileKey{int32(t), file}][axis] }, Each: func(rep *judge.Report) {
				a := rep.View.Axis
				r := byPlace[fileKey{int32(t), a.Place.File}][a.Place]
				if r == nil {
					return // another axis of the same name
				}
				worse := r.worseIn(rep)
				unseen := a.Folder.Part(target.Kind, target.Name) != target
				mu.Lock()
				defer mu.Unlock()
				p := &m.Parts[at[int(r.parts[screws])]]
				p.Moved = p.Moved || unseen
				if len(worse) > 0 {
					p.Worse = append(p.Worse, Worse{Machine: f.machineName(r), Axis: r.Axis, Rules: worse, row: r})
				} else {
					m.Keep++
				}
			}},
		})
	}
	for i := range m.Parts {
		slices.SortFunc(m.Parts[i].Worse, func(a, b Worse) int {
			return cmp.Or(cmp.Compare(a.row.tree, b.row.tree), spec.ComparePlaces(a.row.Place, b.row.Place))
		})
	}
	slices.SortStableFunc(m.Parts, func(a, b Replaced) int {
		return cmp.Or(cmp.Compare(min(1, len(a.Worse)), min(1, len(b.Worse))), cmp.Compare(b.Axes, a.Axes), cmp.Compare(a.Part, b.Part))
	})
	return m
}

// worseIn lists the rules that come out worse in the report than they did: broken
// now, broken further, or not judged any more.
func (r *Row) worseIn(rep *judge.Report) []string {
	var out []string
	house := len(r.states)
	for i := range rep.Results {
		now := &rep.Results[i]
		var was judge.State
		var use float64
		if i < house {
			was, use = r.states[i], float64(r.uses[i])
		} else {
			was, use = r.house[i-house].state, float64(r.house[i-house].use)
		}
		switch {
		case now.State == judge.Failed && was != judge.Failed,
			now.State == judge.Failed && now.Utilisation > use*(1+1e-5), // uses are kept to seven digits
			now.State == judge.Unjudged && was != judge.Unjudged:
			out = append(out, now.Rule)
		}
	}
	return out
}

// A PartUse is a part with the number of axes that use it.
type PartUse struct {
	Part  string
	Place spec.Place
	Axes  int
}

// Variety lists the parts of a kind in use, the most used first, and counts the
// axes that name none.
func (f *Fleet) Variety(kind int) (list []PartUse, without int) {
	for _, p := range f.parts[kind] {
		list = append(list, PartUse{p.shown, f.trees[p.tree].Show(p.part.Place), p.axes})
	}
	slices.SortFunc(list, func(a, b PartUse) int {
		return cmp.Or(cmp.Compare(b.Axes, a.Axes), cmp.Compare(a.Part, b.Part), spec.ComparePlaces(a.Place, b.Place))
	})
	for _, r := range f.rows {
		if r.parts[kind] < 0 {
			without++
		}
	}
	return list, without
}
