package sizing

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/run/runtest"
	"trammel/rules/judge/testaxis"
	"trammel/rules/tables"
)

// bareSheet is an axis on which nothing acts but what is added.
func bareSheet(pairs ...string) *testaxis.Sheet {
	s := &testaxis.Sheet{Name: "cross", Lines: map[string]string{"orientation": `"horizontal"`, "load.mass": `"1 g"`, "load.friction": "0", "load.drag": `"0 N"`, "motion.stroke": `"1 m"`},
		Moves: []*testaxis.SheetMove{
			{Name: "out", Lines: map[string]string{"distance": `"1 m"`, "speed": `"0.1 m/s"`, "ramp": `"1 ms"`}},
			{Name: "back", Lines: map[string]string{"distance": `"-1 m"`, "speed": `"0.1 m/s"`, "ramp": `"1 ms"`}},
		}}
	return s.With(pairs...)
}

// bareNeeds gives what screw such an axis needs, as to errors, of some leads.
func bareNeeds(t *testing.T, leads []float64, policy string, pairs ...string) (needs []ScrewNeed) {
	t.Helper()
	sizerOf(t, bareSheet(pairs...), Options{Level: judge.Error}, []string{"line/h.policy.hcl", policy}, func(s *sizer, rep *judge.Report) {
		f := &free{s: s, out: &FreeDesign{}}
		f.buildOptions()
		s.rules(rep)
		if err := f.search(context.Background(), leads); err != nil {
			t.Fatal(err)
		}
		needs = f.out.Needs
	})
	if len(needs) != len(leads) {
		t.Fatalf("%d needs for %d leads", len(needs), len(leads))
	}
	return needs
}

// smallestOf gives the smallest diameter of ISO 3408-2 that is not below one.
func smallestOf(least float64) float64 {
	for _, d := range tables.PreferredDiameters() {
		if d >= least*(1-1e-9) {
			return d
		}
	}
	return math.NaN()
}

// TestFreeDesignOfNothing: where nothing is required of the screw, the smallest
// diameter serves that is not below a quarter of the lead, and no rating is
// needed. It turns once for each lead travelled. What a screw cannot fix
// stands beside the needs.
func TestFreeDesignOfNothing(t *testing.T) {
	policy := "require \"named\" {\n  that = declared(motion.overtravel)\n}\nrequire \"waived\" {\n  that = motion.stroke < \"1 mm\"\n}\nwaive \"waived\" {\n  reason = \"seen\"\n  until = \"2027-01-01\"\n}\n"
	var got *FreeDesign
	runtest.Try(bareSheet().Files("line/h.policy.hcl", policy), run.Options{Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
		var err error
		if got, err = FindFree(context.Background(), rep, Options{Today: testaxis.SomeDay, Level: judge.Error}); err != nil {
			t.Fatal(err)
		}
	}}})
	leads := tables.PreferredLeads()
	if len(got.Needs) != len(leads) {
		t.Fatalf("%d leads, not %d", len(got.Needs), len(leads))
	}
	for i, n := range got.Needs {
		speed := 0.1 / leads[i] * 2 * math.Pi
		if n.Lead != leads[i] || n.Diameter != smallestOf(leads[i]/4) || n.Root != 0 || n.Dynamic != 0 || n.Static != 0 || len(n.Breaks) > 0 || !(math.Abs(n.Speed-speed) <= 1e-9*speed) {
			t.Errorf("%+v", n)
		}
	}
	if len(got.Standing) != 1 || got.Standing[0].Rule != "named" || !slices.Equal(got.Waived, []string{"waived"}) {
		t.Errorf("standing %+v, waived %v", got.Standing, got.Waived)
	}
	if open := func(line string) bool {
		return slices.ContainsFunc(got.Open, func(g judge.MissingInput) bool { return g.Missing == line })
	}; !open("duty.service_life") || open("screw.dynamic_rating") || !got.Partly || got.Judged == 0 {
		t.Errorf("open %+v, partly %v, %d judged", got.Open, got.Partly, got.Judged)
	}
}

// TestFreeDesignColumn: Shigley's Mechanical Engineering Design, Example 4-16
// (number differs between editions): a column of 1.5 m that carries 22 kN with a
// safety of 4 is 37.48 mm thick. The screw is the smallest whose root is taken
// to be as thick: 0.8 of 50 mm is 40 mm, of 40 mm it is 32 mm.
func TestFreeDesignColumn(t *testing.T) {
	want, tol := testaxis.Published(t, "../..", "SH417")
	got := bareNeeds(t, []float64{0.005, 0.010}, "rule \"buckling\" {\n  limit = 4\n}\n", "load.standstill", `"22 kN"`, "supports.drive_end", `"supported"`, "supports.far_end", `"supported"`, "supports.span", `"1.5 m"`,
		"screw.elastic_modulus", `"207 GPa"`, "screw.yield_strength", `"500 MPa"`, "motion.move.speed", `"0.001 mm/s"`, "motion.move.ramp", `"1 s"`)
	for _, n := range got {
		// To three digits on the safe side: 37.5 mm.
		if root := n.Root * 1e3; !(math.Abs(n.Diameter-0.050) <= 1e-9) || !(math.Abs(root-want) <= tol*want+0.05) || root < want*(1-tol) || len(n.Breaks) > 0 {
			t.Errorf("lead %g mm: %+v, the book has %g mm", n.Lead*1e3, n, want)
		}
	}
}

