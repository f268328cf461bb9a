package sizing

import (
	"context"
	"errors"
	"math"
	"slices"

	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/rules/tables"
	"trammel/spec"
	"trammel/spec/unit"
)

// A ScrewNeed is what a screw of one lead has to be for an axis, so that all
// rules hold together, those of the house included. View.Needs says the same of
// one value, rule by rule.
type ScrewNeed struct {
	Lead     float64  // m
	Diameter float64  // m: the smallest nominal diameter of ISO 3408-2; NaN where none serves
	Root     float64  // m: the least root diameter; zero where none is required
	Dynamic  float64  // N: the least basic dynamic rating; zero where none is required
	Static   float64  // N: the least basic static rating; zero where none is required
	Speed    float64  // rad/s: the highest speed of the screw
	Breaks   []string // where no diameter serves: the rules that throw it out
}

// A FreeDesign says what screw an axis needs, without looking at any parts.
type FreeDesign struct {
	View     *judge.View // of the axis as declared; its values are its own
	Level    judge.Severity
	Needs    []ScrewNeed          // by lead, rising
	Standing []judge.Finding      // findings that no screw changes
	Open     []judge.MissingInput // what could not be judged, whatever the screw
	Waived   []string
	Judged   int
	Partly   bool // as in a Sizing
}

// RootShare is how thick a shaft is taken to be at its root, over its nominal
// diameter, when a nominal diameter is chosen for a needed root diameter. It is
// on the low side. Common practice, no source.
const RootShare = 0.8

// FindFree finds, for every lead of ISO 3408-2, the smallest nominal
// diameter of that standard and the ratings with which an axis holds under the
// rules in force, all but its screw being as declared. It must be called while
// the report's View is good. Values with tolerances are an error: the needs
// would hold for the middle values only.
func FindFree(ctx context.Context, rep *judge.Report, o Options) (*FreeDesign, error) {
	s, err := openSizer(rep, o)
	if err != nil {
		return nil, err
	}
	if spreads := judge.Load(judge.NewScratch().Calc, s.base.Axis, judge.CarriedMass(s.base.Carried), nil); len(spreads) > 0 {
		return nil, errors.New("values with tolerances are not accepted with --free; declare single values")
	}
	f := &free{s: s, out: &FreeDesign{View: s.base, Level: o.Level}}
	f.buildOptions()
	s.rules(rep)
	if err := f.search(ctx, tables.PreferredLeads()); err != nil {
		return nil, err
	}
	s.whole()
	f.out.Standing, f.out.Open, f.out.Waived, f.out.Judged, f.out.Partly = s.out.Standing, s.out.Open, s.out.Waived, s.out.Judged, s.out.Partly
	return f.out, nil
}

type free struct {
	s   *sizer
	w   *sizeWorker
	out *FreeDesign
}

// free's numbers: what is required of a screw, and what is open about it.
var (
	freeFields = judge.Fields("screw.nominal_diameter", "screw.lead", "screw.root_diameter", "screw.dynamic_rating", "screw.static_rating")
	openFields = judge.Fields("screw.part", "nut.part", "screw.ball_circle_diameter", "screw.ball_diameter", "screw.loaded_turns", "screw.longest", "screw.efficiency")
)

const (
	freeDiameter = iota
	freeLead
	freeRoot
	freeDynamic
	freeStatic
)

// buildOptions makes the one choice there is: a screw of which five numbers are free.
func (f *free) buildOptions() {
	c := &f.s.choices[ChooseScrew]
	o := option{words: "a screw"}
	for i, x := range slices.Concat(freeFields, openFields) {
		c.fields, c.leaves = append(c.fields, x), append(c.leaves, judge.LeafOfField[x.Index()])
		var v *spec.Value
		if i < len(freeFields) {
			v = &spec.Value{Field: x, Num: unit.Quantity{Nominal: 1, Low: 1, High: 1}} // any value, until it is set
		}
		o.values = append(o.values, v)
	}
	c.options = []option{o}
	for i := 1; i < choices; i++ {
		f.s.choices[i].options = []option{{}}
	}
}

