package report

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"math"

	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/spec"
)

// CheckSchema names the version of the JSON written by JSON. Within a version
// fields are only added.
const CheckSchema = "trammel.check/1"

// ManyAxes is for how many axes at most each is written on many lines, and how many files
// with axes may be checked so that computed quantities are written unasked.
const ManyAxes = 1000

type jsonPlace struct {
	File      string `json:"file"`
	Line      int32  `json:"line"`
	Column    int32  `json:"column"`
	EndLine   int32  `json:"end_line"`
	EndColumn int32  `json:"end_column"`
	Byte      int32  `json:"byte"`
	EndByte   int32  `json:"end_byte"`
}

func placeJSON(p spec.Place) *jsonPlace {
	if !p.Valid() {
		return nil
	}
	return &jsonPlace{p.File, p.Line, p.Col, p.EndLine, p.EndCol, p.Byte, p.EndByte}
}

// place turns a place back; none for null.
func (p *jsonPlace) place() spec.Place {
	if p == nil {
		return spec.Place{}
	}
	return spec.Place{File: p.File, Line: p.Line, Col: p.Column, EndLine: p.EndLine, EndCol: p.EndColumn, Byte: p.Byte, EndByte: p.EndByte}
}

type jsonQuantity struct {
	Name    string       `json:"name"`
	Symbol  string       `json:"symbol,omitempty"`
	Title   string       `json:"title"`
	Unit    string       `json:"unit"`
	Value   any          `json:"value,omitempty"`  // number, word, or "unlimited"
	Values  []any        `json:"values,omitempty"` // one for each move or phase
	Low     *float64     `json:"low,omitempty"`
	High    *float64     `json:"high,omitempty"`
	Text    string       `json:"text,omitempty"` // as declared
	Texts   []string     `json:"texts,omitempty"`
	Origin  string       `json:"origin,omitempty"`
	Place   *jsonPlace   `json:"location,omitempty"`
	Places  []*jsonPlace `json:"locations,omitempty"`
	Formula string       `json:"formula,omitempty"`
	Source  string       `json:"source,omitempty"`
	Needs   []string     `json:"needs,omitempty"`
}

type jsonRule struct {
	Rule  string   `json:"rule"`
	State string   `json:"state"`
	Use   *float64 `json:"use,omitempty"`
	Fit   bool     `json:"fit,omitempty"`
	jsonCompared
	Why     string        `json:"why,omitempty"`
	Missing []jsonMissing `json:"missing,omitempty"`
}

// jsonCompared is what was compared with what, of a rule or a finding.
type jsonCompared struct {
	Of    string `json:"of,omitempty"`
	Value any    `json:"value,omitempty"` // number or "unlimited"
	Limit any    `json:"limit,omitempty"`
	Unit  string `json:"unit,omitempty"`
	Sense string `json:"sense,omitempty"`
}

func comparedJSON(c judge.Compared) (out jsonCompared) {
	if !c.Made() {
		return out
	}
	if c.Of != nil {
		out.Of = c.Of.Name
	}
	out.Value, out.Limit, out.Unit, out.Sense = number(c.Value), number(c.Limit), c.Kind.SI(), c.Sense.String()
	return out
}

type jsonMissing struct {
	What  string     `json:"what"`
	Place *jsonPlace `json:"location"`
}

// A jsonAxis is one axis's part of the JSON output.
type jsonAxis struct {
	Axis       string         `json:"axis"`
	Machine    string         `json:"machine,omitempty"`
	Place      *jsonPlace     `json:"location"`
	Moves      []string       `json:"moves"`
	Rules      []jsonRule     `json:"rules"`
	Quantities []jsonQuantity `json:"quantities,omitzero"`
}

// kept is what is kept of the axis beside its text.
func (a *jsonAxis) kept() keptAxis {
	k := keptAxis{at: a.Place.place(), axis: a.Axis, machine: a.Machine}
	for i := range a.Rules {
		if a.Rules[i].State == judge.Passed.String() {
			k.passed++
		}
	}
	return k
}

func number(x float64) any {
	switch {
	case math.IsInf(x, 0):
		return "unlimited"
	case math.IsNaN(x):
		return nil
	}
	return x
}

