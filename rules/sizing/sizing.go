// Package sizing looks for parts that would carry an axis: screws, preloads, ways to hold
// the shaft, grades, motors and couplings available of it, in all combinations that matter,
// under the very rules that judge the axis. FindFree designs a screw of free numbers where
// no part will do. Nothing is said by hand about what a rule needs: which choices its
// answer hangs on is seen while it is evaluated.
package sizing

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/rules/tables"
	"trammel/spec"
	"trammel/spec/unit"
)

// The choices a sizing makes, in the order in which it makes them.
const (
	ChooseScrew = iota
	ChoosePreload
	ChooseEnds
	ChooseGrade
	ChooseMotor
	ChooseCoupling
	choices
)

// ChoiceNames name the choices, by their index.
var ChoiceNames = [choices]string{"screw", "preload", "ends", "grade", "motor", "coupling"}

// Options of a sizing.
type Options struct {
	Today   time.Time      // waivers are judged on this day
	Keep    [choices]bool  // what stays as declared
	Level   judge.Severity // findings from this severity on throw a combination out
	Most    int            // how many answers, and how many misses, are wanted
	Workers int            // 0: one for each processor

	// Progress is told how many screws are searched, and of how many; by several at once. A
	// second search, for those that fail least, begins again.
	Progress func(n, of int)
}

// A Result says which combinations of parts would carry an axis.
type Result struct {
	View     *judge.View // of the axis as declared; its values are the sizing's own
	Level    judge.Severity
	Choices  []Choice             // what was varied, and over what
	All      int                  // combinations
	Holding  int                  // of them, those no rule rejects
	Screws   int                  // screws with a combination that holds
	Answers  []Answer             // the best combination of each screw that has one, best first
	Least    []Answer             // of what holds, that with the fewest choices other than declared; best first
	Declared bool                 // what is declared is among what holds
	Misses   []Answer             // where nothing holds: the nearest
	Rejected []Rejected           // by step, most first
	Standing []judge.Finding      // findings that no combination changes
	Waived   []string             // rules that were not asked, being waived
	Open     []judge.MissingInput // what could not be judged, whatever the parts
	Judged   int                  // rules that could be judged
	Partly   bool                 // of what stands or could not be judged some is of an error rule or one of the house: what holds, holds but for that
	Front    []Answer             // of what holds, where nothing else costs less (is smaller) and has more margin
	ByCost   bool                 // answers are ranked by cost; else nothing has one
	Spread   bool                 // values have tolerances: counts are for the middle values, answers are judged with the tolerances
	Dropped  []string             // lines of the axis that another screw replaces
	LeftOut  []judge.Finding      // parts that were not tried, since a rule of parts has something against them
	NutStays bool                 // some screw has no nut of its own in the library: the declared nut is counted with
}

// A Choice is one thing that was varied.
type Choice struct {
	Name    string
	Options []string // as the answers name them
	Kept    bool     // there was nothing to vary, or it was asked to stay
}

// An Answer is one combination.
type Answer struct {
	Picks         []Pick
	Cost          float64 // NaN where a part that is chosen declares none
	Diameter      float64 // nominal diameter of the screw in m, NaN where it has none
	Inertia       float64 // of the shaft in kg m², NaN where it cannot be computed
	Utilisation   float64 // the largest use of a limit: 1 is the limit
	UtilisationOf string  // the rule whose limit that is
	Others        int     // for Answers: further combinations with this screw that hold
	Findings      []judge.Finding
	Unjudged      []judge.Result // for misses: rules that could not be judged with these parts
	Changes       []spec.Change
	gaps          []judge.MissingInput // that no part available would fill
	at            [choices]int
	different     int
}

// A Pick is what an answer takes for one choice.
type Pick struct {
	Choice    string
	Words     string
	Different bool // from what is declared
}

// Different counts the choices that differ from what is declared.
func (a *Answer) Different() int { return a.different }

// A Rejected says how many combinations a rule rejects. A combination counts
// for every rule it breaks at the first choice at which it breaks any.
type Rejected struct {
	Rule     string
	Choice   string // after which choice the rule can be asked
	Count    int
	Unjudged int // of them, those it could not judge, as a part lacks a line
}

