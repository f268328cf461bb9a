// Package formula parses a formula as the calculation graph writes it, and writes it as
// text and as HTML, with the numbers of an axis in place of its symbols where they are
// requested.
package formula

import (
	"html"
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A Node is a piece of a parsed formula. A formula has cases where it is
//
//	value if condition; value if condition; value
//
// and the first case counts whose condition holds. A condition compares values
// (a < b ≤ c), looks at a word (drive_end is fixed, ends is fixed-free, phase is
// not rest, drive_at is start/bottom for either) or at whether a value is given
// (s_a is given), and joins those by and, and these by or. Parts that come up
// several times may have names of their own, with or without arguments:
//
//	max(f(a), f(b)) where f(x) = x·c + d, c = a/b
type Node struct {
	op   string // "num", "unit", "sym", "+", "−", "·", "/", "^", "√", "Σ", "()", "[]", "||", "call", "neg", "=", "cases", "if", "or", "and", "compare", "is", "is not", "where", "def"
	text string // of num, unit, sym and the name of a call; the signs of a comparison, the words of an is
	kids []*Node
}

// Parse parses a formula as written in the calculation graph. A formula
// that is prose in part gives nil.
func Parse(s string) *Node {
	body, rest, named := strings.Cut(s, " where ")
	if !named {
		return parsePart(s, nil)
	}
	list, calls := pieces(rest), map[string]bool{}
	for _, d := range list {
		head, _, _ := strings.Cut(d, " = ")
		if name, _, ok := strings.Cut(head, "("); ok {
			calls[strings.TrimSpace(name)] = true
		}
	}
	n := &Node{op: "where", kids: []*Node{parsePart(body, calls)}}
	for _, d := range list {
		n.kids = append(n.kids, definition(d, calls))
	}
	if slices.Contains(n.kids, nil) {
		return nil
	}
	return n
}

// parsePart parses a formula without names of its own; calls are those around it
// that take arguments.
func parsePart(s string, calls map[string]bool) *Node {
	p := &parser{src: s, calls: calls}
	p.next()
	n := p.cases()
	if n == nil || p.bad || p.tok != "" {
		return nil
	}
	return n
}

// definition parses what a name of a formula's own stands for.
func definition(s string, calls map[string]bool) *Node {
	left, right, _ := strings.Cut(s, " = ")
	head, body := parsePart(left, calls), parsePart(right, calls)
	if head == nil || body == nil || !(head.op == "sym" || head.op == "call" && !functions[head.text]) {
		return nil
	}
	for _, arg := range head.kids {
		if arg.op != "sym" {
			return nil
		}
	}
	return &Node{op: "def", kids: []*Node{head, body}}
}

// pieces cuts a text at its commas outside of brackets.
func pieces(s string) []string {
	var out []string
	deep, from := 0, 0
	for i, r := range s {
		switch {
		case r == '(' || r == '[':
			deep++
		case r == ')' || r == ']':
			deep--
		case r == ',' && deep == 0:
			out = append(out, s[from:i])
			from = i + 1
		}
	}
	return append(out, s[from:])
}

type parser struct {
	src   string
	calls map[string]bool // names of the formula's own that take arguments
	tok   string
	kind  byte // 'i' identifier, 'n' number, 'o' operator, 's' superscript
	words bool // in a condition, where whole words may stand
	bad   bool
}

const superscripts = "⁰¹²³⁴⁵⁶⁷⁸⁹⁻"

// functions of formulas; other words of three letters and more are prose, but for
// those in names. run(x) adds x up from the first move to the one at hand,
// before(x) is x of the last move before it that has a distance, the cycle going on, and
// quantile(S) is how many standard deviations above the mean of a normal
// distribution a share S lies below. The last four look into a table: deviation and
// variation over a travel and spread over 300 mm of an accuracy grade, and HV of a
// Rockwell hardness.
var (
	functions = map[string]bool{
		"min": true, "max": true, "arctan": true, "sin": true, "cos": true, "tan": true, "run": true, "before": true, "quantile": true,
		"deviation": true, "variation": true, "spread": true, "HV": true,
	}
	names = map[string]bool{"HRC": true, "grade": true, "rpm": true, "MPa": true}
)

// units may stand behind a number.
var units = map[string]bool{"mm": true, "µm": true, "rpm": true, "°": true, "%": true, "N": true, "ms": true, "MPa": true}

func (p *parser) next() {
	p.src = strings.TrimLeft(p.src, " ")
	if p.src == "" {
		p.tok, p.kind = "", 0
		return
	}
	r, n := utf8.DecodeRuneInString(p.src)
	take := func(kind byte, ok func(rune) bool) {
		i := 0
		for i < len(p.src) {
			r, n := utf8.DecodeRuneInString(p.src[i:])
			if !ok(r) {
				break
			}
			i += n
		}
		p.tok, p.kind, p.src = p.src[:i], kind, p.src[i:]
	}
	switch {
	case strings.ContainsRune(superscripts, r):
		take('s', func(r rune) bool { return strings.ContainsRune(superscripts, r) })
	case isDigit(r):
		take('n', func(r rune) bool { return isDigit(r) || r == '.' })
		if _, after, point := strings.Cut(p.tok, "."); point && (after == "" || strings.Contains(after, ".")) {
			p.bad = true
		}
	case unicode.IsLetter(r) && r != 'Σ' || r == 'Δ':
		take('i', func(r rune) bool {
			return unicode.IsLetter(r) || r == '_' || isDigit(r) || r == '′' || r == '-' && p.words
		})
		if prose(p.tok) && !p.words {
			p.bad = true
		}
	default:
		p.tok, p.kind, p.src = p.src[:n], 'o', p.src[n:]
	}
}

// prose reports a word of three letters and more that no formula knows.
func prose(word string) bool {
	letters := 0
	for _, r := range strings.SplitN(word, "_", 2)[0] {
		if unicode.IsLetter(r) {
			letters++
		}
	}
	return letters >= 3 && !functions[word] && !names[word]
}

// joins are the words between the parts of cases and conditions.
var joins = map[string]bool{"if": true, "is": true, "or": true, "and": true}

func isDigit(r rune) bool { return '0' <= r && r <= '9' }

// cases parses one value, or several each with its condition.
func (p *parser) cases() *Node {
	var list []*Node
	for {
		n := p.relation()
		if p.tok == "if" && p.kind == 'i' {
			p.words = true
			p.next()
			n = &Node{op: "if", kids: []*Node{n, p.joined("or")}}
			p.words = false
		}
		list = append(list, n)
		if p.bad || p.tok != ";" {
			break
		}
		if n.op != "if" { // behind a case without condition none can count
			p.bad = true
		}
		p.next()
	}
	if n := list[0]; len(list) == 1 && (n == nil || n.op != "if") {
		return n
	}
	return &Node{op: "cases", kids: list}
}

// joined parses conditions joined by or, or within those by and.
func (p *parser) joined(by string) *Node {
	one := func() *Node {
		if by == "or" {
			return p.joined("and")
		}
		return p.condition()
	}
	n := one()
	for !p.bad && p.tok == by {
		p.next()
		n = &Node{op: by, kids: []*Node{n, one()}}
	}
	return n
}

func (p *parser) condition() *Node {
	n := p.sum()
	if !p.bad && p.tok == "is" && n.op == "sym" {
		return p.is(n)
	}
	c := &Node{op: "compare", kids: []*Node{n}}
	for !p.bad && (p.tok == "<" || p.tok == "≤" || p.tok == ">" || p.tok == "≥" || p.tok == "=") {
		c.text += p.tok
		p.next()
		c.kids = append(c.kids, p.sum())
	}
	if c.text == "" {
		p.bad = true
	}
	return c
}

// is parses the words that a choice may be.
func (p *parser) is(of *Node) *Node {
	n := &Node{op: "is", kids: []*Node{of}}
	p.next()
	if p.tok == "not" {
		n.op = "is not"
		p.next()
	}
	for !p.bad {
		if p.kind != 'i' {
			p.bad = true
			break
		}
		n.text += p.tok
		p.next()
		if p.tok != "/" {
			break
		}
		n.text += "/"
		p.next()
	}
	return n
}

func (p *parser) relation() *Node {
	n := p.sum()
	for p.tok == "=" {
		p.next()
		n = &Node{op: "=", kids: []*Node{n, p.sum()}}
	}
	return n
}

func (p *parser) sum() *Node {
	var n *Node
	if p.tok == "−" {
		p.next()
		n = &Node{op: "neg", kids: []*Node{p.product()}}
	} else {
		n = p.product()
	}
	for p.tok == "+" || p.tok == "−" {
		op := p.tok
		p.next()
		n = &Node{op: op, kids: []*Node{n, p.product()}}
	}
	return n
}

func (p *parser) product() *Node {
	n := p.power()
	for {
		switch {
		case p.tok == "·" || p.tok == "/":
			op := p.tok
			p.next()
			n = &Node{op: op, kids: []*Node{n, p.power()}}
		case p.kind == 'i' && !joins[p.tok] || p.kind == 'n' || p.tok == "(" || p.tok == "√": // side by side
			n = &Node{op: "·", kids: []*Node{n, p.power()}}
		default:
			return n
		}
		if p.bad {
			return n
		}
	}
}

func (p *parser) power() *Node {
	n := p.primary()
	for !p.bad {
		switch {
		case p.kind == 's':
			exp := ""
			for _, r := range p.tok {
				if r == '⁻' {
					exp += "−"
					continue
				}
				exp += string(rune('0' + digitOf(r)))
			}
			p.next()
			n = &Node{op: "^", kids: []*Node{n, {op: "num", text: exp}}}
		case p.tok == "^":
			p.next()
			n = &Node{op: "^", kids: []*Node{n, p.primary()}}
		default:
			return n
		}
	}
	return n
}

func digitOf(r rune) int {
	for i, s := range []rune("⁰¹²³⁴⁵⁶⁷⁸⁹") {
		if s == r {
			return i
		}
	}
	return 0
}

func (p *parser) primary() *Node {
	if p.bad {
		return nil
	}
	tok := p.tok
	switch {
	case p.kind == 'n':
		close := p.src != "" && p.src[0] != ' '
		p.next()
		n := &Node{op: "num", text: tok}
		if units[p.tok] {
			n = &Node{op: "unit", text: p.tok, kids: []*Node{n}}
			p.next()
			return n
		}
		if close && p.kind == 'i' && !functions[p.tok] { // 2π is one thing
			n = &Node{op: "2π", kids: []*Node{n, {op: "sym", text: p.tok}}}
			p.next()
		}
		return n
	case functions[tok] || p.calls[tok] && p.kind == 'i':
		p.next()
		n := &Node{op: "call", text: tok}
		if p.tok != "(" {
			p.bad = p.bad || p.calls[tok]
			n.kids = []*Node{p.power()}
			return n
		}
		n.kids = p.list(")")
		return n
	case p.kind == 'i' && !joins[tok]:
		p.next()
		if prose(tok) && p.tok != "is" { // a name of a choice, and no value
			p.bad = true
		}
		return &Node{op: "sym", text: tok}
	case tok == "(":
		kids := p.list(")")
		if len(kids) != 1 {
			p.bad = true
			return nil
		}
		return &Node{op: "()", kids: kids}
	case tok == "[":
		kids := p.list("]")
		if len(kids) != 1 {
			p.bad = true
			return nil
		}
		return &Node{op: "[]", kids: kids}
	case tok == "|":
		kids := p.list("|")
		if len(kids) != 1 {
			p.bad = true
			return nil
		}
		return &Node{op: "||", kids: kids}
	case tok == "√":
		p.next()
		n := p.power()
		if n != nil && n.op == "()" {
			n = n.kids[0]
		}
		return &Node{op: "√", kids: []*Node{n}}
	case tok == "Σ":
		p.next()
		n := p.power()
		for !p.bad && p.tok == "·" { // a sum reaches to the fraction bar
			p.next()
			n = &Node{op: "·", kids: []*Node{n, p.power()}}
		}
		return &Node{op: "Σ", kids: []*Node{n}}
	}
	p.bad = true
	return nil
}

// list parses a bracket's content; the opening bracket is the present token.
func (p *parser) list(end string) []*Node {
	p.next()
	var out []*Node
	for !p.bad {
		out = append(out, p.cases())
		if p.tok == "," {
			p.next()
			continue
		}
		if p.tok != end {
			p.bad = true
			return nil
		}
		p.next()
		return out
	}
	return nil
}

// Text writes a formula with values in place of its symbols; nil where it would
// say nothing new.
func (n *Node) Text(values map[string]string) string {
	if n.op == "=" { // of two forms of one formula the last one is put in
		return n.kids[1].Text(values)
	}
	var w writer
	n.write(&w, values)
	return w.String()
}

// HTML is Text for a page: indices stand low, powers high, and a value keeps to its unit. Those
// of the assumed symbols are set in a span of class assumed.
func (n *Node) HTML(values map[string]string, assumed map[string]bool) string {
	w := writer{html: true, assumed: assumed}
	n.Last().write(&w, values)
	return w.String()
}

// A writer writes a formula as text or as HTML.
type writer struct {
	strings.Builder
	html    bool
	assumed map[string]bool
}

// put writes text.
func (w *writer) put(s string) {
	if w.html {
		s = html.EscapeString(s)
	}
	w.WriteString(s)
}

// symbol writes a symbol, or its value.
func (w *writer) symbol(s string, values map[string]string) {
	v, ok := values[s]
	switch {
	case !ok && w.html:
		w.WriteString(SymbolHTML(s))
	case !ok:
		w.WriteString(s)
	case w.html && w.assumed[s]:
		w.WriteString(`<span class="assumed">` + html.EscapeString(strings.ReplaceAll(v, " ", "\u00a0")) + "</span>")
	case w.html:
		w.put(strings.ReplaceAll(v, " ", "\u00a0"))
	default:
		w.WriteString(v)
	}
}

// power writes an exponent: as raised digits where there are some, and else as HTML or
// behind ^.
func (w *writer) power(n *Node, values map[string]string) {
	switch {
	case n.op == "num" && !strings.Contains(n.text, "."): // there is no raised point
		w.WriteString(raise(n.text))
	case w.html:
		if n.op == "()" {
			n = n.kids[0]
		}
		w.WriteString("<sup>")
		n.write(w, values)
		w.WriteString("</sup>")
	default:
		w.WriteString("^")
		n.write(w, values)
	}
}

// Last is of two forms of one formula the last one, and any other formula as it is.
func (n *Node) Last() *Node {
	if n.op == "=" {
		return n.kids[1]
	}
	return n
}

// Symbols are the symbols in a formula, those that it names itself left out; of no formula
// there are none.
func (n *Node) Symbols() []string {
	if n == nil {
		return nil
	}
	var out []string
	switch n.op {
	case "sym":
		out = append(out, n.text)
	case "where":
		own := n.own()
		for _, k := range n.kids {
			out = append(out, k.Symbols()...)
		}
		return slices.DeleteFunc(out, func(s string) bool {
			return slices.ContainsFunc(own, func(o *Node) bool { return o.text == s })
		})
	}
	for _, k := range n.kids {
		out = append(out, k.Symbols()...)
	}
	return out
}

// Lines writes a formula, each of its own names on a line behind the first, from which
// "where" and "and" lead to the next.
func (n *Node) Lines(values map[string]string) []string {
	if n.op != "where" {
		return []string{n.Text(values)}
	}
	values = without(values, n.own())
	var out []string
	for i, k := range n.kids {
		out = append(out, []string{"", "where ", "  and "}[min(i, 2)]+k.Text(values))
	}
	return out
}

func (n *Node) write(w *writer, values map[string]string) {
	kid := func(i int) { n.kids[i].write(w, values) }
	switch n.op {
	case "num":
		w.put(n.text)
	case "unit":
		kid(0)
		w.put(n.unit())
	case "cases":
		for i := range n.kids {
			if i > 0 {
				w.put("; ")
			}
			kid(i)
		}
	case "where":
		values = without(values, n.own())
		kid(0)
		for i := range n.kids[1:] {
			w.put([]string{" where ", ", "}[min(i, 1)])
			kid(i + 1)
		}
	case "def":
		n.kids[0].write(w, nil)
		w.put(" = ")
		n.kids[1].write(w, without(values, n.kids[0].kids))
	case "if", "or", "and":
		kid(0)
		w.put(" " + n.op + " ")
		kid(1)
	case "is", "is not":
		n.kids[0].write(w, nil) // the word belongs to the name
		w.put(" " + n.op + " " + n.text)
	case "compare":
		for i, sign := range []rune(n.text) {
			if i == 0 {
				kid(0)
			}
			w.put(" " + string(sign) + " ")
			kid(i + 1)
		}
	case "sym":
		w.symbol(n.text, values)
	case "neg":
		w.put("−")
		kid(0)
	case "+", "−", "=":
		kid(0)
		w.put(" " + n.op + " ")
		kid(1)
	case "2π":
		kid(0)
		kid(1)
	case "·", "/":
		if n.numeric() {
			kid(0)
			w.put(n.op)
			kid(1)
			return
		}
		kid(0)
		w.put(map[string]string{"·": " · ", "/": " / "}[n.op])
		kid(1)
	case "^":
		// A value with its unit needs brackets under a power.
		if n.kids[0].op == "sym" && strings.Contains(values[n.kids[0].text], " ") {
			w.put("(")
			kid(0)
			w.put(")")
		} else {
			kid(0)
		}
		w.power(n.kids[1], values)
	case "√":
		w.put("√(")
		kid(0)
		w.put(")")
	case "Σ":
		w.put("Σ ")
		kid(0)
	case "()", "[]", "||":
		r := []rune(n.op)
		w.WriteRune(r[0])
		kid(0)
		w.WriteRune(r[1])
	case "call":
		w.put(n.text + "(")
		for i := range n.kids {
			if i > 0 {
				w.put(", ")
			}
			kid(i)
		}
		w.put(")")
	}
}

// own are the names that a formula with where gives.
func (n *Node) own() []*Node {
	var out []*Node
	for _, def := range n.kids[1:] {
		out = append(out, def.kids[0])
	}
	return out
}

// without are the values but for those of the symbols that mean something else
// in a formula.
func without(values map[string]string, own []*Node) map[string]string {
	if values == nil || len(own) == 0 {
		return values
	}
	out := maps.Clone(values)
	for _, n := range own {
		delete(out, n.text)
	}
	return out
}

// unit is the unit behind a number, with its space.
func (n *Node) unit() string {
	if n.text == "°" {
		return n.text
	}
	return " " + n.text
}

// numeric reports a plain fraction such as 1/3, which is written without room.
func (n *Node) numeric() bool {
	return n.op == "/" && n.kids[1].op == "num" && (n.kids[0].op == "num" || n.kids[0].op == "neg" && n.kids[0].kids[0].op == "num")
}

func raise(s string) string {
	var b strings.Builder
	for _, r := range s {
		if r == '−' {
			b.WriteRune('⁻')
			continue
		}
		b.WriteRune([]rune("⁰¹²³⁴⁵⁶⁷⁸⁹")[r-'0'])
	}
	return b.String()
}

// SymbolHTML writes a symbol for running text.
func SymbolHTML(s string) string {
	base, index, ok := strings.Cut(s, "_")
	if !ok {
		return "<i>" + html.EscapeString(s) + "</i>"
	}
	return "<i>" + html.EscapeString(base) + "</i><sub>" + html.EscapeString(index) + "</sub>"
}
