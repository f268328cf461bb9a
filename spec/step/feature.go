package step

import (
	"cmp"
	"slices"
)

// features makes of the faces that are not turned what a person would call them. Faces
// whose stretches along the axis touch belong together.
func (p *Profile) features(t *turned) {
	type group struct {
		from, to float64
		faces    []*Face
	}
	spans := func(f *Face) (float64, float64) { return f.reach(p.At, p.Axis) }
	slices.SortStableFunc(t.across, func(a, b *Face) int {
		x, _ := spans(a)
		y, _ := spans(b)
		return cmp.Or(cmp.Compare(a.family(), b.family()), cmp.Compare(x, y), cmp.Compare(a.ID, b.ID))
	})
	var groups []group
	for _, f := range t.across {
		from, to := spans(f)
		n := len(groups) - 1
		if n >= 0 && groups[n].faces[0].family() == f.family() && from <= groups[n].to+sameValue {
			groups[n].to = max(groups[n].to, to)
			groups[n].faces = append(groups[n].faces, f)
			continue
		}
		groups = append(groups, group{from, to, []*Face{f}})
	}
	for _, g := range groups {
		p.Features = append(p.Features, Feature{Kind: kindOf(g.faces, p.Axis), From: g.from, To: g.to, ID: g.faces[0].ID, Word: g.faces[0].unknown()})
	}
	slices.SortStableFunc(p.Features, func(a, b Feature) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To), cmp.Compare(a.ID, b.ID))
	})
}

func (f *Face) unknown() string {
	if f.Surface == Other {
		return f.Word
	}
	return ""
}

// family keeps what is not read apart from what is.
func (f *Face) family() int {
	if f.Surface == Other {
		return 1
	}
	return 0
}

// kindOf names a group of faces.
func kindOf(faces []*Face, axis Vec) string {
	planes, across, along := 0, 0, 0
	for _, f := range faces {
		switch {
		case f.Surface == Other:
			return "unknown surface"
		case f.Surface == Plane:
			planes++
		case f.Axis.cross(axis).length() > 0.5:
			across++
		default:
			along++
		}
	}
	switch {
	case planes >= 3 || planes > 0 && across > 0:
		return "keyway"
	case planes > 0:
		return "flat"
	case across > 0:
		return "cross hole"
	case along > 0:
		return "bore beside the axis"
	}
	return "what is not turned"
}