type jsonEntry struct {
	Words   string     `json:"words"`
	Place   *jsonPlace `json:"location,omitempty"`
	Assumed string     `json:"assumed,omitempty"`
}

type jsonRelated struct {
	Message string     `json:"message"`
	Place   *jsonPlace `json:"location"`
}

type jsonWaiver struct {
	Reason string     `json:"reason"`
	Until  string     `json:"until"`
	Place  *jsonPlace `json:"location"`
}

type jsonFinding struct {
	Rule     string     `json:"rule"`
	Severity string     `json:"severity"`
	Machine  string     `json:"machine,omitempty"`
	Axis     string     `json:"axis,omitempty"`
	Cause    string     `json:"cause,omitempty"`
	Place    *jsonPlace `json:"location"`
	Message  string     `json:"message"`
	Use      *float64   `json:"use,omitempty"`
	jsonCompared
	Inputs  []jsonEntry   `json:"inputs,omitempty"`
	Fixes   []jsonFix     `json:"fixes,omitempty"`
	Caution string        `json:"caution,omitempty"`
	Related []jsonRelated `json:"related,omitempty"`
	Waived  *jsonWaiver   `json:"waived,omitempty"`
}

func findingJSON(f *judge.Finding) jsonFinding {
	out := jsonFinding{Rule: f.Rule, Severity: f.Severity.String(), Machine: f.Machine, Axis: f.Axis, Cause: f.Cause, Place: placeJSON(f.Place), Message: f.Message, Use: sanitize.Finite(f.Utilisation), jsonCompared: comparedJSON(f.Compared), Caution: rules.Book().Caution(f.Rule)}
	for _, e := range f.Inputs {
		out.Inputs = append(out.Inputs, jsonEntry{e.Words, placeJSON(e.Place), e.Assumed})
	}
	for _, r := range f.Related {
		out.Related = append(out.Related, jsonRelated{r.Message, placeJSON(r.Place)})
	}
	for i := range f.Fixes {
		out.Fixes = append(out.Fixes, fixJSON(&f.Fixes[i]))
	}
	out.Waived = waiverJSON(f.Waiver, f.WaiverPlace)
	return out
}

type jsonFix struct {
	Text    string       `json:"text"`
	Changes []jsonChange `json:"changes,omitempty"`
	Edits   []jsonEdit   `json:"edits,omitempty"`
}

type jsonChange struct {
	Field string `json:"field"`
	Move  string `json:"move,omitempty"`
	Old   string `json:"old,omitempty"`
	New   string `json:"new"`
}

type jsonEdit struct {
	Place *jsonPlace `json:"location"`
	Text  string     `json:"text"`
}

func fixJSON(x *judge.Fix) jsonFix {
	out := jsonFix{Text: x.Words}
	for _, c := range x.Changes {
		out.Changes = append(out.Changes, jsonChange{c.Path, c.Move, c.Old, c.New})
	}
	for _, e := range x.Edits {
		out.Edits = append(out.Edits, jsonEdit{placeJSON(e.Place), e.Text})
	}
	return out
}

func (x *jsonFix) fix() judge.Fix {
	out := judge.Fix{Words: x.Text}
	for _, c := range x.Changes {
		out.Changes = append(out.Changes, judge.FixChange{Path: c.Field, Move: c.Move, Old: c.Old, New: c.New})
	}
	for _, e := range x.Edits {
		out.Edits = append(out.Edits, spec.Edit{Place: e.Place.place(), Text: e.Text})
	}
	return out
}

func waiverJSON(w *spec.Waiver, at spec.Place) *jsonWaiver {
	if w == nil {
		return nil
	}
	return &jsonWaiver{w.Reason.Text, w.Until.Text, placeJSON(at)}
}

func (w *jsonWaiver) waiver() (*spec.Waiver, spec.Place) {
	if w == nil {
		return nil, spec.Place{}
	}
	return &spec.Waiver{Reason: &spec.Value{Text: w.Reason}, Until: &spec.Value{Text: w.Until}}, w.Place.place()
}