// A choice is one thing to vary with its options.
type choice struct {
	options []option              // the first is what is declared
	fields  []*spec.Field         // that any option gives a value
	leaves  []*mechanics.Quantity // of the fields; nil where a field is no leaf
	kept    bool
}

// An option is one thing to take.
type option struct {
	words   string
	values  []*spec.Value   // by the choice's fields
	cost    float64         // NaN where it is not declared
	coarse  int             // for a grade: its number
	fixed   int             // for ends: how many are fixed
	units   bool            // for ends: a support unit is named
	against []judge.Finding // what rules of parts have against what is declared
	faults  ruleSet         // those rules
	share   float64         // for a preload: its share of the screw's dynamic rating; 0 for a fixed value
}

var (
	screwRef, nutRef                 = judge.Field("screw.part"), judge.Field("nut.part")
	driveEndRef, farEndRef           = judge.Field("supports.drive_end_part"), judge.Field("supports.far_end_part")
	motorRef, couplingRef            = judge.Field("drive.motor"), judge.Field("drive.coupling")
	gradeField, preloadField         = judge.Field("screw.grade"), judge.Field("nut.preload")
	driveEndField, farEndField       = judge.Field("supports.drive_end"), judge.Field("supports.far_end")
	endDiametersField, backlashField = judge.Field("screw.end_diameters"), judge.Field("nut.backlash")
	nutDragField                     = judge.Field("nut.drag_torque")
)

// Preloads tried besides the declared one, as shares of the dynamic rating:
// light, medium and heavy. Common practice, no source.
var preloadShares = []float64{0.02, 0.05, 0.08}

// Find finds the combinations of parts, visible from the folder of a
// judged axis, that hold under the rules in force there. It must be called
// while the report's View is good.
func Find(ctx context.Context, rep *judge.Report, o Options) (*Result, error) {
	s, err := openSizer(rep, o)
	if err != nil {
		return nil, err
	}
	s.buildOptions()
	if err := s.bounds(); err != nil {
		return nil, err
	}
	s.rules(rep)
	s.discover()
	return s.out, s.search(ctx)
}

// openSizer makes ready to judge copies of a judged axis.
func openSizer(rep *judge.Report, o Options) (*sizer, error) {
	v := rep.View
	if why := hindrances(v); len(why) > 0 {
		return nil, errors.New(strings.Join(why, "; "))
	}
	if o.Most <= 0 {
		o.Most = 10
	}
	own := *v
	own.Calc = mechanics.NewCalc()
	own.Calc.CopyFrom(v.Calc)
	own.Units()
	s := &sizer{o: o, most: mostWork, judge: rep.Judge.Book.NewJudge(o.Today, false), base: &own, out: &Result{Level: o.Level, View: &own}}
	s.forgetDrag()
	return s, nil
}

// hindrances are why an axis cannot be sized at all.
func hindrances(v *judge.View) (why []string) {
	switch {
	case v.Axis.Broken:
		return []string{"it has syntax errors"} // and so lacks more
	case v.Axis.Unread:
		why = append(why, "some of its lines, or of its parts' or machine's, could not be read")
	}
	if !v.Calc.Known(mechanics.CarriedMass) {
		why = append(why, "the mass of an axis it carries is not known")
	}
	if n := len(v.InForce.House); n > mostHouseRules {
		why = append(why, fmt.Sprintf("%d house rules found; size can use at most %d", n, mostHouseRules))
	}
	return why
}

// forgetDrag takes the declared drag torque of the nut out of what is sized: it is
// that of one screw at one preload.
func (s *sizer) forgetDrag() {
	if s.o.Keep[ChooseScrew] && s.o.Keep[ChoosePreload] || s.base.Axis.Get(nutDragField) == nil {
		return
	}
	s.base.Axis = s.base.Axis.Copy()
	s.base.Axis.Put([]spec.Change{{Field: nutDragField}})
	s.base.Calc.Set(mechanics.NutDragGiven, math.NaN())
	s.base.Calc.Run()
	s.out.Dropped = append(s.out.Dropped, nutDragField.Path)
	s.noDrag = true
}

