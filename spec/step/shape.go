package step

import (
	"fmt"
	"io"
	"slices"
)

// A Model is what a file holds.
type Model struct {
	Bodies []Body
	Notes  []string // what is passed over, in words
}

// A Body is one solid, or one skin, where it stands in the whole.
type Body struct {
	ID       uint64 // its instance
	Line     int
	Name     string // of its product; may be empty or say nothing
	Units    Units  // the file has it in
	Faces    []Face
	IsClosed bool // a solid, no skin
	Voids    bool // it has hollows within, which are not read
}

// maxPlaces bounds how often representations are placed in each other.
const maxPlaces = 10_000

// maxBodies and maxFaces bound what is taken from a file, each solid counted as often as
// it is placed.
const (
	maxBodies = 2000
	maxFaces  = 200_000
)

// Read reads a model. An error has the line it is about.
func Read(r io.Reader) (*Model, error) { return read(r, usual) }

func read(r io.Reader, most bounds) (*Model, error) {
	f, err := parse(r, most)
	if err != nil {
		return nil, err
	}
	s := &shapes{file: f, model: &Model{}, names: map[uint64]string{}, of: map[uint64][]uint64{}, links: map[uint64][]link{}, child: map[uint64]bool{}, seen: map[uint64]bool{}, units: map[uint64]Units{}}
	s.products()
	s.relations()
	s.roots()
	if err := f.err(); err != nil {
		return nil, err
	}
	return s.model, nil
}

// shapes gathers the bodies of a file.
type shapes struct {
	file   *file
	model  *Model
	names  map[uint64]string   // of products, by their representations
	of     map[uint64][]uint64 // the representations of a product definition
	links  map[uint64][]link   // by the representation that holds another
	child  map[uint64]bool     // representations that others hold
	seen   map[uint64]bool     // representations that were placed
	units  map[uint64]Units    // by context
	places int
	faces  int
}

// A link places one representation in another.
type link struct {
	child uint64
	by    frame
}

var representations = []string{"ADVANCED_BREP_SHAPE_REPRESENTATION", "MANIFOLD_SURFACE_SHAPE_REPRESENTATION", "SHAPE_REPRESENTATION"}

// products notes which representation is whose.
func (s *shapes) products() {
	s.file.all(func(n node) {
		definition, rep := n.follow(0).may(2), n.follow(1)
		if !definition.is("PRODUCT_DEFINITION", "PRODUCT_DEFINITION_WITH_ASSOCIATED_DOCUMENTS") || rep.in == nil {
			return
		}
		s.of[definition.in.id] = append(s.of[definition.in.id], rep.in.id)
		product := definition.may(2).may(2)
		name := product.text(1)
		if name == "" {
			name = product.text(0)
		}
		s.names[rep.in.id] = name
	}, "SHAPE_DEFINITION_REPRESENTATION")
}

// relations notes which representation stands in which.
func (s *shapes) relations() {
	owners := map[uint64]uint64{} // of a relationship the product definition of the child
	s.file.all(func(n node) {
		usage := n.may(1).may(2)
		if r := n.may(0); r.in != nil && usage.is("NEXT_ASSEMBLY_USAGE_OCCURRENCE") {
			if child := usage.may(4); child.in != nil {
				owners[r.in.id] = child.in.id
			}
		}
	}, "CONTEXT_DEPENDENT_SHAPE_REPRESENTATION")
	s.file.all(func(n node) {
		r, ok := n.part("REPRESENTATION_RELATIONSHIP")
		if !ok {
			r, ok = n.part("SHAPE_REPRESENTATION_RELATIONSHIP")
		}
		if !ok || len(r.args) < 4 {
			return
		}
		a, b := r.follow(2), r.follow(3)
		if a.in == nil || b.in == nil || !s.held(a) || !s.held(b) {
			return
		}
		moved, ok := n.part("REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION")
		if !ok {
			s.same(a, b)
			return
		}
		s.place(n, moved.follow(0), a, b, owners[n.in.id])
	}, complexWord, "SHAPE_REPRESENTATION_RELATIONSHIP", "REPRESENTATION_RELATIONSHIP")
}

// held reports whether a representation can hold bodies that are read; of others it is
// noted that they are passed over.
func (s *shapes) held(rep node) bool {
	if rep.is(representations...) {
		return true
	}
	if note := fmt.Sprintf("what is given as %s is not read", rep.word()); !slices.Contains(s.model.Notes, note) {
		s.model.Notes = append(s.model.Notes, note)
	}
	return false
}

// same takes two representations for one: a product's bare one holds the other.
func (s *shapes) same(a, b node) {
	if !s.named(a.in.id) && s.named(b.in.id) {
		a, b = b, a
	}
	s.link(a.in.id, b.in.id, identity)
}

func (s *shapes) named(rep uint64) bool { _, ok := s.names[rep]; return ok }

func (s *shapes) link(parent, child uint64, by frame) {
	s.links[parent] = append(s.links[parent], link{child, by})
	s.child[child] = true
}

