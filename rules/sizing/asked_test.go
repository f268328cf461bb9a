package sizing

import (
	"math"
	"slices"
	"strings"
	"testing"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/run/runtest"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
	"trammel/spec/unit"
)

// sizerOf opens the whole sheet, or what becomes of it, for a sizing.
func sizerOf(t *testing.T, s *testaxis.Sheet, o Options, more []string, each func(s *sizer, rep *judge.Report)) {
	t.Helper()
	seen := false
	o.Today = testaxis.SomeDay
	runtest.Try(s.Files(more...), run.Options{Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
		x, err := openSizer(rep, o)
		if err != nil {
			t.Fatal(err)
		}
		seen = true
		each(x, rep)
	}}})
	if !seen {
		t.Fatal("no axis")
	}
}

// TestSizingAsks: all rules of axes of the required level, those of the house
// too, but what is waived; none of parts alone.
func TestSizingAsks(t *testing.T) {
	s := testaxis.WholeSheet().With("supports.span", `"900 mm"`, "motion.move.speed", `"0.7 m/s"`)
	s.More = "  waive \"critical-speed\" {\n    reason = \"seen\"\n    until = \"2027-01-01\"\n  }\n"
	policy := "require \"soft\" {\n  that = true\n  severity = \"note\"\n}\nrequire \"hard\" {\n  that = true\n}\nrule \"stiffness\" {\n  severity = \"note\"\n}\n"
	for level, soft := range map[judge.Severity]bool{judge.Note: true, judge.Warning: false, judge.Error: false} {
		sizerOf(t, s, Options{Level: level}, []string{"line/h.policy.hcl", policy}, func(x *sizer, rep *judge.Report) {
			x.rules(rep)
			var names []string
			for i := range x.asked {
				names = append(names, x.asked[i].name)
			}
			if !slices.Equal(x.out.Waived, []string{"critical-speed"}) || slices.Contains(names, "critical-speed") {
				t.Errorf("waived are %q; asked %q", x.out.Waived, names)
			}
			if !slices.Contains(names, "hard") || slices.Contains(names, "soft") != soft || slices.Contains(names, "stiffness") != soft {
				t.Errorf("from %s on: %q", level, names)
			}
			for _, r := range rules.Book().All() {
				if want := r.OfAxes() && !r.Mirror && r.Severity >= level && r.Name != "critical-speed" && r.Name != "stiffness"; !want && slices.Contains(names, r.Name) && r.Name != "stiffness" || want && !slices.Contains(names, r.Name) {
					t.Errorf("%s, a rule of axes %v, of severity %s, from %s on: %q", r.Name, r.OfAxes(), r.Severity, level, names)
				}
			}
		})
	}
}

// TestSizingSeesTolerances: of the axis, and of each value and each end of a
// pair that a part would bring; what parts bring is noted.
func TestSizingSeesTolerances(t *testing.T) {
	exact, wide := unit.Quantity{Nominal: 2, Low: 2, High: 2}, unit.Quantity{Nominal: 2, Low: 1, High: 3}
	less := unit.Quantity{Nominal: 1, Low: 1, High: 1}
	lead := judge.Field("screw.lead")
	for _, x := range []struct {
		mass   string
		value  *spec.Value
		spread bool
		brings bool
	}{
		{`"30 kg"`, nil, false, false},
		{`"30 kg ± 1 kg"`, nil, true, false},
		{`"30 kg"`, &spec.Value{Num: exact}, false, true},
		{`"30 kg"`, &spec.Value{Num: wide}, true, true},
		{`"30 kg"`, &spec.Value{Num: wide, Bad: true}, false, false},
		{`"30 kg"`, &spec.Value{Ends: [2]unit.Quantity{exact, less}}, false, true},
		{`"30 kg"`, &spec.Value{Ends: [2]unit.Quantity{less, exact}}, false, true},
		{`"30 kg"`, &spec.Value{Ends: [2]unit.Quantity{wide, exact}}, true, true},
		{`"30 kg"`, &spec.Value{Ends: [2]unit.Quantity{exact, wide}}, true, true},
		{`"30 kg ± 1 kg"`, &spec.Value{Num: exact}, true, true},
	} {
		sizerOf(t, testaxis.WholeSheet().With("load.mass", x.mass), Options{Level: judge.Warning}, nil, func(s *sizer, rep *judge.Report) {
			c := &s.choices[ChooseMotor]
			c.fields = []*spec.Field{lead}
			c.options = []option{{values: []*spec.Value{nil}}, {values: []*spec.Value{x.value}}, {values: []*spec.Value{nil}}}
			s.rules(rep)
			if s.out.Spread != x.spread || s.supplied.Has(lead) != x.brings {
				t.Errorf("mass %s, a part with %+v: tolerances %v, brings it %v", x.mass, x.value, s.out.Spread, s.supplied.Has(lead))
			}
		})
	}
}

