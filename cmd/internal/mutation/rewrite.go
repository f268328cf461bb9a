package mutation

import (
	"fmt"
	"go/ast"
	"go/constant"
	"go/parser"
	"go/token"
	"go/types"
	"hash/fnv"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// A fault is one small fault that can be put into the program.
type fault struct {
	id       int
	pkg      string // folder below the root, with slashes
	file     string // base name
	function string // function or variable it stands in
	kind     string
	line     int
	column   int
	before   string // the line as it stands, without indent
	after    string // the line with the fault
}

// key names a fault so that it is found again after lines have moved.
func (m *fault) key() [4]string {
	return [4]string{m.pkg + "/" + m.file, m.function, m.before, m.after}
}

// picked reports whether the fault is one in n.
func (m *fault) picked(n int) bool {
	h := fnv.New32a()
	for _, s := range m.key() {
		io.WriteString(h, s+"\x00")
	}
	return n <= 1 || h.Sum32()%uint32(n) == 0
}

// The kinds of fault.
const (
	kindArithmetic = "arithmetic"
	kindBoundary   = "boundary"
	kindCondition  = "condition"
	kindLogic      = "and/or"
	kindConstant   = "constant"
	kindDeleted    = "deleted statement"
	kindMinMax     = "min/max"
)

// source is one file of a package.
type source struct {
	name string // base name
	text []byte
	tree *ast.File
}

// rewriter makes the text of files in which every fault is a choice.
type rewriter struct {
	fset    *token.FileSet
	info    *types.Info
	pkg     *types.Package
	folder  string
	next    int
	mutants []*fault
	dropped map[[2]int]bool // faults, by offset and ordinal there, that did not compile
	file    *source
	base    int // position of the file's first byte
	where   string
	blocks  map[ast.Stmt]bool // statements of a block, which can be left out
	fixed   map[ast.Expr]bool // expressions that must stay constant or are of no effect
	guards  map[ast.Expr]bool // conditions of an if that only returns
	count   map[int]int       // faults made at an offset
	names   map[string]string // import path to its name in the file
	made    map[int][2]int    // fault to what dropped names it by
}

func (r *rewriter) offset(p token.Pos) int { return int(p) - r.base }

// add registers a fault: what stands between two positions replaced by other
// text. It returns false where the fault is known not to compile.
func (r *rewriter) add(kind string, from, to token.Pos, other string) (string, bool) {
	at := r.offset(from)
	r.count[at]++
	mark := [2]int{at, r.count[at]}
	if r.dropped[mark] {
		return "", false
	}
	r.next++
	r.made[r.next] = mark
	text := r.file.text
	start, end := r.offset(from), r.offset(to)
	first := strings.LastIndexByte(string(text[:start]), '\n') + 1
	last := end
	for last < len(text) && text[last] != '\n' {
		last++
	}
	oneLine := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	pos := r.fset.Position(from)
	r.mutants = append(r.mutants, &fault{
		id: r.next, pkg: r.folder, file: r.file.name, function: r.where, kind: kind,
		line: pos.Line, column: pos.Column,
		before: oneLine(string(text[first:last])),
		after:  oneLine(string(text[first:start]) + other + string(text[end:last])),
	})
	return strconv.Itoa(r.next), true
}

// whole rewrites a file.
func (r *rewriter) whole(s *source) string {
	r.file, r.base = s, r.fset.File(s.tree.FileStart).Base()
	r.count = map[int]int{}
	r.names = map[string]string{}
	for _, im := range s.tree.Imports {
		path, _ := strconv.Unquote(im.Path.Value)
		if im.Name != nil {
			r.names[path] = im.Name.Name
		}
	}
	for _, p := range r.pkg.Imports() {
		if r.names[p.Path()] == "" && imports(s.tree, p.Path()) {
			r.names[p.Path()] = p.Name()
		}
	}
	r.prepare(s.tree)
	before := r.next
	var out strings.Builder
	at := 0
	for _, d := range s.tree.Decls {
		g, isGen := d.(*ast.GenDecl)
		if isGen && g.Tok != token.VAR {
			continue
		}
		start, end := r.offset(d.Pos()), r.offset(d.End())
		out.Write(s.text[at:start])
		if isGen {
			for _, spec := range g.Specs {
				out.Write(s.text[start:r.offset(spec.Pos())])
				r.where = spec.(*ast.ValueSpec).Names[0].Name
				out.WriteString(r.src(spec))
				start = r.offset(spec.End())
			}
			out.Write(s.text[start:end])
		} else {
			f := d.(*ast.FuncDecl)
			r.where = f.Name.Name
			if f.Recv != nil {
				t := f.Recv.List[0].Type
				if star, ok := t.(*ast.StarExpr); ok {
					t = star.X
				}
				r.where = string(s.text[r.offset(t.Pos()):r.offset(t.End())]) + "." + r.where
			}
			if f.Body == nil {
				out.Write(s.text[start:end])
			} else {
				out.Write(s.text[start:r.offset(f.Body.Pos())])
				out.WriteString(r.src(f.Body))
			}
		}
		at = end
	}
	out.Write(s.text[at:])
	if r.next == before {
		return string(s.text)
	}
	name := r.offset(s.tree.Name.End())
	text := out.String()
	return text[:name] + "; import mutant \"" + runtimePath + "\"" + text[name:]
}

func imports(f *ast.File, path string) bool {
	return slices.ContainsFunc(f.Imports, func(s *ast.ImportSpec) bool { return s.Path.Value == strconv.Quote(path) })
}

// prepare finds which statements can be left out and which expressions must
// stay.
func (r *rewriter) prepare(f *ast.File) {
	r.blocks, r.fixed, r.guards = map[ast.Stmt]bool{}, map[ast.Expr]bool{}, map[ast.Expr]bool{}
	list := func(l []ast.Stmt) {
		for _, s := range l {
			r.blocks[s] = true
		}
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BlockStmt:
			list(n.List)
		case *ast.CaseClause:
			list(n.Body)
		case *ast.CommClause:
			list(n.Body)
		case *ast.ArrayType:
			if n.Len != nil {
				r.fixed[n.Len] = true
			}
		case *ast.CompositeLit:
			switch r.info.TypeOf(n).Underlying().(type) {
			case *types.Array, *types.Slice:
				for _, e := range n.Elts {
					if kv, ok := e.(*ast.KeyValueExpr); ok {
						r.fixed[kv.Key] = true
					}
				}
			}
		case *ast.CallExpr:
			// How much room is made ready changes nothing but speed.
			if id, ok := n.Fun.(*ast.Ident); ok && r.builtin(id, "make") {
				_, isMap := r.info.TypeOf(n.Args[0]).Underlying().(*types.Map)
				for i, a := range n.Args {
					if i == 2 || i == 1 && isMap {
						r.fixed[a] = true
					}
				}
			}
		case *ast.IfStmt:
			if len(n.Body.List) == 1 && n.Else == nil {
				if _, ok := n.Body.List[0].(*ast.ReturnStmt); ok {
					r.guards[n.Cond] = true
				}
			}
		}
		return true
	})
}

