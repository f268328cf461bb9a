// Package report renders what a run found. It decides nothing.
package report

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"github.com/fatih/color"
	"github.com/mattn/go-runewidth"

	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// A Run is what the renderers are given.
type Run struct {
	*run.Summary
	Source  func(file string) []byte                // text of a file by its shown path; nil where it cannot be read
	Line    func(spec.Place) (line string, ok bool) // where a place begins, without reading its file; nil, or not ok: it is read
	Waived  bool                                    // show waived findings
	Every   bool                                    // show each input that rules lack, not only the best ones of an axis
	Known   map[int]bool                            // findings of the past, by index in Findings; not shown
	Closing string                                  // the last line of a text; "": what was counted
}

// A Screen is what is known of where a text is read.
type Screen struct {
	Colored bool
	Width   int // of a terminal, in columns: longer lines are wrapped or cut; 0 for none
}

// Text writes findings for people, in the GNU error format with what they need
// below.
func Text(w io.Writer, run *Run, on Screen) error {
	colored := on.Colored
	p := &printer{w: bufio.NewWriter(w), run: run, width: on.Width}
	p.bold = paint(colored, color.Bold)
	p.dim = paint(colored, color.Faint)
	p.mark = paint(colored, color.FgCyan)
	p.severity = map[judge.Severity]func(string) sanitize.Safe{
		judge.Error: paint(colored, color.FgRed, color.Bold), judge.Warning: paint(colored, color.FgYellow, color.Bold), judge.Note: paint(colored, color.FgBlue, color.Bold),
	}
	for i := range run.Findings {
		f := &run.Findings[i]
		if !run.Known[i] && (f.Waiver == nil || run.Waived) {
			p.finding(f)
		}
	}
	p.gaps()
	last := run.Closing
	if last == "" {
		last = Closing(run)
	}
	p.line(4, "%s", p.bold(last))
	return p.w.Flush()
}

// paint gives what colours a text, and makes it harmless.
func paint(on bool, attrs ...color.Attribute) func(string) sanitize.Safe {
	if !on {
		return func(s string) sanitize.Safe { return sanitize.Safe(sanitize.Line(s)) }
	}
	c := color.New(attrs...)
	c.EnableColor()
	return func(s string) sanitize.Safe { return sanitize.Safe(c.Sprint(sanitize.Line(s))) }
}

type printer struct {
	w               *bufio.Writer
	run             *Run
	width           int // 0: lines are as long as they are
	bold, dim, mark func(string) sanitize.Safe
	severity        map[judge.Severity]func(string) sanitize.Safe
	file            string
	lines           []string
}

// line writes a line; what is wrapped of it is indented.
func (p *printer) line(indent int, format string, args ...any) {
	text := sanitize.Sprintf(format, args...)
	if p.width > 0 {
		text = wrap(text, p.width, indent)
	}
	_, _ = p.w.WriteString(text + "\n")
}

func (p *printer) finding(f *judge.Finding) {
	p.line(4, "%s %s %s %s", p.bold(f.Place.String()+":"), p.severity[f.Severity](f.Severity.String()+":"), f.Message, p.dim("["+f.Rule+"]"))
	if f.Waiver != nil {
		p.line(6, "   waived until %s: %s", f.Waiver.Until.Text, f.Waiver.Reason.Text)
		return
	}
	p.source(f.Place)
	if len(f.Inputs) > 0 {
		var list []string
		for _, e := range f.Inputs {
			list = append(list, entryWords(e, f.Place.File))
		}
		p.line(6, "   inputs: %s", strings.Join(list, ", "))
	}
	if fixes := judge.FixWords(f.Fixes); fixes != "" {
		p.line(6, "   %s", fixes)
	}
	if c := rules.Book().Caution(f.Rule); c != "" {
		p.line(6, "   caution: %s", c)
	}
	for _, r := range f.Related {
		p.line(4, "%s %s %s", p.bold(r.Place.String()+":"), p.severity[judge.Note]("note:"), r.Message)
	}
}

// entryWords names one input of a finding in file.
func entryWords(e judge.Entry, file string) string {
	s := e.Words
	switch {
	case e.Assumed != "":
		s += " (assumed: " + e.Assumed + ")"
	case e.Place.Valid():
		s += " (" + judge.At(e.Place, file) + ")"
	}
	return s
}

