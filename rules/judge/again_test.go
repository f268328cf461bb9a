package judge

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/amount"
	"trammel/spec/unit"
)

// Answers that are kept when an axis is judged again with other lines are those that all
// rules give when they are asked anew, and so are those that are judged again. Lines are
// changed to whatever they may say, missing ones added.
func TestKeptAnswersStand(t *testing.T) {
	t.Parallel()
	k := &kept{errorf: t.Errorf, rnd: rand.New(rand.NewPCG(3, 4))}
	trees, err := filepath.Glob("../../fixtures/rules/*")
	if err != nil {
		t.Fatal(err)
	}
	for _, dir := range append(amount.Some(trees, 8, filepath.Base), "../../fixtures/bakery", "../../fixtures/library", "../../testdata/mistakes") {
		tree := spec.NewTree(os.DirFS(dir))
		var files []string
		tree.Walk(".", func(name string) { files = append(files, name) })
		Run(Book(), tree, files, Options{Today: testaxis.SomeDay, Workers: 1, Each: func(rep *Report) { k.try(rep, amount.Of(40, 3)) }})
	}
	testaxis.Check(t, amount.Of(60, 6), func(rt *rapid.T) {
		s := testaxis.DrawSheet(rt)
		run(s.Files(), Options{Each: func(rep *Report) { k.try(rep, amount.Of(60, 10)) }})
	})
	testaxis.Check(t, amount.Of(12, 2), func(rt *rapid.T) {
		s := testaxis.DrawSheet(rt)
		widen(rt, s)
		run(s.Files(), Options{Each: func(rep *Report) { k.try(rep, amount.Of(12, 3)) }})
	})
	run(halfInch(t).Files(), Options{Each: func(rep *Report) { k.try(rep, 60) }})
	if k.idle == 0 {
		t.Error("no question that does not arise was looked at within tolerances or for what is assumed")
	}
	if k.kept < 2*k.asked || k.asked == 0 || k.other == 0 {
		t.Errorf("%d answers kept and %d judged again, of which %d were others; expected some others, and twice as many kept as judged again", k.kept, k.asked, k.other)
	}
}

// kept compares answers that are kept with those of all rules.
type kept struct {
	errorf             func(string, ...any)
	rnd                *rand.Rand
	kept, asked, other int // other: of those judged again, others than before
	idle               int // tests whose question did not arise, which was searched for
}

// try changes lines of an axis, one at a time and each for itself.
func (k *kept) try(rep *Report, times int) {
	a, j, b, whole := rep.View.Axis, Book().NewJudge(testaxis.SomeDay, true), NewScratch(), NewScratch()
	b.again = NewScratch()
	b.Left = b.BudgetOf(a)
	carried, known := rep.View.Carried, rep.View.whole
	before := j.ask(b, a, carried, known)
	k.rests(b, before)
	for range times {
		l, ok := k.line(a)
		if !ok {
			continue
		}
		with, _, ok := a.Rewrite([]spec.Line{l})
		if !ok {
			continue
		}
		whole.Left = whole.BudgetOf(with)
		want := j.ask(whole, with, carried, known)
		v, d := before.View.load(b, with)
		b.again.Left = b.BudgetOf(with)
		for i := range before.Results {
			got, is := before, "kept"
			if d.touches(j, b, i) {
				got, is = &Report{View: v, Judge: j, Results: make([]Result, len(before.Results))}, "judged again"
				got.Results[i] = j.answer(b.again, v, i, got)
				k.asked++
				if told(got, i) != told(before, i) {
					k.other++
				}
			} else {
				k.kept++
			}
			if x, y := told(got, i), told(want, i); x != y {
				k.errorf("%s, %s of move %d = %q: %s\n%s: %s\nof all rules: %s", a.Name, l.Field.Path, l.Move, l.Text, got.Results[i].Rule, is, x, y)
			}
		}
	}
}

