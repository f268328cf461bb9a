package spec

import (
	"cmp"
	"slices"
	"strconv"

	"trammel/spec/unit"
)

// A Place is a stretch of text in a file.
type Place struct {
	File                       string // path below the tree's root, with forward slashes
	Line, Col, EndLine, EndCol int32  // from 1, columns in characters as a person sees them
	Byte, EndByte              int32  // offsets from the start of the file
}

// String gives file:line:col. The file's name is as it is: who shows it makes it
// harmless.
func (p Place) String() string {
	return p.File + ":" + strconv.Itoa(int(p.Line)) + ":" + strconv.Itoa(int(p.Col))
}

// Valid reports whether the place names a file.
func (p Place) Valid() bool { return p.File != "" }

// ComparePlaces orders places by file, line and column.
func ComparePlaces(a, b Place) int {
	return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Col, b.Col), cmp.Compare(a.EndByte, b.EndByte))
}

// Origin says where a value came from.
type Origin uint8

const (
	Own     Origin = iota // the axis's own line
	OfPart                // a part the axis uses
	Machine               // the machine block in or above its folder
	Default               // built in; the value has no place
)

// String names the origin.
func (o Origin) String() string {
	return [...]string{"axis", "part", "machine", "default"}[o]
}

// A Value is one value of one field.
type Value struct {
	Field   *Field
	Num     unit.Quantity    // Quantity and Number, in SI
	Ends    [2]unit.Quantity // a Pair
	Text    string           // as written: the quantity, word, text, date, or a reference's name
	Word    int              // index of a Word
	Flag    bool
	Part    *Part     // PartRef
	Axes    []AxisRef // AxisRefs
	Place   Place     // of the value's text; for a part's field the part file's
	Origin  Origin
	Bad     bool   // written, but not readable; a Problem says why
	Unclear bool   // where Bad: what stands at Place may be meant for another field
	Ref     *Value // where Bad: the reference to a part that could not be read, which would have given the value

	column string    // the unit of its column, where it is a bare number of a series
	given  *givenUse // where it is a given value and nothing more
}

// An AxisRef is a reference to an axis of the same folder.
type AxisRef struct {
	Name  string
	Place Place
}

// A Problem is something wrong with the text itself.
type Problem struct {
	Rule    string // syntax, unit, value, unknown-name, duplicate-name, file
	Place   Place
	Message string // what was found, what was expected
	Help    string // how to fix it; may be empty
	Related []Related
}

// Related is another place that has to do with a problem.
type Related struct {
	Place   Place
	Message string
}

// SortProblems orders problems by place, rule and message and drops equals.
func SortProblems(p []Problem) []Problem {
	slices.SortStableFunc(p, func(a, b Problem) int {
		return cmp.Or(ComparePlaces(a.Place, b.Place), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Message, b.Message))
	})
	return slices.CompactFunc(p, func(a, b Problem) bool {
		return a.Place == b.Place && a.Rule == b.Rule && a.Message == b.Message
	})
}

// A Part is one block of a parts file.
type Part struct {
	Kind, Name string
	Place      Place // of its name
	values     []*Value
}

// A Move is one move of an axis's cycle.
type Move struct {
	Name   string
	Place  Place // of its head
	values []*Value
	spot   spot
	seen   *FieldSet // see Axis.Watch
}

// A Waiver accepts the findings of one rule until a day.
type Waiver struct {
	Rule          string
	RulePlace     Place
	Reason, Until *Value   // nil where not given
	Axes, Parts   []string // in a policy: the axes it holds for, and the parts as "screw.g20x10"; both nil: for all
	AxesPlace     Place    // of the list; not valid where there is none
	PartsPlace    Place
	Broken        bool // something in it was not readable, a Problem says what
}

// OfAxis reports whether the waiver holds for an axis of its scope.
func (w *Waiver) OfAxis(name string) bool {
	return w.Axes == nil && w.Parts == nil || slices.Contains(w.Axes, name)
}

// OfPart reports whether the waiver holds for a part of its scope.
func (w *Waiver) OfPart(p *Part) bool {
	return w.Axes == nil && w.Parts == nil || slices.Contains(w.Parts, p.Kind+"."+p.Name)
}

// An Axis is one declared axis with every value resolved: its own, its parts',
// its machine's, the built-in default, in this order.
type Axis struct {
	Name    string
	Place   Place // of its name
	Folder  *Folder
	Moves   []*Move
	Waivers []*Waiver
	InFile  int  // how many axes its file holds
	Broken  bool // it has syntax errors: what is here may be a part of what was meant
	Unread  bool // something that it, a part or its machine says could not be read, so that a value is Bad or a move is not here

	lostMove Place // of a move that could not be read; not valid where there is none
	values   []*Value
	blocks   []axisBlock // by index in the schema
	spot     spot
	seen     *FieldSet // see Watch
	tree     *Tree     // that it was read from
}

// An axisBlock is where a block of an axis stands; nowhere if the axis has none.
type axisBlock struct {
	head Place
	spot spot
}

// Get returns the value of a field, nil where there is none. For a field of a
// move use Move.Get.
func (a *Axis) Get(f *Field) *Value {
	if a.seen != nil {
		a.seen.Add(f)
	}
	return a.values[f.index]
}

// Parts lists the parts the axis refers to, itself or by its machine, each once.
func (a *Axis) Parts() []*Part {
	var out []*Part
	for _, ref := range theSchema.refs {
		if v := a.Get(ref.field); v != nil && v.Part != nil && !slices.Contains(out, v.Part) {
			out = append(out, v.Part)
		}
	}
	return out
}