// TestSizingPreloads: shares of the dynamic rating, rounded down to two digits
// of the units the axis is written in: 2, 5 and 8 % of 12.7 kN are 254, 635 and
// 1016 N.
func TestSizingPreloads(t *testing.T) {
	for _, x := range []struct {
		rating string
		want   []string
	}{
		{`"12.7 kN"`, []string{"250 N", "630 N", "1 kN"}},
		{`"12.5 kN"`, []string{"250 N", "620 N", "1 kN"}}, // 625 N are 620, 1000 N stay
		{`"9.99 kN"`, []string{"190 N", "490 N", "790 N"}},
		{"", nil},
	} {
		sizerOf(t, testaxis.WholeSheet().With("screw.dynamic_rating", x.rating), Options{}, nil, func(s *sizer, rep *judge.Report) {
			s.buildOptions()
			c := &s.choices[ChoosePreload]
			if len(c.options) != 4 {
				t.Fatalf("%d preloads", len(c.options))
			}
			if v := s.preloadOf(0, 0); v == nil || v.Text != "400 N" {
				t.Errorf("declared is %v", v)
			}
			for i := 1; i < 4; i++ {
				v := s.preloadOf(0, i)
				switch {
				case x.want == nil && v != nil:
					t.Errorf("a screw of no rating is preloaded to %s", v.Text)
				case x.want == nil:
				case v == nil:
					t.Errorf("%s: no preload %d", x.rating, i)
				default:
					want, err := unit.Parse(x.want[i-1], unit.Force)
					if err != nil || math.Abs(v.Num.Nominal-want.Nominal) > 1e-6 {
						t.Errorf("%s: preload %d is %s, expected %s", x.rating, i, v.Text, x.want[i-1])
					}
				}
			}
		})
	}
	// Without preload, or with play, there are no shares to try.
	for _, s := range []*testaxis.Sheet{testaxis.WholeSheet().With("nut.preload", ""), testaxis.WholeSheet().With("nut.preload", `"0 N"`), testaxis.WholeSheet().With("nut.backlash", `"10 um"`)} {
		sizerOf(t, s, Options{}, nil, func(s *sizer, rep *judge.Report) {
			if s.buildOptions(); len(s.choices[ChoosePreload].options) != 1 {
				t.Errorf("%d preloads", len(s.choices[ChoosePreload].options))
			}
		})
	}
}

