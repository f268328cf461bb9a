package spec

import "github.com/hashicorp/hcl/v2/hclsyntax"

func (d *decoder) move(a *Axis, blk *hclsyntax.Block) {
	m := &Move{Name: blk.Labels[0], Place: d.place(blk.LabelRanges[0]), values: make([]*Value, len(theSchema.Fields)-theSchema.Moves), spot: d.spotOf(blk)}
	if len(a.Moves) >= maxMoves {
		if !a.Broken {
			d.report("value", m.Place, "", "a cycle of more than %d moves is not read", maxMoves)
			a.Broken = true
		}
		return
	}
	for _, o := range a.Moves {
		if o.Name == m.Name {
			p := d.report("duplicate-name", m.Place, "give one of them another name", "axis %s has two moves named %s", a.Name, m.Name)
			p.Related = []Related{{o.Place, "first declared here"}}
			break
		}
	}
	var losses []lost
	d.entries(blk.Body, theSchema.Move, "move", func(fd *Field, at *hclsyntax.Attribute) {
		m.values[fd.index-theSchema.Moves] = d.value(fd, at)
	}, nil, func(l lost) { losses = append(losses, l) })
	unclear := lose(losses, m.values, theSchema.Moves, Own)
	for i, v := range theSchema.defaults[theSchema.Moves:] {
		if v != nil && m.values[i] == nil {
			m.values[i] = v
		}
	}
	for _, l := range unclear {
		loseAll(theSchema.Move, m.values, theSchema.Moves, l.at)
	}
	a.Moves = append(a.Moves, m)
}