type jsonGap struct {
	Machine string     `json:"machine,omitempty"`
	Axis    string     `json:"axis"`
	Missing string     `json:"missing,omitempty"`
	Why     string     `json:"why,omitempty"`
	Place   *jsonPlace `json:"location"`
	Rules   []string   `json:"rules"`
}

type jsonUnlock struct {
	Machine string     `json:"machine,omitempty"`
	Axis    string     `json:"axis"`
	Place   *jsonPlace `json:"location"`
	Waiting int        `json:"waiting"`
	Lines   []string   `json:"lines"`
	Judged  int        `json:"judged"`
}

// JSON writes everything a run found as one document, piece by piece. share is nil unless
// the run was one of several that Merge puts together.
func JSON(w io.Writer, run *Run, axes *Axes, share *Share) error {
	if axes.err != nil {
		return axes.err // before anything is written
	}
	axes.sort()
	d := &jsonDocument{w: bufio.NewWriterSize(w, 1<<16)}
	d.field("{", "schema", CheckSchema)
	d.field(",", "summary", counted(run))
	list(d, "findings", run.Findings, func(f *judge.Finding) any { return findingJSON(f) })
	list(d, "not_judged", run.MissingInputs, func(g *judge.MissingInput) any {
		return jsonGap{g.Machine, g.Axis, g.Missing, g.Why, placeJSON(g.Place), g.Rules}
	})
	list(d, "shortest_lists", run.NextInputs, func(u *judge.NextInputs) any {
		return jsonUnlock{u.Machine, u.Axis, placeJSON(u.Place), u.Waiting, u.Lines, u.Judged}
	})
	if share != nil {
		d.field(",", "share", share)
	}
	d.begin("axes")
	d.fail(axes.each(func(text []byte) error {
		if run.Axes <= ManyAxes && share == nil {
			d.buf.Reset()
			if err := json.Indent(&d.buf, text, "    ", "  "); err != nil {
				return err
			}
			text = d.buf.Bytes()
		}
		d.item(text)
		return d.err
	}))
	d.end()
	d.w.WriteString("\n}\n")
	d.fail(d.w.Flush())
	return d.err
}

func counted(run *Run) map[string]int {
	n := map[string]int{"axes": run.Axes, "judged": run.Judged, "not_judged": run.Unjudged, "errors": 0, "warnings": 0, "notes": 0, "waived": 0}
	for i := range run.Findings {
		if f := &run.Findings[i]; f.Waiver != nil {
			n["waived"]++
		} else {
			n[f.Severity.String()+"s"]++
		}
	}
	return n
}

// A jsonDocument is being written. Of several errors it keeps the first.
type jsonDocument struct {
	w   *bufio.Writer
	buf bytes.Buffer
	n   int // entries of the list under way
	err error
}

func (d *jsonDocument) fail(err error) {
	if d.err == nil {
		d.err = err
	}
}

// encode gives the text of a value, indented for where it stands.
func (d *jsonDocument) encode(v any, indent string) []byte {
	d.buf.Reset()
	enc := json.NewEncoder(sanitize.JSON(&d.buf))
	enc.SetIndent(indent, "  ")
	enc.SetEscapeHTML(false)
	d.fail(enc.Encode(v))
	return bytes.TrimSuffix(d.buf.Bytes(), []byte("\n"))
}

func (d *jsonDocument) field(before, name string, v any) {
	d.w.WriteString(before + "\n  \"" + name + "\": ")
	d.w.Write(d.encode(v, "  "))
}

func list[T any](d *jsonDocument, name string, all []T, of func(*T) any) {
	d.begin(name)
	for i := range all {
		d.item(d.encode(of(&all[i]), "    "))
	}
	d.end()
}

func (d *jsonDocument) begin(name string) {
	d.w.WriteString(",\n  \"" + name + "\": [")
	d.n = 0
}

func (d *jsonDocument) item(text []byte) {
	if d.n++; d.n > 1 {
		d.w.WriteByte(',')
	}
	d.w.WriteString("\n    ")
	if _, err := d.w.Write(text); err != nil {
		d.fail(err)
	}
}

func (d *jsonDocument) end() {
	if d.n > 0 {
		d.w.WriteString("\n  ")
	}
	d.w.WriteByte(']')
}
