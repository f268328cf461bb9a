package editor

import (
	"fmt"
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
	names = append(amount.Some(names, 8, func(s string) string { return s }), "rules/contradiction/axes.axis.hcl", "rules/waiver-unneeded/axes.axis.hcl", "bakery/machines/depositor/axes.axis.hcl")
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
	"machines/depositor/axes.axis.hcl": {
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
	"house.policy.hcl": {atLine("# a remark\n", "rule", "}"), without("#"), blocksMoved, either("advice = 1.5", "advice = 1.2"), without("severity")},
}

// TestAltered edits texts as people do, so that axes move, change, double and come back:
// after each edit that leaves the texts whole the server shows what one shows that has
// never seen anything else.
func TestAltered(t *testing.T) {
	t.Parallel()
	rounds, wholes := amount.Of(60, 2), 0
	for round := range rounds {
		rnd := rand.New(rand.NewPCG(uint64(round), 11))
		const name = "machines/depositor/axes.axis.hcl"
		dir := tree(t, "bakery", nil)
		c := start(t, dir, modern)
		texts := map[string]string{name: c.read(name) + more, screws: c.read(screws), "house.policy.hcl": c.read("house.policy.hcl")}
		names := []string{name, screws, "house.policy.hcl"}
		for _, n := range names {
			c.openAs(n, texts[n])
		}
		past := []map[string]string{}
		for version := range 25 {
			n := name
			if rnd.IntN(5) == 0 {
				n = names[1+rnd.IntN(2)]
			}
			was := map[string]string{name: texts[name], screws: texts[screws], "house.policy.hcl": texts["house.policy.hcl"]}
			if len(past) > 0 && rnd.IntN(4) == 0 {
				texts[n] = pick(rnd, past)[n] // as undo does
			} else {
				texts[n] = pick(rnd, alterations[n])(rnd, texts[n])
			}
			c.set(n, version+2, texts[n])
			if rnd.IntN(3) == 0 {
				continue // the next edit comes before anything is judged, or not
			}
			got := map[string]string{}
			for _, n := range names {
				got[n] = string(asJSON(c.diagnostics(n)))
			}
			if slices.ContainsFunc(names, func(n string) bool { return len(spec.Syntax(n, []byte(texts[n]))) > 0 }) {
				if rnd.IntN(2) == 0 {
					for n := range was {
						texts[n] = was[n]
						c.set(n, version+2, texts[n])
					}
				}
				continue
			}
			past = append(past, was)
			wholes++
			fresh := start(t, dir, modern)
			for _, n := range names {
				fresh.openAs(n, texts[n])
			}
			for _, n := range names {
				if want := string(asJSON(fresh.diagnostics(n))); got[n] != want {
					t.Fatalf("round %d, version %d of %s: shown\n%s\nfresh\n%s\ntext\n%s", round, version, n, got[n], want, texts[n])
				}
			}
			for _, method := range []string{"textDocument/codeLens", "textDocument/inlayHint"} {
				ask := map[string]any{"textDocument": map[string]any{"uri": c.uri(name)}, "range": span{End: position{Line: 1000}}}
				if a, b := c.request(method, ask), fresh.request(method, ask); string(a.Result) != string(b.Result) {
					t.Fatalf("round %d, version %d: %s\n%s\nfresh\n%s", round, version, method, a.Result, b.Result)
				}
			}
		}
	}
	if wholes < rounds*5 {
		t.Errorf("only %d whole texts were compared", wholes)
	}
	t.Logf("%d whole texts were compared", wholes)
}
