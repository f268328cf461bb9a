package spec

import (
	"path"
	"slices"
	"sync"

	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/spec/plain"
)

// An AxisFile is what one axis file says.
type AxisFile struct {
	Path     string
	Axes     []*Axis
	Problems []Problem
}

// ReadAxes reads one axis file of the tree.
func (t *Tree) ReadAxes(name string) *AxisFile {
	src, p := t.Read(name)
	return t.AxesOf(name, src, p)
}

// trees has memory for the trees of axis files: nothing of one is looked at once its axes are
// read.
var trees = sync.Pool{New: func() any { return new(plain.Memory) }}

// AxesOf reads an axis file from src as if it stood at name in the tree, or says
// with p, which Read has given, that there is nothing to read.
func (t *Tree) AxesOf(name string, src []byte, p *Problem) *AxisFile {
	f := t.Folder(path.Dir(name))
	d := &decoder{path: name, scope: f, instead: t.instead, memory: trees.Get().(*plain.Memory)}
	defer trees.Put(d.memory)
	file := d.axisFile(f, d.take(src, p))
	for _, a := range file.Axes {
		a.tree = t
	}
	if path.Base(name) == MachineFile {
		// Reading the folder has reported what is wrong with the file as such.
		file.Problems = slices.DeleteFunc(file.Problems, func(p Problem) bool {
			return slices.ContainsFunc(f.Problems, func(o Problem) bool {
				return p.Place == o.Place && p.Rule == o.Rule && p.Message == o.Message
			})
		})
	}
	return file
}

func (d *decoder) axisFile(f *Folder, body *hclsyntax.Body) *AxisFile {
	file := &AxisFile{Path: d.path}
	tooMany := false
	if body != nil {
		d.entries(body, theSchema.AxisFile, "an axis file", nil, func(b *Block, blk *hclsyntax.Block) {
			switch b.Name {
			case "axis":
				if len(file.Axes) == maxAxes {
					if !tooMany {
						d.report("syntax", d.place(blk.TypeRange), "split the file", "more than %d axes in one file are not read", maxAxes)
					}
					tooMany = true
					return
				}
				file.Axes = append(file.Axes, d.axis(f, blk))
			case "machine":
				if path.Base(d.path) != MachineFile {
					d.report("syntax", d.place(blk.TypeRange), "move it to "+path.Join(f.Path, MachineFile), "a machine block stands in a file named %s", MachineFile)
				}
			}
		}, nil)
	}
	for _, a := range file.Axes {
		a.InFile = len(file.Axes)
	}
	file.Problems = d.sorted()
	return file
}

// axis reads one axis block and resolves its values.
func (d *decoder) axis(f *Folder, blk *hclsyntax.Block) *Axis {
	a := &Axis{
		Name: blk.Labels[0], Place: d.place(blk.LabelRanges[0]), Folder: f, Broken: d.broken || d.isBad(blk.DefRange()),
		values: make([]*Value, theSchema.Moves), blocks: make([]axisBlock, len(theSchema.Axis.Blocks)), spot: d.spotOf(blk),
	}
	var losses []lost
	note := func(l lost) { losses = append(losses, l) }
	own := func(fd *Field, at *hclsyntax.Attribute) { a.values[fd.index] = d.value(fd, at) }
	d.entries(blk.Body, theSchema.Axis, "axis", own, func(b *Block, inner *hclsyntax.Block) {
		if b.Name == "waive" {
			a.Waivers = append(a.Waivers, d.waiver(b, inner))
			return
		}
		i := slices.Index(theSchema.Axis.Blocks, b)
		at := d.place(inner.TypeRange)
		if a.blocks[i].head.Valid() {
			p := d.report("duplicate-name", at, "write both in one block", "axis %s has a second block %s", a.Name, b.Name)
			p.Related = []Related{{a.blocks[i].head, "first declared here"}}
			note(lost{in: theSchema.Axis, name: b.Name, at: at, block: true})
			return
		}
		a.blocks[i] = axisBlock{at, d.spotOf(inner)}
		d.entries(inner.Body, b, b.Name, own, func(_ *Block, mv *hclsyntax.Block) { d.move(a, mv) }, note)
	}, note)
	a.Broken = a.Broken || d.broken || d.full()
	unclear := lose(losses, a.values, 0, Own)
	if m := f.nearestMachine(); m != nil {
		a.inherit(m)
	}
	for _, ref := range theSchema.refs {
		v := a.values[ref.field.index]
		if v == nil || v.Part == nil {
			continue
		}
		if p := d.instead[v.Part]; p != nil {
			other := *v // the value may be the machine's, which all its axes share
			other.Part = p
			v = &other
			a.values[ref.field.index] = v
		}
		for i, pv := range v.Part.values {
			if pv == nil || ref.target[i] < 0 {
				continue
			}
			if have := a.values[ref.target[i]]; have == nil || have.Origin == Machine {
				a.values[ref.target[i]] = pv
			}
		}
	}
	for i, v := range theSchema.defaults[:theSchema.Moves] {
		if v != nil && a.values[i] == nil {
			a.values[i] = v
		}
	}
	for _, l := range unclear {
		a.loseUnclear(l)
	}
	a.loseRoles()
	a.noteUnread()
	return a
}

// inherit takes over what the machine says and the axis does not.
func (a *Axis) inherit(m *machine) {
	for i, v := range m.values[:theSchema.Moves] {
		f := theSchema.Fields[i]
		if v == nil && m.unread.Valid() {
			v = unreadable(f, m.unread, Machine)
			v.Unclear = true
		}
		if v != nil && a.values[i] == nil && f.Inherit && !a.saysOtherwise(f) {
			a.values[i] = v
		}
	}
}

// otherWays are pairs of fields that say the same thing in two ways: what an
// axis says itself in one of them keeps the machine's other one out.
var otherWays = [][2]string{{"orientation", "incline"}, {"duty.shock", "duty.load_factor"}}

func (a *Axis) saysOtherwise(f *Field) bool {
	for _, w := range otherWays {
		for i := range w {
			if w[i] != f.Path {
				continue
			}
			if v := a.values[theSchema.byPath[w[1-i]].index]; v != nil && v.Origin == Own {
				return true
			}
		}
	}
	return false
}
