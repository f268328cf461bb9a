package report

import (
	"encoding/xml"
	"fmt"
	"io"
	"path"
	"sort"
	"strings"

	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
	"trammel/spec"
)

type junitSuites struct {
	XMLName xml.Name `xml:"testsuites"`
	Name    string   `xml:"name,attr"`
	junitCounts
	Suites []*junitSuite `xml:"testsuite"`
}

type junitCounts struct {
	Tests    int `xml:"tests,attr"`
	Failures int `xml:"failures,attr"`
	Errors   int `xml:"errors,attr"`
	Skipped  int `xml:"skipped,attr"`
}

type junitSuite struct {
	Name string `xml:"name,attr"`
	junitCounts
	Cases []junitCase `xml:"testcase"`
	names map[string]int
}

type junitCase struct {
	Name    string        `xml:"name,attr"`
	Class   string        `xml:"classname,attr"`
	File    string        `xml:"file,attr,omitempty"`
	Line    int32         `xml:"line,attr,omitempty"`
	Failure *junitProblem `xml:"failure"`
	Error   *junitProblem `xml:"error"`
	Skipped *junitProblem `xml:"skipped"`
	Out     string        `xml:"system-out,omitempty"`
}

type junitProblem struct {
	Type    string `xml:"type,attr,omitempty"`
	Message string `xml:"message,attr"`
	Text    string `xml:",chardata"`
}

// JUnit writes a run as JUnit XML: a suite for each machine, or folder where
// there is no machine. An axis has one case that passes, for all rules it
// passes; one case for each finding, which fails from meta.FailAt on; and one
// skipped case for each missing line. A waived finding is skipped, a known one
// left out. A finding that kept the program from its job is an error.
func JUnit(w io.Writer, run *Run, axes *Axes, meta Meta) error {
	j := &junitMaker{meta: meta, suites: map[string]*junitSuite{}}
	axes.sort()
	for i := range axes.list {
		j.axis(&axes.list[i])
	}
	for i := range run.Findings {
		if !run.Known[i] {
			j.finding(&run.Findings[i])
		}
	}
	for i := range run.MissingInputs {
		j.gap(&run.MissingInputs[i])
	}
	all := junitSuites{Name: "trammel"}
	for _, s := range j.suites {
		all.Suites = append(all.Suites, s)
		all.Tests += s.Tests
		all.Failures += s.Failures
		all.Errors += s.Errors
		all.Skipped += s.Skipped
	}
	sort.Slice(all.Suites, func(i, k int) bool { return all.Suites[i].Name < all.Suites[k].Name })
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	enc := xml.NewEncoder(w)
	enc.Indent("", "  ")
	if err := enc.Encode(all); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

type junitMaker struct {
	meta   Meta
	suites map[string]*junitSuite
}

// add puts a case in the suite of a machine or folder. at is below the root.
func (j *junitMaker) add(machine string, at spec.Place, c junitCase) {
	name := machine
	if name == "" {
		name = path.Dir(at.File)
	}
	name = sanitize.Line(name)
	s := j.suites[name]
	if s == nil {
		s = &junitSuite{Name: name, names: map[string]int{}}
		j.suites[name] = s
	}
	c.Name, c.Class, c.File, c.Line = sanitize.Line(c.Name), name, sanitize.Line(at.File), at.Line
	s.names[c.Name]++
	if n := s.names[c.Name]; n > 1 {
		c.Name += fmt.Sprintf(" (%d)", n)
	}
	s.Tests++
	switch {
	case c.Failure != nil:
		s.Failures++
	case c.Error != nil:
		s.Errors++
	case c.Skipped != nil:
		s.Skipped++
	}
	s.Cases = append(s.Cases, c)
}

func (j *junitMaker) axis(a *keptAxis) {
	if a.passed > 0 {
		j.add(a.machine, j.meta.at(a.at), junitCase{Name: a.axis + ": rules that pass", Out: sanitize.Count(a.passed, "rule passes", "rules pass")})
	}
}

func (j *junitMaker) finding(shown *judge.Finding) {
	f := j.meta.placed(shown)
	// The name holds no numbers, so that a series of runs can be compared.
	name := f.Rule
	if f.Axis != "" {
		name = f.Axis + ": " + name
	} else {
		name = path.Base(f.Place.File) + ": " + name
	}
	if f.Cause != "" {
		name += " " + f.Cause
	}
	c := junitCase{Name: name}
	message := sanitize.Line(f.Message)
	head := f.Place.String() + ": " + f.Severity.String() + ": " + f.Message + " [" + f.Rule + "]"
	text := harmless(append([]string{head}, details(f)...))
	switch {
	case f.Waiver != nil:
		c.Skipped = &junitProblem{Message: waived(f), Text: text}
	case f.Fatal():
		c.Error = &junitProblem{f.Severity.String(), message, text}
	case f.Severity >= j.meta.FailAt:
		c.Failure = &junitProblem{f.Severity.String(), message, text}
	default:
		c.Out = text
	}
	j.add(f.Machine, f.Place, c)
}

func (j *junitMaker) gap(g *judge.MissingInput) {
	c := junitCase{Name: g.Axis + ": not judged, " + gapWords(g)}
	c.Skipped = &junitProblem{Message: sanitize.Line("not judged: " + GapLine(g))}
	j.add(g.Machine, j.meta.at(g.Place), c)
}

// details are the lines below a finding's first.
func details(f *judge.Finding) []string {
	var out, list []string
	for _, e := range f.Inputs {
		list = append(list, entryWords(e, f.Place.File))
	}
	if len(list) > 0 {
		out = append(out, "inputs: "+strings.Join(list, ", "))
	}
	for _, r := range f.Related {
		out = append(out, r.Place.String()+": "+r.Message)
	}
	if s := judge.FixWords(f.Fixes); s != "" {
		out = append(out, s)
	}
	return out
}

// harmless puts texts on lines of their own, each harmless.
func harmless(list []string) string {
	for i := range list {
		list[i] = sanitize.Line(list[i])
	}
	return strings.Join(list, "\n")
}
