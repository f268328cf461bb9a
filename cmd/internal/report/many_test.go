package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge/run"
	"trammel/spec"
	"trammel/spec/amount"
)

// Of many axes, and in a part of a split check, each has one line; what they say is the
// same, whether their texts lie in memory or in a file.
func TestManyAxes(t *testing.T) {
	at := spec.Place{File: "a/\u202eb.axis.hcl", Line: 1, Col: 1, EndLine: 1, EndCol: 2}
	var axes []*Axis
	for _, name := range []string{"b", "##[a]", "c"} {
		axes = append(axes, &Axis{Axis: name, Place: placeJSON(at), Moves: []string{}, Rules: []jsonRule{{Rule: "r", State: "passed", jsonCompared: jsonCompared{Value: 1.5}}}, sortKey: at})
		at.Line++
	}
	defer func(was int) { asideFrom = was }(asideFrom)
	write := func(n, aside int, s *Share) (string, map[string]any) {
		var b bytes.Buffer
		asideFrom = aside
		all := kept(axes[2], axes[0], axes[1])
		defer all.Close()
		if (all.aside.file != nil) != (aside == 1) {
			t.Fatal("nothing is put aside")
		}
		if aside == 1 && runtime.GOOS != "windows" {
			if _, err := os.Lstat(all.aside.file.Name()); err == nil {
				t.Error("the file has a name")
			}
		}
		if err := JSON(&b, &Run{Summary: &run.Summary{Axes: n}}, all, s); err != nil {
			t.Fatal(err)
		}
		var v map[string]any
		if err := json.Unmarshal(b.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		delete(v, "summary")
		delete(v, "share")
		return b.String(), v
	}
	few, content := write(ManyAxes, 1<<20, nil)
	for _, c := range []struct {
		n       int
		s       *Share
		oneLine bool
	}{{ManyAxes, nil, false}, {ManyAxes + 1, nil, true}, {2, &Share{}, true}} {
		held, a := write(c.n, 1<<20, c.s)
		aside, b := write(c.n, 1, c.s)
		if held != aside || !reflect.DeepEqual(a, content) || !reflect.DeepEqual(b, content) {
			t.Errorf("%d axes: in a file\n%s\nand in memory\n%s", c.n, aside, held)
		}
		if oneLine := strings.Contains(held, "\n    {\"axis\":\"b\""); oneLine != c.oneLine {
			t.Errorf("%d axes: %s", c.n, held)
		}
	}
	if strings.Contains(few, "##[") || strings.Contains(few, "\u202e") {
		t.Errorf("signs that hide or command: %s", few)
	}
}

// Where there is no room for the axes nothing is written, and it is said what to do.
func TestNoRoomForAxes(t *testing.T) {
	defer func(was int) { asideFrom = was }(asideFrom)
	asideFrom = 1
	for _, name := range []string{"TMPDIR", "TMP", "TEMP"} {
		t.Setenv(name, t.TempDir()+"/nothing")
	}
	var b bytes.Buffer
	all := kept(strange()...)
	defer all.Close()
	if err := JSON(&b, invented(), all, nil); err == nil || b.Len() > 0 || !strings.Contains(err.Error(), "TMPDIR") {
		t.Errorf("%v, and written was %q", err, b.String())
	}
}

// strange axes have texts and numbers that JSON writes in ways of its own.
func strange() (out []*Axis) {
	x := func(x float64) *float64 { return &x }
	at := &jsonPlace{File: "a b/ü.axis.hcl", Line: 1, Column: 2, EndLine: 3, EndColumn: 4, Byte: 5, EndByte: 6}
	for i, s := range []string{"", "a\"b\\c", "\x00\x1f\x7f\u0080\u2028\u202e\ufeff", "\xff\xc3", "<a href=\"&\">", "##[group]x ##vso[", "#", "°·²₁ \U0001f600e\u0301", "\t\r\n"} {
		a := &Axis{Axis: s, Machine: s, Place: at, Moves: []string{s, "x"}, Rules: []jsonRule{
			{Rule: s, State: "passed", Use: x(1e-7), Fit: true, jsonCompared: jsonCompared{Of: s, Value: "unlimited", Limit: math.Copysign(0, -1), Unit: s, Sense: s}, Why: s, Missing: []jsonMissing{{s, nil}, {s, at}}},
			{Rule: "r", State: "failed", jsonCompared: jsonCompared{Value: 1e21, Limit: 123456789.123}}}, sortKey: at.place()}
		if i%2 == 0 {
			a.Quantities = []jsonQuantity{{Name: s, Title: s, Unit: s, Value: s, Low: x(math.SmallestNonzeroFloat64), High: x(-math.MaxFloat64), Text: s, Texts: []string{"", s}, Origin: s, Place: at,
				Places: []*jsonPlace{nil, at}, Formula: s, Source: s, Needs: []string{s}, Symbol: s}, {Name: "screw.lead", Values: []any{nil, 1e-6, "unlimited", 0.1}}}
		}
		out = append(out, a)
	}
	return append(out, &Axis{}, &Axis{Quantities: []jsonQuantity{}, Rules: []jsonRule{}})
}

// library is the text of an axis as encoding/json writes it.
func library(t testing.TB, a *Axis) string {
	var b bytes.Buffer
	enc := json.NewEncoder(sanitize.JSON(&b))
	enc.SetEscapeHTML(false)
	if err := enc.Encode(a); err != nil {
		t.Fatal(err)
	}
	return strings.TrimSuffix(b.String(), "\n")
}

// The text of an axis is what the library makes of it; a line of it that is read again is
// the axis.
func TestAxisText(t *testing.T) {
	_, axes := checkedAll(t, "../../../fixtures/bakery", true)
	for i, a := range append(axes, strange()...) {
		text := string(a.text([]byte("x")))[1:]
		if want := library(t, a); text != want {
			t.Fatalf("%s\nwant\n%s", text, want)
		}
		k, ok := readLine([]byte(text))
		if i < len(axes) && !ok {
			t.Errorf("this line is not known again: %s", text)
		}
		if ok {
			holds(t, text, k)
		}
	}
}

// holds is what is true of each line that is taken as it is.
func holds(t testing.TB, text string, k keptAxis) {
	var a Axis
	if err := json.Unmarshal([]byte(text), &a); err != nil {
		t.Errorf("%v: %s", err, text)
		return
	}
	a.sortKey = a.Place.place()
	passed := 0
	for _, r := range a.Rules {
		if r.State == "passed" {
			passed++
		}
	}
	if want := (keptAxis{at: a.sortKey, axis: a.Axis, machine: a.Machine, passed: passed}); a.sound() != nil || !reflect.DeepEqual(k, want) {
		t.Errorf("%+v, want %+v, %v: %s", k, want, a.sound(), text)
	}
	var harmless bytes.Buffer
	if _, err := sanitize.JSON(&harmless).Write([]byte(text)); err != nil || harmless.String() != text {
		t.Errorf("signs that hide or command: %q", text)
	}
}

// However a line is changed, what is taken as it is is sound.
func TestAxisLineChanged(t *testing.T) {
	_, axes := bakery(t)
	var lines []string
	for _, a := range append(axes[:3:3], strange()...) {
		lines = append(lines, string(a.text(nil)))
	}
	w := rand.New(rand.NewPCG(1, 2))
	taken, n := 0, amount.Of(20000, 3000)
	for range n {
		line := []byte(lines[w.IntN(len(lines))])
		i := w.IntN(len(line))
		k := min(len(line), i+w.IntN(12))
		switch w.IntN(4) {
		case 0:
			line[i] = "\"\\{}[],:0eE-+.nu \x00\x80\xff"[w.IntN(20)]
		case 1:
			line = append(line[:i], line[k:]...)
		case 2:
			line = append(line[:k:k], line[i:]...)
		default:
			line = append(append(line[:i:i], fmt.Sprint(w.Uint64()>>w.IntN(64))...), line[i:]...)
		}
		if got, ok := readLine(line); ok {
			taken++
			holds(t, string(line), got)
		}
	}
	if taken == 0 || taken == n {
		t.Errorf("%d of %d lines are taken", taken, n)
	}
}

// A share whose axes are written in another way is read too, and comes out the same; one
// that changes while it is merged does not come out.
func TestShareLines(t *testing.T) {
	doc := string(one(t))
	merged := func(doc string, between func(src []byte)) (string, error) {
		src := []byte(doc)
		axes := NewAxes(true)
		defer axes.Close()
		p, err := ReadShare(bytes.NewReader(src), axes)
		if err != nil {
			return "", err
		}
		m, err := Merge([]*Part{p})
		if err != nil {
			return "", err
		}
		between(src)
		var b bytes.Buffer
		err = JSON(&b, &m.Run, axes, nil)
		return b.String(), err
	}
	same := func([]byte) {}
	want, err := merged(doc, same)
	if err != nil || strings.Count(want, `"axis": `) < 20 {
		t.Fatal(err)
	}
	from := strings.Index(doc, `"axes": [`+"\n")
	for name, other := range map[string]string{
		"a space":       doc[:from] + strings.Replace(doc[from:], `"moves":`, `"moves": `, 1),
		"no lines":      doc[:from] + strings.ReplaceAll(doc[from:], "\n", " "),
		"another order": strings.Replace(doc, `"axes": [`+"\n", `"more": [], "axes": [`+"\n", 1),
		"carriage":      strings.ReplaceAll(doc, "\n", "\r\n"),
	} {
		if got, err := merged(other, same); got != want {
			t.Errorf("%s: %v", name, err)
		}
	}
	last := strings.LastIndex(doc, "}\n  ]")
	for name, other := range map[string]string{
		"a comma too many": doc[:last+1] + "," + doc[last+1:], "one too few": doc[:from] + strings.Replace(doc[from:], "},\n    {\"axis\"", "}\n    {\"axis\"", 1),
		"cut off": doc[:last], "cut off behind": doc[:last+1], "no end": strings.TrimSuffix(doc, "}\n"), "more behind": doc + doc,
		"twice": strings.Replace(doc, `"axes": [`+"\n", `"axes": [], "axes": [`+"\n", 1),
	} {
		if _, err := merged(other, same); err == nil {
			t.Errorf("%s: it is taken", name)
		}
	}
	if _, err := merged(doc, func(src []byte) { src[last-1]++ }); err == nil || !strings.Contains(err.Error(), "was changed by another program") {
		t.Errorf("changed meanwhile: %v", err)
	}
}
