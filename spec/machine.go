package spec

import "github.com/hashicorp/hcl/v2/hclsyntax"

func (t *Tree) readMachine(f *Folder, d *decoder, body *hclsyntax.Body) {
	var blocks hclsyntax.Blocks
	if body != nil && !d.tooMany(body) {
		blocks = body.Blocks
	}
	for _, blk := range blocks {
		if blk.Type != "machine" {
			continue
		}
		if !d.labels(theSchema.Machine, blk, d.place(blk.TypeRange)) {
			continue
		}
		at := d.place(blk.LabelRanges[0])
		if f.machine != nil {
			p := d.report("duplicate-name", at, "a folder is one machine", "a second machine block in the same folder")
			p.Related = []Related{{f.machine.place, "first declared here"}}
			continue
		}
		m := &machine{name: blk.Labels[0], place: at, values: make([]*Value, len(theSchema.Fields))}
		var losses []lost
		note := func(l lost) { losses = append(losses, l) }
		take := func(fd *Field, a *hclsyntax.Attribute) {
			v := d.value(fd, a)
			v.Origin = Machine
			m.values[fd.index] = v
		}
		seen := map[string]Place{}
		d.entries(blk.Body, theSchema.Machine, "machine", take, func(b *Block, inner *hclsyntax.Block) {
			at := d.place(inner.TypeRange)
			if first, again := seen[b.Name]; again {
				p := d.report("duplicate-name", at, "write both in one block", "machine %s has a second block %s", m.name, b.Name)
				p.Related = []Related{{first, "first declared here"}}
				note(lost{in: theSchema.Machine, name: b.Name, at: at, block: true})
				return
			}
			seen[b.Name] = at
			d.entries(inner.Body, b, b.Name+" of a machine", take, nil, note)
		}, note)
		if d.isBad(blk.DefRange()) {
			m.unread = at
		}
		for _, l := range lose(losses, m.values, 0, Machine) {
			m.unread = l.at
		}
		f.machine = m
	}
	f.Problems = append(f.Problems, d.sorted()...)
	if at, bad := d.unparsed(); bad && f.machine == nil {
		f.machine = &machine{values: make([]*Value, len(theSchema.Fields)), unread: at}
	}
}
