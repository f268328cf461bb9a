// Package audit gathers what is known of a whole fleet of axes and renders it.
// Of each axis it keeps one small row, so that a fleet of any size fits.
package audit

import (
	"cmp"
	"fmt"
	"math"
	"path"
	"slices"
	"sort"
	"strings"
	"sync"
	"time"

	"trammel/cmd/internal/drawing"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// A Row is what is kept of one axis.
type Row struct {
	Axis  string
	Place spec.Place // in its tree
	tree  int32      // index in Fleet.trees
	house []house    // house rules; empty for most

	states []judge.State // of the built-in rules, in order of their names
	uses   []float32     // likewise; NaN where there is no such number

	machine             int32 // index in Fleet.machines
	parts               [partKinds]int32
	errors, warnings    uint16
	notes, waived       uint16
	judged, unjudged    uint16
	worst               int32 // rule with the worst margin, -1 for none
	worstUse            float32
	severity            judge.Severity // the highest one that stands
	brake               brake
	lackBrake           string // what holding-brake waits for
	values              [len(keys)]float32
	commissioned        int32   // days since 1970; noDay where it is not declared
	hours, hoursPerYear float64 // so far, and by duty; NaN where not known
	life, lifeYears     float64 // revolutions and years; NaN where not known
	revsPerYear         float64
	every               float64 // regreasing interval in seconds; NaN where not declared
}

type house struct {
	rule  int32
	state judge.State
	use   float32
}

// brake says how an axis that its weight can drive is held.
type brake uint8

const (
	noQuestion  brake = iota // it does not lift, or a brake holds it
	brakeFails               // the rule holding-brake is broken
	brakeWaived              // broken, and accepted by a waiver
	brakeOpen                // it lifts; the rule is not judged
	brakeUnsure              // not even whether it lifts is known
	brakeOff                 // it lifts; a policy switched the rule off
)

// Kinds of parts that are counted.
const (
	screws = iota
	motors
	greases
	partKinds
)

var partFields = [partKinds]*spec.Field{fieldAt("screw.part"), fieldAt("drive.motor"), fieldAt("lubrication.grease")}

func fieldAt(path string) *spec.Field {
	f := spec.Language().FieldAt(path)
	if f == nil {
		panic("audit: no field " + path)
	}
	return f
}

var (
	commissionedField = fieldAt("duty.commissioned")
	hoursField        = fieldAt("duty.hours_so_far")
	regreaseField     = fieldAt("lubrication.regrease_every")
)

// keys are the quantities shown of each axis, in fixed units, so that a column
// can be sorted and summed.
var keys = [...]struct{ quantity, head, unit string }{
	{"incline_angle", "incline", "deg"},
	{"motion.stroke", "stroke", "mm"},
	{"top_speed", "top speed", "m/s"},
	{"heaviest_mass", "heaviest mass", "kg"},
	{"cycle_time", "cycle time", "s"},
	{"mean_load", "mean load", "N"},
	{"peak_force", "peak force", "N"},
	{"screw.nominal_diameter", "nominal diameter", "mm"},
	{"screw.lead", "lead", "mm"},
	{"screw.length", "shaft length", "mm"},
	{"screw.dynamic_rating", "dynamic rating", "N"},
	{"max_rotation_speed", "maximum speed", "rpm"},
	{"distance_per_year", "distance a year", "km"},
	{"static_safety", "static safety", ""},
	{"buckling_safety", "buckling safety", ""},
	{"peak_motor_torque", "peak motor torque", "N m"},
	{"rms_motor_torque", "rms motor torque", "N m"},
	{"regrease_distance", "distance between greasings", "km"},
}

var keyQuantities = func() (out [len(keys)]*mechanics.Quantity) {
	for i, k := range keys {
		out[i] = mechanics.ByName(k.quantity)
		if out[i] == nil {
			panic("audit: no quantity " + k.quantity)
		}
		if _, ok := unit.In(1, out[i].Kind, k.unit); !ok && k.unit != "" {
			panic("audit: " + k.quantity + " has no unit " + k.unit)
		}
	}
	return out
}()

const noDay = math.MinInt32

// A machine is the folder a machine block holds, or a folder of axes without
// one.
type machine struct {
	name, folder string
	tree         int32
	shown        string // set when all are known
}

// A part in use.
type part struct {
	part  *spec.Part
	tree  int32
	axes  int
	shown string
}

// Counts are findings by severity.
type Counts struct {
	Errors, Warnings, Notes, Waived int
}

func (c *Counts) add(s judge.Severity, waived bool) {
	switch {
	case waived:
		c.Waived++
	case s == judge.Error:
		c.Errors++
	case s == judge.Warning:
		c.Warnings++
	case s == judge.Note:
		c.Notes++
	}
}

func (c *Counts) total() int { return c.Errors + c.Warnings + c.Notes }

// A Tree is one of the trees the fleet stands in.
type Tree struct {
	Tree  *spec.Tree
	Files []string
	Show  func(spec.Place) spec.Place
}

// A Fleet gathers axes. Add may be called by several goroutines at once; all
// else by one, after Finish.
type Fleet struct {
	today time.Time
	trees []Tree

	mu         sync.Mutex
	rows       []*Row
	machines   []machine
	folders    map[*spec.Folder]int32
	byFolder   map[machineKey]int32
	parts      [partKinds][]part
	partIndex  map[*spec.Part]int32
	ruleNames  []string // built-in ones first
	ruleIndex  map[string]int32
	byRule     map[string]*Counts
	loose      Counts // findings of no axis
	expired    []expiredWaiver
	dangers    []Danger
	drawn      []drawnDanger
	waivers    map[spec.Place]*waiverSum // that accept something, by their place as shown
	gaps       gaps
	broken     map[fileKey]*brokenFile
	merges     []Merge
	mergesNote string          // what was not tried
	sheets     map[*Row]string // links of the axes' sheets
}

// A Danger is an error that stands, of a rule whose findings can hurt someone.
type Danger struct {
	*Row
	Rule, Message string
}

type machineKey struct {
	tree   int32
	folder string
}

type fileKey struct {
	tree int32
	file string
}

type brokenFile struct {
	Place    spec.Place // of its first problem, as shown
	Rule     string
	Message  string
	Problems int
}

type expiredWaiver struct {
	Place   spec.Place // as shown
	Machine string
	Axis    string
	Message string
}

// New returns a fleet of no axes yet, to be judged on the day today.
func New(today time.Time, trees ...Tree) *Fleet {
	f := &Fleet{
		today: today, trees: trees, waivers: map[spec.Place]*waiverSum{}, folders: map[*spec.Folder]int32{}, byFolder: map[machineKey]int32{}, partIndex: map[*spec.Part]int32{},
		ruleIndex: map[string]int32{}, byRule: map[string]*Counts{}, broken: map[fileKey]*brokenFile{}, sheets: map[*Row]string{},
		mergesNote: "Near-duplicate screws were not searched for (--no-merge).",
	}
	for i, r := range rules.Book().All() {
		f.ruleNames = append(f.ruleNames, r.Name)
		f.ruleIndex[r.Name] = int32(i)
	}
	f.gaps.init()
	return f
}

var brakeRule = slices.IndexFunc(rules.Book().All(), func(r *judge.Rule) bool { return r.Name == "holding-brake" })

// Add takes in one judged axis of a tree. The report may be thrown away after.
func (f *Fleet) Add(tree int, rep *judge.Report) {
	r := newRow(tree, rep)
	t := r.tally(rep)
	worst := r.weigh(rep, t)
	r.setBrake(rep, t.waived["holding-brake"], t.standing["holding-brake"] > judge.Off)
	waiting := waitingOf(rep)
	var picture *drawing.Picture
	if len(t.dangers) > 0 {
		picture = drawing.Of(rep.View, t.marks)
	}

	f.mu.Lock()
	defer f.mu.Unlock()
	f.place(r, rep)
	if worst != "" {
		r.worst = f.rule(worst)
	}
	for i := range rep.Findings {
		f.count(&rep.Findings[i], r.tree)
	}
	f.gaps.add(waiting, r.machine)
	f.rows = append(f.rows, r)
	f.dangers = append(f.dangers, t.dangers...)
	if picture != nil {
		f.draw(drawnDanger{r, picture, t.dangers})
	}
}

// newRow is a row with what the axis declares and what was computed of it.
func newRow(tree int, rep *judge.Report) *Row {
	a, v := rep.View.Axis, rep.View
	built := len(rules.Book().All())
	r := &Row{
		Axis: a.Name, Place: a.Place, tree: int32(tree), worst: -1, worstUse: float32(math.NaN()), states: make([]judge.State, built), uses: make([]float32, built),
		commissioned: noDay, hours: math.NaN(), every: math.NaN(),
		hoursPerYear: v.V(mechanics.ByName("hours_per_year")) / 3600, life: v.V(mechanics.Life), lifeYears: v.V(mechanics.LifeYears) / mechanics.Year, revsPerYear: v.V(mechanics.RevsPerYear),
	}
	for i, q := range keyQuantities {
		x := v.V(q)
		if keys[i].unit != "" {
			x, _ = unit.In(x, q.Kind, keys[i].unit)
		}
		r.values[i] = float32(x)
	}
	if x := a.Get(commissionedField); x != nil && !x.Bad {
		if day, err := time.Parse(time.DateOnly, x.Text); err == nil {
			r.commissioned = int32(day.Unix() / 86400)
		}
	}
	if x := a.Get(hoursField); x != nil && !x.Bad {
		r.hours = x.Num.Nominal
	}
	if x := a.Get(regreaseField); x != nil && !x.Bad && x.Num.Low > 0 {
		r.every = x.Num.Low
	}
	return r
}

// A tally is what the findings of an axis come to, rule by rule.
type tally struct {
	waived   map[string]bool
	standing map[string]judge.Severity // of what no waiver accepts
	dangers  []Danger
	marks    []drawing.Mark // of the dangers
}

// tally counts the findings of an axis.
func (r *Row) tally(rep *judge.Report) *tally {
	t := &tally{waived: map[string]bool{}, standing: map[string]judge.Severity{}}
	for i := range rep.Findings {
		x := &rep.Findings[i]
		if x.Waiver != nil {
			t.waived[x.Rule] = true
			r.waived++
			continue
		}
		t.standing[x.Rule] = max(t.standing[x.Rule], x.Severity)
		r.severity = max(r.severity, x.Severity)
		switch x.Severity {
		case judge.Error:
			r.errors++
			if rules.Book().Caution(x.Rule) != "" {
				t.dangers = append(t.dangers, Danger{r, x.Rule, x.Message})
				t.marks = append(t.marks, drawing.Mark{Number: len(t.dangers), Level: x.Severity.String(), Rule: x.Rule, Cause: x.Cause})
			}
		case judge.Warning:
			r.warnings++
		case judge.Note:
			r.notes++
		}
	}
	return t
}

// weigh takes in how the rules came out, and names the worst: that of the gravest finding;
// of several, and where nothing is found, the tightest margin. One that compares no numbers
// comes last. What a waiver accepts does not count.
func (r *Row) weigh(rep *judge.Report, t *tally) (worst string) {
	var worstSev judge.Severity
	worstUse := math.NaN()
	for i := range rep.Results {
		res := &rep.Results[i]
		if i < len(r.states) {
			r.states[i], r.uses[i] = res.State, float32(res.Utilisation)
		}
		switch res.State {
		case judge.Passed, judge.Failed:
			r.judged++
		case judge.Unjudged:
			r.unjudged++
		}
		sev := t.standing[res.Rule]
		if res.State != judge.Passed && res.State != judge.Failed || sev == judge.Off && (t.waived[res.Rule] || res.Fit || res.Utilisation != res.Utilisation) {
			continue
		}
		if worst == "" || sev > worstSev || sev == worstSev && (res.Utilisation > worstUse || worstUse != worstUse && res.Utilisation == res.Utilisation) {
			worst, worstSev, worstUse = res.Rule, sev, res.Utilisation
		}
	}
	r.worstUse = float32(worstUse)
	return worst
}

// place gives a row its machine, its parts and the rules of its house.
func (f *Fleet) place(r *Row, rep *judge.Report) {
	r.machine = f.machineOf(r.tree, rep.View.Axis.Folder)
	for k, fd := range partFields {
		r.parts[k] = -1
		if x := rep.View.Axis.Get(fd); x != nil && !x.Bad && x.Part != nil {
			r.parts[k] = f.part(k, r.tree, x.Part)
		}
	}
	for i := len(r.states); i < len(rep.Results); i++ {
		res := &rep.Results[i]
		r.house = append(r.house, house{f.rule(res.Rule), res.State, float32(res.Utilisation)})
	}
}

// A drawnDanger is an axis that the page draws, with its errors in the order of their
// numbers in the drawing.
type drawnDanger struct {
	*Row
	picture *drawing.Picture
	dangers []Danger
}

// mostDrawn is how many dangerous axes are drawn.
const mostDrawn = 4

// draw keeps a drawing as long as it is among the first.
func (f *Fleet) draw(d drawnDanger) {
	at, _ := slices.BinarySearchFunc(f.drawn, d, func(a, b drawnDanger) int { return byDanger(a.Row, b.Row) })
	f.drawn = slices.Insert(f.drawn, at, d)
	f.drawn = f.drawn[:min(len(f.drawn), mostDrawn)]
}

// byDanger compares axes: what can fall comes first.
func byDanger(a, b *Row) int {
	return cmp.Or(cmp.Compare(b.brake, a.brake), cmp.Compare(a.tree, b.tree), spec.ComparePlaces(a.Place, b.Place), cmp.Compare(a.Axis, b.Axis))
}

func (r *Row) setBrake(rep *judge.Report, waived, standing bool) {
	incline := rep.View.V(mechanics.Incline)
	lifts := incline > 0 // not so where it is not known
	res := &rep.Results[brakeRule]
	switch {
	case res.State == judge.Failed && waived && !standing:
		r.brake = brakeWaived
	case res.State == judge.Failed:
		r.brake = brakeFails
	case res.State == judge.Unjudged && lifts:
		r.brake = brakeOpen
	case res.State == judge.Unjudged:
		r.brake = brakeUnsure
	case res.State == judge.Disabled && lifts && !(rep.View.V(mechanics.SelfMotion) <= 0):
		r.brake = brakeOff
	}
	if res.State != judge.Unjudged {
		return
	}
	r.lackBrake = res.Why
	for i, m := range res.Missing {
		if i == 0 {
			r.lackBrake = m.Words
		} else {
			r.lackBrake += ", " + m.Words
		}
	}
	if len(res.Missing) > 0 {
		r.lackBrake += " missing"
	}
}

// machineOf finds the machine of a folder: the topmost folder above of the
// same machine name, or the folder itself where no machine is declared.
func (f *Fleet) machineOf(tree int32, dir *spec.Folder) int32 {
	if i, ok := f.folders[dir]; ok {
		return i
	}
	name, top := dir.MachineName(), dir
	for name != "" && top.Parent != nil && top.Parent.MachineName() == name {
		top = top.Parent
	}
	key := machineKey{tree, top.Path}
	i, ok := f.byFolder[key]
	if !ok {
		i = int32(len(f.machines))
		f.machines = append(f.machines, machine{name: name, folder: f.trees[tree].Show(spec.Place{File: top.Path}).File, tree: tree})
		f.byFolder[key] = i
	}
	f.folders[dir] = i
	return i
}

func (f *Fleet) part(kind int, tree int32, p *spec.Part) int32 {
	i, ok := f.partIndex[p]
	if !ok {
		i = int32(len(f.parts[kind]))
		f.parts[kind] = append(f.parts[kind], part{part: p, tree: tree})
		f.partIndex[p] = i
	}
	f.parts[kind][i].axes++
	return i
}

func (f *Fleet) rule(name string) int32 {
	i, ok := f.ruleIndex[name]
	if !ok {
		i = int32(len(f.ruleNames))
		f.ruleNames = append(f.ruleNames, name)
		f.ruleIndex[name] = i
	}
	return i
}

// count takes in one finding.
func (f *Fleet) count(x *judge.Finding, tree int32) {
	c := f.byRule[x.Rule]
	if c == nil {
		c = &Counts{}
		f.byRule[x.Rule] = c
	}
	c.add(x.Severity, x.Waiver != nil)
	show := f.trees[tree].Show
	if x.Waiver != nil {
		f.accepted(x, show(x.WaiverPlace))
	}
	if x.Rule == "waiver-expired" && x.Waiver == nil {
		f.expired = append(f.expired, expiredWaiver{show(x.Place), x.Machine, x.Axis, x.Message})
	}
	if x.OfText() {
		key := fileKey{tree, x.Place.File}
		b := f.broken[key]
		if b == nil {
			b = &brokenFile{}
			f.broken[key] = b
		}
		b.Problems++
		p := show(x.Place)
		if b.Problems == 1 || cmp.Or(spec.ComparePlaces(p, b.Place), cmp.Compare(x.Rule, b.Rule), cmp.Compare(x.Message, b.Message)) < 0 {
			b.Place, b.Rule, b.Message = p, x.Rule, x.Message
		}
	}
}

// AddFindings takes in the findings of a run that belong to no axis: those of
// files, parts and policies.
func (f *Fleet) AddFindings(tree int, list []judge.Finding) {
	for i := range list {
		f.count(&list[i], int32(tree))
		f.loose.add(list[i].Severity, list[i].Waiver != nil)
	}
}

// Finish puts everything in its order, which does not depend on the order of
// the calls of Add.
func (f *Fleet) Finish() {
	slices.SortFunc(f.rows, func(a, b *Row) int {
		return cmp.Or(cmp.Compare(a.tree, b.tree), spec.ComparePlaces(a.Place, b.Place), cmp.Compare(a.Axis, b.Axis))
	})
	// Machines and parts got their numbers as they came in, which is chance.
	moved := reorder(f.machines, func(a, b machine) int { return cmp.Or(cmp.Compare(a.tree, b.tree), cmp.Compare(a.folder, b.folder)) })
	for _, r := range f.rows {
		r.machine = moved[r.machine]
	}
	for k := range f.parts {
		moved := reorder(f.parts[k], func(a, b part) int {
			return cmp.Or(cmp.Compare(a.tree, b.tree), spec.ComparePlaces(a.part.Place, b.part.Place))
		})
		for _, r := range f.rows {
			if r.parts[k] >= 0 {
				r.parts[k] = moved[r.parts[k]]
			}
		}
	}
	f.folders, f.byFolder, f.partIndex = nil, nil, nil // they are out of date
	names := map[string]int{}
	for i := range f.machines {
		names[f.machines[i].name]++
	}
	for i := range f.machines {
		m := &f.machines[i]
		switch {
		case m.name == "":
			m.shown = "folder " + m.folder
		case names[m.name] > 1:
			m.shown = m.name + " (" + m.folder + ")"
		default:
			m.shown = m.name
		}
	}
	for k := range f.parts {
		same := map[string]int{}
		for _, p := range f.parts[k] {
			same[p.part.Name]++
		}
		for i := range f.parts[k] {
			p := &f.parts[k][i]
			p.shown = p.part.Kind + "." + p.part.Name
			if same[p.part.Name] > 1 {
				at := f.trees[p.tree].Show(p.part.Place)
				p.shown += fmt.Sprintf(" (%s:%d)", at.File, at.Line)
			}
		}
	}
	slices.SortFunc(f.dangers, func(a, b Danger) int {
		return cmp.Or(byDanger(a.Row, b.Row), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Message, b.Message))
	})
	slices.SortFunc(f.expired, func(a, b expiredWaiver) int {
		return cmp.Or(spec.ComparePlaces(a.Place, b.Place), cmp.Compare(a.Message, b.Message))
	})
}

