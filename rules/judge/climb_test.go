package judge

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"trammel/rules/judge/testaxis"
	"trammel/rules/mechanics"
)

// unitBox is a box of n inputs from 0 to 1.
func unitBox(n int) (at []toleranceRange, middle []float64) {
	for range n {
		at, middle = append(at, toleranceRange{low: 0, high: 1}), append(middle, 0.5)
	}
	return at, middle
}

// TestClimbEndsWhereNothingGetsBetter: on a plain, each input is walked along
// once, 17 samples, besides the start and all corners; there is nothing to narrow
// down on.
func TestClimbEndsWhereNothingGetsBetter(t *testing.T) {
	for _, level := range []float64{0, 1, -1} {
		for n, corners := range map[int]int{1: 2, 2: 4, 3: 8} {
			at, start := unitBox(n)
			calls := 0
			best, top := climb(at, start, func([]float64) float64 { calls++; return level })
			if want := 1 + corners + n*17; calls != want {
				t.Errorf("%d inputs at %g: asked %d times, expected %d", n, level, calls, want)
			}
			if top != level || !slices.Equal(best, start) {
				t.Errorf("%d inputs at %g: %g at %v", n, level, top, best)
			}
		}
	}
}

// TestClimbFindsPeaks: a corner, a peak between samples, a narrow one that no
// corner tells of, and a ridge across the inputs.
func TestClimbFindsPeaks(t *testing.T) {
	for _, x := range []struct {
		name string
		f    func(x []float64) float64
		want []float64
	}{
		{"corner", func(x []float64) float64 { return x[0] - 2*x[1] }, []float64{1, 0}},
		{"between samples", func(x []float64) float64 { return -math.Abs(x[0]-0.3137) - math.Abs(x[1]-0.9011) }, []float64{0.3137, 0.9011}},
		{"narrow, far up", func(x []float64) float64 { return math.Max(0, 0.05-math.Abs(x[0]-0.8)) - x[1] }, []float64{0.8, 0}},
		{"narrow, far down", func(x []float64) float64 { return math.Max(0, 0.05-math.Abs(x[0]-0.2)) - x[1] }, []float64{0.2, 0}},
		{"close to the lower end", func(x []float64) float64 { return -math.Abs(x[0]-0.004) - x[1] }, []float64{0.004, 0}},
		{"close to the upper end", func(x []float64) float64 { return -math.Abs(x[0]-0.9999) - x[1] }, []float64{0.9999, 0}},
		{"half-way from an end", func(x []float64) float64 { return math.Max(0, 0.02-math.Abs(x[0]-0.03)) - x[1] }, []float64{0.03, 0}},
		{"one after the other", func(x []float64) float64 {
			// The second input pays only once the first has left its start.
			return -math.Abs(x[1]-0.4) - math.Abs(x[0]-0.7) - 3*math.Abs(x[0]-0.7)*x[1]
		}, []float64{0.7, 0.4}},
	} {
		at, start := unitBox(2)
		best, top := climb(at, start, x.f)
		for i := range best {
			if math.Abs(best[i]-x.want[i]) > 1e-6 {
				t.Errorf("%s: found at %v, it lies at %v", x.name, best, x.want)
				break
			}
		}
		if math.Abs(top-x.f(x.want)) > 1e-5 || top != x.f(best) {
			t.Errorf("%s: %g at %v, where it is %g", x.name, top, best, x.f(best))
		}
	}
}

// TestClimbStaysWithin: nothing outside the tolerances is tried.
func TestClimbStaysWithin(t *testing.T) {
	at := []toleranceRange{{low: -3, high: -1}, {low: 5, high: 5.5}}
	climb(at, []float64{-2, 5.1}, func(x []float64) float64 {
		for i, s := range at {
			if x[i] < s.low || x[i] > s.high {
				t.Errorf("%g is not within %g … %g", x[i], s.low, s.high)
			}
		}
		return x[0] + x[1]
	})
}

// TestClimbStops: where there is no number, it asks no more.
func TestClimbStops(t *testing.T) {
	for _, last := range []int{1, 2, 4, 7, 30, 44} {
		at, start := unitBox(2)
		calls := 0
		climb(at, start, func(x []float64) float64 {
			if calls++; calls == last {
				return math.NaN()
			}
			return x[0]
		})
		if calls != last {
			t.Errorf("no number the %d. time, asked %d times", last, calls)
		}
	}
}

