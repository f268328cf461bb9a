package step

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"iter"
	"slices"
)

// An Error says what is wrong with a file, and in which line.
type Error struct {
	Line    int
	Message string
}

func (e *Error) Error() string { return fmt.Sprintf("line %d: %s", e.Line, e.Message) }

func fault(line int, format string, args ...any) *Error {
	return &Error{line, fmt.Sprintf(format, args...)}
}

// known are the entities that are looked at. Of others only the number and the name are
// kept, up to a thousand names.
var known = []string{
	"ADVANCED_FACE", "FACE_SURFACE", "FACE_BOUND", "FACE_OUTER_BOUND", "EDGE_LOOP", "VERTEX_LOOP", "ORIENTED_EDGE", "EDGE_CURVE", "VERTEX_POINT",
	"CARTESIAN_POINT", "DIRECTION", "VECTOR", "LINE", "CIRCLE", "AXIS1_PLACEMENT", "AXIS2_PLACEMENT_3D",
	"PLANE", "CYLINDRICAL_SURFACE", "CONICAL_SURFACE", "TOROIDAL_SURFACE", "SPHERICAL_SURFACE", "SURFACE_OF_REVOLUTION", "SURFACE_OF_LINEAR_EXTRUSION",
	"B_SPLINE_SURFACE_WITH_KNOTS",
	"CLOSED_SHELL", "OPEN_SHELL", "MANIFOLD_SOLID_BREP", "BREP_WITH_VOIDS", "SHELL_BASED_SURFACE_MODEL",
	"ADVANCED_BREP_SHAPE_REPRESENTATION", "MANIFOLD_SURFACE_SHAPE_REPRESENTATION", "SHAPE_REPRESENTATION",
	"SHAPE_DEFINITION_REPRESENTATION", "PRODUCT_DEFINITION_SHAPE", "PRODUCT_DEFINITION", "PRODUCT_DEFINITION_WITH_ASSOCIATED_DOCUMENTS",
	"PRODUCT_DEFINITION_FORMATION", "PRODUCT_DEFINITION_FORMATION_WITH_SPECIFIED_SOURCE", "PRODUCT",
	"NEXT_ASSEMBLY_USAGE_OCCURRENCE", "CONTEXT_DEPENDENT_SHAPE_REPRESENTATION", "SHAPE_REPRESENTATION_RELATIONSHIP", "REPRESENTATION_RELATIONSHIP",
	"ITEM_DEFINED_TRANSFORMATION", "MAPPED_ITEM", "REPRESENTATION_MAP", "CARTESIAN_TRANSFORMATION_OPERATOR_3D",
	"LENGTH_MEASURE_WITH_UNIT", "PLANE_ANGLE_MEASURE_WITH_UNIT",
}

// wanted are the names within complex instances for which these are kept.
var wanted = []string{"GLOBAL_UNIT_ASSIGNED_CONTEXT", "LENGTH_UNIT", "PLANE_ANGLE_UNIT", "REPRESENTATION_RELATIONSHIP", "MEASURE_WITH_UNIT", "CARTESIAN_TRANSFORMATION_OPERATOR_3D"}

const (
	complexWord = "(…)"                  // for the name of a complex instance
	splineWord  = "B_SPLINE_SURFACE (…)" // for that of one which is a B-spline surface
	otherWord   = "?"                    // for one name too many
	maxWords    = 1000
)

// An instance is one numbered statement.
type instance struct {
	id   uint64
	line int32
	word uint16 // index into words
	in   uint16 // the chunk that holds the text of the known, from the first bracket on
	from uint32 // there
	long uint32 // 0: nothing is kept
	used bool   // it was taken apart
}