// rests checks that where the question of a rule does not arise, nor does it for any of what
// is assumed or within the tolerances, this rests on all that its tests look at.
func (k *kept) rests(b *Scratch, rep *Report) {
	v := rep.View
	for i, r := range rep.Judge.Book.all {
		if len(b.bases) == 0 || rep.Results[i].State != NotApplicable {
			continue
		}
		noted := b.bases[i].quantities.List()
		for n := range r.Tests {
			t := &r.Tests[n]
			missing := slices.ContainsFunc(t.all, func(q *mechanics.Quantity) bool { return len(v.Calc.Gaps(q)) > 0 })
			if !v.assumes(b, t) && (t.Nominal || missing || !b.mayChange(t.watch)) {
				continue
			}
			k.idle++
			for _, q := range t.watch {
				if !slices.Contains(noted, q) {
					k.errorf("%s: that %s does not apply does not rest on %s", v.Axis.Name, r.Name, q.Name)
				}
			}
		}
	}
}

// halfInch is a sheet of which one line decides in which units it is written.
func halfInch(t *testing.T) *testaxis.Sheet {
	t.Helper()
	s := testaxis.WholeSheet()
	for _, l := range s.All() {
		f := Field(l[0].(string))
		at, key := s.Line(f.Path, l[1].(int))
		text, _ := strconv.Unquote(at[key])
		if q, err := unit.Parse(text, f.Unit); err == nil && f.Sort == spec.Quantity && q.Exact() {
			at[key] = strconv.Quote(unit.FormatExact(q.Nominal, f.Unit, unit.Inch))
		}
		if _, _, v := load(s, t); v.Units() == unit.Inch {
			return s
		}
	}
	t.Fatal("no line makes the axis one in inch")
	return nil
}

// told is the answer of a rule with its findings, as far as it hangs on the axis and not on
// what the waivers make of it.
func told(rep *Report, i int) string {
	var out strings.Builder
	r := rep.Results[i]
	if k := rep.Judge.Book.byName[r.Rule]; k != nil && k.Waiver != nil {
		return ""
	}
	fmt.Fprintf(&out, "%+v", r)
	for _, f := range rep.Findings {
		if f.Rule == r.Rule {
			fmt.Fprintf(&out, "\n%v %v %s %+v %v %v %s", f.Severity, f.Place, f.Message, f.Inputs, f.Utilisation, f.Compared, f.Cause)
		}
	}
	return out.String()
}

// line is one that an axis could say instead, or besides.
func (k *kept) line(a *spec.Axis) (spec.Line, bool) {
	fields := spec.Language().Fields
	l := spec.Line{Field: fields[k.rnd.IntN(len(fields))], Move: -1}
	if k.rnd.IntN(4) == 0 && len(a.Moves) > 0 { // moves have few fields, and many fixes are of them
		first := spec.Language().Moves
		l.Field = fields[first+k.rnd.IntN(len(fields)-first)]
	}
	var have *spec.Value
	if l.Field.Index() >= spec.Language().Moves {
		if len(a.Moves) == 0 {
			return l, false
		}
		l.Move = k.rnd.IntN(len(a.Moves))
		have = a.Moves[l.Move].Get(l.Field)
	} else {
		have = a.Get(l.Field)
	}
	if have != nil && have.Bad {
		return l, false
	}
	l.Text = strings.Trim(l.Field.Example, `"`)
	factor := []float64{0.3, 0.9, 1.1, 3}[k.rnd.IntN(4)]
	switch f := l.Field; {
	case f.Sort == spec.Word:
		l.Text = f.Words[k.rnd.IntN(len(f.Words))]
	case f.Sort == spec.Flag:
		l.Text = strconv.FormatBool(k.rnd.IntN(2) == 0)
	case have == nil || f.Pair:
		l.Text = strings.Trim(strings.ReplaceAll(l.Text, `"`, ""), "[]")
	case f.Sort == spec.Quantity:
		sys := unit.System(k.rnd.IntN(2))
		l.Text = unit.FormatExact(have.Num.Nominal*factor, f.Unit, sys)
		if k.rnd.IntN(6) == 0 {
			l.Text += " ± 2 %"
		}
	case f.Sort == spec.Number:
		l.Text = strconv.FormatFloat(max(1, have.Num.Nominal*factor), 'f', 0, 64)
	}
	return l, true
}
