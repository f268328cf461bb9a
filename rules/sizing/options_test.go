package sizing

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/run/runtest"
	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// optionWords lists how the options of a choice are named.
func optionWords(s *sizer, which int) (out []string) {
	for _, o := range s.choices[which].options {
		out = append(out, o.words)
	}
	return out
}

// changed lists what an option changes of the axis, by path: a part by its name,
// another value by its text.
func changed(s *sizer, at [choices]int) map[string]string {
	out := map[string]string{}
	for _, c := range s.changes(at) {
		switch {
		case c.Value == nil:
			out[c.Field.Path] = ""
		case c.Value.Part != nil:
			out[c.Field.Path] = c.Value.Part.Name
		default:
			out[c.Field.Path] = c.Value.Text
		}
	}
	return out
}

// TestSizingOpens: ten answers unless another number is given; values of its
// own, in the units of the axis; not more house rules than are evaluated, not more
// combinations than are tried.
func TestSizingOpens(t *testing.T) {
	for most, want := range map[int]int{0: 10, -3: 10, 1: 1, 2: 2, 25: 25} {
		sizerOf(t, testaxis.WholeSheet(), Options{Most: most}, nil, func(s *sizer, rep *judge.Report) {
			if s.o.Most != want {
				t.Errorf("of %d asked, %d answers are given", most, s.o.Most)
			}
			if rep.View.Calc.Set(mechanics.Lead, 1); s.base.V(mechanics.Lead) != 0.010 {
				t.Error("its values are those of the report")
			}
		})
	}
	inches := bareSheet("load.mass", `"1 lb"`, "motion.stroke", `"40 in"`, "motion.move.speed", `"4 in/s"`)
	inches.Moves[0].Lines["distance"], inches.Moves[1].Lines["distance"] = `"40 in"`, `"-40 in"`
	sizerOf(t, inches, Options{}, nil, func(_ *sizer, rep *judge.Report) {
		v := judge.View{Axis: rep.View.Axis, Calc: rep.View.Calc, InForce: rep.View.InForce, Carried: rep.View.Carried} // as where nothing was said of the units the axis is written in
		s, err := openSizer(&judge.Report{View: &v, Judge: rep.Judge}, Options{Today: testaxis.SomeDay})
		if err != nil {
			t.Fatal(err)
		}
		if s.base.Sys != unit.Inch {
			t.Error("an axis in inches is not")
		}
	})
	for n, ok := range map[int]bool{150: true, 151: false} {
		var policy strings.Builder
		for i := range n {
			fmt.Fprintf(&policy, "require \"h%d\" {\n  that = true\n}\n", i)
		}
		runtest.Try(testaxis.WholeSheet().Files("line/h.policy.hcl", policy.String()), run.Options{Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
			_, err := openSizer(rep, Options{Today: testaxis.SomeDay})
			if (err == nil) != ok || err != nil && err.Error() != "151 house rules found; size can use at most 150" {
				t.Errorf("%d house rules: %v", n, err)
			}
		}}})
	}
	runtest.Try(testaxis.WholeSheet().With("load.carries", "[axis.none]").Files(), run.Options{Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
		if _, err := Find(context.Background(), rep, Options{Today: testaxis.SomeDay}); err == nil || !strings.Contains(err.Error(), "carries") {
			t.Errorf("with an unknown load: %v", err)
		}
	}}})
	var parts strings.Builder
	for i := range 330 {
		fmt.Fprintf(&parts, "screw \"k%d\" {\n  lead = \"10 mm\"\n  dynamic_rating = \"10 kN\"\n}\nmotor \"n%d\" {\n  rated_torque = \"1 N m\"\n}\ncoupling \"d%d\" {\n  rated_torque = \"1 N m\"\n}\n", i, i, i)
	}
	runtest.Try(testaxis.WholeSheet().Files("line/p.parts.hcl", parts.String()), run.Options{Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
		if _, err := Find(context.Background(), rep, Options{Today: testaxis.SomeDay, Level: judge.Error}); err == nil || !strings.Contains(err.Error(), "combinations found; at most 500000000 can be tried") {
			t.Errorf("hundreds of all parts: %v", err)
		}
	}}})
}