// A file is the text, taken apart.
type file struct {
	instances []instance // by number
	words     []string
	byWord    map[string]uint16
	chunks    [][]byte          // that texts are put into
	stack     []value           // of the parser, kept for the next
	lists     []value           // of the nodes in use; scope gives them back
	points    []Vec             // of the face in work
	index     []int32           // by number, one more than the place in instances; nil where numbers are far apart
	fits      map[fitKey]fitted // what B-spline surfaces are
	errs      []error
	most      bounds
	used      int // bytes that were taken apart
	again     int // bytes that were so again, each time they were
}

// A text is taken apart whenever something refers to it. Writers refer to a thing a few
// times, a hostile file a million times: beyond bounds.takes it may not be again more often
// than this on average, of what was taken apart at all.
const maxAgain = 3

// parse reads the statements of a file and puts the instances in order.
func parse(r io.Reader, most bounds) (*file, error) {
	f := &file{byWord: map[string]uint16{}, fits: map[fitKey]fitted{}, most: most}
	for _, w := range append([]string{otherWord, complexWord, splineWord}, known...) {
		f.intern([]byte(w))
	}
	if err := f.statements(newScanner(r, most)); err != nil {
		return nil, err
	}
	return f, f.order()
}

func (f *file) statements(s *scanner) error {
	first, _, err := s.next()
	if err == io.EOF {
		return fault(1, "the file is empty")
	}
	var broken *Error
	if errors.As(err, &broken) || err == nil && !bytes.Equal(bytes.TrimPrefix(first, []byte("\ufeff")), []byte("ISO-10303-21")) {
		if bytes.HasPrefix(s.buf, []byte("version https://git-lfs")) {
			return fault(1, "this is only a pointer to the file (git lfs); fetch the file itself")
		}
		return fault(1, "this is not a STEP file: it does not begin with ISO-10303-21")
	}
	for data := false; ; {
		statement, line, err := s.next()
		if err == io.EOF {
			return fault(s.line, "the file ends without END-ISO-10303-21: it was not written to its end")
		}
		if err != nil {
			return err
		}
		for n := len(statement); n > 0 && statement[n-1] <= ' '; n-- {
			statement = statement[:n-1]
		}
		switch {
		case data && len(statement) > 0 && statement[0] == '#':
			if err := f.enter(statement, line); err != nil {
				return err
			}
		case bytes.Equal(statement, []byte("END-ISO-10303-21")):
			return nil
		case bytes.Equal(statement, []byte("DATA")), bytes.HasPrefix(statement, []byte("DATA(")), bytes.HasPrefix(statement, []byte("DATA (")):
			data = true
		case bytes.Equal(statement, []byte("ENDSEC")):
			data = false
		case data && len(statement) > 0:
			if err := f.enter(statement, line); err != nil {
				return err
			}
		}
	}
}

// enter takes in one instance.
func (f *file) enter(statement []byte, line int) error {
	p := parser{src: statement}
	bad := func() error { return fault(line, "found %q; expected #number = NAME(…)", shorten(statement)) }
	if !p.take('#') {
		return bad()
	}
	in := instance{line: int32(line)}
	var ok bool
	if in.id, ok = p.id(); !ok || !p.take('=') {
		return bad()
	}
	keep := false
	if p.peek() == '(' {
		in.word = f.byWord[complexWord]
		for _, w := range wanted {
			keep = keep || bytes.Contains(statement, []byte(w))
		}
		if !keep && bytes.Contains(statement, []byte("B_SPLINE_SURFACE")) {
			in.word = f.byWord[splineWord]
			keep = len(statement) < maxSplineText
		}
	} else {
		in.word = f.intern(upper(p.keyword()))
		keep = in.word > 2 && int(in.word) < 3+len(known) && (len(statement) < maxSplineText || f.words[in.word] != "B_SPLINE_SURFACE_WITH_KNOTS")
		if p.peek() != '(' && f.words[in.word] != "" {
			return bad()
		}
	}
	if keep {
		f.keep(&in, statement[p.pos:])
	}
	if len(f.instances) == f.most.instances {
		return fault(line, "the file holds more than %d instances", f.most.instances)
	}
	if n := len(f.instances); n == cap(f.instances) { // append would grow by a quarter, and copy it all far more often
		f.instances = slices.Grow(f.instances, max(n, 1000))
	}
	f.instances = append(f.instances, in)
	return nil
}

