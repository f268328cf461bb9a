package editor

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
	"trammel/spec/amount"
)

// TestMoved: of every axis of the fixtures, what is known of it moves with its text, and
// is then what judging the moved text finds.
func TestMoved(t *testing.T) {
	t.Parallel()
	const root = "../../../fixtures"
	tr := spec.NewTree(os.DirFS(root))
	judged := func(name, src string) (out []*judge.Report) {
		look := run.Look{Source: map[string][]byte{name: []byte(src)}, Bare: true, Each: func(rep *judge.Report) { out = append(out, keep(rep)) }}
		run.Files(rules.Book(), tr, []string{name}, run.Options{Today: today, Workers: 1, As: look})
		return out
	}
	moved, citing := 0, 0
	names := slices.DeleteFunc(specFiles(t, root), func(name string) bool { return scopeFile(name) || !strings.HasSuffix(name, spec.AxisSuffix) })
	names = append(amount.Some(names, 16, func(s string) string { return s }), "rules/contradiction/axes.axis.hcl", "rules/waiver-unneeded/axes.axis.hcl", "bakery/machines/depositor/axes.axis.hcl")
	for _, name := range names {
		src, err := os.ReadFile(root + "/" + name)
		if err != nil {
			t.Fatal(err)
		}
		before := judged(name, string(src))
		for _, text := range []string{"# é\n\n/* moves all */ " + string(src), string(src) + "\n# at the end\n"} {
			for i, want := range judged(name, text) {
				a := want.View.Axis
				cites := text[0] == '#' && strings.Contains(printed(want), "(line ")
				alone := !a.Unread && !a.Broken && a.Get(judge.CarriesField) == nil && !namesFile(a)
				switch got := before[i].Moved(a); {
				case (got == nil) == (alone && !cites):
					t.Errorf("%s: %s hangs on its values alone: %v, and on its lines: %v, but is known: %v", name, a.Name, alone, cites, got != nil)
				case cites:
					citing++
				case got != nil && printed(got) != printed(want):
					t.Errorf("%s: %s\n moved %s\njudged %s", name, a.Name, printed(got), printed(want))
				case got != nil:
					moved++
				}
			}
		}
	}
	if moved < 50 || citing == 0 {
		t.Errorf("%d axes moved, %d say a line", moved, citing)
	}
}

// printed is all that a report says.
func printed(rep *judge.Report) string {
	var b strings.Builder
	for _, f := range rep.Findings {
		if f = f.Told(); f.Waiver != nil {
			fmt.Fprintf(&b, "waived at %v until %v ", f.Waiver.RulePlace, f.Waiver.Until.Place)
			f.Waiver = nil
		}
		fmt.Fprintf(&b, "%+v\n", f)
	}
	fmt.Fprintf(&b, "%+v\n%+v\n", rep.Results, rep.MissingInputs)
	if rep.NextInputs != nil {
		fmt.Fprintf(&b, "%+v\n", *rep.NextInputs)
	}
	return b.String()
}

func namesFile(a *spec.Axis) bool {
	return slices.ContainsFunc(spec.Language().Fields, func(f *spec.Field) bool { return f.File && a.Get(f) != nil })
}

// more stands behind the axes of the demo's largest file: lines that contradict each
// other, and waivers.
const more = `
axis "twin" {
  orientation = "horizontal"
  load {
    mass = "20 kg ± 1 kg"
  }
  motion {
    stroke = "400 mm"
    move "out" {
      distance     = "300 mm"
      speed        = "${given.head_speed} m/s"
      ramp         = "0.2 s"
      acceleration = "3 m/s2"
    }
    move "back" {
      distance = "-300 mm"
      speed    = "0.4 m/s"
      ramp     = "0.2 s"
    }
  }
  screw {
    part   = screw.g25x10
    length = "700 mm"
  }
  supports {
    span = "720 mm"
  }
  waive "contradiction" {
    reason = "one of them goes next week"
    until  = "2026-12-01"
  }
  waive "cycle-closes" {
    reason = "for nothing"
    until  = "2026-12-01"
  }
}
`

