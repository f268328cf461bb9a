package judge

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// Severity ranks findings. Off judges nothing.
type Severity uint8

const (
	Off Severity = iota
	Note
	Warning
	Error
)

var severityWords = [...]string{"off", "note", "warning", "error"}

// String gives the severity's word.
func (s Severity) String() string { return severityWords[s] }

// ParseSeverity reads a severity's word.
func ParseSeverity(word string) (Severity, bool) {
	for i, w := range severityWords {
		if w == word {
			return Severity(i), true
		}
	}
	return Off, false
}

// A Rule asks one question of every axis, with Tests (comparisons of numbers) or
// a Check (a look at declared facts), or both; or of every part, with Part or
// Parts. A part is judged once, where it is declared, however many axes use it; an
// axis that writes values of a screw itself is judged by Part as a part is.
type Rule struct {
	Name       string
	Question   string   // what it asks, as a sentence
	Doc        string   // Markdown: what is compared, why, conventions chosen, when it is wrong to worry
	Source     string   // where the question and its limit come from
	Caution    string   // what can hurt whoever fixes what it finds; "" for nothing of its own
	Severity   Severity // by default
	Fit        bool     // the use of its limit says how declared values suit each other, near 100 % as a rule: no margin to compare with others
	Tests      []Test
	Facts      []*spec.Field                       // fields it cannot do without
	Reasons    []Reason                            // why its question may not arise for an axis, in the order in which they are looked at
	Applies    func(v *View) string                // the first of Reasons that holds, "" if the question arises; made from them
	Check      func(v *View) []Fault               // faults found among declared facts
	Index      int                                 // place in its rulebook
	WantsBy    func(v *View) []*spec.Field         // as Wants, where that depends on the axis
	Part       func(v *PartView) []PartFault       // asked of each part; of what is not given it says nothing
	Given      []string                            // fields of a screw without which Part has nothing to compare
	PartFields []string                            // of parts, that Parts looks at
	Parts      func(all []*PartFacts) []PartsFault // asked of all parts of a whole tree together, in order of their places
	Waiver     func(w *WaiverView) string          // asked of each waiver once the other rules are judged: what is wrong with it, "" for nothing
	Turns      func(v *View) (time.Time, bool)     // where what Check finds depends on the day: the last one on which it is as it is now or, once over, was
	Limits     []Limit                             // of Part and Parts; a Test has its own
	Wants      []*spec.Field                       // fields without which Check judges only in part: named as missing, but what is there is judged
	Open       func(v *View) string                // what Check could not judge although everything is declared, and why; "" for nothing
	Mirror     bool                                // it compares the text with what is made after it: fixes of other findings, and a sizing, need not keep to it
}

// A Reason is why a rule's question does not arise for an axis. It is data, so that
// the rule's page can list it, and it must be true of every axis for which If holds.
type Reason struct {
	Words string
	If    func(v *View) bool
}

// firstOf says which reason holds first.
func firstOf(reasons []Reason) func(v *View) string {
	return func(v *View) string {
		for _, r := range reasons {
			if r.If(v) {
				return r.Words
			}
		}
		return ""
	}
}

// A Fault is one thing a Check found wrong.
type Fault struct {
	At       *spec.Field // where; nil for the axis itself
	Move     int         // for a field of a move
	Severity Severity    // Off: the rule's
	Message  string
	Inputs   []*spec.Field
	Fixes    []Draft
	Compared Compared // none where no two numbers were compared
	Limit    string   // the name of the limit that was compared
	Related  []spec.Related
}

// Sense says which side of a limit is permitted.
type Sense uint8

const (
	AtMost  Sense = iota // the value may not exceed the limit
	AtLeast              // the value may not fall below it
)

// String writes the sense before a limit.
func (s Sense) String() string { return [...]string{"at most", "at least"}[s] }

// A Limit is one number a policy can set.
type Limit struct {
	Name    string // as in policy files: "limit", "advice", …
	Doc     string // what it limits
	Kind    unit.Kind
	Sense   Sense
	Default float64                                                // SI
	By      func(v *View) (limit float64, because string, ok bool) // where the default depends on the axis; replaces Default
	Spread  string                                                 // for documentation: the defaults By gives
	Lacks   []*spec.Field                                          // what to name as missing where By gives none
}