// reorder sorts a list and says where each entry went.
func reorder[T any](list []T, compare func(a, b T) int) []int32 {
	order := make([]int32, len(list))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortStableFunc(order, func(a, b int32) int { return compare(list[a], list[b]) })
	before := slices.Clone(list)
	moved := make([]int32, len(list))
	for to, from := range order {
		list[to] = before[from]
		moved[from] = int32(to)
	}
	return moved
}

// Axes is how many axes were taken in.
func (f *Fleet) Axes() int { return len(f.rows) }

// show gives a row's place as the reader sees it.
func (f *Fleet) show(r *Row) spec.Place { return f.trees[r.tree].Show(r.Place) }

func (f *Fleet) machineName(r *Row) string { return f.machines[r.machine].shown }

func (f *Fleet) partName(r *Row, kind int) string {
	if r.parts[kind] < 0 {
		return ""
	}
	return f.parts[kind][r.parts[kind]].shown
}

// result is how one rule came out for the row.
func (r *Row) result(rule int) (judge.State, float64) {
	if rule < len(r.states) {
		return r.states[rule], float64(r.uses[rule])
	}
	for _, h := range r.house {
		if int(h.rule) == rule {
			return h.state, float64(h.use)
		}
	}
	return judge.NotApplicable, math.NaN()
}