func (r *rewriter) builtin(id *ast.Ident, name string) bool {
	b, ok := r.info.Uses[id].(*types.Builtin)
	return ok && b.Name() == name
}

// children is the text of a node with each child rewritten.
func (r *rewriter) children(n ast.Node) string {
	var out strings.Builder
	at := r.offset(n.Pos())
	end := r.offset(n.End())
	ast.Inspect(n, func(c ast.Node) bool {
		if c == n {
			return true
		}
		if c == nil {
			return false
		}
		if _, ok := c.(*ast.CommentGroup); ok {
			return false
		}
		start := r.offset(c.Pos())
		if start < at {
			return false
		}
		out.Write(r.file.text[at:start])
		out.WriteString(r.src(c))
		at = r.offset(c.End())
		return false
	})
	out.Write(r.file.text[at:end])
	return out.String()
}

// raw is the text of a node as it stands.
func (r *rewriter) raw(n ast.Node) string {
	return string(r.file.text[r.offset(n.Pos()):r.offset(n.End())])
}

// src is the text of a node with its faults.
func (r *rewriter) src(n ast.Node) string {
	if e, ok := n.(ast.Expr); ok {
		if r.fixed[e] {
			return r.raw(e)
		}
		return r.guard(e)
	}
	s, ok := n.(ast.Stmt)
	if !ok || !r.blocks[s] {
		switch n := n.(type) {
		case *ast.Field, *ast.FieldList:
			return r.raw(n)
		case *ast.GenDecl:
			if n.Tok != token.VAR {
				return r.raw(n)
			}
		}
		return r.children(n)
	}
	return r.stmt(s)
}