// TestFreeDesignStatic: 500 N that push while it stands, three times over, are
// 1500 N of static rating; grade and hardness take nothing off.
func TestFreeDesignStatic(t *testing.T) {
	for push, want := range map[string]float64{`"500 N"`: 1500, `"33.4 N"`: 101, `"50 N"`: 150, `"33.3 N"`: 0} { // 100 N or less is not told
		got := bareNeeds(t, []float64{0.005, 0.040}, "rule \"static-safety\" {\n  limit = 3\n  reason = \"for a test\"\n}\n", "load.standstill", push, "screw.grade", `"C3"`, "duty.shock", `"smooth"`)
		for _, n := range got {
			if !(math.Abs(n.Static-want) <= 1e-6) || n.Dynamic != 0 || n.Root != 0 || n.Diameter != smallestOf(n.Lead/4) {
				t.Errorf("%s: %+v, expected %g N", push, n, want)
			}
		}
	}
}

// TestFreeDesignBroken: where no size serves, the rules that throw it out are
// named and no numbers are given: a shaft that is held at one end only, and not
// there, has no critical speed; one that turns too fast at every size.
func TestFreeDesignBroken(t *testing.T) {
	got := bareNeeds(t, []float64{0.010}, "", "supports.drive_end", `"supported"`, "supports.far_end", `"free"`, "supports.span", `"1 m"`, "load.standstill", `"500 N"`, "duty.shock", `"smooth"`, "screw.grade", `"C3"`)
	for _, n := range got {
		if !slices.Contains(n.Breaks, "critical-speed") || n.Diameter == n.Diameter || n.Root != 0 || n.Dynamic != 0 || n.Static != 0 {
			t.Errorf("%+v", n)
		}
	}
	got = bareNeeds(t, []float64{0.005, 0.008, 0.010, 0.012}, "require \"slow\" {\n  that = max_rotation_speed <= \"600 rpm\"\n}\nrequire \"thick\" {\n  that = screw.nominal_diameter >= \"31 mm\"\n}\n")
	for _, n := range got { // 0.1 m/s at 10 mm are 600 rpm; no preferred diameter lies between 31 and 32 mm
		switch serves := n.Lead >= 0.010-1e-9; {
		case serves && (!(math.Abs(n.Diameter-0.032) <= 1e-9) || len(n.Breaks) > 0):
			t.Errorf("%+v", n)
		case !serves && !slices.Equal(n.Breaks, []string{"slow"}):
			t.Errorf("%+v", n)
		}
	}
}

// TestFreeDesignOpens: what the declared screw says of itself plays no part.
func TestFreeDesignOpens(t *testing.T) {
	policy := "require \"balls\" {\n  that = declared(screw.ball_diameter) || declared(screw.longest)\n}\nrequire \"rated\" {\n  that = declared(screw.dynamic_rating) && declared(screw.static_rating) && declared(screw.root_diameter)\n}\n"
	got := bareNeeds(t, []float64{0.020, 0.005}, policy, "screw.ball_diameter", `"3 mm"`, "screw.ball_circle_diameter", `"21 mm"`, "screw.nominal_diameter", `"20 mm"`, "screw.root_diameter", `"17 mm"`)
	for _, n := range got {
		if !slices.Equal(n.Breaks, []string{"balls"}) {
			t.Errorf("lead %g mm: %v", n.Lead*1e3, n.Breaks)
		}
	}
}

// TestFreeDesignRefuses: no needs where values have tolerances, the axis cannot
// be judged, or the search is broken off.
func TestFreeDesignRefuses(t *testing.T) {
	free := func(ctx context.Context, pairs ...string) (err error) {
		err = errors.New("no axis")
		runtest.Try(testaxis.WholeSheet().With(pairs...).Files(), run.Options{Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
			_, err = FindFree(ctx, rep, Options{Today: testaxis.SomeDay, Level: judge.Error})
		}}})
		return err
	}
	ended, cancel := context.WithCancel(context.Background())
	cancel()
	if err := free(ended); err != context.Canceled {
		t.Errorf("broken off: %v", err)
	}
	for words, pairs := range map[string][]string{"tolerances": {"load.mass", `"30 kg ± 1 kg"`}, "carries": {"load.carries", "[axis.none]"}} {
		if err := free(context.Background(), pairs...); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%v: %v", pairs, err)
		}
	}
}

// TestOtherScrews: whether an axis could refer to a screw other than its own.
func TestOtherScrews(t *testing.T) {
	const one, two = "screw \"k\" {\n  lead = \"10 mm\"\n}\n", "screw \"k\" {\n  lead = \"10 mm\"\n}\nscrew \"l\" {\n  lead = \"5 mm\"\n}\n"
	for _, x := range []struct {
		part, parts string
		want        bool
	}{{"", "", false}, {"", one, true}, {"screw.k", one, false}, {"screw.k", two, true}} {
		seen := false
		runtest.Try(testaxis.WholeSheet().With("screw.part", x.part).Files("line/p.parts.hcl", x.parts), run.Options{Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
			if seen = true; OtherScrews(rep) != x.want {
				t.Errorf("part %q among %q: %v", x.part, x.parts, !x.want)
			}
		}}})
		if !seen {
			t.Error("no axis")
		}
	}
}
