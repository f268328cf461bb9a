package sizing

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/amount"
)

// A sizing is compared with the plain way: write the text of every combination,
// read it, ask every rule of it.

type plainScrew struct {
	name             string
	d0, lead, root   float64 // mm
	ca, c0           float64 // kN
	process          string
	noRoot, noStatic bool
}

type plainMotor struct {
	name               string
	speed, rated, peak float64
	inertia, brake     float64
}

type plainSupport struct {
	name, kind      string
	bore, stiffness float64
	dynamic         float64
	drag            float64
}

type plainLibrary struct {
	screws   []plainScrew
	motors   []plainMotor
	supports []plainSupport
	clutch   []float64 // rated torques of couplings
}

func (l *plainLibrary) text() string {
	var b strings.Builder
	for _, s := range l.screws {
		fmt.Fprintf(&b, "screw %q {\n  nominal_diameter = \"%g mm\"\n  lead = \"%g mm\"\n  dynamic_rating = \"%g kN\"\n  process = %q\n  recirculation = \"end-cap\"\n", s.name, s.d0, s.lead, s.ca, s.process)
		if !s.noRoot {
			fmt.Fprintf(&b, "  root_diameter = \"%g mm\"\n", s.root)
		}
		if !s.noStatic {
			fmt.Fprintf(&b, "  static_rating = \"%g kN\"\n", s.c0)
		}
		b.WriteString("}\n")
	}
	for _, m := range l.motors {
		fmt.Fprintf(&b, "motor %q {\n  max_speed = \"%g rpm\"\n  rated_torque = \"%g N m\"\n  peak_torque = \"%g N m\"\n  rotor_inertia = \"%g kg cm2\"\n", m.name, m.speed, m.rated, m.peak, m.inertia)
		if m.brake > 0 {
			fmt.Fprintf(&b, "  brake_torque = \"%g N m\"\n", m.brake)
		}
		b.WriteString("}\n")
	}
	for _, s := range l.supports {
		fmt.Fprintf(&b, "support %q {\n  kind = %q\n  bore = \"%g mm\"\n  stiffness = \"%g N/um\"\n  dynamic_rating = \"%g kN\"\n  static_rating = \"%g kN\"\n  drag_torque = \"%g N m\"\n}\n", s.name, s.kind, s.bore, s.stiffness, s.dynamic, s.dynamic*1.2, s.drag)
	}
	for i, c := range l.clutch {
		fmt.Fprintf(&b, "coupling \"c%d\" {\n  rated_torque = \"%g N m\"\n  inertia = \"0.1 kg cm2\"\n}\n", i, c)
	}
	b.WriteString("grease \"li\" {\n  thickener = \"lithium\"\n  base_oil = \"mineral\"\n  min_temperature = \"-20 °C\"\n  max_temperature = \"110 °C\"\n}\nenvironment \"hall\" {\n  min_temperature = \"5 °C\"\n  max_temperature = \"40 °C\"\n}\n")
	return b.String()
}

// plainAxis is what the text of an axis takes from a combination.
type plainAxis struct {
	screw, preload, drive, far, driveUnit, farUnit, grade, motor, coupling string
	vertical                                                               bool
	mass, speed, positioning                                               float64
	massSpread                                                             float64
}

func (a plainAxis) text() string {
	line := func(name, value string) string {
		if value == "" {
			return ""
		}
		return "    " + name + " = " + value + "\n"
	}
	orientation, mass := "horizontal", fmt.Sprintf("%g kg", a.mass)
	if a.vertical {
		orientation = "vertical"
	}
	if a.massSpread > 0 {
		mass += fmt.Sprintf(" ± %g kg", a.massSpread)
	}
	coupling := ""
	if a.coupling != "" {
		coupling = line("coupling", "coupling."+a.coupling)
	}
	unit := func(s string) string {
		if s == "" {
			return ""
		}
		return "support." + s
	}
	return fmt.Sprintf(`axis "cross" {
  orientation = %q
  environment = environment.hall
  load {
    mass = %q
    friction = 0.01
    drag = "18 N"
    side_force = "0 N"
  }
  motion {
    stroke = "720 mm"
    overtravel = "15 mm"
    emergency_deceleration = "8 m/s2"
    reaction_time = "10 ms"
    move "out" {
      distance = "720 mm"
      speed = "%g m/s"
      ramp = "0.15 s"
      thrust = "80 N"
      dwell = "0.9 s"
    }
    move "back" {
      distance = "-720 mm"
      speed = "0.4 m/s"
      ramp = "0.15 s"
    }
  }
  duty {
    hours_per_day = 8
    days_per_year = 240
    service_life = "5 years"
    load_factor = 1.2
  }
  screw {
    length = "980 mm"
    end_lengths = ["110 mm", "60 mm"]
    end_diameters = ["15 mm", "12 mm"]
%s%s  }
  nut {
    flange_toward = "fixed"
    length = "50 mm"
    stiffness = "310 N/um"
    grease_port = true
%s  }
  supports {
    span = "800 mm"
    drive_at = "bottom"
%s%s%s%s  }
  drive {
%s%s  }
  accuracy {
    positioning = "%g um"
    repeatability = "10 um"
    temperature_rise = "3 K"
  }
  lubrication {
    grease = grease.li
    regrease_every = "2 months"
  }
}
`, orientation, mass, a.speed, line("part", "screw."+a.screw), line("grade", `"`+a.grade+`"`), line("preload", `"`+a.preload+`"`),
		line("drive_end", `"`+a.drive+`"`), line("far_end", `"`+a.far+`"`), line("drive_end_part", unit(a.driveUnit)), line("far_end_part", unit(a.farUnit)),
		line("motor", "motor."+a.motor), coupling, a.positioning)
}

