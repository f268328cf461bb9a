package spec

import (
	"path"
	"slices"
	"strings"
)

// Waived reports the names in the waivers of a policy file that no axis and no part of its
// folder and below has. It reads what lies there, and only where a waiver names something.
func (t *Tree) Waived(policy string) (out []Problem) {
	dir := ScopeOf(path.Dir(policy))
	i := slices.IndexFunc(t.Folder(dir).Policies, func(f *PolicyFile) bool { return f.Path == policy })
	if i < 0 {
		return nil
	}
	var axes, parts []string
	read := false
	for _, w := range t.Folder(dir).Policies[i].Waivers {
		if !read && len(w.Axes)+len(w.Parts) > 0 {
			axes, parts = t.namesBelow(dir)
			read = true
		}
		out = append(out, w.unknown("axis", w.Axes, w.AxesPlace, axes)...)
		out = append(out, w.unknown("part", w.Parts, w.PartsPlace, parts)...)
	}
	return out
}

// unknown are the names of a list that are not among those there are.
func (w *Waiver) unknown(one string, names []string, at Place, are []string) (out []Problem) {
	say := func(rule, message, help string) {
		out = append(out, Problem{Rule: rule, Place: at, Message: "waiver of " + w.Rule + ": " + message, Help: help})
	}
	for _, n := range names {
		if !slices.Contains(are, n) {
			say("unknown-name", "no "+one+" "+clip(n)+" is declared in this folder or below", didYouMean(n, are))
		}
	}
	if names != nil && len(names) == 0 {
		say("value", "the list names no "+one, "name some, or leave the line out")
	}
	return out
}

// namesBelow lists the axes and parts, as kind.name, of a folder and those below.
func (t *Tree) namesBelow(dir string) (axes, parts []string) {
	scopes := map[string]bool{}
	t.Walk(dir, func(name string) {
		if d := ScopeOf(path.Dir(name)); !scopes[d] {
			scopes[d] = true
			for _, p := range t.Folder(d).Parts() {
				parts = append(parts, p.Kind+"."+p.Name)
			}
		}
		if strings.HasSuffix(name, AxisSuffix) {
			for _, a := range t.ReadAxes(name).Axes {
				axes = append(axes, a.Name)
			}
		}
	})
	slices.Sort(axes)
	slices.Sort(parts)
	return slices.Compact(axes), slices.Compact(parts)
}
