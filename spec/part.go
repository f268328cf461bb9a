package spec

import "github.com/hashicorp/hcl/v2/hclsyntax"

func (t *Tree) readParts(f *Folder, d *decoder, body *hclsyntax.Body) {
	if body != nil {
		add := func(p *Part) { d.declare(f, p) }
		series := map[string]Place{}
		d.entries(body, theSchema.PartsFile, "a parts file", nil, func(b *Block, blk *hclsyntax.Block) {
			switch b.Name {
			case "given": // read already
			case "series":
				at := d.place(blk.LabelRanges[0])
				d.firstSeries(series, blk.Labels[0], at)
				if !d.series(blk, add) {
					f.unread = at
				}
			default:
				add(d.part(b, blk))
			}
		}, func(l lost) { f.unread = l.at })
	}
	f.Problems = append(f.Problems, d.sorted()...)
	if at, bad := d.unparsed(); bad {
		f.unread = at
	}
}

// firstSeries notes the place of a series, whose name is to be the first of its kind.
func (d *decoder) firstSeries(seen map[string]Place, name string, at Place) {
	if first, again := seen[name]; again {
		p := d.report("duplicate-name", at, "give one of them another name", "this file has two series named %s", name)
		p.Related = []Related{{first, "first declared here"}}
	}
	seen[name] = at
}

// part reads the block of one part.
func (d *decoder) part(b *Block, blk *hclsyntax.Block) *Part {
	p := &Part{Kind: b.Name, Name: blk.Labels[0], Place: d.place(blk.LabelRanges[0]), values: make([]*Value, len(b.Fields))}
	var losses []lost
	d.entries(blk.Body, b, b.Name, func(fd *Field, a *hclsyntax.Attribute) {
		v := d.value(fd, a)
		v.Origin = OfPart
		p.values[fd.index] = v
	}, nil, func(l lost) { losses = append(losses, l) })
	if d.isBad(blk.DefRange()) {
		for i, f := range b.Fields {
			p.values[i] = unreadable(f, p.Place, OfPart)
		}
	}
	for _, l := range lose(losses, p.values, 0, OfPart) {
		loseAll(b, p.values, 0, l.at)
	}
	return p
}

// unparsed gives the place of the first thing that no part of the file could be
// read for, if there is one.
func (d *decoder) unparsed() (at Place, bad bool) {
	if !d.broken && len(d.bad) == 0 {
		return at, false
	}
	for _, p := range SortProblems(d.problems) {
		if p.Rule == "syntax" || p.Rule == "file" {
			return p.Place, true
		}
	}
	return Place{File: d.path, Line: 1, Col: 1, EndLine: 1, EndCol: 1}, true
}

// declare enters a part into its folder, if its name is not taken.
func (d *decoder) declare(f *Folder, p *Part) {
	first := f.parts[p.Kind+"."+p.Name]
	if first == nil {
		first = f.Parent.partOrNil(p.Kind, p.Name)
	}
	if first != nil {
		pr := d.report("duplicate-name", p.Place, "give one of them another name", "%s.%s is declared twice in the folders searched here", p.Kind, p.Name)
		pr.Related = []Related{{first.Place, "declared here too"}}
		return
	}
	f.parts[p.Kind+"."+p.Name] = p
	f.names = append(f.names, p)
}

func (f *Folder) partOrNil(kind, name string) *Part {
	if f == nil {
		return nil
	}
	return f.Part(kind, name)
}
