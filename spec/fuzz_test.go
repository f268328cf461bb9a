package spec

import (
	"strings"
	"testing"
	"testing/fstest"
	"time"
)

const fuzzAxis = `given {
  m = 31
}
axis "a" {
  orientation = "vertical"
  environment = environment.hall
  load {
    mass     = "${given.m + 7} kg ± 1 kg"
    friction = 0.01
    carries  = [axis.b]
  }
  motion {
    move "out" {
      distance = "720 mm"
    }
  }
  screw {
    part        = screw["20x10"]
    end_lengths = ["58 mm", "22 mm"]
  }
  waive "x" {
    reason = "é 👩‍👩‍👧"
    until  = "2027-06-30"
  }
}
`

const fuzzPolicy = `rule "critical-speed" {
  speed    = "70 %"
  severity = "warning"
  reason   = "x"
}
require "life" {
  that    = life_hours >= max("40000 h", 1) && !(screw.lead == "5 mm" || -1 % 2 < 3)
  when    = given.a ? true : false
  message = "x"
}
waive "x" {
  reason = "x"
  until  = "2027-06-30"
  axes   = ["a"]
}
`

func seed(f *testing.F, more ...string) {
	for _, s := range more {
		f.Add([]byte(s))
		f.Add([]byte("\ufeff" + strings.ReplaceAll(s, "\n", "\r\n")))
	}
	for _, s := range hostile(300) {
		f.Add([]byte(s))
	}
}

// fuzzOne reads a text as the one file of a tree, twice, and holds the problems
// against what is true of all.
func fuzzOne(t *testing.T, file string, src []byte) *Tree {
	start := time.Now()
	files := fstest.MapFS{file: {Data: src}}
	tree := NewTree(files)
	problems := readAll(tree, []string{file})
	checkProblems(t, map[string][]byte{file: src}, problems)
	if again := show(readAll(NewTree(files), []string{file})); again != show(problems) {
		t.Errorf("first:\n%sagain:\n%s", show(problems), again)
	}
	if screen(file, src) == nil { // by its bytes it may be parsed; by its tokens too?
		if p := deepTokens(file, src); p != nil {
			t.Errorf("passes for shallow: %s", p.Message)
		}
	}
	if d := time.Since(start); d > patience {
		t.Errorf("took %v", d)
	}
	return tree
}

// checkValue wants a reason for a value that could not be read, and a place for
// every one that is written.
func checkValue(t *testing.T, files map[string][]byte, v *Value, problems []Problem) {
	if v == nil || v.Origin == Default {
		return
	}
	checkPlace(t, files, v.Place)
	if v.Bad && len(problems) == 0 {
		t.Errorf("%v: %s is bad, but nobody says why", v.Place, v.Field.Path)
	}
	if !v.Bad && v.Field.Sort == Quantity && !v.Field.Pair && !(v.Num.Low <= v.Num.Nominal && v.Num.Nominal <= v.Num.High) {
		t.Errorf("%v: %s is %+v", v.Place, v.Field.Path, v.Num)
	}
}

func FuzzReadAxes(f *testing.F) {
	f.Add([]byte("axis \"a\" {\n load {\n mass = abs(abs(ab")) // a range that ends before it begins
	seed(f, fuzzAxis, "machine \"m\" {\n load {\n drag = \"1 N\"\n }\n}\n")
	f.Fuzz(func(t *testing.T, src []byte) {
		for _, name := range []string{"x.axis.hcl", MachineFile} {
			tree := fuzzOne(t, name, src)
			file := tree.ReadAxes(name)
			problems := append(file.Problems, tree.Folder(".").Problems...)
			for _, a := range file.Axes {
				for _, fd := range Language().Fields[:Language().Moves] {
					checkValue(t, map[string][]byte{name: src}, a.Get(fd), problems)
					a.PlaceFor(fd, -1)
					a.OwnPlace(fd)
					a.Wants(fd)
				}
				for i, m := range a.Moves {
					for _, fd := range Language().Fields[Language().Moves:] {
						checkValue(t, map[string][]byte{name: src}, m.Get(fd), problems)
						a.PlaceFor(fd, i)
					}
				}
				for _, w := range a.Waivers {
					if !w.Broken && (w.Reason == nil || w.Until == nil) {
						t.Errorf("%v: waiver passes for whole", w.RulePlace)
					}
				}
			}
		}
	})
}

func FuzzParts(f *testing.F) {
	seed(f, partsText, seriesText, `series "a" {
  of = "support"
  kind = "fixed"
  columns = ["name", "bore", "kind", "sealed", "stiffness N/um", "bore mm", 1]
  sizes = [["b", "15 mm", 1, 1], [null, "", "fixed", true, -1], [given.x, [[[]]]], 1]
}
`)
	f.Fuzz(func(t *testing.T, src []byte) {
		const name = "x.parts.hcl"
		folder := fuzzOne(t, name, src).Folder(".")
		for _, p := range folder.Parts() {
			if folder.Part(p.Kind, p.Name) != p {
				t.Errorf("%s.%s is not found", p.Kind, p.Name)
			}
			for _, v := range p.values {
				checkValue(t, map[string][]byte{name: src}, v, folder.Problems)
			}
		}
	})
}

func FuzzPolicy(f *testing.F) {
	seed(f, fuzzPolicy)
	f.Fuzz(func(t *testing.T, src []byte) {
		const name = "x.policy.hcl"
		folder := fuzzOne(t, name, src).Folder(".")
		var check func(e *Expr, depth int)
		check = func(e *Expr, depth int) {
			if e.Op == "" || depth > maxOperators+MaxDepth {
				t.Errorf("%v: %+v", e.Place, e)
			}
			checkPlace(t, map[string][]byte{name: src}, e.Place)
			for _, a := range e.Args {
				check(a, depth+1)
			}
		}
		for _, p := range folder.Policies {
			for _, h := range p.House {
				check(h.That, 0)
				if h.When != nil {
					check(h.When, 0)
				}
			}
		}
	})
}

func FuzzIgnore(f *testing.F) {
	for _, l := range ignoreLines {
		f.Add([]byte(l+"\n!"+l), "a/b/x")
	}
	f.Add([]byte("[a-\\]]\n[!\\"), "é/👩")
	f.Fuzz(func(t *testing.T, src []byte, name string) {
		start := time.Now()
		for _, dir := range []string{".", "a"} {
			tree := NewTree(fstest.MapFS{dir + "/.gitignore": {Data: src}, ".gitignore": {Data: src}})
			rules := ignoreRules{work: &ignoreWork{left: maxIgnoreWork}}.with(tree, ".").with(tree, "a")
			for _, folder := range []bool{false, true} {
				got := rules.match(name, folder)
				if again := rules.match(name, folder); again != got {
					t.Error("not the same twice")
				}
				if want := byEachLine(src, name, folder); len(src) < 1000 && !strings.HasPrefix(name, "a/") && got != want {
					t.Errorf("%q, folder %v: %v, want %v", name, folder, got, want)
				}
			}
			ignored(tree, name)
			tree.Walk(".", func(string) {})
		}
		if d := time.Since(start); d > patience {
			t.Errorf("took %v", d)
		}
	})
}