// upper gives a name in capitals, which it almost always is.
func upper(name []byte) []byte {
	for _, c := range name {
		if c >= 'a' && c <= 'z' {
			return bytes.ToUpper(name)
		}
	}
	return name
}

func shorten(statement []byte) string {
	if len(statement) > 40 {
		return string(bytes.ToValidUTF8(statement[:40], nil)) + "…"
	}
	return string(bytes.ToValidUTF8(statement, nil))
}

func (f *file) intern(w []byte) uint16 {
	if i, ok := f.byWord[string(w)]; ok {
		return i
	}
	if len(f.words) >= maxWords || len(w) > 100 {
		return 0
	}
	i := uint16(len(f.words))
	f.words = append(f.words, string(w))
	f.byWord[string(w)] = i
	return i
}

// keep puts a text into a larger chunk.
func (f *file) keep(in *instance, text []byte) {
	n := len(f.chunks) - 1
	if n < 0 || len(text) > cap(f.chunks[n])-len(f.chunks[n]) {
		f.chunks = append(f.chunks, make([]byte, 0, max(len(text), 4<<10<<min(n+1, 6))))
		n++
	}
	in.in, in.from, in.long = uint16(n), uint32(len(f.chunks[n])), uint32(len(text))
	f.chunks[n] = append(f.chunks[n], text...)
}

// order sorts the instances and refuses numbers that are given twice.
func (f *file) order() error {
	by := func(a, b instance) int { return cmp.Or(cmp.Compare(a.id, b.id), cmp.Compare(a.line, b.line)) }
	if !slices.IsSortedFunc(f.instances, by) {
		slices.SortFunc(f.instances, by)
	}
	for i := 1; i < len(f.instances); i++ {
		if a, b := f.instances[i-1], f.instances[i]; a.id == b.id {
			return fault(int(b.line), "#%d is given twice; first in line %d", b.id, a.line)
		}
	}
	f.tabulate()
	return nil
}

// tabulate makes the index, where it is no larger than what it is of.
func (f *file) tabulate() {
	n := len(f.instances)
	if n == 0 || f.instances[n-1].id > uint64(8*n) {
		return
	}
	f.index = make([]int32, f.instances[n-1].id+1)
	for i := range f.instances {
		f.index[f.instances[i].id] = int32(i + 1)
	}
}

func (f *file) find(id uint64) *instance {
	if f.index != nil {
		if id >= uint64(len(f.index)) || f.index[id] == 0 {
			return nil
		}
		return &f.instances[f.index[id]-1]
	}
	i, ok := slices.BinarySearchFunc(f.instances, id, func(in instance, id uint64) int { return cmp.Compare(in.id, id) })
	if !ok {
		return nil
	}
	return &f.instances[i]
}

// all calls do for every instance of one of the names. A node is good for its call.
func (f *file) all(do func(n node), names ...string) {
	var set [maxWords]bool
	for _, w := range names {
		set[f.byWord[w]] = true
	}
	for i := range f.instances {
		if set[f.instances[i].word] {
			lists := f.lists
			do(f.open(&f.instances[i]))
			f.release(lists)
		}
	}
}

// release gives back the lists of all nodes that were opened since lists was what it is
// now. A larger array holds none but theirs.
func (f *file) release(lists []value) {
	if f.lists = f.lists[:0]; cap(f.lists) == cap(lists) {
		f.lists = lists
	}
}

// A node is an instance with its parameters; of a missing one in is nil. What is asked of
// it in vain is noted as an error of the file and answered with nothing.
type node struct {
	f    *file
	in   *instance
	args []value // of a complex instance: a typed one for each name
}