// ruleOrder lists the rules that stand in output: the built-in ones by name,
// then house rules by name.
func (f *Fleet) ruleOrder() []int {
	out := make([]int, len(f.ruleNames))
	for i := range out {
		out[i] = i
	}
	built := len(rules.Book().All())
	sort.Slice(out[built:], func(i, k int) bool { return f.ruleNames[out[built+i]] < f.ruleNames[out[built+k]] })
	return out
}

// ruleShown names a rule; a house rule could bear any name.
func (f *Fleet) ruleShown(i int) string { return f.ruleNames[i] }

// margin is rules.Margin where there is a use.
func margin(use float64) float64 {
	if math.IsNaN(use) {
		return math.NaN()
	}
	return judge.Margin(use)
}

// Totals are the sums over the fleet.
type Totals struct {
	Machines, Axes   int
	Counts           Counts
	Judged, Unjudged int
}

// Totals adds up.
func (f *Fleet) Totals() Totals {
	t := Totals{Machines: len(f.machines), Axes: len(f.rows), Counts: f.loose}
	for _, r := range f.rows {
		t.Counts.Errors += int(r.errors)
		t.Counts.Warnings += int(r.warnings)
		t.Counts.Notes += int(r.notes)
		t.Counts.Waived += int(r.waived)
		t.Judged += int(r.judged)
		t.Unjudged += int(r.unjudged)
	}
	return t
}