// TestScatteredCorners: up to eight inputs all corners are tried; of more, 256
// different ones, both ends among them, in which each input is as often up as
// down, and any two as often alike as not.
func TestScatteredCorners(t *testing.T) {
	corners := func(n int) (out [][]float64) {
		at, start := unitBox(n)
		calls := 0
		climb(at, start, func(x []float64) float64 {
			if calls++; calls > 1 && calls <= 257 {
				out = append(out, slices.Clone(x))
			}
			if calls == 257 {
				return math.NaN()
			}
			return 0
		})
		return out
	}
	for _, n := range []int{8, 60} {
		list := corners(n)
		seen := map[string]bool{}
		ups, alike := make([]int, n), map[[2]int]int{}
		for _, x := range list {
			key := make([]byte, n)
			for i := range x {
				if x[i] != 0 && x[i] != 1 {
					t.Fatalf("%v is no corner", x)
				}
				key[i] = byte(x[i])
				ups[i] += int(x[i])
				for k := range i {
					if x[k] == x[i] {
						alike[[2]int{k, i}]++
					}
				}
			}
			seen[string(key)] = true
		}
		if len(list) != 256 || len(seen) != 256 {
			t.Errorf("of %d inputs %d corners are tried, %d different ones", n, len(list), len(seen))
		}
		if !seen[string(make([]byte, n))] || !seen[string(slices.Repeat([]byte{1}, n))] {
			t.Errorf("of %d inputs one end is not tried", n)
		}
		for i, up := range ups {
			if up < 90 || up > 166 {
				t.Errorf("input %d of %d is up in %d of 256 corners", i, n, up)
			}
		}
		for pair, c := range alike {
			if c < 80 || c > 176 {
				t.Errorf("inputs %v of %d are alike in %d of 256 corners", pair, n, c)
			}
		}
	}
}

// TestWorkCounted: a cycle counts the four phases of each move, of four moves at
// least; a search over n inputs is begun where 20 evaluations of each are paid.
func TestWorkCounted(t *testing.T) {
	if mechanics.PhasesPerMove != 4 {
		t.Errorf("a move has %d phases", mechanics.PhasesPerMove)
	}
	for moves, want := range map[int]int{0: 16, 1: 16, 4: 16, 5: 20, 100: 400} {
		if got := Phases(moves); got != want {
			t.Errorf("a cycle of %d moves counts %d, expected %d", moves, got, want)
		}
	}
	for _, x := range []struct {
		n, phases, left int
		want            bool
	}{{1, 16, 320, false}, {1, 16, 321, true}, {3, 20, 1200, false}, {3, 20, 1201, true}} {
		b := &Scratch{Left: x.left}
		if got := b.affords(x.n, x.phases); got != x.want || b.Left != x.left {
			t.Errorf("%+v: %v, %d are left", x, got, b.Left)
		}
	}
}

// TestWhichToleranceDecides: the load is certain to 1 % and the rating to a
// third, or the other way round; the finding names the uncertain one. (Which
// decides is plain from the quotient the static safety is.)
func TestWhichToleranceDecides(t *testing.T) {
	for _, x := range []struct{ thrust, rating, want, not string }{
		{`"6 kN ± 30 %"`, `"9 kN ± 1 %"`, "decided by thrust of move out", "decided by static rating"},
		{`"6 kN ± 1 %"`, `"9 kN ± 30 %"`, "decided by static rating", "decided by thrust"},
	} {
		s := testaxis.WholeSheet().With("screw.static_rating", x.rating)
		s.Set("motion.move.thrust", 0, x.thrust)
		f := wantFinding(t, judge(s, Options{}).findings, "static-safety")
		if f == nil {
			continue
		}
		if !offers(f.inputs(), x.want) || offers(f.inputs(), x.not) {
			t.Errorf("thrust %s, rating %s: %q", x.thrust, x.rating, f.inputs())
		}
	}
}

