// Package expect holds what a run found against comments that say what it is to find.
// Such a comment stands on the line of the finding:
//
//	# expect: RULE
//	# expect: RULE "words of the message"
//	# expect-waived: RULE "words of the message"
//	# expect: not-judged "missing line"
//	# expect: not-applicable "why a rule's question does not arise"
//
// With -next (# expect-next:, # expect-waived-next:) the comment stands alone and speaks
// of the next line that holds more than a comment; the end of the file counts as such a
// line. "# clean" above an axis says that nothing is found about it and every rule could
// be judged.
package expect

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// Words in the place of a rule's name.
const (
	notJudged     = "not-judged"
	notApplicable = "not-applicable"
)

// Rule is the name under which it is reported that something is not as expected.
const Rule = "expect"

// An Expectation is one comment.
type Expectation struct {
	Place  spec.Place // of the comment
	Line   int        // of the finding
	Rule   string
	Words  string // of the message; "" for any
	Waived bool
	met    int
}

// mark is how the comment begins.
func (e *Expectation) mark() string {
	if e.Waived {
		return "expect-waived"
	}
	return "expect"
}

// says is what the comment says of a finding.
func (e *Expectation) says() string {
	s := e.Rule
	if e.Words != "" {
		s += " " + strconv.Quote(e.Words)
	}
	if e.Waived {
		s += ", waived"
	}
	return s
}

// A Set holds the expectations of a tree and what is known of its axes.
type Set struct {
	Own   func(rule string) bool // of which rules the comments say that they do not apply; nil: of all
	List  []*Expectation
	clean map[string]spec.Place // axes marked clean, by "file:line" of the axis
	bad   []spec.Problem        // comments that cannot be read
	mu    sync.Mutex
	axes  []axis
}

// An axis is what the comments may say of one, apart from findings.
type axis struct {
	name  string
	place spec.Place
	why   []string // rules that could not be judged, with the reason
	idle  []string // why rules do not apply
}

var (
	expectRE = regexp.MustCompile(`^#\s*expect(-waived)?(-next)?:\s+([^\s"#]+)(?:\s+("(?:[^"\\]|\\.)*"))?\s*(?:#|$)`)
	markRE   = regexp.MustCompile(`#\s*expect\b`)
	cleanRE  = regexp.MustCompile(`^\s*#\s*clean\s*$`)
)

// Clean is the number of axes marked clean.
func (s *Set) Clean() int { return len(s.clean) }

// Read takes in the comments of a file.
func (s *Set) Read(file string, src []byte) {
	lines := strings.Split(strings.TrimSuffix(string(src), "\n"), "\n")
	for i := range lines {
		lines[i] = strings.TrimSuffix(lines[i], "\r")
	}
	for i, line := range lines {
		for _, at := range markRE.FindAllStringIndex(line, -1) {
			s.comment(file, lines, i, at[0])
		}
		if cleanRE.MatchString(line) {
			s.cleanAxis(file, lines, i)
		}
	}
}

func at(file string, lines []string, i, from int) spec.Place {
	col := int32(utf8.RuneCountInString(lines[i][:from])) + 1
	return spec.Place{File: file, Line: int32(i) + 1, Col: col, EndLine: int32(i) + 1, EndCol: col + int32(utf8.RuneCountInString(lines[i][from:]))}
}

func isComment(line string) bool {
	s := strings.TrimSpace(line)
	return s == "" || strings.HasPrefix(s, "#")
}

// next is the first line after i that holds more than a comment.
func next(lines []string, i int) int {
	for i++; i < len(lines) && isComment(lines[i]); i++ {
	}
	return i
}

// comment takes in the comment that begins in a line.
func (s *Set) comment(file string, lines []string, i, from int) {
	place := at(file, lines, i, from)
	m := expectRE.FindStringSubmatch(lines[i][from:])
	if m == nil {
		s.wrong(place, `this expectation cannot be read; write # expect: rule-name "words of the message", the words or nothing`)
		return
	}
	e := &Expectation{Place: place, Line: i + 1, Rule: m[3], Waived: m[1] != ""}
	if m[4] != "" {
		words, err := strconv.Unquote(m[4])
		if err != nil {
			s.wrong(place, fmt.Sprintf("the words %s cannot be read; write them in quotes, a quote in them as \\\"", m[4]))
			return
		}
		e.Words = words
	}
	switch {
	case m[2] == "" && isComment(lines[i]):
		s.wrong(place, "the expectation stands on a line of its own; write expect-next for the next line")
		return
	case m[2] != "":
		e.Line = next(lines, i) + 1
	}
	s.List = append(s.List, e)
}

func (s *Set) cleanAxis(file string, lines []string, i int) {
	k := next(lines, i)
	place := at(file, lines, i, strings.IndexByte(lines[i], '#'))
	if k == len(lines) || !strings.HasPrefix(lines[k], "axis ") {
		s.wrong(place, "no axis follows the word clean; write # clean above an axis")
		return
	}
	if s.clean == nil {
		s.clean = map[string]spec.Place{}
	}
	s.clean[key(file, k+1)] = place
}

func (s *Set) wrong(at spec.Place, message string) {
	s.bad = append(s.bad, spec.Problem{Rule: Rule, Place: at, Message: message})
}

func key(file string, line int) string { return file + ":" + strconv.Itoa(line) }