// judgeText reads and judges the axis of a text.
func judgeText(t *testing.T, axis, parts, policy string, each func(*judge.Report)) {
	t.Helper()
	fsys := fstest.MapFS{"cross.axis.hcl": {Data: []byte(axis)}, "all.parts.hcl": {Data: []byte(parts)}}
	if policy != "" {
		fsys["house.policy.hcl"] = &fstest.MapFile{Data: []byte(policy)}
	}
	seen := 0
	sum := run.Files(rules.Book(), spec.NewTree(fsys), []string{"cross.axis.hcl"}, run.Options{Today: testaxis.SomeDay, Workers: 1, As: run.Look{Each: func(r *judge.Report) {
		seen++
		each(r)
	}}})
	for _, f := range sum.Findings {
		if f.OfText() {
			t.Fatalf("%s: %s\n%s", f.Place, f.Message, axis)
		}
	}
	if seen != 1 {
		t.Fatalf("%d axes", seen)
	}
}

// randomLibrary invents parts around what the axis needs, some of them lacking
// a line.
func randomLibrary(r *rand.Rand) plainLibrary {
	var l plainLibrary
	for i := range 3 + r.IntN(2) {
		d0 := []float64{16, 20, 25, 32}[r.IntN(4)]
		s := plainScrew{name: fmt.Sprintf("s%d", i), d0: d0, lead: []float64{5, 10, 10, 20}[r.IntN(4)], root: d0 - 1.5 - 3*r.Float64(),
			process: []string{"ground", "rolled"}[r.IntN(2)]}
		s.ca = math.Round(d0*(0.5+0.8*r.Float64())*10) / 10
		s.c0 = math.Round(s.ca*(1.2+r.Float64())*10) / 10
		s.noRoot, s.noStatic = r.IntN(12) == 0, r.IntN(12) == 0
		l.screws = append(l.screws, s)
	}
	for i := range 2 + r.IntN(2) {
		rated := 0.5 + 2.5*r.Float64()
		m := plainMotor{name: fmt.Sprintf("m%d", i), speed: 2000 + 1000*float64(r.IntN(4)), rated: rated, peak: rated * 3, inertia: 0.5 + 2*r.Float64()}
		if r.IntN(2) == 0 {
			m.brake = rated * 1.2
		}
		l.motors = append(l.motors, m)
	}
	for i, kind := range []string{"fixed", "fixed", "supported", "supported"} {
		l.supports = append(l.supports, plainSupport{name: fmt.Sprintf("u%d", i), kind: kind, bore: []float64{10, 12, 15}[r.IntN(3)], stiffness: 60 + 200*r.Float64(),
			dynamic: 14 + 20*r.Float64(), drag: 0.02 + 0.05*r.Float64()})
	}
	l.clutch = []float64{1 + 4*r.Float64(), 9}
	return l
}

// plainPreload is a share of a rating on the low side to two digits.
func plainPreload(ca, share float64) string {
	n := ca * 1000 * share
	scale := math.Pow(10, math.Floor(math.Log10(n))-1)
	return fmt.Sprintf("%g N", math.Floor(n/scale*(1+1e-9))*scale)
}