// A RuleSum is how one rule came out over the fleet.
type RuleSum struct {
	Rule                     string
	Counts                   Counts
	Passed, Failed, Unjudged int // axes
	rule                     int // index; -1 for a check of the text
}

// Rules sums up by rule, the one with the most findings first.
func (f *Fleet) Rules() []RuleSum {
	byRule := map[string]*RuleSum{}
	var out []*RuleSum
	for _, i := range f.ruleOrder() {
		s := &RuleSum{Rule: f.ruleNames[i], rule: i}
		byRule[s.Rule] = s
		out = append(out, s)
	}
	for _, r := range f.rows {
		count := func(rule int, s judge.State) {
			x := byRule[f.ruleNames[rule]]
			switch s {
			case judge.Passed:
				x.Passed++
			case judge.Failed:
				x.Failed++
			case judge.Unjudged:
				x.Unjudged++
			}
		}
		for i, s := range r.states {
			count(i, s)
		}
		for _, h := range r.house {
			count(int(h.rule), h.state)
		}
	}
	for name, c := range f.byRule {
		if byRule[name] == nil {
			byRule[name] = &RuleSum{Rule: name, rule: -1}
			out = append(out, byRule[name])
		}
		byRule[name].Counts = *c
	}
	slices.SortFunc(out, func(a, b *RuleSum) int {
		return cmp.Or(cmp.Compare(b.Counts.Errors, a.Counts.Errors), cmp.Compare(b.Counts.Warnings, a.Counts.Warnings),
			cmp.Compare(b.Counts.Notes, a.Counts.Notes), cmp.Compare(b.Counts.Waived, a.Counts.Waived), cmp.Compare(a.Rule, b.Rule))
	})
	list := make([]RuleSum, len(out))
	for i, s := range out {
		list[i] = *s
	}
	return list
}