// An alteration edits one of some texts; the result is an error of the text at times.
type alteration func(rnd *rand.Rand, text string) string

// lineStarts are the offsets of the lines of a text that begin with one of some words.
func lineStarts(text string, words ...string) (out []int) {
	at := 0
	for _, l := range strings.SplitAfter(text, "\n") {
		if slices.ContainsFunc(words, func(w string) bool { return strings.HasPrefix(strings.TrimLeft(l, " "), w) }) {
			out = append(out, at)
		}
		at += len(l)
	}
	return out
}

func pick[T any](rnd *rand.Rand, list []T) T { return list[rnd.IntN(len(list))] }

// atLine puts something before a line that begins with one of some words.
func atLine(put string, words ...string) alteration {
	return func(rnd *rand.Rand, text string) string {
		if starts := lineStarts(text, words...); len(starts) > 0 {
			at := pick(rnd, starts)
			return text[:at] + put + text[at:]
		}
		return text
	}
}

// without takes a line away that begins with one of some words.
func without(words ...string) alteration {
	return func(rnd *rand.Rand, text string) string {
		starts := lineStarts(text, words...)
		if len(starts) == 0 {
			return text
		}
		at := pick(rnd, starts)
		return text[:at] + text[at+strings.IndexByte(text[at:]+"\n", '\n')+1:]
	}
}

// either puts one text in the place of another one, or back.
func either(a, b string) alteration {
	return func(_ *rand.Rand, text string) string {
		if strings.Contains(text, a) {
			return strings.Replace(text, a, b, 1)
		}
		return strings.Replace(text, b, a, 1)
	}
}

// swapped has two lines that follow each other change places.
func swapped(words ...string) alteration {
	return func(rnd *rand.Rand, text string) string {
		starts := lineStarts(text, words...)
		if len(starts) == 0 {
			return text
		}
		at := pick(rnd, starts)
		lines := strings.SplitAfterN(text[at:], "\n", 3)
		return text[:at] + lines[1] + lines[0] + strings.Join(lines[2:], "")
	}
}

// blocks are the texts of the outermost blocks of a file, with what stands before each.
func blocks(text string) (out []string) { return strings.SplitAfter(text, "\n}\n") }

func blocksMoved(rnd *rand.Rand, text string) string {
	list := blocks(text)
	i, k := rnd.IntN(len(list)), rnd.IntN(len(list))
	if rnd.IntN(4) == 0 { // one more of the same
		return strings.Join(slices.Insert(list, k, list[i]), "")
	}
	list[i], list[k] = list[k], list[i]
	return strings.Join(list, "")
}

func blockGone(rnd *rand.Rand, text string) string {
	list := blocks(text)
	if len(list) < 6 {
		return text
	}
	i := rnd.IntN(len(list))
	return strings.Join(slices.Delete(list, i, i+1), "")
}

var alterations = map[string][]alteration{
	depositor: {
		atLine("# a remark\n\n", "axis", "given", "}"), atLine("    # ä remark\n", "mass", "stroke", "speed", "until", "acceleration"), without("#", "// "), without("drag", "dwell", "positioning", "until"),
		atLine("/* é */ ", "axis"), atLine("  \t", "mass", "speed", "ramp"), without("axis"), blocksMoved, blockGone,
		either("pitch      = 160", "pitch      = 165"), either("given {", "given {\n  more = 1"), either("hopper     = 17 ", "hopper     = 18.5 "), either("  head_speed = 0.45", "  head_speed = 0.5"),
		either(`axis "table"`, `axis "plunger"`), either(`axis "twin"`, `axis "follow"`), either(`axis "follow"`, `axis "fallow"`),
		either(`"62 kg"`, `"63 kg"`), either(`length        = "350 mm"`, `length        = "13.8 in"`), either(`"2026-12-01"`, `"2026-10-01"`), either("one of them goes", "both go"),
		either(`waive "contradiction"`, `waive "peak-speed"`), swapped("ramp ", "acceleration"), swapped("waive", "reason"), either("motor.m1500b", "motor.m750"),
		atLine("    s\n", "ramp", "part"), without("s\n"), either("/*", "*/"), either("# clean\n", "# clean\r\n"),
	},
	screws: {
		atLine("# a remark\n", "screw", "}"), without("#"), either(`lead                 = "10 mm"`, `lead                 = "12 mm"`), blocksMoved, atLine("s", "lead"), either(`screw "g25x10"`, `screw "g25y10"`),
	},
	house: {atLine("# a remark\n", "rule", "}"), without("#"), blocksMoved, either("40000", "30000"), either("40,000", "many"), without("severity")},
}