// plainUnits are the support units for an end: those of the kind with the
// largest bore that the end is thick enough for, and the declared one.
func plainUnits(l *plainLibrary, word string, end float64, declared string) []string {
	if word == "free" {
		return []string{""}
	}
	best := 0.0
	for _, s := range l.supports {
		if s.kind == word && s.bore <= end {
			best = max(best, s.bore)
		}
	}
	var out []string
	for _, s := range l.supports {
		if s.kind == word && (s.bore == best || s.name == declared) {
			out = append(out, s.name)
		}
	}
	if len(out) == 0 {
		return []string{""}
	}
	return out
}

func TestLongSizingAgainstEveryCombination(t *testing.T) {
	amount.Long(t)
	if testaxis.RaceEnabled {
		t.Skip("reads thousands of texts; the answers are tested under the race detector too")
	}
	t.Parallel()
	cases := []int{0, 4} // one in which something holds, and one in which nothing does
	if amount.All() {
		cases = nil
		for n := range 200 {
			cases = append(cases, n)
		}
	}
	held, none := 0, 0
	for _, n := range cases {
		r := rand.New(rand.NewPCG(uint64(n), 7))
		l := randomLibrary(r)
		base := plainAxis{screw: l.screws[0].name, preload: "400 N", drive: "fixed", far: "supported", driveUnit: "u0", grade: "C5", motor: "m0", coupling: "c1",
			mass: 10 + 40*r.Float64(), speed: 0.1 + 0.2*r.Float64(), positioning: 80 + 100*r.Float64(), vertical: r.IntN(2) == 0}
		base.mass, base.speed = math.Round(base.mass), math.Round(base.speed*100)/100
		if n%5 == 4 {
			base.mass *= 20 // more than the motors can move: near misses are looked at too
		}
		policy := ""
		switch r.IntN(3) {
		case 0:
			policy = "require \"quiet\" {\n  that = max_rotation_speed <= \"2500 rpm\"\n  message = \"not above 2500 rpm\"\n}\n"
		case 1:
			policy = "rule \"critical-speed\" {\n  limit = \"60 %\"\n}\nrule \"inertia-ratio\" {\n  severity = \"off\"\n  reason = \"for a test\"\n}\n"
		}
		parts := l.text()
		var got *Result
		judgeText(t, base.text(), parts, policy, func(rep *judge.Report) {
			var err error
			if got, err = Find(context.Background(), rep, Options{Today: testaxis.SomeDay, Level: judge.Warning, Workers: 1 + n%3, Most: 100}); err != nil {
				t.Fatal(err)
			}
		})
		unchanged := map[string]bool{}
		for _, f := range got.Standing {
			unchanged[f.Rule] = true
		}
		// Every combination the plain way.
		all, holding := 0, map[string]int{}
		for _, sc := range l.screws {
			for _, preload := range []string{"400 N", plainPreload(sc.ca, 0.02), plainPreload(sc.ca, 0.05), plainPreload(sc.ca, 0.08)} {
				seen := map[[4]string]bool{}
				for _, w := range [][2]string{{"fixed", "free"}, {"fixed", "supported"}, {"supported", "fixed"}, {"fixed", "fixed"}} {
					drives, fars := plainUnits(&l, w[0], 15, map[bool]string{true: "u0"}[w[0] == "fixed"]), plainUnits(&l, w[1], 12, "")
					combos := [][4]string{}
					if w == [2]string{"fixed", "supported"} {
						combos = append(combos, [4]string{w[0], w[1], "u0", ""})
					}
					for _, d := range drives {
						for _, f := range fars {
							combos = append(combos, [4]string{w[0], w[1], d, f})
						}
					}
					for _, e := range combos {
						if seen[e] {
							continue
						}
						seen[e] = true
						for _, grade := range []string{"C10", "C7", "C5", "C3"} {
							for _, m := range l.motors {
								for k := range l.clutch {
									a := base
									a.screw, a.preload, a.drive, a.far, a.driveUnit, a.farUnit, a.grade, a.motor, a.coupling = sc.name, preload, e[0], e[1], e[2], e[3], grade, m.name, fmt.Sprintf("c%d", k)
									all++
									if holdsPlainly(t, a.text(), parts, policy, unchanged) {
										holding[sc.name]++
									}
								}
							}
						}
					}
				}
			}
		}
		sum := 0
		for _, k := range holding {
			sum += k
		}
		t.Logf("case %d: %d of %d combinations hold, with %d screws", n, got.Holding, got.All, got.Screws)
		if all != got.All || sum != got.Holding || len(holding) != got.Screws {
			t.Errorf("case %d: %d of %d combinations hold with %d screws, judged one by one %d of %d with %d", n, got.Holding, got.All, got.Screws, sum, all, len(holding))
		}
		for _, a := range got.Answers {
			name := a.Picks[ChooseScrew].Words
			if a.Others+1 != holding[name] {
				t.Errorf("case %d: %d combinations with %s, judged one by one %d", n, a.Others+1, name, holding[name])
			}
		}
		rejected := got.Holding
		for _, x := range got.Rejected {
			rejected += x.Count
		}
		if rejected < got.All {
			t.Errorf("case %d: %d hold or are rejected, of %d", n, rejected, got.All)
		}
		if sum > 0 {
			held++
		} else {
			none++
			if len(got.Misses) == 0 {
				t.Errorf("case %d: nothing holds and nothing is near", n)
			}
		}
	}
	if held == 0 || none == 0 {
		t.Errorf("something held in %d cases and nothing in %d: the cases show too little", held, none)
	}
}