// Restated gives the screw or nut as the axis has it: the values of its part with
// those that axis and machine write instead. It is nil where they write none.
// value is read, such as by Get; built-in defaults are left out.
func (a *Axis) Restated(kind string, value func(*Field) *Value) *Part {
	var room [32]*Value // most axes restate nothing: no memory is taken for those
	n := len(theSchema.parts[kind].Fields)
	values, own := slices.Grow(room[:0], n)[:n], false
	ref := theSchema.refs[slices.IndexFunc(theSchema.refs, func(r roleRef) bool { return r.field.Role == kind })]
	for i, t := range ref.target {
		if t < 0 {
			continue
		}
		if v := value(theSchema.Fields[t]); v != nil && v.Origin != Default {
			values[i] = v
			own = own || v.Origin != OfPart
		}
	}
	if !own {
		return nil
	}
	return &Part{Kind: kind, Name: a.Name, Place: a.Place, values: slices.Clone(values)}
}

// OfMachine is what the axis's machine gives for a field, whatever the axis has
// instead; nil for nothing.
func (a *Axis) OfMachine(f *Field) *Value {
	if m := a.Folder.nearestMachine(); m != nil && f.index < theSchema.Moves {
		return m.values[f.index]
	}
	return nil
}

// Get returns the value of a field of the move, nil where there is none.
func (m *Move) Get(f *Field) *Value {
	if m.seen != nil {
		m.seen.Add(f)
	}
	return m.values[f.index-theSchema.Moves]
}

// Ref is the part as an axis refers to it: screw.g20x10, or screw["20x10"].
func (p *Part) Ref() string { return refText(p.Kind, p.Name) }

// Values lists the values the part gives, in order of the fields of its kind.
func (p *Part) Values() []*Value {
	return slices.DeleteFunc(slices.Clone(p.values), func(v *Value) bool { return v == nil })
}

// Get returns the value of a field of the part, by the field's name; nil where
// there is none.
func (p *Part) Get(name string) *Value {
	for _, v := range p.values {
		if v != nil && v.Field.Name == name {
			return v
		}
	}
	return nil
}

// PlaceFor returns where a value of the field stands, or should stand: the
// value's text; the part that lacks it; the head of the block; the axis.
func (a *Axis) PlaceFor(f *Field, move int) Place {
	if f.index >= theSchema.Moves {
		if move >= 0 && move < len(a.Moves) {
			m := a.Moves[move]
			if v := m.Get(f); v != nil && v.Place.Valid() {
				return v.Place
			}
			return m.Place
		}
	} else if v := a.Get(f); v != nil && v.Place.Valid() {
		return v.Place
	}
	block, _, _ := cutPath(f.Path)
	// A field that belongs in a part is missing from the part.
	if ref := theSchema.roleField[block]; ref != nil {
		if v := a.Get(ref); v != nil {
			if v.Part != nil && theSchema.parts[v.Part.Kind].field(f.Name) != nil {
				return v.Part.Place
			}
			if ref.Role != "screw" && ref.Role != "nut" {
				return v.Place
			}
		} else if ref.Path != f.Path && ref.Role != "screw" && ref.Role != "nut" {
			return a.PlaceFor(ref, -1)
		}
	}
	for i, b := range theSchema.Axis.Blocks {
		if b.Name == block && a.blocks[i].head.Valid() {
			return a.blocks[i].head
		}
	}
	return a.Place
}

// OwnPlace returns the place in the axis's own file that brings in a field's
// value: the value's text, the reference to the part, the head of the block,
// the axis's name.
func (a *Axis) OwnPlace(f *Field) Place {
	block, _, _ := cutPath(f.Path)
	candidates := []*Value{a.Get(f)}
	if ref := theSchema.roleField[block]; ref != nil {
		candidates = append(candidates, a.Get(ref))
	}
	for _, v := range candidates {
		if v != nil && v.Place.File == a.Place.File {
			return v.Place
		}
	}
	for i, b := range theSchema.Axis.Blocks {
		if b.Name == block && a.blocks[i].head.Valid() {
			return a.blocks[i].head
		}
	}
	return a.Place
}

// LostMove gives the place of a move that could not be read, so that the cycle is
// not known; ok is false where there is none.
func (a *Axis) LostMove() (at Place, ok bool) { return a.lostMove, a.lostMove.Valid() }

// Wants says in words what is missing for the field to have a value, as a
// person would write it: "supports.span", or "motor (drive.motor)" where the
// whole part is missing.
func (a *Axis) Wants(f *Field) string {
	block, name, ok := cutPath(f.Path)
	if !ok {
		return f.Path
	}
	if ref := theSchema.roleField[block]; ref != nil {
		if v := a.Get(ref); v == nil || v.Part == nil {
			if ref.Role != "screw" && ref.Role != "nut" {
				return ref.Path
			}
		} else if theSchema.parts[v.Part.Kind].field(name) != nil {
			return name + " of " + refText(v.Part.Kind, v.Part.Name)
		}
	}
	return f.Path
}

// cutPath cuts "motion.move.speed" into "motion" and "speed".
func cutPath(path string) (block, name string, ok bool) {
	for i := range path {
		if path[i] == '.' {
			block = path[:i]
			for j := len(path) - 1; j >= i; j-- {
				if path[j] == '.' {
					return block, path[j+1:], true
				}
			}
		}
	}
	return "", path, false
}