func (f *file) open(in *instance) node {
	n := node{f: f, in: in}
	if in.long == 0 {
		return n
	}
	if !in.used {
		in.used, f.used = true, f.used+int(in.long)
	} else if f.again += int(in.long); f.again > f.most.takes+maxAgain*f.used {
		n.fail("and others are referred to too often: the file holds the same again and again")
		return n
	}
	p := parser{src: f.chunks[in.in][in.from : in.from+in.long], stack: f.stack[:0], lists: f.lists}
	ok := false
	if n.is(complexWord, splineWord) {
		n.args, ok = p.complex()
	} else {
		n.args, ok = p.values(0)
	}
	f.stack, f.lists = p.stack, p.lists
	if ok = ok && p.peek() == 0; !ok {
		n.fail("cannot be read: the list of its parameters is broken, or longer than %d", maxValues)
	}
	return n
}

// complex takes ( NAME(…) NAME(…) ).
func (p *parser) complex() (out []value, ok bool) {
	for p.take('('); p.peek() != ')'; {
		v := value{sort: typed, text: p.keyword()}
		if v.list, ok = p.values(1); !ok {
			return nil, false
		}
		out = append(out, v)
	}
	return out, p.take(')')
}

func (n node) word() string { return n.f.words[n.in.word] }

func (n node) is(names ...string) bool { return n.in != nil && slices.Contains(names, n.word()) }

// fail notes an error, of those beyond the tenth none.
func (n node) fail(format string, args ...any) {
	if len(n.f.errs) < 10 {
		n.f.errs = append(n.f.errs, fault(int(n.in.line), "#%d %s %s", n.in.id, n.word(), fmt.Sprintf(format, args...)))
	}
}

// err gives the first of what was noted so far.
func (f *file) err() error {
	if len(f.errs) == 0 {
		return nil
	}
	return f.errs[0]
}

func (n node) arg(i int) value {
	if n.in == nil {
		return value{}
	}
	if i >= len(n.args) {
		n.fail("has %d parameters; more are expected", len(n.args))
		return value{}
	}
	return n.args[i]
}

// num gives a number; of a typed one that within.
func (n node) num(i int) float64 {
	v := n.arg(i)
	if v.sort == typed && len(v.list) == 1 {
		v = v.list[0]
	}
	if v.sort != number && n.in != nil {
		n.fail("has no number as parameter %d", i+1)
	}
	return v.num
}

func (n node) flag(i int) bool { return string(n.arg(i).text) == "T" }

func (n node) text(i int) string {
	if i < len(n.args) && n.args[i].sort == text {
		return decode(n.args[i].text)
	}
	return ""
}

// follow opens what a parameter refers to.
func (n node) follow(i int) node { return n.to(n.arg(i)) }

// may opens what a parameter refers to, if it is there at all.
func (n node) may(i int) node {
	if i >= len(n.args) || n.args[i].sort != ref {
		return node{f: n.f}
	}
	return n.to(n.args[i])
}

func (n node) to(v value) node {
	if n.in == nil {
		return n
	}
	if v.sort != ref {
		n.fail("refers to nothing where something is expected")
		return node{f: n.f}
	}
	in := n.f.find(v.id)
	if in == nil {
		n.fail("refers to #%d, which is not in the file", v.id)
		return node{f: n.f}
	}
	return n.f.open(in)
}

// each opens what a list refers to, one after the other. A node is good for its turn.
func (n node) each(i int) iter.Seq[node] {
	return func(yield func(node) bool) {
		for _, v := range n.arg(i).list {
			lists := n.f.lists
			more := yield(n.to(v))
			if n.f.release(lists); !more {
				return
			}
		}
	}
}

// part gives one of the names of a complex instance as a node, or the instance itself
// where it has the name.
func (n node) part(name string) (node, bool) {
	if n.is(name) {
		return n, true
	}
	if n.is(complexWord, splineWord) {
		for _, v := range n.args {
			if string(v.text) == name {
				return node{n.f, n.in, v.list}, true
			}
		}
	}
	return node{f: n.f}, false
}
