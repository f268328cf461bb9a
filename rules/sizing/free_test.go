package sizing

import (
	"context"
	"math"
	"slices"
	"testing"
	"testing/fstest"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
	"trammel/spec/amount"
)

// freeOf finds what screw the axis of a text needs, as to errors: reserves that
// a warning asks for beyond the published figures are left out.
func freeOf(t *testing.T, axis string, each func(*judge.Report, *FreeDesign)) {
	t.Helper()
	fsys := fstest.MapFS{"x.axis.hcl": {Data: []byte(axis)}, "x.parts.hcl": {Data: []byte("motor \"m\" {\n  max_speed = \"416.7 rpm\"\n}\n")}}
	sum := run.Files(rules.Book(), spec.NewTree(fsys), []string{"x.axis.hcl"}, run.Options{Today: testaxis.SomeDay, Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
		got, err := FindFree(context.Background(), rep, Options{Today: testaxis.SomeDay, Level: judge.Error})
		if err != nil {
			t.Fatal(err)
		}
		each(rep, got)
	}}})
	for _, f := range sum.Findings {
		if f.OfText() {
			t.Fatalf("%s: %s", f.Place, f.Message)
		}
	}
}

// Needed rating: Shigley's Mechanical Engineering Design, Example 11-1: a load of
// 400 lbf for 5000 h at 1725 rpm needs a catalogue rating of 3211 lbf (exponent
// 3, 90 %, one million revolutions). The law of life is that of ISO 3408-5. The
// axis here pushes 400 lbf toward the same end of the shaft on both ways, so
// that one flank carries it all the time; its mass is next to nothing.
func TestFreeDesignPublishedRating(t *testing.T) {
	freeOf(t, `axis "push" {
  orientation = "horizontal"
  load {
    mass     = "1 g"
    friction = 0
    drag     = "0 N"
  }
  motion {
    stroke = "1 m"
    move "out" {
      distance = "1 m"
      speed    = "143.75 mm/s"
      ramp     = "1 ms"
      thrust   = "400 lbf"
    }
    move "back" {
      distance = "-1 m"
      speed    = "143.75 mm/s"
      ramp     = "1 ms"
      thrust   = "-400 lbf"
    }
  }
  duty {
    hours_per_day = 10
    days_per_year = 250
    service_life  = "2 years"
    load_factor   = 1
  }
  screw {
    grade = "C5"
  }
  nut {
    preload = "0 N"
    backlash = "10 um"
  }
}
`, func(_ *judge.Report, got *FreeDesign) {
		i := slices.IndexFunc(got.Needs, func(n ScrewNeed) bool { return math.Abs(n.Lead-0.005) < 1e-9 })
		n := got.Needs[i]
		if len(n.Breaks) > 0 {
			t.Fatal(n.Breaks)
		}
		const pound = 4.4482216152605
		if x := n.Dynamic / pound; math.Abs(x-3211) > 3211*0.004 || x < 3211*(1-5e-4) {
			t.Errorf("a lead of 5 mm needs %.1f lbf; published 3211, on the safe side to three digits", x)
		}
		if rpm := n.Speed * 30 / math.Pi; math.Abs(rpm-1725) > 0.1 {
			t.Errorf("%g rpm, not 1725", rpm)
		}
	})
}

// Lead from speed: Groover, Automation, Production Systems, and CIM, NC
// positioning Example 7.1 (from memory): a lead of 6.0 mm behind a reduction of
// 5 : 1 moves 500 mm/min with the motor at 416.667 rpm. With no more speed than
// that, every shorter lead is rejected and 6 mm is not.
func TestFreeDesignPublishedLead(t *testing.T) {
	freeOf(t, `axis "table" {
  orientation = "horizontal"
  load {
    mass     = "20 kg"
    friction = 0.1
    drag     = "0 N"
  }
  motion {
    stroke = "250 mm"
    move "out" {
      distance = "250 mm"
      speed    = "500 mm/min"
      ramp     = "0.5 s"
    }
    move "back" {
      distance = "-250 mm"
      speed    = "500 mm/min"
      ramp     = "0.5 s"
    }
  }
  drive {
    motor = motor.m
    ratio = 5
  }
}
`, func(_ *judge.Report, got *FreeDesign) {
		for _, n := range got.Needs {
			rejected := slices.Contains(n.Breaks, "min-lead") || slices.Contains(n.Breaks, "motor-speed")
			if short := n.Lead < 0.006-1e-9; short != rejected {
				t.Errorf("lead %g mm: rejected by %v", n.Lead*1e3, n.Breaks)
			}
		}
	})
}

// What is needed is just enough: with it every rule holds, with a little less
// one does not.
func TestLongFreeDesignIsLeast(t *testing.T) {
	amount.Long(t)
	l := wideLibrary(1, 1)
	base := plainAxis{screw: l.screws[0].name, preload: "400 N", drive: "fixed", far: "supported", grade: "C5", motor: "m0", mass: 30, speed: 0.3, positioning: 120}
	l.motors[0] = plainMotor{name: "m0", speed: 4000, rated: 2.4, peak: 7, inertia: 2}
	seen := 0
	judgeText(t, base.text(), l.text(), "", func(rep *judge.Report) {
		s, err := openSizer(rep, Options{Today: testaxis.SomeDay, Level: judge.Warning})
		if err != nil {
			t.Fatal(err)
		}
		f := &free{s: s, out: &FreeDesign{}}
		f.buildOptions()
		s.rules(rep)
		if err := f.search(context.Background(), []float64{0.005, 0.008, 0.012, 0.020}); err != nil {
			t.Fatal(err)
		}
		for _, n := range f.out.Needs {
			if n.Diameter != n.Diameter {
				continue
			}
			seen++
			judge := func(root, ca, c0 float64) (out []string) {
				x := rep.View.Axis.Copy()
				for _, f := range openFields {
					x.Put([]spec.Change{{Field: f}})
				}
				for i, v := range []float64{n.Diameter, n.Lead, root, ca, c0} {
					val := *rep.View.Axis.Get(judge.Field("load.mass"))
					val.Field = freeFields[i]
					val.Num.Nominal, val.Num.Low, val.Num.High = v, v, v
					x.Put([]spec.Change{{Field: freeFields[i], Value: &val}})
				}
				again := rules.Book().NewJudge(testaxis.SomeDay, false).Judge(judge.NewScratch(), x, nil)
				for _, f := range again.Findings {
					if f.Severity >= judge.Warning {
						out = append(out, f.Rule)
					}
				}
				return out
			}
			if out := judge(n.Root, n.Dynamic, n.Static); len(out) > 0 {
				t.Errorf("lead %g mm, diameter %g mm, root %g mm, ratings %g N and %g N: %v", n.Lead*1e3, n.Diameter*1e3, n.Root*1e3, n.Dynamic, n.Static, out)
			}
			for i, less := range [][3]float64{{n.Root * 0.98, n.Dynamic, n.Static}, {n.Root, n.Dynamic * 0.98, n.Static}, {n.Root, n.Dynamic, n.Static * 0.98}} {
				if [3]float64{n.Root, n.Dynamic, n.Static}[i] == 0 {
					continue
				}
				if len(judge(less[0], less[1], less[2])) == 0 {
					t.Errorf("lead %g mm, diameter %g mm: less would do than root %g mm, ratings %g N and %g N (%d)", n.Lead*1e3, n.Diameter*1e3, n.Root*1e3, n.Dynamic, n.Static, i)
				}
			}
		}
	})
	if seen < 3 {
		t.Errorf("%d leads serve", seen)
	}
}