// buildOptions lays out the options of every choice.
func (s *sizer) buildOptions() {
	s.screws()
	s.preloads()
	s.ends()
	s.grades()
	s.motors(ChooseMotor, motorRef, "motor", []string{"rated_torque", "peak_torque", "max_speed"})
	s.motors(ChooseCoupling, couplingRef, "coupling", []string{"rated_torque"})
	for i := range s.choices {
		c := &s.choices[i]
		if s.o.Keep[i] {
			c.options = c.options[:1]
		}
		c.kept = len(c.options) == 1
		for k := range c.options {
			for _, f := range c.options[k].against {
				c.options[k].faults.add(s.partRule(f.Rule))
			}
		}
		out := Choice{Name: ChoiceNames[i], Kept: c.kept}
		for k := range c.options {
			out.Options = append(out.Options, c.options[k].words)
		}
		s.out.Choices = append(s.out.Choices, out)
	}
}

// partRule is the index of a rule of parts among those that reject. It is
// not asked of the axis.
func (s *sizer) partRule(name string) int {
	i := slices.IndexFunc(s.asked, func(a sizingRule) bool { return a.name == name && !a.asks() })
	if i < 0 {
		i = len(s.asked)
		s.asked = append(s.asked, sizingRule{name: name, level: -1})
	}
	return i
}

// build fills in a choice from changes for each option: an option that does
// not change a field leaves it as declared.
func (s *sizer) build(which int, options []option, changes [][]spec.Change) {
	c := &s.choices[which]
	at := map[*spec.Field]int{}
	for _, list := range changes {
		for _, x := range list {
			if _, ok := at[x.Field]; !ok {
				at[x.Field] = len(c.fields)
				c.fields = append(c.fields, x.Field)
				c.leaves = append(c.leaves, judge.LeafOfField[x.Field.Index()])
			}
		}
	}
	for i := range options {
		o := &options[i]
		o.values = make([]*spec.Value, len(c.fields))
		for k, f := range c.fields {
			o.values[k] = s.base.Axis.Get(f)
		}
		for _, x := range changes[i] {
			o.values[at[x.Field]] = x.Value
		}
	}
	c.options = options
}

// costOf is what parts cost together, NaN where one does not say.
func costOf(parts ...*spec.Part) float64 {
	sum := 0.0
	for _, p := range parts {
		if p == nil {
			continue
		}
		v := p.Get("cost")
		if v == nil || v.Bad {
			return math.NaN()
		}
		sum += v.Num.Nominal
	}
	return sum
}

func partNumber(p *spec.Part, name string) float64 {
	if v := p.Get(name); v != nil && !v.Bad {
		return v.Num.Nominal
	}
	return math.NaN()
}

// declaredPart is the part a reference names, nil where it names none.
func (s *sizer) declaredPart(ref *spec.Field) *spec.Part {
	if v := s.base.Value(ref); v != nil {
		return v.Part
	}
	return nil
}

// parts lists the parts of a kind available but those that a rule of parts has
// something against, which are left out.
func (s *sizer) parts(kind string) (out []*spec.Part) {
	for _, p := range s.base.Axis.Folder.Visible(kind) {
		if f := s.faultsOf(p); len(f) == 0 {
			out = append(out, p)
		} else {
			s.out.LeftOut = append(s.out.LeftOut, f[0])
		}
	}
	return out
}

// faultsOf lists what rules of parts have against a part, from the level on
// that rejects.
func (s *sizer) faultsOf(p *spec.Part) []judge.Finding {
	f := s.base.Axis.Folder // what is available stands there or above
	for !slices.Contains(f.Parts(), p) {
		f = f.Parent
	}
	return slices.DeleteFunc(s.judge.AskPart(s.judge.ViewPart(f, p)), func(x judge.Finding) bool { return x.Waiver != nil || x.Severity < s.o.Level })
}