// holdsPlainly judges a text and says whether nothing stands against it but
// what stands against every combination.
func holdsPlainly(t *testing.T, axis, parts, policy string, unchanged map[string]bool) bool {
	holds := true
	judgeText(t, axis, parts, policy, func(rep *judge.Report) {
		for _, f := range rep.Findings {
			if f.Severity >= judge.Warning && !unchanged[f.Rule] {
				holds = false
			}
		}
		for _, res := range rep.Results {
			if res.State != judge.Unjudged || rules.Book().ByName(res.Rule) == nil {
				continue
			}
			if len(res.Missing) == 0 {
				holds = false
			}
			for _, m := range res.Missing {
				p := m.Field.Path
				if strings.HasPrefix(p, "screw.") || strings.HasPrefix(p, "motor.") || strings.HasPrefix(p, "coupling.") || strings.HasPrefix(p, "drive_support.") || strings.HasPrefix(p, "far_support.") {
					holds = false
				}
			}
		}
	})
	return holds
}

// An answer's changes make the axis that is found to hold, over all tolerances.
func TestSizingAnswers(t *testing.T) {
	sizingAnswers(t, 0)
	sizingAnswers(t, 4)
}

func sizingAnswers(t *testing.T, massSpread float64) {
	r := rand.New(rand.NewPCG(3, 7))
	l := randomLibrary(r)
	base := plainAxis{screw: l.screws[0].name, preload: "400 N", drive: "fixed", far: "supported", grade: "C5", motor: "m0", coupling: "c1", mass: 20, speed: 0.2, positioning: 150, massSpread: massSpread}
	judgeText(t, base.text(), l.text(), "", func(rep *judge.Report) {
		got, err := Find(context.Background(), rep, Options{Today: testaxis.SomeDay, Level: judge.Warning})
		if err != nil {
			t.Fatal(err)
		}
		if got.Spread != (massSpread > 0) || len(got.Answers) == 0 {
			t.Fatalf("tolerances %v, %d answers", got.Spread, len(got.Answers))
		}
		for _, a := range slices.Concat(got.Answers, got.Least, got.Front) {
			if len(a.Findings) > 0 {
				t.Errorf("%s: %s", a.Shown(), a.Findings[0].Message)
			}
			x := rep.View.Axis.Copy()
			x.Put(a.Changes)
			b := judge.NewScratch()
			again := rules.Book().NewJudge(testaxis.SomeDay, false).Judge(b, x, nil)
			for _, f := range again.Findings {
				if f.Severity >= judge.Warning {
					t.Errorf("%s: %s", a.Shown(), f.Message)
				}
			}
			use := math.Inf(-1)
			for _, res := range again.Results {
				if res.Utilisation > use {
					use = res.Utilisation
				}
			}
			if d := again.View.V(mechanics.NominalDiameter); d != a.Diameter {
				t.Errorf("%s: nominal diameter %g, not %g", a.Shown(), d, a.Diameter)
			}
			if a.Utilisation > use+1e-12 {
				t.Errorf("%s: use %g of %s, not above %g", a.Shown(), a.Utilisation, a.UtilisationOf, use)
			}
		}
	})
}