// TestPartRule: each rule of parts stands once among those that reject, beside
// a rule of the same name that is evaluated for axes.
func TestPartRule(t *testing.T) {
	s := &sizer{}
	if a, b := s.partRule("a"), s.partRule("a"); a != 0 || b != 0 || len(s.asked) != 1 || s.asked[0].level != -1 || s.asked[0].name != "a" {
		t.Errorf("%d and %d of %+v", a, b, s.asked)
	}
	s.asked = append(s.asked, sizingRule{name: "b", rule: &judge.Rule{}})
	if b, c, again := s.partRule("b"), s.partRule("c"), s.partRule("b"); b != 2 || c != 3 || again != 2 {
		t.Errorf("%d, %d, %d", b, c, again)
	}
}

// TestSizingScrewsAndNuts: a screw comes with each nut that fits it, by name or
// as it says; the declared one with its other nuts. What changes is the screw,
// the nut, and what they give. Lines of the axis's own that another screw
// replaces are named once.
func TestSizingScrewsAndNuts(t *testing.T) {
	s := &testaxis.Sheet{Name: "cross", Lines: map[string]string{}, Moves: testaxis.WholeSheet().Moves}
	for path, text := range testaxis.WholeSheet().Lines {
		if !strings.HasPrefix(path, "screw.") && !strings.HasPrefix(path, "nut.") {
			s.Lines[path] = text
		}
	}
	s = s.With("screw.part", "screw.k", "screw.root_diameter", `"17.1 mm"`, "nut.part", "nut.n1", "screw.length", `"980 mm"`)
	parts := "screw \"k\" {\n  lead = \"10 mm\"\n  root_diameter = \"17 mm\"\n  cost = 10\n}\nscrew \"l\" {\n  lead = \"5 mm\"\n  cost = 20\n}\nscrew \"m\" {\n  lead = \"20 mm\"\n  cost = 30\n}\nscrew \"o\" {\n  lead = \"8 mm\"\n  cost = 40\n}\n" +
		"nut \"n1\" {\n  fits = \"k\"\n  length = \"60 mm\"\n  cost = 1\n}\nnut \"n2\" {\n  fits = \"k\"\n  length = \"80 mm\"\n  cost = 2\n}\nnut \"l\" {\n  length = \"50 mm\"\n  cost = 3\n}\nnut \"p\" {\n  fits = \"o\"\n  cost = 4\n}\nnut \"q\" {\n  fits = \"o\"\n  cost = 5\n}\n"
	sizerOf(t, s, Options{Level: judge.Error}, []string{"line/p.parts.hcl", parts}, func(s *sizer, rep *judge.Report) {
		s.buildOptions()
		want := []struct {
			words, screw, nut, length string
			cost                      float64
		}{{"k", "", "", "", 11}, {"k with n2", "", "n2", "80 mm", 12}, {"l", "l", "l", "50 mm", 23}, {"m", "m", "", "", 31}, {"o with p", "o", "p", "", 44}, {"o with q", "o", "q", "", 45}}
		if len(s.choices[ChooseScrew].options) != len(want) {
			t.Fatalf("%q", optionWords(s, ChooseScrew))
		}
		for i, x := range want {
			k := slices.Index(optionWords(s, ChooseScrew), x.words)
			if k < 0 {
				t.Fatalf("no %s: %q", x.words, optionWords(s, ChooseScrew))
			}
			if i == 0 && k != 0 {
				t.Error("what is declared does not stand first")
			}
			ch := changed(s, [choices]int{ChooseScrew: k})
			screw, changesScrew := ch["screw.part"]
			nut, changesNut := ch["nut.part"]
			if screw != x.screw || changesScrew != (x.screw != "") || nut != x.nut || changesNut != (x.nut != "") || ch["nut.length"] != x.length || s.choices[ChooseScrew].options[k].cost != x.cost {
				t.Errorf("%s changes %v and costs %g", x.words, ch, s.choices[ChooseScrew].options[k].cost)
			}
			if root, ok := ch["screw.root_diameter"]; ok != (x.screw != "") || root != "" {
				t.Errorf("%s: root diameter %v, %q", x.words, ok, root)
			}
		}
		if !slices.Equal(s.out.Dropped, []string{"screw.root_diameter"}) || !s.out.NutStays {
			t.Errorf("dropped %v, nut stays %v", s.out.Dropped, s.out.NutStays)
		}
	})
	// A declared screw without a nut of its own is no further option, nor does
	// its nut stay where others have theirs.
	sizerOf(t, s, Options{Level: judge.Error}, []string{"line/p.parts.hcl", "screw \"k\" {\n  lead = \"10 mm\"\n}\nscrew \"l\" {\n  lead = \"5 mm\"\n}\nnut \"l\" {\n}\nnut \"n1\" {\n}\n"}, func(s *sizer, rep *judge.Report) {
		if s.buildOptions(); !slices.Equal(optionWords(s, ChooseScrew), []string{"k", "l"}) || s.out.NutStays {
			t.Errorf("%q, nut stays %v", optionWords(s, ChooseScrew), s.out.NutStays)
		}
	})
}