// A MachineSum is how one machine came out.
type MachineSum struct {
	Machine, Folder  string
	Axes             int
	Counts           Counts
	Judged, Unjudged int
}

// Coverage is the share of the asked rules that could be judged; NaN where
// none was asked.
func (m *MachineSum) Coverage() float64 { return coverage(m.Judged, m.Unjudged) }

func coverage(judged, unjudged int) float64 {
	return float64(judged) / float64(judged+unjudged)
}

// Machines sums up by machine, the one with the most findings first.
func (f *Fleet) Machines() []MachineSum {
	out := make([]MachineSum, len(f.machines))
	for i, m := range f.machines {
		out[i] = MachineSum{Machine: m.shown, Folder: m.folder}
	}
	for _, r := range f.rows {
		m := &out[r.machine]
		m.Axes++
		m.Counts.Errors += int(r.errors)
		m.Counts.Warnings += int(r.warnings)
		m.Counts.Notes += int(r.notes)
		m.Counts.Waived += int(r.waived)
		m.Judged += int(r.judged)
		m.Unjudged += int(r.unjudged)
	}
	slices.SortFunc(out, func(a, b MachineSum) int {
		return cmp.Or(cmp.Compare(b.Counts.Errors, a.Counts.Errors), cmp.Compare(b.Counts.Warnings, a.Counts.Warnings),
			cmp.Compare(b.Counts.Notes, a.Counts.Notes), cmp.Compare(a.Folder, b.Folder), cmp.Compare(a.Machine, b.Machine))
	})
	return out
}

