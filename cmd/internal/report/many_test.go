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
	"slices"
	"strings"
	"testing"

	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/amount"
)

// Of many axes, and in a part of a split check, each has one line; what they say is the
// same, whether their texts lie in memory or in a file.
func TestManyAxes(t *testing.T) {
	at := spec.Place{File: "a/\u202eb.axis.hcl", Line: 1, Col: 1, EndLine: 1, EndCol: 2}
	var axes []*Axis
	for _, name := range []string{"b", "##[a]", "c"} {
		axes = append(axes, AxisOf(&judge.Report{View: &judge.View{Axis: &spec.Axis{Name: name, Place: at}}, Results: []judge.Result{{Rule: "r", Utilisation: 1.5}}}, false))
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

// Each axis stands once in the document, in the order of their places.
func TestAxesOrder(t *testing.T) {
	found, axes := bakery(t)
	slices.Reverse(axes)
	var b bytes.Buffer
	if err := JSON(&b, found, kept(axes...), nil); err != nil {
		t.Fatal(err)
	}
	var doc struct{ Axes []jsonAxis }
	if err := json.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	slices.SortStableFunc(axes, func(a, b *Axis) int { return spec.ComparePlaces(a.at, b.at) })
	if len(doc.Axes) != len(axes) || len(axes) < 20 {
		t.Fatalf("%d axes, written are %d", len(axes), len(doc.Axes))
	}
	for i, a := range axes {
		if doc.Axes[i].Axis != a.axis || doc.Axes[i].Place.place() != a.at {
			t.Errorf("%d is %s, want %s", i, doc.Axes[i].Axis, a.axis)
		}
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
	_, axes := bakery(t)
	all := kept(axes...)
	defer all.Close()
	if err := JSON(&b, invented(), all, nil); err == nil || b.Len() > 0 || !strings.Contains(err.Error(), "TMPDIR") {
		t.Errorf("%v, and written was %q", err, b.String())
	}
}

// oddTexts are some that JSON writes in ways of its own.
var oddTexts = []string{"", "a\"b\\c", "\x00\x1f\x7f\u0080\u2028\u202e\ufeff", "\xff\xc3", "<a href=\"&\">", "##[group]x ##vso[", "#", "°·²₁ \U0001f600e\u0301", "\t\r\n"}

// strange axes have such texts, and numbers of that sort.
func strange() (out []*jsonAxis) {
	x := func(x float64) *float64 { return &x }
	at := &jsonPlace{File: "a b/ü.axis.hcl", Line: 1, Column: 2, EndLine: 3, EndColumn: 4, Byte: 5, EndByte: 6}
	for i, s := range oddTexts {
		a := &jsonAxis{Axis: s, Machine: s, Place: at, Moves: []string{s, "x"}, Rules: []jsonRule{
			{Rule: s, State: "passed", Use: x(1e-7), Fit: true, jsonCompared: jsonCompared{Of: s, Value: "unlimited", Limit: math.Copysign(0, -1), Unit: s, Sense: s}, Why: s, Missing: []jsonMissing{{s, nil}, {s, at}}},
			{Rule: "r", State: "failed", jsonCompared: jsonCompared{Value: 1e21, Limit: 123456789.123}}}}
		if i%2 == 0 {
			a.Quantities = []jsonQuantity{{Name: s, Title: s, Unit: s, Value: s, Low: x(math.SmallestNonzeroFloat64), High: x(-math.MaxFloat64), Text: s, Texts: []string{"", s}, Origin: s, Place: at,
				Places: []*jsonPlace{nil, at}, Formula: s, Source: s, Needs: []string{s}, Symbol: s}, {Name: "screw.lead", Values: []any{nil, 1e-6, "unlimited", 0.1}}}
		}
		out = append(out, a)
	}
	return append(out, &jsonAxis{}, &jsonAxis{Quantities: []jsonQuantity{}, Rules: []jsonRule{}})
}

// axisReports calls do with what is found of each axis of the bakery, or of the first files
// of it.
func axisReports(t testing.TB, most int, do func(*judge.Report)) {
	tree := spec.NewTree(os.DirFS("../../../fixtures/bakery"))
	var files []string
	tree.Walk(".", func(f string) {
		if strings.HasSuffix(f, spec.AxisSuffix) && len(files) < most {
			files = append(files, f)
		}
	})
	if sum := run.Files(rules.Book(), tree, files, run.Options{Today: today, Workers: 1, As: run.Look{Each: do}}); sum.Axes < min(most, 20) {
		t.Fatalf("%d axes", sum.Axes)
	}
}

// canonical is a text read by encoding/json and written by it again.
func canonical(t testing.TB, text string) (a jsonAxis, again string) {
	t.Helper()
	d := json.NewDecoder(strings.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&a); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	return a, strings.ReplaceAll(string(libraryText(&a)), "\ufffd", `\ufffd`) // as it writes bytes that are no text
}

// The text of an axis is what the library makes of it; a line of it that is read again is
// the axis.
func TestAxisText(t *testing.T) {
	axisReports(t, 1000, func(rep *judge.Report) {
		text := textOf(t, AxisOf(rep, true))
		if _, want := canonical(t, text); text != want {
			t.Fatalf("%s\nwant\n%s", text, want)
		}
		k, ok := readLine([]byte(text))
		if !ok {
			t.Errorf("this line is not known again: %s", text)
		}
		holds(t, text, k)
	})
	for _, a := range strange() {
		text := string(libraryText(a))
		if k, ok := readLine([]byte(text)); ok {
			holds(t, text, k)
		}
	}
}

// Texts and numbers of any sort come through a record as they were.
func TestAxisTextOdd(t *testing.T) {
	numbers := []float64{0, math.Copysign(0, -1), 1e-6, 9.9e-7, 1e-9, 1e21, 9.9e20, 0.1, -123456789.123, math.MaxFloat64, math.SmallestNonzeroFloat64, 5e-324, math.Inf(1), math.Inf(-1)}
	load := mechanics.ByName("mean_load")
	for i, s := range oddTexts {
		x := func(k int) float64 { return numbers[(i+k)%len(numbers)] }
		heard := strings.ReplaceAll(s, "\xff\xc3", "\ufffd\ufffd")
		axisReports(t, 3, func(rep *judge.Report) {
			rep.View.Axis.Moves[0].Name = s
			rep.Results = append(rep.Results, judge.Result{Rule: s, Why: s, State: judge.Unjudged, Utilisation: x(0), Fit: true, Missing: []judge.MissingLine{{Words: s}, {Words: "x", Place: spec.Place{File: "f" + s, Line: 1 << 20}}},
				Compared: judge.Compared{Of: load, Value: x(1), Limit: x(2), Sense: judge.AtLeast}})
			rep.View.Calc.Set(load, x(3))
			text := textOf(t, AxisOf(rep, true))
			a, again := canonical(t, text)
			if text != again || strings.Contains(text, "##[") {
				t.Fatalf("%s\nwant\n%s", text, again)
			}
			want := jsonRule{Rule: heard, Why: heard, State: "not judged", Fit: true, Missing: []jsonMissing{{heard, nil}, {"x", &jsonPlace{File: "f" + heard, Line: 1 << 20}}},
				Use: sanitize.Finite(x(0)), jsonCompared: jsonCompared{Of: load.Name, Value: number(x(1)), Limit: number(x(2)), Unit: "1", Sense: "at least"}}
			if r := a.Rules[len(a.Rules)-1]; !reflect.DeepEqual(r, want) || a.Moves[0] != heard {
				t.Errorf("%+v\nwant %+v", r, want)
			}
			saysAll(t, rep.View, &a)
		})
	}
}

func quantityOf(a *jsonAxis, name string) *jsonQuantity {
	for i := range a.Quantities {
		if a.Quantities[i].Name == name {
			return &a.Quantities[i]
		}
	}
	return nil
}

// saysAll holds what is written of the quantities of an axis against what is known of them.
func saysAll(t testing.TB, v *judge.View, a *jsonAxis) {
	t.Helper()
	n := 0
	for _, q := range mechanics.All() {
		got := quantityOf(a, q.Name)
		if want, ok := quantity(v, q); ok && (got == nil || !reflect.DeepEqual(*got, want)) || !ok && got != nil {
			t.Fatalf("%s: %+v\nwant %+v", q.Name, got, want)
		} else if ok {
			n++
		}
	}
	if n != len(a.Quantities) || n < 100 {
		t.Errorf("%d quantities are known, %d written", n, len(a.Quantities))
	}
}

// quantity is what is to be said of a quantity, if it is known.
func quantity(v *judge.View, q *mechanics.Quantity) (out jsonQuantity, known bool) {
	out = jsonQuantity{Name: q.Name, Symbol: q.Symbol, Title: q.Title, Unit: q.Kind.SI(), Formula: q.Formula, Source: q.Source}
	for _, n := range q.Needs {
		out.Needs = append(out.Needs, n.Name)
	}
	for _, n := range q.May {
		if v.Calc.Known(n) {
			out.Needs = append(out.Needs, n.Name)
		}
	}
	if q.Shape == mechanics.Scalar {
		x, ok := v.Calc.Value(q)
		if out.Value = number(x); len(q.Words) > 0 {
			out.Value = v.Calc.Word(q)
		}
		if d := v.DeclaredFor(q, -1); d != nil {
			out.Text, out.Origin, out.Place = d.Text, d.Origin.String(), placeJSON(d.Place)
			if !d.Num.Exact() && !d.Field.Pair {
				out.Low, out.High = sanitize.Finite(d.Num.Low), sanitize.Finite(d.Num.High)
			}
		}
		return out, ok
	}
	for i, x := range v.Calc.Series(q) {
		out.Values = append(out.Values, number(x))
		known = known || x == x
		if q.Shape != mechanics.PerMove || !q.Leaf() {
			continue
		}
		d := v.DeclaredFor(q, i)
		if d == nil {
			d = &spec.Value{}
		}
		out.Texts, out.Places = append(out.Texts, d.Text), append(out.Places, placeJSON(d.Place))
	}
	return out, known
}

// Damage to a record is found, whatever it is, and does nothing worse.
func TestAxisRecordDamaged(t *testing.T) {
	_, axes := checkedAll(t, "../../../fixtures/bakery", true)
	whole := axes[0].record
	var text axisText
	var b []byte
	for i := 0; i < len(whole); i += amount.Of(1, 19) {
		if _, err := text.write(b[:0], []byte(whole[:i]), &From{}); err == nil {
			t.Errorf("cut off at %d it is taken", i)
		}
		torn := []byte(whole)
		torn[i] ^= byte(1 + i%255)
		_, _ = text.write(b[:0], torn, &From{})
		b = text.b
	}
}

// holds is what is true of each line that is taken as it is.
func holds(t testing.TB, text string, k keptAxis) {
	var a jsonAxis
	if err := json.Unmarshal([]byte(text), &a); err != nil {
		t.Errorf("%v: %s", err, text)
		return
	}
	if want := a.kept(); a.sound() != nil || !reflect.DeepEqual(k, want) {
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
	for _, a := range axes[:3] {
		lines = append(lines, textOf(t, a))
	}
	for _, a := range strange() {
		lines = append(lines, string(libraryText(a)))
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