// against lists what rules of parts have against declared parts.
func (s *sizer) against(parts ...*spec.Part) (out []judge.Finding) {
	for _, p := range parts {
		if p != nil {
			out = append(out, s.faultsOf(p)...)
		}
	}
	return out
}

const asDeclared = "as declared"

// screws: the declared one as it stands, and every other screw available, each
// with every nut that fits it.
func (s *sizer) screws() {
	a := s.base.Axis
	now := s.declaredPart(screwRef)
	nuts := map[string][]*spec.Part{}
	for _, n := range s.parts("nut") {
		screw := n.Name // a nut that bears a screw's name is its nut
		if f := n.Get("fits"); f != nil {
			screw = f.Text
		}
		nuts[screw] = append(nuts[screw], n)
	}
	nutNow := s.declaredPart(nutRef)
	first := option{words: asDeclared, cost: math.NaN()}
	if now != nil {
		first = option{words: now.Name, cost: costOf(now, nutNow), against: s.against(now, nutNow)}
	}
	options, changes := []option{first}, [][]spec.Change{nil}
	for _, p := range s.parts("screw") {
		fit := nuts[p.Name]
		if len(fit) == 0 {
			if p == now {
				continue
			}
			s.out.NutStays = true
			options = append(options, option{words: p.Name, cost: costOf(p, nutNow)})
			changes = append(changes, a.ReplacePart(screwRef, p))
		}
		for _, n := range fit {
			if p == now && n == nutNow {
				continue
			}
			var ch []spec.Change
			if p != now {
				ch = a.ReplacePart(screwRef, p)
			}
			words := p.Name
			if p == now || len(fit) > 1 {
				words += " with " + n.Name
			}
			options = append(options, option{words: words, cost: costOf(p, n)})
			changes = append(changes, append(ch, a.ReplacePart(nutRef, n)...))
		}
	}
	s.build(ChooseScrew, options, changes)
	// Lines of the axis's own that another screw does away with.
	for k, f := range s.choices[ChooseScrew].fields {
		v := a.Get(f)
		if v == nil || v.Origin != spec.Own || f.Sort == spec.PartRef {
			continue
		}
		for _, o := range s.choices[ChooseScrew].options[1:] {
			if o.values[k] != v {
				s.out.Dropped = append(s.out.Dropped, f.Path)
				break
			}
		}
	}
}

// preloads: the declared one, and shares of each screw's rating where the nut
// is preloaded.
func (s *sizer) preloads() {
	v := s.base.Value(preloadField)
	first := option{words: "none declared"}
	if v != nil {
		first.words = v.Text
	}
	c := &s.choices[ChoosePreload]
	c.fields, c.leaves = []*spec.Field{preloadField}, []*mechanics.Quantity{judge.LeafOfField[preloadField.Index()]}
	first.values = []*spec.Value{s.base.Axis.Get(preloadField)}
	c.options = []option{first}
	if v == nil || v.Num.Nominal <= 0 || s.base.Value(backlashField) != nil {
		return
	}
	for _, x := range preloadShares {
		c.options = append(c.options, option{words: judge.Percent(x) + " of Ca", share: x, values: []*spec.Value{nil}})
	}
}

// preloadOf is the preload that is a share of a screw's dynamic rating, on the
// low side to two digits; nil where the screw has none.
func (s *sizer) preloadOf(screw, at int) *spec.Value {
	o := &s.choices[ChoosePreload].options[at]
	if o.share == 0 {
		return o.values[0]
	}
	c := &s.choices[ChooseScrew]
	k := slices.Index(c.fields, dynamicRatingField)
	v := s.base.Axis.Get(dynamicRatingField)
	if k >= 0 {
		v = c.options[screw].values[k]
	}
	if v == nil || v.Bad {
		return nil
	}
	sys, u := unit.Metric, "N"
	if s.base.Units() == unit.Inch {
		sys, u = unit.Inch, "lbf"
	}
	n, _ := unit.In(v.Num.Nominal*o.share, unit.Force, u)
	scale := math.Pow(10, 1-math.Floor(math.Log10(n)))
	si, _ := unit.SIOf(math.Floor(n*scale*(1+judge.Slack))/scale, unit.Force, u)
	x, _ := s.base.Axis.WithText(preloadField, unit.FormatExact(si, unit.Force, sys))
	return x.Value
}