// guard rewrites an expression, and where it is the condition of an if that
// only returns, adds the fault of leaving that out.
func (r *rewriter) guard(e ast.Expr) string {
	text := r.expr(e)
	if !r.guards[e] {
		return text
	}
	if id, ok := r.add(kindDeleted, e.Pos(), e.End(), "false"); ok {
		return "(" + text + ") && !mutant.Is(" + id + ")"
	}
	return text
}

// stmt rewrites a statement that can be left out.
func (r *rewriter) stmt(s ast.Stmt) string {
	text := r.children(s)
	var other string // with another operator
	switch s := s.(type) {
	case *ast.AssignStmt:
		if s.Tok == token.DEFINE || len(s.Lhs) == 1 && r.raw(s.Lhs[0]) == "_" {
			return text
		}
		swap := map[token.Token]string{
			token.ADD_ASSIGN: "-=", token.SUB_ASSIGN: "+=", token.MUL_ASSIGN: "/=", token.QUO_ASSIGN: "*=",
			token.OR_ASSIGN: "&=", token.AND_ASSIGN: "|=", token.SHL_ASSIGN: ">>=", token.SHR_ASSIGN: "<<=",
		}[s.Tok]
		if swap != "" && !isString(r.info.TypeOf(s.Lhs[0])) {
			if id, ok := r.add(kindArithmetic, s.TokPos, s.TokPos+token.Pos(len(s.Tok.String())), swap); ok {
				other = "if mutant.Is(" + id + ") { " + r.raw(s.Lhs[0]) + " " + swap + " " + r.raw(s.Rhs[0]) + " } else "
			}
		}
	case *ast.IncDecStmt:
		swap := map[token.Token]string{token.INC: "--", token.DEC: "++"}[s.Tok]
		if id, ok := r.add(kindArithmetic, s.TokPos, s.TokPos+2, swap); ok {
			other = "if mutant.Is(" + id + ") { " + r.raw(s.X) + swap + " } else "
		}
	case *ast.ExprStmt:
		call, ok := s.X.(*ast.CallExpr)
		if !ok {
			return text
		}
		if id, ok := call.Fun.(*ast.Ident); ok && r.builtin(id, "panic") {
			return text
		}
	case *ast.BranchStmt:
		if s.Tok == token.GOTO || s.Tok == token.FALLTHROUGH {
			return text
		}
	default:
		return text
	}
	if id, ok := r.add(kindDeleted, s.Pos(), s.End(), ""); ok {
		return other + "if !mutant.Is(" + id + ") { " + text + " }"
	}
	if other != "" {
		return other + "{ " + text + " }"
	}
	return text
}