// TestSizingLeavesOut: a part is not tried where a rule of parts has a finding
// of the required level, under the policies of the folder that declares it; a
// waiver accepts it.
func TestSizingLeavesOut(t *testing.T) {
	parts := "screw \"odd\" {\n  nominal_diameter = \"21.5 mm\"\n  lead = \"10 mm\"\n}\nscrew \"wrong\" {\n  nominal_diameter = \"20 mm\"\n  root_diameter = \"21 mm\"\n  lead = \"10 mm\"\n}\n"
	waived := "waive \"part-contradiction\" {\n  parts = [\"screw.wrong\"]\n  reason = \"seen\"\n  until = \"2027-01-01\"\n}\n"
	for _, x := range []struct {
		level judge.Severity
		more  []string
		out   string
	}{
		{judge.Note, nil, "odd wrong"}, {judge.Warning, nil, "wrong"}, {judge.Error, nil, "wrong"},
		{judge.Note, []string{"line/h.policy.hcl", "rule \"preferred-size\" {\n  severity = \"off\"\n  reason = \"below\"\n}\n"}, "odd wrong"},
		{judge.Note, []string{"h.policy.hcl", "rule \"preferred-size\" {\n  severity = \"off\"\n  reason = \"above\"\n}\n"}, "wrong"},
		{judge.Warning, []string{"h.policy.hcl", waived}, ""},
	} {
		seen := false
		sizerOf(t, testaxis.WholeSheet(), Options{Level: x.level}, append([]string{"p.parts.hcl", parts}, x.more...), func(s *sizer, rep *judge.Report) {
			seen = true
			s.buildOptions()
			var out []string
			for _, name := range []string{"odd", "wrong"} {
				left := slices.ContainsFunc(s.out.LeftOut, func(f judge.Finding) bool { return strings.HasPrefix(f.Cause, "screw."+name) })
				if left == slices.Contains(optionWords(s, ChooseScrew), name) {
					t.Errorf("%s is left out %v: %q", name, left, optionWords(s, ChooseScrew))
				}
				if left {
					out = append(out, name)
				}
			}
			if strings.Join(out, " ") != x.out {
				t.Errorf("from %s on, %q: %q are left out, expected %q", x.level, x.more, out, x.out)
			}
		})
		if !seen {
			t.Error("no axis")
		}
	}
}