// A LineSum is what was found on the machines of a product line: of the machines whose
// folders stand in one folder.
type LineSum struct {
	Folder   string
	Machines int
	MachineSum
}

// Lines lists the product lines, in the order of Machines.
func (f *Fleet) Lines() []LineSum {
	at := map[string]int{}
	var out []LineSum
	for _, m := range f.Machines() {
		dir := path.Dir(m.Folder)
		i, ok := at[dir]
		if !ok {
			i = len(out)
			at[dir] = i
			out = append(out, LineSum{Folder: dir})
		}
		l := &out[i]
		l.Machines++
		l.Axes += m.Axes
		l.Counts.Errors += m.Counts.Errors
		l.Counts.Warnings += m.Counts.Warnings
		l.Counts.Notes += m.Counts.Notes
		l.Counts.Waived += m.Counts.Waived
		l.Judged += m.Judged
		l.Unjudged += m.Unjudged
	}
	slices.SortStableFunc(out, func(a, b LineSum) int {
		return cmp.Or(cmp.Compare(b.Counts.Errors, a.Counts.Errors), cmp.Compare(b.Counts.Warnings, a.Counts.Warnings))
	})
	return out
}

// Worst lists the axes by their worst rule: those with errors first, then those
// with warnings and notes, each by margin; where the rule compares no numbers,
// behind the others.
func (f *Fleet) Worst() []*Row {
	var out []*Row
	for _, r := range f.rows {
		if r.worst >= 0 {
			out = append(out, r)
		}
	}
	slices.SortStableFunc(out, func(a, b *Row) int {
		return cmp.Or(cmp.Compare(f.worstRank(b), f.worstRank(a)), cmp.Compare(b.worstUse, a.worstUse))
	})
	return out
}