// expr rewrites an expression.
func (r *rewriter) expr(e ast.Expr) string {
	tv := r.info.Types[e]
	if tv.IsType() {
		return r.raw(e)
	}
	if tv.Value != nil {
		return r.constant(e, tv)
	}
	switch e := e.(type) {
	case *ast.SelectorExpr:
		if _, ok := e.X.(*ast.Ident); ok {
			return r.raw(e)
		}
		return r.src(e.X) + string(r.file.text[r.offset(e.X.End()):r.offset(e.End())])
	case *ast.KeyValueExpr:
		if id, ok := e.Key.(*ast.Ident); ok {
			if v, ok := r.info.Uses[id].(*types.Var); ok && v.IsField() {
				return r.raw(e.Key) + string(r.file.text[r.offset(e.Key.End()):r.offset(e.Value.Pos())]) + r.src(e.Value)
			}
		}
	case *ast.UnaryExpr:
		switch e.Op {
		case token.SUB:
			if id, ok := r.add(kindArithmetic, e.OpPos, e.OpPos+1, ""); ok {
				return "mutant.Neg(" + id + ", " + r.src(e.X) + ")"
			}
		case token.NOT:
			if id, ok := r.add(kindCondition, e.OpPos, e.OpPos+1, ""); ok {
				return "((!" + r.src(e.X) + ") != mutant.Is(" + id + "))"
			}
		}
	case *ast.BinaryExpr:
		return r.binary(e)
	case *ast.CallExpr:
		return r.call(e)
	}
	return r.children(e)
}

// breaks is the line breaks between two operands.
func (r *rewriter) breaks(e *ast.BinaryExpr) string {
	return strings.Repeat("\n", strings.Count(string(r.file.text[r.offset(e.X.End()):r.offset(e.Y.Pos())]), "\n"))
}

func (r *rewriter) binary(e *ast.BinaryExpr) string {
	op, end := e.OpPos, e.OpPos+token.Pos(len(e.Op.String()))
	plain := func() string {
		return r.src(e.X) + string(r.file.text[r.offset(e.X.End()):r.offset(e.Y.Pos())]) + r.src(e.Y)
	}
	call := func(name, ids string) string {
		return "mutant." + name + "(" + ids + ", " + r.src(e.X) + "," + r.breaks(e) + " " + r.src(e.Y) + ")"
	}
	switch e.Op {
	case token.EQL, token.NEQ:
		other := map[token.Token]string{token.EQL: "!=", token.NEQ: "=="}[e.Op]
		if id, ok := r.add(kindCondition, op, end, other); ok {
			return "((" + plain() + ") != mutant.Is(" + id + "))"
		}
	case token.LAND, token.LOR:
		other := map[token.Token]string{token.LAND: "||", token.LOR: "&&"}[e.Op]
		if id, ok := r.add(kindLogic, op, end, other); ok {
			// By De Morgan, so that the right side is still only evaluated
			// when it decides.
			is := ") != mutant.Is(" + id + "))"
			return "((((" + r.src(e.X) + is + " " + e.Op.String() + r.breaks(e) + " ((" + r.src(e.Y) + is + is
		}
	case token.LSS, token.LEQ, token.GTR, token.GEQ:
		name := map[token.Token]string{token.LSS: "Less", token.LEQ: "LessEqual", token.GTR: "Greater", token.GEQ: "GreaterEqual"}[e.Op]
		near := map[token.Token]string{token.LSS: "<=", token.LEQ: "<", token.GTR: ">=", token.GEQ: ">"}[e.Op]
		contrary := map[token.Token]string{token.LSS: ">=", token.LEQ: ">", token.GTR: "<=", token.GEQ: "<"}[e.Op]
		if id, ok := r.add(kindBoundary, op, end, near); ok {
			second, _ := r.add(kindCondition, op, end, contrary)
			return call(name, id+", "+second)
		}
	case token.ADD, token.SUB, token.MUL, token.QUO, token.REM, token.AND, token.OR, token.SHL, token.SHR:
		if isString(r.info.TypeOf(e)) {
			break
		}
		name := map[token.Token]string{
			token.ADD: "Add", token.SUB: "Sub", token.MUL: "Mul", token.QUO: "Div", token.REM: "Rem",
			token.AND: "And", token.OR: "Or", token.SHL: "Shl", token.SHR: "Shr",
		}[e.Op]
		if id, ok := r.add(kindArithmetic, op, end, swapped[e.Op]); ok {
			return call(name, id)
		}
	}
	return plain()
}