// TestSizingLaysEnds: how the shaft is held, with the units that fit, and what
// that changes.
func TestSizingLaysEnds(t *testing.T) {
	const units = "support \"a\" {\n  kind = \"fixed\"\n  bore = \"15 mm\"\n  cost = 10\n}\nsupport \"b\" {\n  kind = \"fixed\"\n  bore = \"15 mm\"\n  cost = 20\n}\nsupport \"c\" {\n  kind = \"fixed\"\n  bore = \"8 mm\"\n  cost = 30\n}\nsupport \"d\" {\n  kind = \"supported\"\n  bore = \"12 mm\"\n  cost = 40\n}\nsupport \"e\" {\n  kind = \"fixed\"\n}\n"
	bare := testaxis.WholeSheet().With("supports.drive_end_part", "")
	for path := range bare.Lines {
		if strings.HasPrefix(path, "drive_support.") {
			delete(bare.Lines, path)
		}
	}
	four := []string{"fixed-free", "supported-fixed", "fixed-fixed"}
	for _, x := range []struct {
		s     *testaxis.Sheet
		parts string
		want  []string
		costs string
	}{
		// Without units, four ways; they cost nothing.
		{bare, "", append([]string{"fixed-supported"}, four...), "[0 0 0 0]"},
		// Units are there, but not how thick the ends are: none is chosen, and the ways are as many.
		{bare.With("screw.end_diameters", ""), units, append([]string{"fixed-supported"}, four...), "[0 0 0 0]"},
		{bare, units, []string{"fixed-supported", "fixed-free (a)", "fixed-free (b)", "fixed-supported (a, d)", "fixed-supported (b, d)", "supported-fixed (d, c)", "fixed-fixed (a, c)", "fixed-fixed (b, c)"}, "[NaN 10 20 50 60 70 40 50]"},
		// The declared unit is tried at its end though others are larger; what is declared stands once.
		{bare.With("supports.drive_end_part", "support.c"), units, []string{"fixed-supported (c)", "fixed-free (a)", "fixed-free (b)", "fixed-free (c)", "fixed-supported (a, d)", "fixed-supported (b, d)", "fixed-supported (c, d)", "supported-fixed (d, c)", "fixed-fixed (a, c)", "fixed-fixed (b, c)", "fixed-fixed (c, c)"}, "[NaN 10 20 30 50 60 70 70 40 50 60]"},
		{bare.With("supports.drive_end_part", "support.a", "supports.far_end_part", "support.d"), units, []string{"fixed-supported (a, d)", "fixed-free (a)", "fixed-free (b)", "fixed-supported (b, d)", "supported-fixed (d, c)", "fixed-fixed (a, c)", "fixed-fixed (b, c)"}, "[50 10 20 60 70 40 50]"},
		// Where no unit of a kind is available, an end is held by none, and has no cost.
		{bare, "support \"s\" {\n  kind = \"fixed\"\n  bore = \"14 mm\"\n  cost = 5\n}\nsupport \"t\" {\n  kind = \"fixed\"\n  bore = \"15 mm\"\n  cost = 10\n}\n", []string{"fixed-supported", "fixed-free (t)", "fixed-supported (t)", "supported-fixed", "fixed-fixed (t)"}, "[NaN 10 NaN NaN NaN]"},
		{bare.With("supports.far_end", ""), "", append([]string{"not declared", "fixed-free", "fixed-supported"}, four[1:]...), "[0 0 0 0 0]"},
		{bare.With("supports.drive_end", ""), "", append([]string{"not declared", "fixed-free", "fixed-supported"}, four[1:]...), "[0 0 0 0 0]"},
		{bare.With("supports.drive_end", "", "supports.far_end", ""), "", append([]string{"not declared", "fixed-free", "fixed-supported"}, four[1:]...), "[0 0 0 0 0]"},
		{bare.With("supports.far_end", `"fixed"`), "", []string{"fixed-fixed", "fixed-free", "fixed-supported", "supported-fixed"}, "[0 0 0 0]"},
	} {
		seen := false
		sizerOf(t, x.s, Options{Level: judge.Error}, []string{"line/p.parts.hcl", x.parts}, func(s *sizer, rep *judge.Report) {
			seen = true
			s.buildOptions()
			if got := optionWords(s, ChooseEnds); !slices.Equal(got, x.want) {
				t.Errorf("%q, expected %q", got, x.want)
				return
			}
			var costs []float64
			for _, o := range s.choices[ChooseEnds].options {
				costs = append(costs, o.cost)
			}
			if got := fmt.Sprint(costs); got != x.costs {
				t.Errorf("%q cost %s, expected %s", x.want, got, x.costs)
			}
			for i, words := range x.want {
				held, names, _ := strings.Cut(strings.TrimSuffix(words, ")"), " (")
				y := s.base.Axis.Copy()
				y.Put(s.changes([choices]int{ChooseEnds: i}))
				named := ""
				for _, f := range []*spec.Field{driveEndRef, farEndRef} {
					if v := y.Get(f); v != nil && v.Part != nil {
						named += ", " + v.Part.Name
					}
				}
				word := func(f *spec.Field) string {
					if v := y.Get(f); v != nil {
						return f.Words[v.Word]
					}
					return ""
				}
				if got := word(driveEndField) + "-" + word(farEndField); held != "not declared" && got != held || strings.TrimPrefix(named, ", ") != names || s.choices[ChooseEnds].options[i].fixed != strings.Count(held, "fixed") && held != "not declared" {
					t.Errorf("%s makes %s of it, with %s", words, got, named)
				}
			}
		})
		if !seen {
			t.Errorf("no axis:\n%s", x.s)
		}
	}
}