// gapWords says why rules could not be judged.
func gapWords(g *judge.MissingInput) string {
	if g.Why == "" {
		return g.Missing + " is missing"
	}
	return g.Why
}

// GapLine says which rules could not be judged, and what they need.
func GapLine(g *judge.MissingInput) string {
	one := len(g.Rules) == 1
	passes, conditional := strings.CutPrefix(g.Why, "passes ")
	switch {
	case g.Why == "" && one:
		return ruleList(g.Rules) + " needs " + g.Missing
	case g.Why == "":
		return ruleList(g.Rules) + " need " + g.Missing
	case conditional && one:
		return ruleList(g.Rules) + " " + g.Why
	case conditional:
		return ruleList(g.Rules) + " pass " + strings.Replace(passes, "or fails", "or fail", 1)
	}
	return ruleList(g.Rules) + ": " + g.Why
}

// ruleList names some rules: all of them, or of many the first and how many more.
func ruleList(names []string) string {
	const all, first = 4, 2
	switch n := len(names); {
	case n > all:
		return fmt.Sprintf("%s and %d more", strings.Join(names[:first], ", "), n-first)
	case n > 1:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return strings.Join(names, "")
}

// gaps writes why rules are not judged: one line for each axis, or all that are missing.
func (p *printer) gaps() {
	for _, x := range gapsByAxis(p.run) {
		if p.run.Every || len(x.next) > 1 || x.severalFiles() {
			for _, g := range x.list {
				p.gap(g)
			}
			for _, u := range x.next {
				p.unlock(u, "")
			}
			continue
		}
		p.axisGaps(x)
	}
}

// axisGaps is why rules of one axis, or of several of the same names, are not judged.
type axisGaps struct {
	machine, axis string
	list          []*judge.MissingInput
	next          []*judge.NextInputs
}

// gapsByAxis puts together what belongs to an axis: a line may be missing in its own
// file, its machine's or a part's.
func gapsByAxis(run *Run) (out []*axisGaps) {
	index := map[[2]string]*axisGaps{}
	of := func(machine, axis string) *axisGaps {
		key := [2]string{machine, axis}
		if index[key] == nil {
			index[key] = &axisGaps{machine: machine, axis: axis}
			out = append(out, index[key])
		}
		return index[key]
	}
	for i := range run.MissingInputs {
		g := &run.MissingInputs[i]
		x := of(g.Machine, g.Axis)
		x.list = append(x.list, g)
	}
	for i := range run.NextInputs {
		u := &run.NextInputs[i]
		x := of(u.Machine, u.Axis)
		x.next = append(x.next, u)
	}
	return out
}

// severalFiles reports whether axes of more than one file may be meant.
func (x *axisGaps) severalFiles() bool {
	file := ""
	for _, g := range x.list {
		if f := g.Place.File; strings.HasSuffix(f, spec.AxisSuffix) {
			if file != "" && f != file {
				return true
			}
			file = f
		}
	}
	return len(x.next) == 1 && file != "" && x.next[0].Place.File != file
}

// axisGaps writes one line for what an axis lacks: the best next lines, or the only one.
func (p *printer) axisGaps(x *axisGaps) {
	waiting := map[string]bool{}
	for _, g := range x.list {
		for _, r := range g.Rules {
			waiting[r] = true
		}
	}
	switch n := len(waiting); {
	case len(x.next) == 1 && n > x.next[0].Waiting:
		p.unlock(x.next[0], fmt.Sprintf("; %d more for other reasons", n-x.next[0].Waiting))
	case len(x.next) == 1:
		p.unlock(x.next[0], "")
	case len(x.list) == 1:
		p.gap(x.list[0])
	default:
		p.line(4, "%s %s %s of axis %s; the first: %s", p.bold(x.list[0].Place.String()+":"), p.notJudged(), sanitize.Count(n, "rule", "rules"), x.axis, GapLine(x.list[0]))
	}
}

func (p *printer) notJudged() sanitize.Safe { return p.mark("note: not judged:") }

func (p *printer) gap(g *judge.MissingInput) {
	p.line(4, "%s %s %s", p.bold(g.Place.String()+":"), p.notJudged(), GapLine(g))
}

func (p *printer) unlock(u *judge.NextInputs, rest string) {
	lines := u.Lines
	more := ""
	if n := len(lines); n > 8 {
		lines, more = lines[:8], fmt.Sprintf(" and %d more", n-8)
	} else if n > 1 {
		lines, more = lines[:n-1], " and "+lines[n-1]
	}
	lack := "lack"
	if u.Waiting == 1 {
		lack = "lacks"
	}
	p.line(4, "%s %s %s of axis %s %s inputs; to judge %d of them declare %s",
		p.bold(u.Place.String()+":"), p.notJudged(), sanitize.Count(u.Waiting, "rule", "rules"), u.Axis, lack, u.Judged, strings.Join(lines, ", ")+more+rest)
}

// lineOf is the line on which a place begins; not ok where it cannot be read.
func (p *printer) lineOf(at spec.Place) (line string, ok bool) {
	if p.run.Line != nil {
		if line, ok = p.run.Line(at); ok {
			return line, true
		}
	}
	if p.file != at.File {
		p.file, p.lines = at.File, nil
		if src := p.run.Source(at.File); src != nil {
			p.lines = strings.Split(strings.TrimPrefix(string(src), "\ufeff"), "\n")
		}
	}
	if at.Line < 1 || int(at.Line) > len(p.lines) {
		return "", false
	}
	return strings.TrimSuffix(p.lines[at.Line-1], "\r"), true
}

// source writes the marked line with a mark under it.
func (p *printer) source(at spec.Place) {
	line, ok := p.lineOf(at)
	if !ok {
		return
	}
	start := byteOfColumn(line, int(at.Col))
	end := len(line)
	if at.EndLine == at.Line {
		end = max(start, byteOfColumn(line, int(at.EndCol)))
	}
	if p.width >= narrowest {
		p.window(at, line, start, end)
		return
	}
	if len(line) > maxLine {
		return // a line that long helps nobody
	}
	lead := ""
	for _, r := range sanitize.Line(line[:start]) {
		if r == '\t' {
			lead += "\t"
		} else {
			lead += strings.Repeat(" ", runewidth.RuneWidth(r))
		}
	}
	marks := strings.Repeat("~", max(1, runewidth.StringWidth(sanitize.Line(line[start:end]))))
	sanitize.Fprintf(p.w, "%5d | %s\n      | %s%s\n", at.Line, line, lead, p.mark(marks))
}

// margin is the width of what stands before a source line.
const margin = 8

// window writes what a terminal has room for of the marked line.
func (p *printer) window(at spec.Place, line string, start, end int) {
	columns := func(s string) int { return runewidth.StringWidth(spread(sanitize.Line(s))) }
	from := columns(line[:start])
	text, mark := cutOut(spread(sanitize.Line(line)), span{from, max(from+1, columns(line[:end]))}, p.width-margin)
	sanitize.Fprintf(p.w, "%5d | %s\n      | %s%s\n", at.Line, text, strings.Repeat(" ", mark.from), p.mark(strings.Repeat("~", mark.to-mark.from)))
}

const maxLine = run.LongLine

// Closing is the last line of a report.
func Closing(s *Run) string {
	counts := map[judge.Severity]int{}
	waived, known, standing := 0, 0, 0
	for i := range s.Findings {
		if s.Findings[i].Waiver != nil {
			waived++
			continue
		}
		if s.Known[i] {
			known++
			continue
		}
		standing++
		counts[s.Findings[i].Severity]++
	}
	out := fmt.Sprintf("%s, %s judged, %s", sanitize.Count(s.Axes, "axis", "axes"), sanitize.Count(s.Judged, "rule", "rules"), sanitize.Count(standing, "finding", "findings"))
	var parts []string
	for _, c := range []struct {
		sev       judge.Severity
		one, many string
	}{{judge.Error, "error", "errors"}, {judge.Warning, "warning", "warnings"}, {judge.Note, "note", "notes"}} {
		if n := counts[c.sev]; n > 0 {
			parts = append(parts, sanitize.Count(n, c.one, c.many))
		}
	}
	if len(parts) > 0 {
		out += " (" + strings.Join(parts, ", ") + ")"
	}
	if waived > 0 {
		out += fmt.Sprintf(", %d waived", waived)
	}
	if known > 0 {
		out += fmt.Sprintf(", %d known", known)
	}
	return out + fmt.Sprintf(", %d not judged", s.Unjudged)
}