// TestNeedsCountTheirWork: what an axis needs is solved for with evaluations that
// count as all others do, 16 for a cycle of two moves, 400 for one of a hundred.
func TestNeedsCountTheirWork(t *testing.T) {
	long := testaxis.WholeSheet()
	long.Moves = nil
	for i := range 100 {
		sign := [...]string{"", "-"}[i%2]
		long.Moves = append(long.Moves, &testaxis.SheetMove{Name: fmt.Sprint("m", i), Lines: map[string]string{"distance": fmt.Sprintf(`"%s720 mm"`, sign), "speed": `"0.4 m/s"`, "ramp": `"0.15 s"`}})
	}
	for each, s := range map[int]*testaxis.Sheet{16: testaxis.WholeSheet(), 400: long} {
		for rule, leaf := range map[string]*mechanics.Quantity{"static-safety": mechanics.StaticRating, "life-margin": mechanics.DynamicRating, "min-lead": mechanics.Lead} {
			_, b, v := load(s, t)
			v.Calc.Run()
			r := Book().ByName(rule)
			n := v.need(b, r, &r.Tests[0], leaf, true, &r.Tests[0].Limit)
			if took := FullBudget - b.Left; took < 20*each || took%each != 0 {
				t.Errorf("%s: %d phases for %+v, which is no whole number of cycles of %d", rule, took, n, each)
			}
		}
	}
}

// TestCornersOfNine: of nine inputs each is tried at both ends, in 256 corners,
// before any is tried between.
func TestCornersOfNine(t *testing.T) {
	at, start := unitBox(9)
	calls, ups := 0, make([]int, 9)
	climb(at, start, func(x []float64) float64 {
		switch calls++; {
		case calls == 1: // the start
		case calls <= 257:
			for i := range x {
				ups[i] += int(x[i])
			}
		case calls == 259 && x[0] != 1.0/16:
			t.Errorf("after the corners %v is tried", x)
		case calls == 259:
			return math.NaN()
		}
		return 0
	})
	for i, up := range ups {
		if up < 90 || up > 166 {
			t.Errorf("input %d is up in %d of 256 corners", i, up)
		}
	}
}

// TestClimbRounds: on a narrow slanting ridge each input alone gains a little in
// every round. There are four rounds at most, of 17 samples and 60 steps of each
// input, behind the start and the corners.
func TestClimbRounds(t *testing.T) {
	for _, height := range []float64{0, 100} {
		at, start := unitBox(2)
		calls := 0
		climb(at, start, func(x []float64) float64 {
			calls++
			return height - 1e3*(x[0]-x[1])*(x[0]-x[1]) - (x[0]+x[1]-1.37)*(x[0]+x[1]-1.37)
		})
		if want := 1 + 4 + 4*2*(17+60); calls > want || calls <= want-2*77 {
			t.Errorf("at a height of %g: %d times, expected %d or a little less", height, calls, want)
		}
	}
}

// TestClimbBetweenSamples: a peak right before a cliff, next to a sample beyond
// it, is found from the sample before it in the first round.
func TestClimbBetweenSamples(t *testing.T) {
	at, start := unitBox(1)
	const peak = 5.9 / 16
	calls := 0
	best, _ := climb(at, start, func(x []float64) float64 {
		if calls++; calls > 1+2+17+60 {
			return math.NaN()
		}
		if x[0] > peak {
			return -x[0]
		}
		return x[0]
	})
	if math.Abs(best[0]-peak) > 1e-8 {
		t.Errorf("%g, the peak is at %g", best[0], peak)
	}
}

// TestClimbLowerEnd: of two ends as good the lower one is taken.
func TestClimbLowerEnd(t *testing.T) {
	at, start := unitBox(1)
	if best, top := climb(at, start, func(x []float64) float64 { return math.Abs(x[0] - 0.5) }); best[0] != 0 || top != 0.5 {
		t.Errorf("%g at %g", top, best[0])
	}
}

// TestClimbSmallGain: a gain of less than a part in 10¹² is none, for a further
// round.
func TestClimbSmallGain(t *testing.T) {
	for gain, want := range map[float64]bool{1.5e-12: true, 0.5e-12: false} {
		for _, height := range []float64{1000, -1000} {
			at, start := unitBox(2)
			calls := 0
			climb(at, start, func([]float64) float64 {
				// The last sample along the second input, after start, corners and 17 along the first.
				if calls++; calls >= 1+4+17+17 {
					return height + 1000*gain
				}
				return height
			})
			if more := calls > 1+4+17+17+3; more != want {
				t.Errorf("a gain of %g of %g: %d times", gain, height, calls)
			}
		}
	}
}