var swapped = map[token.Token]string{
	token.ADD: "-", token.SUB: "+", token.MUL: "/", token.QUO: "*", token.REM: "*",
	token.AND: "|", token.OR: "&", token.SHL: ">>", token.SHR: "<<",
}

// call rewrites a call; that of a minimum or maximum may become the other.
func (r *rewriter) call(e *ast.CallExpr) string {
	name, other := "", ""
	switch f := e.Fun.(type) {
	case *ast.Ident:
		switch {
		case r.builtin(f, "min"):
			name, other = "Min", "max"
		case r.builtin(f, "max"):
			name, other = "Max", "min"
		}
	case *ast.SelectorExpr:
		switch r.raw(f) {
		case "math.Min":
			other = "math.Max"
		case "math.Max":
			other = "math.Min"
		}
	}
	if other != "" && len(e.Args) == 2 {
		if id, ok := r.add(kindMinMax, e.Fun.Pos(), e.Fun.End(), other); ok {
			args := r.children(e)[len(r.raw(e.Fun)):]
			if name == "" {
				return "mutant.Const(" + id + ", " + r.raw(e.Fun) + ", " + other + ")" + args
			}
			return "mutant." + name + "(" + id + ", " + strings.TrimPrefix(args, "(")
		}
	}
	return r.children(e)
}

// constant rewrites an expression whose value is known.
func (r *rewriter) constant(e ast.Expr, tv types.TypeAndValue) string {
	t := types.Default(tv.Type)
	basic, ok := t.Underlying().(*types.Basic)
	if !ok {
		return r.raw(e)
	}
	outside := false
	name := types.TypeString(t, func(p *types.Package) string {
		if p == r.pkg {
			return ""
		}
		if r.names[p.Path()] == "" {
			outside = true
		}
		return r.names[p.Path()]
	})
	if outside {
		return r.raw(e)
	}
	text := r.raw(e)
	// First the operators inside of it, each giving another constant.
	if basic.Info()&types.IsNumeric != 0 {
		ast.Inspect(e, func(n ast.Node) bool {
			b, ok := n.(*ast.BinaryExpr)
			if !ok || swapped[b.Op] == "" {
				return true
			}
			end := b.OpPos + token.Pos(len(b.Op.String()))
			id, ok := r.add(kindArithmetic, b.OpPos, end, swapped[b.Op])
			if !ok {
				return true
			}
			other := string(r.file.text[r.offset(e.Pos()):r.offset(b.OpPos)]) + swapped[b.Op] + string(r.file.text[r.offset(end):r.offset(e.End())])
			text = "mutant.Const[" + name + "](" + id + ", " + text + ", " + other + ")"
			return true
		})
	}
	switch info := basic.Info(); {
	case info&types.IsBoolean != 0:
		if id, ok := r.add(kindConstant, e.Pos(), e.End(), "!"+r.raw(e)); ok {
			return "mutant.Const[" + name + "](" + id + ", " + text + ", !" + r.raw(e) + ")"
		}
	case info&types.IsInteger != 0:
		other := "(" + r.raw(e) + "+1)"
		if v, exact := constant.Int64Val(constant.ToInt(tv.Value)); exact && r.literal(e) {
			other = strconv.FormatInt(v+1, 10)
		}
		if id, ok := r.add(kindConstant, e.Pos(), e.End(), other); ok {
			return "mutant.Int[" + name + "](" + id + ", " + text + ")"
		}
	case info&types.IsFloat != 0:
		other := "(2*" + r.raw(e) + ")"
		if constant.Sign(tv.Value) == 0 {
			other = "1"
		}
		if id, ok := r.add(kindConstant, e.Pos(), e.End(), other); ok {
			return "mutant.Float[" + name + "](" + id + ", " + text + ")"
		}
	}
	return text
}

func (r *rewriter) literal(e ast.Expr) bool {
	_, ok := e.(*ast.BasicLit)
	return ok
}

func isString(t types.Type) bool {
	b, ok := t.Underlying().(*types.Basic)
	return ok && b.Info()&types.IsString != 0
}