// place takes in that a stands in b, or b in a: whichever belongs to the owner is the one
// that is placed.
func (s *shapes) place(n, by, a, b node, owner uint64) {
	if !by.is("ITEM_DEFINED_TRANSFORMATION") {
		n.fail("places a part by %s, which is not known", by.name())
		return
	}
	from, to := by.follow(2).frame(s.unitsOf(a)), by.follow(3).frame(s.unitsOf(b))
	if s.belongs(b.in.id, owner) && !s.belongs(a.in.id, owner) {
		s.link(a.in.id, b.in.id, from.of(to.back()))
		return
	}
	s.link(b.in.id, a.in.id, to.of(from.back()))
}

func (n node) name() string {
	if n.in == nil {
		return "nothing"
	}
	return n.word()
}

func (s *shapes) belongs(rep, owner uint64) bool { return slices.Contains(s.of[owner], rep) }

func (s *shapes) unitsOf(rep node) Units {
	c := rep.follow(2)
	if c.in == nil {
		return Units{}
	}
	u, ok := s.units[c.in.id]
	if !ok {
		u = c.units()
		s.units[c.in.id] = u
	}
	return u
}

// roots places every representation that no other holds.
func (s *shapes) roots() {
	mapped := map[uint64]bool{}
	s.file.all(func(n node) {
		if rep := n.may(1); rep.in != nil {
			mapped[rep.in.id] = true
		}
	}, "REPRESENTATION_MAP")
	s.file.all(func(n node) {
		if !s.child[n.in.id] && !mapped[n.in.id] {
			s.representation(n, identity, s.names[n.in.id], 0)
		}
	}, representations...)
	s.file.all(func(n node) {
		if !s.seen[n.in.id] && (s.child[n.in.id] || mapped[n.in.id]) && s.holdsBody(n) {
			n.fail("holds a body and stands only in itself")
		}
	}, representations...)
	if len(s.model.Bodies) == 0 && s.file.err() == nil {
		s.nothing()
	}
}

var bodies = []string{"MANIFOLD_SOLID_BREP", "BREP_WITH_VOIDS", "SHELL_BASED_SURFACE_MODEL"}

func (s *shapes) holdsBody(rep node) bool {
	for n := range rep.each(1) {
		if n.is(bodies...) {
			return true
		}
	}
	return false
}

// nothing says what the file holds instead of bodies.
func (s *shapes) nothing() {
	for _, w := range []string{"FACETED_BREP", "TESSELLATED_SOLID", "TESSELLATED_SHELL", "TRIANGULATED_FACE", "CSG_SOLID", "EXTRUDED_AREA_SOLID", "GEOMETRIC_CURVE_SET"} {
		if i, ok := s.file.byWord[w]; ok && slices.ContainsFunc(s.file.instances, func(in instance) bool { return in.word == i }) {
			s.model.Notes = append(s.model.Notes, fmt.Sprintf("the shape is given as %s, which is not read; export it as a solid of exact surfaces", w))
		}
	}
}

// representation takes in the items of a representation and what stands in it.
func (s *shapes) representation(rep node, at frame, name string, depth int) {
	if s.places++; s.places > maxPlaces || depth > maxDepth {
		rep.fail("is placed more than %d times, or within itself", maxPlaces)
		return
	}
	if len(s.file.errs) > 0 {
		return
	}
	s.seen[rep.in.id] = true
	if own := s.names[rep.in.id]; own != "" {
		name = own
	}
	for item := range rep.each(1) {
		switch {
		case item.is(bodies...):
			s.body(item, at, name, s.unitsOf(rep))
		case item.is("MAPPED_ITEM"):
			s.mapped(item, rep, at, name, depth)
		}
	}
	for _, l := range s.links[rep.in.id] {
		if child := s.file.find(l.child); child != nil {
			lists := s.file.lists
			s.representation(s.file.open(child), at.of(l.by), name, depth+1)
			s.file.release(lists)
		}
	}
}

// mapped takes in a representation that is an item of another.
func (s *shapes) mapped(item, rep node, at frame, name string, depth int) {
	m := item.follow(1)
	child := m.follow(1)
	if child.in == nil || !s.held(child) {
		return
	}
	from, to := m.follow(0).frame(s.unitsOf(child)), item.follow(2).frame(s.unitsOf(rep))
	s.representation(child, at.of(to).of(from.back()), name, depth+1)
}

// body takes in one solid or skin. Voids within a solid are left out.
func (s *shapes) body(n node, at frame, name string, u Units) {
	if len(s.model.Bodies) == maxBodies {
		n.fail("is one body too many: at most %d are read", maxBodies)
		return
	}
	b := Body{ID: n.in.id, Line: int(n.in.line), Name: name, Units: u, IsClosed: !n.is("SHELL_BASED_SURFACE_MODEL"), Voids: n.is("BREP_WITH_VOIDS")}
	shells := n.each(1)
	if b.IsClosed {
		shells = slices.Values([]node{n.follow(1)})
	}
	for shell := range shells {
		if !shell.is("CLOSED_SHELL", "OPEN_SHELL") {
			n.fail("has a %s instead of a shell", shell.name())
			continue
		}
		b.Faces = slices.Grow(b.Faces, min(len(shell.arg(1).list), maxFaces-s.faces))
		for face := range shell.each(1) {
			if s.faces++; s.faces > maxFaces {
				n.fail("has too many faces: at most %d are read", maxFaces)
				return
			}
			if len(s.file.errs) > 0 {
				return
			}
			b.Faces = append(b.Faces, face.face(at, u))
		}
	}
	s.model.Bodies = append(s.model.Bodies, b)
}