var dynamicRatingField = judge.Field("screw.dynamic_rating")

// ends: how the shaft is held, with support units where the axis names some or
// says how thick its ends are.
func (s *sizer) ends() {
	a := s.base.Axis
	drive, far := s.base.Word(driveEndField), s.base.Word(farEndField)
	partsNow := [2]*spec.Part{s.declaredPart(driveEndRef), s.declaredPart(farEndRef)}
	words := func(drive, far string, p [2]*spec.Part) string {
		out := drive + "-" + far
		var names []string
		for _, x := range p {
			if x != nil {
				names = append(names, x.Name)
			}
		}
		if len(names) > 0 {
			out += " (" + strings.Join(names, ", ") + ")"
		}
		return out
	}
	first := option{words: "not declared", cost: unitCost([2]string{drive, far}, partsNow), units: partsNow != [2]*spec.Part{}, against: s.against(partsNow[:]...), fixed: fixedEnds(drive, far)}
	if drive != "" && far != "" {
		first.words = words(drive, far, partsNow)
	}
	options, changes := []option{first}, [][]spec.Change{nil}
	supports := s.parts("support")
	diameters := s.base.Value(endDiametersField)
	// Support units are chosen by the ends that are drawn: of those that fit,
	// the largest bore.
	units := func(end int, word string) []*spec.Part {
		if word == "free" || diameters == nil {
			return []*spec.Part{nil}
		}
		var out []*spec.Part
		best := 0.0
		for _, p := range supports {
			kind, bore := p.Get("kind"), partNumber(p, "bore")
			if kind == nil || kind.Text != word || !(bore <= diameters.Ends[end].Nominal*(1+judge.Slack)) {
				continue
			}
			if bore > best*(1+judge.Slack) {
				best, out = bore, nil
			}
			if bore >= best*(1-judge.Slack) {
				out = append(out, p)
			}
		}
		if now := partsNow[end]; now != nil && word == [2]string{drive, far}[end] && !slices.Contains(out, now) {
			out = append(out, now)
		}
		if len(out) == 0 {
			return []*spec.Part{nil}
		}
		return out
	}
	for _, w := range [][2]string{{"fixed", "free"}, {"fixed", "supported"}, {"supported", "fixed"}, {"fixed", "fixed"}} {
		for _, p := range units(0, w[0]) {
			for _, q := range units(1, w[1]) {
				pair := [2]*spec.Part{p, q}
				if w[0] == drive && w[1] == far && pair == partsNow {
					continue
				}
				var ch []spec.Change
				for i, f := range []*spec.Field{driveEndField, farEndField} {
					if w[i] != [2]string{drive, far}[i] {
						x, _ := a.WithText(f, w[i])
						ch = append(ch, x)
					}
				}
				for i, ref := range []*spec.Field{driveEndRef, farEndRef} {
					if pair[i] != partsNow[i] {
						ch = append(ch, a.ReplacePart(ref, pair[i])...)
					}
				}
				options = append(options, option{words: words(w[0], w[1], pair), cost: unitCost(w, pair), units: p != nil || q != nil, fixed: fixedEnds(w[0], w[1])})
				changes = append(changes, ch)
			}
		}
	}
	// An end whose unit is open has no cost, unless all are.
	if !slices.ContainsFunc(options, func(o option) bool { return o.units }) {
		for i := range options {
			options[i].cost = 0
		}
	}
	s.build(ChooseEnds, options, changes)
}

func unitCost(words [2]string, units [2]*spec.Part) float64 {
	for i, w := range words {
		if w != "free" && units[i] == nil {
			return math.NaN()
		}
	}
	return costOf(units[:]...)
}

func fixedEnds(words ...string) (n int) {
	for _, w := range words {
		if w == "fixed" {
			n++
		}
	}
	return n
}