// search finds what a screw of each lead needs. What rules look at is learned on
// the way, nothing being known at first.
func (f *free) search(ctx context.Context, leads []float64) error {
	for again := true; again; {
		f.s.planLevels()
		f.w, f.out.Needs = f.s.worker(), nil
		for _, lead := range leads {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			f.lead(lead)
		}
		f.w.learn()
		again = f.w.grown
	}
	return nil
}

// set gives one of the free numbers a value. The text is for messages only,
// and none are made.
func (f *free) set(which int, x float64) {
	q := unit.Quantity{Nominal: x, Low: x, High: x}
	v := &spec.Value{Field: freeFields[which], Num: q, Text: unit.FormatExact(x, freeFields[which].Unit, f.s.base.Units())}
	f.w.axis.Put([]spec.Change{{Field: freeFields[which], Value: v}})
	f.w.bench.Calc.Set(judge.LeafOfField[freeFields[which].Index()], x)
}

// broken lists the rules that reject what is set.
func (f *free) broken() (out []int) {
	f.w.bench.Calc.Run()
	for i := range f.s.asked {
		// One that no screw seems to change is evaluated too, to see whether it does.
		res := f.w.ask(i)
		if f.s.asked[i].level < 0 {
			continue
		}
		if res.State == judge.Failed && res.Level >= f.s.o.Level || res.State == judge.Unjudged && len(res.Missing) == 0 {
			out = append(out, i)
		}
	}
	return out
}

// least finds the smallest value of a free number, up to top as it is set, that
// breaks no rule but those that the top itself breaks; zero where even next to nothing
// does. The result is on the safe side to three digits of the axis's units.
func (f *free) least(which int, top float64) float64 {
	without := f.broken()
	holds := func(x float64) bool {
		f.set(which, x)
		for _, i := range f.broken() {
			if !slices.Contains(without, i) {
				return false
			}
		}
		return true
	}
	low := top * 1e-6
	if holds(low) {
		f.set(which, top)
		return 0
	}
	high := top
	for range 60 {
		mid := math.Sqrt(low * high)
		if holds(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	x := math.Min(roundUp(high, freeFields[which].Unit, f.s.base.Units()), top)
	f.set(which, x)
	return x
}

// roundUp gives the next number of three digits, in the unit a quantity is shown
// in, to one above zero.
func roundUp(si float64, k unit.Kind, sys unit.System) float64 {
	u := unit.UnitOf(unit.FormatExact(si, k, sys))
	n, _ := unit.In(si, k, u)
	scale := math.Pow(10, 2-math.Floor(math.Log10(n)))
	up, _ := unit.SIOf(math.Ceil(n*scale*(1-judge.Slack))/scale, k, u)
	return up
}

const hugeRating = 1e8 // N, more than any screw has

// lead finds what a screw of one lead needs.
func (f *free) lead(lead float64) {
	n := ScrewNeed{Lead: lead, Diameter: math.NaN()}
	f.w.put([choices]int{})
	f.set(freeLead, lead)
	for _, d := range tables.PreferredDiameters() {
		if d < lead/4 {
			continue // nobody makes a lead of more than four times the diameter
		}
		f.set(freeDiameter, d)
		f.set(freeRoot, RootShare*d)
		f.set(freeDynamic, hugeRating)
		f.set(freeStatic, hugeRating)
		// A rule that even these ratings and this root break is broken by the
		// size itself, or by what a thicker screw may fix.
		dynamic, static := f.least(freeDynamic, hugeRating), f.least(freeStatic, hugeRating)
		n.Breaks = nil
		for _, i := range f.broken() {
			n.Breaks = append(n.Breaks, f.s.asked[i].name)
		}
		if len(n.Breaks) == 0 {
			n.Diameter, n.Dynamic, n.Static = d, dynamic, static
			n.Root = f.least(freeRoot, RootShare*d)
			break
		}
	}
	n.Speed = f.w.bench.Calc.V(mechanics.MaxRotation)
	f.out.Needs = append(f.out.Needs, n)
}

// OtherScrews reports whether the axis could refer to a screw other than the
// one it has.
func OtherScrews(rep *judge.Report) bool {
	now := rep.View.Value(screwRef)
	return slices.ContainsFunc(rep.View.Axis.Folder.Visible("screw"), func(p *spec.Part) bool { return now == nil || p != now.Part })
}