// TestSizingLaysDrives: an axis without a motor is offered all, one without a
// coupling none; those of a size stay in the order of the files.
func TestSizingLaysDrives(t *testing.T) {
	parts := "motor \"z\" {\n  rated_torque = \"1 N m\"\n}\nmotor \"y\" {\n  rated_torque = \"1 N m\"\n}\nmotor \"x\" {\n  rated_torque = \"0.5 N m\"\n}\ncoupling \"c\" {\n  rated_torque = \"1 N m\"\n}\n"
	s := testaxis.WholeSheet().With("drive.motor", "", "drive.coupling", "")
	for path := range s.Lines {
		if strings.HasPrefix(path, "motor.") || strings.HasPrefix(path, "coupling.") {
			delete(s.Lines, path)
		}
	}
	sizerOf(t, s, Options{Level: judge.Error}, []string{"line/p.parts.hcl", parts}, func(s *sizer, rep *judge.Report) {
		s.buildOptions()
		if got := optionWords(s, ChooseMotor); !slices.Equal(got, []string{"none declared", "x", "z", "y"}) {
			t.Errorf("motors %q", got)
		}
		if got := optionWords(s, ChooseCoupling); !slices.Equal(got, []string{"none declared"}) {
			t.Errorf("couplings %q", got)
		}
	})
}

// TestSizingPreloadsWritten: a share is rounded down to two digits of the units
// of the axis and written into it; even a small preload is varied. 254, 635 and
// 1016 N are 57.1, 143 and 228 lbf.
func TestSizingPreloadsWritten(t *testing.T) {
	sizerOf(t, testaxis.WholeSheet().With("nut.preload", `"0.5 N"`), Options{Level: judge.Error}, []string{"line/p.parts.hcl", "screw \"k\" {\n  lead = \"10 mm\"\n  dynamic_rating = \"20 kN\"\n}\n"}, func(s *sizer, rep *judge.Report) {
		s.buildOptions()
		for i, want := range []string{"", "250 N", "630 N", "1000 N"} {
			if got := changed(s, [choices]int{ChoosePreload: i}); len(got) != min(i, 1) || got["nut.preload"] != want {
				t.Errorf("%v, expected %s", got, want)
			}
		}
		if got := changed(s, [choices]int{ChooseScrew: 1, ChoosePreload: 2}); got["nut.preload"] != "1000 N" {
			t.Errorf("5 %% of 20 kN are %s", got["nut.preload"])
		}
		s.base.Sys = unit.Inch
		for i, want := range []string{"57 lbf", "140 lbf", "220 lbf"} {
			if got := s.preloadOf(0, i+1); got.Text != want {
				t.Errorf("%s, expected %s", got.Text, want)
			}
		}
	})
}

// TestPartNumber: NaN where a part does not say, or says what cannot be read.
func TestPartNumber(t *testing.T) {
	tree := spec.NewTree(testaxis.Memory("m/a.axis.hcl", "axis \"a\" {\n}\n", "m/p.parts.hcl", "motor \"m\" {\n  rated_torque = \"2 N m\"\n  peak_torque = \"much\"\n}\n"))
	m := tree.ReadAxes("m/a.axis.hcl").Axes[0].Folder.Visible("motor")[0]
	for name, want := range map[string]float64{"rated_torque": 2, "peak_torque": math.NaN(), "max_speed": math.NaN()} {
		if got := partNumber(m, name); got != want && !(got != got && want != want) {
			t.Errorf("%s: %g, expected %g", name, got, want)
		}
	}
}