// Look takes in what a run says of an axis. Several goroutines may call it at once.
func (s *Set) Look(rep *judge.Report) {
	a := axis{name: rep.View.Axis.Name, place: rep.View.Axis.Place}
	for _, r := range rep.Results {
		switch r.State {
		case judge.Unjudged:
			a.why = append(a.why, r.Rule+": "+r.Why)
		case judge.NotApplicable:
			if s.Own == nil || s.Own(r.Rule) {
				a.idle = append(a.idle, r.Why)
			}
		}
	}
	s.mu.Lock()
	s.axes = append(s.axes, a)
	s.mu.Unlock()
}

// Hold says where what was found is not what the comments expect: every finding must be
// expected, and everything expected be found. Inputs for which rules are not
// judged need be expected only where gaps is set.
func (s *Set) Hold(sum *run.Summary, gaps bool) []spec.Problem {
	out := append([]spec.Problem(nil), s.bad...)
	add := func(at spec.Place, related []spec.Related, format string, args ...any) {
		out = append(out, spec.Problem{Rule: Rule, Place: at, Message: fmt.Sprintf(format, args...), Related: related})
	}
	for i := range sum.Findings {
		f := &sum.Findings[i]
		if found := (Expectation{Rule: f.Rule, Words: f.Message, Waived: f.Waiver != nil}); !s.meet(f.Place, &found, false) {
			add(f.Place, nil, "this finding is not expected; if it is right, write # %s: %s %q", found.mark(), f.Rule, f.Message)
		}
	}
	for i := range sum.MissingInputs {
		g := &sum.MissingInputs[i]
		if !s.meet(g.Place, &Expectation{Rule: notJudged, Words: missed(g)}, true) && gaps {
			add(g.Place, nil, "axis %s is not expected to lack this; if it is right, write # expect: %s %q", g.Axis, notJudged, missed(g))
		}
	}
	for _, a := range s.axes {
		for _, why := range a.idle {
			s.meet(a.place, &Expectation{Rule: notApplicable, Words: why}, true)
		}
	}
	for _, e := range s.List {
		if e.met == 0 {
			add(e.Place, s.there(e, sum), "expected in line %d and not found: %s", e.Line, e.says())
		}
	}
	s.holdClean(sum, add)
	return spec.SortProblems(out)
}

func missed(g *judge.MissingInput) string {
	if g.Missing == "" {
		return g.Why
	}
	return g.Missing
}

// meet marks the expectation that fits what was found best and is not met yet; again
// lets one be met more than once.
func (s *Set) meet(p spec.Place, found *Expectation, again bool) bool {
	var best *Expectation
	for _, e := range s.List {
		if e.Place.File != p.File || e.Line != int(p.Line) || e.Rule != found.Rule || e.Waived != found.Waived ||
			!strings.Contains(found.Words, e.Words) || e.met > 0 && !again {
			continue
		}
		if best == nil || len(e.Words) > len(best.Words) {
			best = e
		}
	}
	if best == nil {
		return false
	}
	best.met++
	return true
}

// there lists what stands at the line of an expectation instead, or near it.
func (s *Set) there(e *Expectation, sum *run.Summary) (out []spec.Related) {
	for i := range sum.Findings {
		f := &sum.Findings[i]
		switch here := f.Place.File == e.Place.File; {
		case here && int(f.Place.Line) == e.Line:
			out = append(out, spec.Related{Place: f.Place, Message: fmt.Sprintf("found at that line: %s %q", f.Rule, f.Message)})
		case here && f.Rule == e.Rule:
			out = append(out, spec.Related{Place: f.Place, Message: fmt.Sprintf("found here: %s %q", f.Rule, f.Message)})
		}
	}
	for i := range sum.MissingInputs {
		if g := &sum.MissingInputs[i]; g.Place.File == e.Place.File && int(g.Place.Line) == e.Line && e.Rule == notJudged {
			out = append(out, spec.Related{Place: g.Place, Message: fmt.Sprintf("found at that line: %s %q", notJudged, missed(g))})
		}
	}
	return out[:min(len(out), 5)]
}

// holdClean holds the axes marked clean to their word.
func (s *Set) holdClean(sum *run.Summary, add func(spec.Place, []spec.Related, string, ...any)) {
	seen := map[string]bool{}
	for _, a := range s.axes {
		mark, ok := s.clean[key(a.place.File, int(a.place.Line))]
		if !ok {
			continue
		}
		seen[key(a.place.File, int(a.place.Line))] = true
		for i := range sum.Findings {
			if f := &sum.Findings[i]; f.Axis == a.name && f.Place.File == a.place.File {
				add(mark, []spec.Related{{Place: f.Place, Message: fmt.Sprintf("found: %s %q", f.Rule, f.Message)}}, "axis %s is marked clean, but it has a finding of %s", a.name, f.Rule)
			}
		}
		if len(a.why) > 0 {
			add(mark, nil, "axis %s is marked clean, but not judged are %s", a.name, strings.Join(a.why, ", "))
		}
	}
	for at, mark := range s.clean {
		if !seen[at] {
			add(mark, nil, "the axis marked clean was not judged")
		}
	}
}

// Met is how many expectations were met.
func (s *Set) Met() (n int) {
	for _, e := range s.List {
		if e.met > 0 {
			n++
		}
	}
	return n
}