// worstRank is the severity of what is found, 0 where the worst rule holds.
func (f *Fleet) worstRank(r *Row) judge.Severity {
	if s, _ := r.result(int(r.worst)); s != judge.Failed {
		return judge.Off
	}
	return r.severity
}

// held lists the axes of one sort of brake question.
func (f *Fleet) held(b brake) []*Row {
	var out []*Row
	for _, r := range f.rows {
		if r.brake == b {
			out = append(out, r)
		}
	}
	return out
}

// Broken lists the files that could not be read whole.
func (f *Fleet) Broken() []brokenFile {
	var out []brokenFile
	for _, b := range f.broken {
		out = append(out, *b)
	}
	slices.SortFunc(out, func(a, b brokenFile) int {
		return cmp.Or(spec.ComparePlaces(a.Place, b.Place), cmp.Compare(a.Message, b.Message))
	})
	return out
}

// lost reports whether a file could not be read at all, rather than a line of it.
func (b *brokenFile) lost() bool { return b.Rule == "file" || b.Rule == "syntax" }

// Today is the day on which the fleet is judged.
func (f *Fleet) Today() time.Time { return f.today }

// EachWhole hands out, tree by tree, the axis files that were read whole.
func (f *Fleet) EachWhole(do func(t Tree, tree int, files []string)) {
	for i, t := range f.trees {
		var files []string
		for _, name := range t.Files {
			if strings.HasSuffix(name, spec.AxisSuffix) && f.broken[fileKey{int32(i), name}] == nil {
				files = append(files, name)
			}
		}
		do(t, i, files)
	}
}

// SetSheet notes the link to an axis's sheet. It may be called by several
// goroutines at once.
func (f *Fleet) SetSheet(tree int, a *spec.Axis, link string) {
	i, ok := slices.BinarySearchFunc(f.rows, a, func(r *Row, a *spec.Axis) int {
		return cmp.Or(cmp.Compare(r.tree, int32(tree)), spec.ComparePlaces(r.Place, a.Place), cmp.Compare(r.Axis, a.Name))
	})
	if !ok {
		return
	}
	f.mu.Lock()
	f.sheets[f.rows[i]] = link
	f.mu.Unlock()
}
