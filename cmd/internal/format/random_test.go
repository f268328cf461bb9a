package format

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"trammel/spec/amount"
)

var texts = flag.Int("texts", 200, "how many random texts are laid out")

// TestLongRandom tidies random texts that nearly all parse, which mutated bytes
// seldom do.
func TestLongRandom(t *testing.T) {
	amount.Long(t)
	parsed := 0
	for seed := range uint64(*texts) {
		w := &writer{r: rand.New(rand.NewPCG(seed, 1)), eol: "\n"}
		if w.r.IntN(4) == 0 {
			w.eol = "\r\n"
		}
		w.body(0)
		src := []byte(w.b.String())
		if _, problems := Tidy("x.axis.hcl", src); len(problems) == 0 {
			parsed++
		}
		hold(t, src)
		if t.Failed() {
			t.Fatalf("seed %d:\n%s", seed, src)
		}
	}
	if parsed < *texts*3/4 {
		t.Errorf("only %d of %d texts parse", parsed, *texts)
	}
}

type writer struct {
	b     strings.Builder
	r     *rand.Rand
	eol   string
	names int
}

func (w *writer) one(of ...string) string { return of[w.r.IntN(len(of))] }

// gap writes spaces, and now and then a comment.
func (w *writer) gap() string {
	if w.r.IntN(12) == 0 {
		return w.one(" /* c */ ", "/*c*/", "/* c"+w.eol+"  c */ ")
	}
	return w.one("", "", " ", " ", "   ", "\t", " \t ")
}

// line ends a line, and now and then adds blank ones and comments.
func (w *writer) line() string {
	s := w.gap() + w.one("", "", "", "# c", "// c  ", "#", "# \U0001F469\u200D\U0001F467 é") + w.eol
	for w.r.IntN(3) == 0 {
		s += w.gap() + w.one("", "", "# own", "//own \t") + w.eol
	}
	return s
}

func (w *writer) body(depth int) {
	if w.r.IntN(3) == 0 {
		w.b.WriteString(w.line())
	}
	for range w.r.IntN(5) {
		if depth == 0 && w.r.IntN(8) == 0 {
			w.series()
			continue
		}
		if depth < 3 && (depth == 0 || w.r.IntN(3) == 0) {
			w.block(depth)
			continue
		}
		w.names++
		name := w.one("mass", "drag", "friction", "description", "orientation", "reason", "part", "that", "stroke", "distance", "lead")
		if w.r.IntN(3) > 0 {
			name = fmt.Sprint(w.one("x", "länge", "a-b"), w.names)
		}
		w.b.WriteString(w.gap() + name + w.gap() + "=" + w.gap())
		if w.r.IntN(6) == 0 {
			w.heredoc()
		} else {
			w.b.WriteString(w.expr(0))
			w.b.WriteString(w.line())
		}
	}
}

func (w *writer) block(depth int) {
	kinds := []string{"axis \"a\"", "axis \"b\"", "given", "machine \"m\"", "screw \"s\"", "environment \"p\"", "rule \"life\"", "require \"r\"", "waive \"w\"", "what"}
	if depth > 0 {
		kinds = []string{"load", "motion", "move \"up\"", "move \"down\"", "screw", "nut", "duty", "waive \"w\""}
	}
	w.b.WriteString(w.gap() + w.one(kinds...) + w.gap() + "{")
	if w.r.IntN(8) == 0 {
		if w.r.IntN(2) == 0 {
			w.b.WriteString(w.gap() + "one" + w.gap() + "=" + w.gap() + w.expr(2) + w.gap())
		}
	} else {
		w.b.WriteString(w.line())
		w.body(depth + 1)
		w.b.WriteString(w.gap())
	}
	w.b.WriteString("}" + w.line())
}

// series writes a table, most of whose rows have a line each.
func (w *writer) series() {
	columns := 1 + w.r.IntN(4)
	w.names++
	fmt.Fprintf(&w.b, "series \"s%d\" {%s", w.names, w.eol)
	w.b.WriteString(w.gap() + `of = "screw"` + w.line() + w.gap() + `columns = ["name", "lead", "starts", "hardness"]` + w.line())
	w.b.WriteString(w.gap() + "sizes =" + w.gap() + "[" + w.line())
	for range w.r.IntN(6) {
		w.b.WriteString(w.gap() + "[")
		for range columns - w.r.IntN(8)/7 {
			w.b.WriteString(w.gap() + w.one("1", "-2.5", "null", `""`, `"a"`, `"é"`, `"12 mm"`, "given.x", w.expr(2)) + w.gap() + ",")
		}
		w.b.WriteString(w.gap() + w.one("1", `"x"`, "null") + w.gap() + "]" + w.gap())
		w.b.WriteString(w.one(",", ",", ","+w.gap()+"[1],") + w.one(w.line(), w.line(), w.gap()))
	}
	w.b.WriteString("]" + w.line() + "}" + w.line())
}

func (w *writer) heredoc() {
	flush := w.one("", "-")
	w.b.WriteString("<<" + flush + "END" + w.eol)
	for range w.r.IntN(4) {
		w.b.WriteString(w.one("", "  text  ", "\ttext", "      # no comment", "  ${given.x} mm ", "${~ 1 + 2 ~}", "  ${"+w.eol+" 1 - 2"+w.eol+"}x", "= {", "}", "%{ if true }a%{ endif }") + w.eol)
	}
	if flush != "" {
		w.b.WriteString(w.one("", "  ", "\t"))
	}
	w.b.WriteString("END" + w.eol)
}

func (w *writer) expr(depth int) string {
	if depth > 2 {
		return w.one("1", "-1", "1.50e+3", "true", `"20  mm"`, `"vertical"`, "given.x", "screw.g", `screw["g"]`)
	}
	g, e := w.gap, func() string { return w.expr(depth + 1) }
	inner := func() string {
		if w.r.IntN(4) == 0 {
			return w.line()
		}
		return g()
	}
	switch w.r.IntN(12) {
	case 0:
		return "[" + inner() + e() + g() + "," + inner() + e() + inner() + "]"
	case 1:
		return "(" + inner() + e() + inner() + w.one("+", "-", "*", "/", "%", "==", "!=", "<", ">=", "&&", "||") + inner() + e() + inner() + ")"
	case 2:
		return w.one("max", "abs", "a::b") + "(" + inner() + e() + g() + "," + inner() + e() + inner() + ")"
	case 3:
		return `"` + w.one("", "a ") + "${" + w.one("", "~") + g() + w.one("", "-", "!", "- -") + e() + g() + "}" + w.one("", " mm", "${-1}") + `"`
	case 4:
		return "{" + inner() + "a" + g() + w.one("=", ":") + g() + e() + w.one(w.line(), g()+","+g()) + "b = 1" + inner() + "}"
	case 5:
		return e() + " ?" + g() + e() + " :" + g() + e()
	case 6:
		return w.one("-", "!") + g() + e()
	case 7:
		return "[for" + " x in [1]" + g() + ":" + g() + "x" + g() + "]"
	}
	return w.expr(3)
}