// rewritePackage reads the sources of a package and gives their rewritten text
// by path, with the faults numbered behind after. A fault that does not compile
// is left out.
func rewritePackage(root, folder string, files []string, imp types.Importer, after int) (map[string]string, []*fault, error) {
	fset := token.NewFileSet()
	var sources []*source
	var trees []*ast.File
	for _, name := range files {
		path := filepath.Join(root, folder, name)
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, nil, err
		}
		tree, err := parser.ParseFile(fset, path, text, parser.ParseComments|parser.SkipObjectResolution)
		if err != nil {
			return nil, nil, err
		}
		sources = append(sources, &source{name: name, text: text, tree: tree})
		trees = append(trees, tree)
	}
	info := &types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{}}
	pkg, err := (&types.Config{Importer: imp}).Check(folder, fset, trees, info)
	if err != nil {
		return nil, nil, err
	}
	dropped := map[string]map[[2]int]bool{}
	for range 50 {
		r := &rewriter{fset: fset, info: info, pkg: pkg, folder: folder, next: after, made: map[int][2]int{}}
		out := map[string]string{}
		fileOf := map[int]string{}
		for _, s := range sources {
			r.dropped = dropped[s.name]
			from := r.next
			out[filepath.Join(root, folder, s.name)] = r.whole(s)
			for id := from + 1; id <= r.next; id++ {
				fileOf[id] = s.name
			}
		}
		bad, err := faulty(out, imp)
		if err != nil {
			return nil, nil, err
		}
		if len(bad) == 0 {
			return out, r.mutants, nil
		}
		for _, id := range bad {
			name := fileOf[id]
			if dropped[name] == nil {
				dropped[name] = map[[2]int]bool{}
			}
			dropped[name][r.made[id]] = true
		}
	}
	return nil, nil, fmt.Errorf("%s: the rewritten package does not compile", folder)
}

// faulty type-checks rewritten files and lists the faults around what does not
// compile.
func faulty(files map[string]string, imp types.Importer) ([]int, error) {
	fset := token.NewFileSet()
	var trees []*ast.File
	for _, path := range sortedKeys(files) {
		tree, err := parser.ParseFile(fset, path, files[path], parser.SkipObjectResolution)
		if err != nil {
			return nil, err
		}
		trees = append(trees, tree)
	}
	var bad []int
	var lost error
	conf := types.Config{Importer: imp, Error: func(err error) {
		id := around(trees, err.(types.Error).Pos)
		if id == 0 {
			lost = err
			return
		}
		bad = append(bad, id)
	}}
	conf.Check("p", fset, trees, nil)
	if len(bad) == 0 && lost != nil {
		return nil, lost
	}
	return bad, nil
}

// around is the innermost fault around a position, or 0.
func around(trees []*ast.File, pos token.Pos) int {
	id := 0
	for _, t := range trees {
		ast.Inspect(t, func(n ast.Node) bool {
			if n == nil || pos < n.Pos() || pos >= n.End() {
				return false
			}
			if own := faultOf(n); own != 0 {
				id = own
			}
			return true
		})
	}
	return id
}

// faultOf is the fault that a node of a rewritten file was made for, or 0.
func faultOf(n ast.Node) int {
	switch n := n.(type) {
	case *ast.CallExpr:
		f := n.Fun
		if ix, ok := f.(*ast.IndexExpr); ok {
			f = ix.X
		}
		if s, ok := f.(*ast.SelectorExpr); ok && len(n.Args) > 0 {
			if x, ok := s.X.(*ast.Ident); ok && x.Name == "mutant" {
				if lit, ok := n.Args[0].(*ast.BasicLit); ok {
					id, _ := strconv.Atoi(lit.Value)
					return id
				}
			}
		}
	case *ast.BinaryExpr:
		if n.Op == token.NEQ || n.Op == token.LAND {
			return faultOf(n.Y)
		}
	case *ast.UnaryExpr:
		return faultOf(n.X)
	case *ast.IfStmt:
		return faultOf(n.Cond)
	}
	return 0
}