// TestSizingLaysOut: grades of the declared family from the coarsest, motors
// from the smallest, screws with each nut that fits, the support of the largest
// bore that fits; what is to be kept is kept.
func TestSizingLaysOut(t *testing.T) {
	parts := `
motor "big" {
  rated_torque = "3 N m"
  cost = 300
}
motor "small" {
  rated_torque = "1 N m"
}
motor "same_less_peak" {
  rated_torque = "1.3 N m"
  peak_torque = "3 N m"
}
screw "k" {
  nominal_diameter = "25 mm"
  lead = "10 mm"
}
nut "n1" {
  fits = "k"
}
nut "n2" {
  fits = "k"
}
nut "k" {
}
screw "bare" {
  nominal_diameter = "16 mm"
}
support "s12" {
  kind = "fixed"
  bore = "12 mm"
}
support "s14" {
  kind = "fixed"
  bore = "14 mm"
}
support "s15b" {
  kind = "fixed"
  bore = "15 mm"
}
support "s17" {
  kind = "fixed"
  bore = "17 mm"
}
support "f12" {
  kind = "supported"
  bore = "12 mm"
}
support "f10" {
  kind = "supported"
  bore = "10 mm"
}
`
	list := func(s *sizer, which int) (out []string) {
		for _, o := range s.choices[which].options {
			out = append(out, o.words)
		}
		return out
	}
	more := []string{"parts/more.parts.hcl", parts}
	sizerOf(t, testaxis.WholeSheet(), Options{Level: judge.Warning}, more, func(s *sizer, rep *judge.Report) {
		s.buildOptions()
		for which, want := range map[int]string{
			ChooseGrade: "C5 C10 C7 C3",
			ChooseMotor: "m1 small same_less_peak big",
		} {
			if got := strings.Join(list(s, which), " "); got != want {
				t.Errorf("%s: %s, expected %s", ChoiceNames[which], got, want)
			}
		}
		if s.declaredMotor != 3 { // after the one with less peak torque
			t.Errorf("the declared motor stands at %d", s.declaredMotor)
		}
		screws := list(s, ChooseScrew)
		slices.Sort(screws)
		if got := strings.Join(screws, ", "); got != "as declared, bare, k with k, k with n1, k with n2" {
			t.Errorf("screws: %s", got)
		}
		if !s.out.NutStays {
			t.Error("the nut of the bare screw is not said to stay")
		}
		ends := strings.Join(list(s, ChooseEnds), ", ")
		for _, want := range []string{"fixed-supported (s1, f12)", "fixed-free (s1)", "fixed-free (s15b)", "fixed-fixed (s15b, s12)", "supported-fixed (f12, s12)"} {
			if !strings.Contains(ends, want) {
				t.Errorf("ends lack %s: %s", want, ends)
			}
		}
		for _, not := range []string{"s14", "s17", "f10"} {
			if strings.Contains(ends, not) {
				t.Errorf("%s is tried, which does not fit or is thinner than need be: %s", not, ends)
			}
		}
		for i := range s.choices {
			if c := s.out.Choices[i]; c.Kept != (len(c.Options) == 1) || c.Name != ChoiceNames[i] || len(c.Options) != len(s.choices[i].options) {
				t.Errorf("%+v", c)
			}
		}
	})
	var keep [choices]bool
	keep[ChooseMotor], keep[ChooseGrade] = true, true
	sizerOf(t, testaxis.WholeSheet(), Options{Level: judge.Warning, Keep: keep}, more, func(s *sizer, rep *judge.Report) {
		s.buildOptions()
		for i, c := range s.out.Choices {
			if keep[i] && (!c.Kept || len(c.Options) != 1) {
				t.Errorf("%+v is not kept", c)
			}
		}
		if got := list(s, ChooseGrade); !slices.Equal(got, []string{"C5"}) {
			t.Errorf("%q", got)
		}
	})
	for now, want := range map[string]string{`"T7"`: "T7 T10 T5", `"P3"`: "P3 P5 P1", "": "not declared C10 C7 C5 C3"} {
		sizerOf(t, testaxis.WholeSheet().With("screw.grade", now), Options{Level: judge.Warning}, nil, func(s *sizer, rep *judge.Report) {
			s.buildOptions()
			if got := strings.Join(list(s, ChooseGrade), " "); got != want {
				t.Errorf("grade %s: %s, expected %s", now, got, want)
			}
		})
	}
	// No coupling is put where there is none.
	sizerOf(t, testaxis.WholeSheet().With("drive.coupling", ""), Options{Level: judge.Warning}, nil, func(s *sizer, rep *judge.Report) {
		if s.buildOptions(); len(s.choices[ChooseCoupling].options) != 1 {
			t.Errorf("%q", list(s, ChooseCoupling))
		}
	})
}

// TestSizingPicks: an answer names the preload with its share of the rating, and
// says what differs from what is declared. Lines of the axis that another screw
// replaces are named, those that stay are not.
func TestSizingPicks(t *testing.T) {
	more := []string{"parts/more.parts.hcl", "screw \"k\" {\n  nominal_diameter = \"25 mm\"\n  lead = \"10 mm\"\n  dynamic_rating = \"20 kN\"\n}\n"}
	sizerOf(t, testaxis.WholeSheet(), Options{Level: judge.Warning}, more, func(s *sizer, rep *judge.Report) {
		s.buildOptions()
		for _, x := range []struct {
			screw, preload int
			words          string
			different      int
		}{{0, 0, "400 N", 0}, {0, 1, "250 N (2 % of Ca)", 1}, {0, 2, "630 N (5 % of Ca)", 1}, {1, 1, "400 N (2 % of Ca)", 2}, {1, 2, "1000 N (5 % of Ca)", 2}, {1, 0, "400 N", 1}} {
			picks, different := s.picks([choices]int{ChooseScrew: x.screw, ChoosePreload: x.preload})
			if got := picks[ChoosePreload]; got.Words != x.words || got.Choice != "preload" || got.Different != (x.preload > 0) || different != x.different || picks[ChooseScrew].Different != (x.screw > 0) {
				t.Errorf("screw %d, preload %d: %+v, %d different", x.screw, x.preload, picks, different)
			}
		}
		for path, want := range map[string]bool{"screw.nominal_diameter": true, "screw.root_diameter": true, "screw.static_rating": true, "screw.part": false, "load.mass": false, "supports.span": false} {
			if slices.Contains(s.out.Dropped, path) != want {
				t.Errorf("%s is dropped: %v", path, s.out.Dropped)
			}
		}
	})
}