// altered is a server with the texts of alterations open.
type altered struct {
	*client
	t     *testing.T
	texts map[string]string
	last  int
}

const depositor, house = "machines/depositor/axes.axis.hcl", "house.policy.hcl"

func newAltered(t *testing.T) *altered {
	c := start(t, tree(t, "bakery", nil), modern)
	a := &altered{client: c, t: t, texts: map[string]string{depositor: c.read(depositor) + more, screws: c.read(screws), house: c.read(house)}, last: 1}
	for n, text := range a.texts {
		a.openAs(n, text)
	}
	return a
}

func (a *altered) put(name, text string) {
	a.last++
	a.texts[name] = text
	a.set(name, a.last, text)
}

func (a *altered) whole() bool {
	for n, text := range a.texts {
		if len(spec.Syntax(n, []byte(text))) > 0 {
			return false
		}
	}
	return true
}

// asFresh compares what is shown with what a server shows that has never seen other texts.
func (a *altered) asFresh(after string) {
	a.t.Helper()
	fresh := start(a.t, a.dir, modern)
	for n, text := range a.texts {
		fresh.openAs(n, text)
	}
	for n := range a.texts {
		if n == screws && !amount.All() {
			continue // for which the whole tree is read
		}
		if got, want := string(asJSON(a.diagnostics(n))), string(asJSON(fresh.diagnostics(n))); got != want {
			a.t.Fatalf("after %s %s is shown as\n%s\nfresh\n%s\ntext\n%s", after, n, got, want, a.texts[n])
		}
	}
	for _, method := range []string{"textDocument/codeLens", "textDocument/inlayHint"} {
		ask := map[string]any{"textDocument": map[string]any{"uri": a.uri(depositor)}, "range": span{End: position{Line: 1000}}}
		if x, y := a.request(method, ask), fresh.request(method, ask); string(x.Result) != string(y.Result) {
			a.t.Fatalf("after %s %s is\n%s\nfresh\n%s", after, method, x.Result, y.Result)
		}
	}
}

// TestAltered edits texts as people do, so that axes move, change, double and come back:
// after each edit the server shows what one shows that has never seen anything else.
func TestAltered(t *testing.T) {
	t.Parallel()
	a := newAltered(t)
	rnd := rand.New(rand.NewPCG(1, 11))
	for n, list := range alterations {
		before := a.texts[n]
		for i, alter := range list {
			if a.put(n, alter(rnd, before)); a.whole() {
				a.asFresh(fmt.Sprint("edit ", i, " of ", n))
			}
			a.put(n, before)
		}
	}
	a.asFresh("all")
}

// TestAlteredAtRandom does many such edits on top of each other.
func TestAlteredAtRandom(t *testing.T) {
	t.Parallel()
	for round := range amount.Of(60, 1) {
		rnd := rand.New(rand.NewPCG(uint64(round), 11))
		a := newAltered(t)
		past := []map[string]string{}
		for range 25 {
			n := depositor
			if rnd.IntN(5) == 0 {
				n = pick(rnd, []string{screws, house})
			}
			was := maps.Clone(a.texts)
			if len(past) > 0 && rnd.IntN(4) == 0 {
				a.put(n, pick(rnd, past)[n]) // as undo does
			} else {
				a.put(n, pick(rnd, alterations[n])(rnd, a.texts[n]))
			}
			if rnd.IntN(3) == 0 {
				continue // the next edit comes before anything is judged, or not
			}
			a.diagnostics(n)
			switch {
			case a.whole():
				past = append(past, was)
				a.asFresh(fmt.Sprint("an edit of ", n))
			case rnd.IntN(2) == 0:
				a.put(n, was[n])
			}
		}
	}
}