// A part that a rule of parts has something against is not tried, and what is
// declared does not hold with it.
func TestSizingAndRulesOfParts(t *testing.T) {
	l := wideLibrary(6, 1)
	l.motors[0] = plainMotor{name: "m0", speed: 4000, rated: 2.4, peak: 7, inertia: 2}
	l.screws[3].root = l.screws[3].d0 + 1
	size := func(declared int) (got *Result) {
		base := plainAxis{screw: l.screws[declared].name, preload: "400 N", drive: "fixed", far: "supported", grade: "C5", motor: "m0", mass: 10, speed: 0.2, positioning: 150}
		judgeText(t, base.text(), l.text(), "", func(rep *judge.Report) {
			var err error
			if got, err = Find(context.Background(), rep, Options{Today: testaxis.SomeDay, Level: judge.Warning, Most: 100}); err != nil {
				t.Fatal(err)
			}
		})
		return got
	}
	got := size(0)
	if len(got.LeftOut) != 1 || got.LeftOut[0].Cause[:8] != "screw.s3" {
		t.Errorf("left out: %v", got.LeftOut)
	}
	for _, o := range got.Choices[ChooseScrew].Options {
		if o == "s3" {
			t.Error("s3 is tried")
		}
	}
	got = size(3)
	if got.Declared {
		t.Error("what is declared holds with a part that cannot be")
	}
	for _, a := range got.Answers {
		if a.Picks[ChooseScrew].Words == "s3" {
			t.Errorf("%s holds", a.Shown())
		}
	}
	rejected := 0
	for _, x := range got.Rejected {
		if x.Rule == "part-contradiction" {
			rejected += x.Count
		}
	}
	if want := got.All / len(got.Choices[ChooseScrew].Options); rejected != want {
		t.Errorf("%d rejected by what is wrong with the part, not %d", rejected, want)
	}
}

// An answer that cannot be judged over all tolerances is none.
func TestLongSizingUnjudgedTolerances(t *testing.T) {
	amount.Long(t)
	t.Parallel()
	l := wideLibrary(4, 1)
	l.motors[0] = plainMotor{name: "m0", speed: 4000, rated: 2.4, peak: 7, inertia: 2}
	base := plainAxis{screw: l.screws[0].name, preload: "400 N", drive: "fixed", far: "supported", grade: "C5", motor: "m0", mass: 10, speed: 0.2, positioning: 150, massSpread: 1}
	text := base.text()
	var moves strings.Builder
	for i := range 480 {
		fmt.Fprintf(&moves, "    move \"m%d\" {\n      distance = \"%d mm\"\n      speed = \"0.2 m/s ± 0.01 m/s\"\n      ramp = \"0.15 s\"\n    }\n", i, 700*(1-2*(i%2)))
	}
	text = strings.Replace(text, "    move \"out\" {", moves.String()+"    move \"out\" {", 1)
	judgeText(t, text, l.text(), "", func(rep *judge.Report) {
		got, err := Find(context.Background(), rep, Options{Today: testaxis.SomeDay, Level: judge.Warning})
		if err != nil {
			t.Skip(err) // it may also be too much altogether
		}
		for _, a := range got.Answers {
			t.Errorf("%s is an answer", a.Shown())
		}
		for _, a := range got.Misses {
			if len(a.Unjudged) == 0 {
				t.Errorf("%s: %v", a.Shown(), a.Findings)
			}
		}
	})
}

// TestSizingForgetsDrag: the drag torque of a nut is that of one screw at one
// preload. Others are sized without it, and taking them takes the line out.
func TestSizingForgetsDrag(t *testing.T) {
	axis, parts := smallChoice(10)
	declared := strings.Replace(axis, "preload = \"400 N\"", "preload = \"400 N\"\n    drag_torque = \"80 mN m\"", 1)
	if declared == axis {
		t.Fatal("no preload")
	}
	size := func(text string, o Options) (got *Result) {
		judgeText(t, text, parts, "", func(rep *judge.Report) {
			var err error
			if got, err = Find(context.Background(), rep, o); err != nil {
				t.Fatal(err)
			}
		})
		return got
	}
	o := Options{Today: testaxis.SomeDay, Level: judge.Warning, Most: 100}
	with, without := size(declared, o), size(axis, o)
	if with.Holding == 0 || with.Holding != without.Holding || !slices.Contains(with.Dropped, "nut.drag_torque") || slices.Contains(without.Dropped, "nut.drag_torque") {
		t.Errorf("%d hold with a declared drag torque and %d without; replaced: %q", with.Holding, without.Holding, with.Dropped)
	}
	for _, a := range with.Answers {
		other := a.Picks[ChooseScrew].Different || a.Picks[ChoosePreload].Different
		if out := slices.ContainsFunc(a.Changes, func(c spec.Change) bool { return c.Field == nutDragField && c.Value == nil }); out != other {
			t.Errorf("%s: the line of the drag torque is taken out: %v", a.Shown(), out)
		}
	}
	o.Keep[ChooseScrew], o.Keep[ChoosePreload] = true, true
	if kept := size(declared, o); slices.Contains(kept.Dropped, "nut.drag_torque") {
		t.Error("a drag torque of the screw and preload that are kept is left out")
	}
}