// gradeFamilies are the grades tried, the coarsest first.
var gradeFamilies = [][]string{{"C10", "C7", "C5", "C3"}, {"P5", "P3", "P1"}, {"T10", "T7", "T5"}}

func (s *sizer) grades() {
	a := s.base.Axis
	now := s.base.Word(gradeField)
	first := option{words: now, coarse: gradeCoarse(now)}
	family := gradeFamilies[0]
	if now == "" {
		first.words = "not declared"
	} else {
		for _, f := range gradeFamilies {
			if f[0][0] == now[0] {
				family = f
			}
		}
	}
	options, changes := []option{first}, [][]spec.Change{nil}
	for _, g := range family {
		if g == now {
			continue
		}
		x, _ := a.WithText(gradeField, g)
		options = append(options, option{words: g, coarse: gradeCoarse(g)})
		changes = append(changes, []spec.Change{x})
	}
	s.build(ChooseGrade, options, changes)
}

// motors lays out motors or couplings, the smallest first. An axis without a
// coupling does not get one.
func (s *sizer) motors(which int, ref *spec.Field, kind string, by []string) {
	a := s.base.Axis
	now := s.declaredPart(ref)
	first := option{words: "none declared", cost: costOf(now), against: s.against(now)}
	if now != nil {
		first.words = now.Name
	}
	options, changes := []option{first}, [][]spec.Change{nil}
	if which == ChooseMotor || now != nil {
		parts := s.parts(kind)
		slices.SortStableFunc(parts, func(p, q *spec.Part) int {
			for _, name := range by {
				if c := cmp.Compare(partNumber(p, name), partNumber(q, name)); c != 0 {
					return c
				}
			}
			return 0
		})
		for _, p := range parts {
			if p == now {
				if which == ChooseMotor {
					s.declaredMotor = len(options)
				}
				continue
			}
			options = append(options, option{words: p.Name, cost: costOf(p)})
			changes = append(changes, a.ReplacePart(ref, p))
		}
	}
	s.build(which, options, changes)
}

// Bounds of one sizing: what is beyond them is refused before it begins.
const (
	mostCombinations = 500_000_000
	mostHouseRules   = 150
)

func (s *sizer) bounds() error {
	n := 1.0
	for i := range s.choices {
		n *= float64(len(s.choices[i].options))
	}
	if n > mostCombinations {
		return fmt.Errorf("%.0f combinations found; at most %d can be tried; keep some choices with --keep", n, mostCombinations)
	}
	s.out.All = int(n)
	return nil
}

// words of an answer's choices.
func (s *sizer) picks(at [choices]int) (picks []Pick, different int) {
	for i := range s.choices {
		c := &s.choices[i]
		o := &c.options[at[i]]
		p := Pick{Choice: ChoiceNames[i], Words: o.words, Different: at[i] != 0}
		if i == ChoosePreload && o.share > 0 {
			if v := s.preloadOf(at[ChooseScrew], at[i]); v != nil {
				p.Words = v.Text + " (" + o.words + ")"
			}
		}
		if p.Different {
			different++
		}
		picks = append(picks, p)
	}
	return picks, different
}

// changes lists what an answer changes in the axis.
func (s *sizer) changes(at [choices]int) []spec.Change {
	var out []spec.Change
	if s.noDrag && (at[ChooseScrew] != 0 || at[ChoosePreload] != 0) {
		out = append(out, spec.Change{Field: nutDragField})
	}
	for i := range s.choices {
		c := &s.choices[i]
		for k, f := range c.fields {
			v := c.options[at[i]].values[k]
			if i == ChoosePreload {
				v = s.preloadOf(at[ChooseScrew], at[i])
			}
			if v != s.base.Axis.Get(f) {
				out = append(out, spec.Change{Field: f, Value: v})
			}
		}
	}
	return out
}

// gradeCoarse is how coarse a grade is: its number, zero where there is none.
func gradeCoarse(word string) int {
	g, _ := tables.ParseGrade(word)
	return g.Number
}