// A Test compares a quantity with a limit.
type Test struct {
	Limit      Limit
	Advice     *Limit                // a stricter limit whose breach is a warning only
	Value      *mechanics.Quantity   // what is compared
	Against    *mechanics.Quantity   // compared with limit times this; nil for the limit alone
	Needs      []*mechanics.Quantity // what else must be known for the words
	Reasons    []Reason              // as in Rule, for this test alone
	Applies    func(v *View) string  // as in Rule
	Say        func(v *View, limit float64) string
	At         func(v *View) (f *spec.Field, move int)        // the line that governs
	Inputs     []*mechanics.Quantity                          // what took part, for the reader
	More       func(v *View) []*mechanics.Quantity            // what took part besides, where that depends on the axis
	Parameters []*Parameter                                   // what a designer could pull
	Of         func(v *View, move int, limit float64) float64 // of a test that asks of each move: how much of the limit the move uses; parameters then change the moves that fail, each for itself
	Fixes      func(v *View) []Draft                          // fixes that are no matter of how far to go
	Also       []*mechanics.Quantity                          // what Applies and the limit's By look at besides
	Nominal    bool                                           // judged at the middle values: tolerances do not enter
	all        []*mechanics.Quantity                          // Value, Against and Needs
	watch      []*mechanics.Quantity                          // all and Also
	under      mechanics.Set                                  // those and what they hang on
	assumes    [][]*mechanics.Quantity                        // by assumption: what hangs on it, of those it looks at
	assumePlan []*mechanics.Quantity                          // what hangs on any of them
	casePlan   []*mechanics.Quantity                          // what hangs on the case and it looks at
}

// OfAxes reports whether the rule is evaluated for axes.
func (r *Rule) OfAxes() bool { return len(r.Tests) > 0 || r.Check != nil }

// OfParts reports whether the rule is evaluated for parts.
func (r *Rule) OfParts() bool { return r.Part != nil || r.Parts != nil }

// limits lists the rule's limits by name, in order.
func (r *Rule) limits() []*Limit {
	var out []*Limit
	for i := range r.Tests {
		t := &r.Tests[i]
		out = append(out, &t.Limit)
		if t.Advice != nil {
			out = append(out, t.Advice)
		}
	}
	for i := range r.Limits {
		out = append(out, &r.Limits[i])
	}
	return out
}

// textRules are the language's own checks: they are made while reading.
var textRules = map[string]string{
	"syntax":         "Can the file be read as a spec file?",
	"unit":           "Is every quantity written with a unit of the right kind?",
	"value":          "Is every value of the right sort and within its range?",
	"unknown-name":   "Does every name stand for something the language or a parts file knows?",
	"duplicate-name": "Is every name given once?",
	"file":           "Can the file be read at all?",
}

// TextRules lists the names of the language's own checks with what they ask.
func TextRules() map[string]string { return textRules }

// TextRuleNames lists the names of the language's own checks in order.
func TextRuleNames() []string { return slices.Sorted(maps.Keys(textRules)) }

// Field finds a field of the language by its path and panics where there is
// none: paths are written in this package only.
func Field(path string) *spec.Field {
	f := spec.Language().FieldAt(path)
	if f == nil {
		panic("rules: no field " + path)
	}
	return f
}

func Fields(paths ...string) []*spec.Field {
	var out []*spec.Field
	for _, p := range paths {
		out = append(out, Field(p))
	}
	return out
}

func Percent(x float64) string { return unit.Format(x, unit.Percentage, unit.Metric) }

func Rough(x float64) string { return fmt.Sprintf("%.3g", x) }

// Above reports whether x is more than y, by more than rounding. A number that
// is not known is above nothing.
func Above(x, y float64) bool { return x > y*(1+Slack) }

// Reaches reports whether x is y or more, but for rounding. A number that is not
// known reaches nothing.
func Reaches(x, y float64) bool { return x >= y*(1-Slack) }
