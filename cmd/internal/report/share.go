package report

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"hash/maphash"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// A Share is what the JSON of one of several runs that split a check between
// them says besides, so that Merge can make of all what one run would have
// found. Paths in it are below the root of the tree.
type Share struct {
	Number     int    `json:"number"` // which one, from 1
	Of         int    `json:"of"`     // how many there are
	Version    string `json:"version"`
	Day        string `json:"day"` // on which waivers were judged
	Fixes      bool   `json:"fixes"`
	Quantities bool   `json:"quantities"` // of the axes are in the document
	Whole      bool   `json:"whole"`      // the whole tree was read
	Tree       string `json:"tree"`       // digest of the names of all files that were to be checked
	From
	Parts     []jsonPart  `json:"parts"`     // declared in the folders of this share
	Uses      []jsonPlace `json:"uses"`      // of the parts its axes refer to
	Lines     []jsonLines `json:"lines"`     // that findings and missing lines point at
	Unlimited []int       `json:"unlimited"` // findings, from 0, that use a limit of nothing
}

type jsonPart struct {
	Kind      string                   `json:"kind"`
	Name      string                   `json:"name"`
	Ref       string                   `json:"ref"` // as an axis refers to it
	Place     *jsonPlace               `json:"location"`
	Listed    bool                     `json:"listed"` // its file is among those that were checked
	Values    map[string]jsonPartValue `json:"values,omitempty"`
	Rules     map[string]jsonAsked     `json:"rules"`              // that look at all parts together
	Findings  []jsonFinding            `json:"findings,omitempty"` // of the part by itself
	Unlimited []int                    `json:"unlimited,omitempty"`
}

type jsonPartValue struct {
	Text   string  `json:"text"`
	Number float64 `json:"number"` // in SI units
}

type jsonAsked struct {
	Severity string      `json:"severity"`
	Waived   *jsonWaiver `json:"waived,omitempty"`
}

func partJSON(p *judge.PartFacts) jsonPart {
	out := jsonPart{Kind: p.Kind, Name: p.Name, Ref: p.Ref, Place: placeJSON(p.Place), Listed: p.Listed, Rules: map[string]jsonAsked{}}
	for name, v := range p.Values {
		if out.Values == nil {
			out.Values = map[string]jsonPartValue{}
		}
		out.Values[name] = jsonPartValue{v.Text, v.Number}
	}
	for i, r := range rules.Book().AcrossParts() {
		a := &p.Asked[i]
		out.Rules[r.Name] = jsonAsked{a.Severity.String(), waiverJSON(a.Waiver, a.WaiverPlace)}
	}
	for i := range p.Faults {
		out.Findings = append(out.Findings, findingJSON(&p.Faults[i]))
		if math.IsInf(p.Faults[i].Utilisation, 1) {
			out.Unlimited = append(out.Unlimited, i)
		}
	}
	return out
}

func (x *jsonPart) facts() (judge.PartFacts, error) {
	p := judge.PartFacts{Kind: x.Kind, Name: x.Name, Ref: x.Ref, Place: x.Place.place(), Listed: x.Listed}
	if !p.Place.Valid() {
		return p, errors.New("it has no location")
	}
	if err := x.Place.sound(); err != nil {
		return p, err
	}
	for name, v := range x.Values {
		if p.Values == nil {
			p.Values = map[string]judge.PartValue{}
		}
		p.Values[name] = judge.PartValue{Text: v.Text, Number: v.Number}
	}
	for _, r := range rules.Book().AcrossParts() {
		a, ok := x.Rules[r.Name]
		severity, fine := judge.ParseSeverity(a.Severity)
		if !ok || !fine {
			return p, fmt.Errorf("it does not say what is in force of %s", r.Name)
		}
		if a.Waived != nil && a.Waived.Place.sound() != nil {
			return p, a.Waived.Place.sound()
		}
		asked := judge.PartAsked{Severity: severity}
		asked.Waiver, asked.WaiverPlace = a.Waived.waiver()
		p.Asked = append(p.Asked, asked)
	}
	for i := range x.Findings {
		f, err := x.Findings[i].finding()
		if err != nil {
			return p, err
		}
		p.Faults = append(p.Faults, f)
	}
	for _, i := range x.Unlimited {
		if i < 0 || i >= len(p.Faults) {
			return p, fmt.Errorf("it has no finding %d", i)
		}
		p.Faults[i].Utilisation = math.Inf(1)
	}
	return p, nil
}

type jsonLines struct {
	File  string     `json:"file"`
	Lines []jsonLine `json:"lines"`
}

type jsonLine struct {
	Line  int    `json:"line"`
	Byte  int    `json:"byte"` // offset of its first byte
	Text  string `json:"text,omitempty"`
	Bytes []byte `json:"bytes,omitempty"` // instead of text that is not UTF-8
}

// Fill takes from a run what Merge needs.
func (s *Share) Fill(run *Run) {
	s.Parts, s.Uses, s.Lines, s.Unlimited = []jsonPart{}, []jsonPlace{}, []jsonLines{}, []int{}
	wanted := map[string]map[int]bool{} // lines by shown file
	want := func(p spec.Place) {
		if !p.Valid() {
			return
		}
		if wanted[p.File] == nil {
			wanted[p.File] = map[int]bool{}
		}
		wanted[p.File][int(p.Line)] = true
		wanted[p.File][int(p.EndLine)] = true
	}
	wantAll := func(f *judge.Finding, show func(spec.Place) spec.Place) {
		want(show(f.Place))
		want(show(f.WaiverPlace))
		for _, e := range f.Inputs {
			want(show(e.Place))
		}
		for _, r := range f.Related {
			want(show(r.Place))
		}
		for i := range f.Fixes {
			for _, e := range f.Fixes[i].Edits {
				want(show(e.Place))
			}
		}
	}
	for i := range run.Findings {
		f := &run.Findings[i]
		if math.IsInf(f.Utilisation, 1) {
			s.Unlimited = append(s.Unlimited, i)
		}
		wantAll(f, func(p spec.Place) spec.Place { return p })
	}
	for i := range run.MissingInputs {
		want(run.MissingInputs[i].Place)
	}
	for i := range run.Parts {
		p := &run.Parts[i]
		for k := range p.Faults {
			wantAll(&p.Faults[k], s.Show)
		}
		// Any rule may point at it, from wherever another part is.
		want(s.Show(p.Place))
		for _, a := range p.Asked {
			want(s.Show(a.WaiverPlace))
		}
		s.Parts = append(s.Parts, partJSON(p))
	}
	for _, p := range run.Uses {
		s.Uses = append(s.Uses, *placeJSON(p))
	}
	for file, lines := range wanted {
		if src := run.Source(file); src != nil {
			s.Lines = append(s.Lines, jsonLines{s.Name(file), linesOf(src, lines)})
		}
	}
	slices.SortFunc(s.Lines, func(a, b jsonLines) int { return strings.Compare(a.File, b.File) })
}

func linesOf(src []byte, wanted map[int]bool) []jsonLine {
	out := []jsonLine{}
	for n, at := 1, 0; ; n++ {
		end := len(src)
		if i := bytes.IndexByte(src[at:], '\n'); i >= 0 {
			end = at + i
		}
		if wanted[n] {
			l := jsonLine{Line: n, Byte: at}
			if text := src[at:end]; utf8.Valid(text) {
				l.Text = string(text)
			} else {
				l.Bytes = text
			}
			out = append(out, l)
		}
		if end == len(src) {
			return out
		}
		at = end + 1
	}
}

// source makes a text that has the lines where they stood; what stood between
// them is blank.
func (l *jsonLines) source() ([]byte, error) {
	src := []byte{}
	line := 1
	for i, x := range l.Lines {
		if x.Line < 1 || x.Line > spec.MaxFileSize+1 || x.Byte < 0 || x.Byte > spec.MaxFileSize {
			return nil, fmt.Errorf("there is no line %d at byte %d of %s", x.Line, x.Byte, sanitize.Line(l.File))
		}
		breaks := x.Line - line
		blanks := x.Byte - len(src) - breaks
		// The end of a line follows it at once; what the next ones held comes
		// before their ends.
		first := min(i, 1)
		if breaks < first || blanks < 0 || blanks > 0 && breaks == first || len(x.Text)+len(x.Bytes) > spec.MaxFileSize {
			return nil, fmt.Errorf("the lines of %s do not fit into one another", sanitize.Line(l.File))
		}
		src = append(src, bytes.Repeat([]byte("\n"), first)...)
		src = append(src, bytes.Repeat([]byte(" "), blanks)...)
		src = append(src, bytes.Repeat([]byte("\n"), breaks-first)...)
		src = append(src, x.Text...)
		src = append(src, x.Bytes...)
		line = x.Line
	}
	return src, nil
}

// Bounds on a document that Merge reads.
const (
	MaxShare   = 2 << 30   // bytes
	maxElement = 8 << 20   // bytes of one finding, axis or other element
	maxSection = 256 << 20 // bytes of the section that only a share has
	maxShares  = 1000
	maxCount   = 1 << 30 // axes, rules or lines of one share
)

const expectedPart = "expected one part of a split check, such as trammel check --share 1/2 writes"

// A Part is one share with what its run found.
type Part struct {
	Share
	summary run.Summary
}

// ReadShare reads the JSON of one share. The text is not trusted: an error says what is
// wrong with it. Its axes are added to those given, nil where nobody wants them; their
// texts are read from r again when they are written.
func ReadShare(r io.ReaderAt, axes *Axes) (*Part, error) {
	p := &Part{}
	d := newShareReader(r, 0, "")
	err := p.read(d, axes)
	switch {
	case d.at() > MaxShare:
		return nil, fmt.Errorf("it is larger than %d MB", MaxShare>>20)
	case errors.Is(err, errElement):
		return nil, err
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return nil, errors.New("it ends too early; " + expectedPart)
	case errors.As(err, new(*json.SyntaxError)):
		what, _, _ := strings.Cut(err.Error(), " looking for ") // a state of the library's reader
		return nil, fmt.Errorf("it is not JSON (%s); %s", sanitize.Line(what), expectedPart)
	case err != nil:
		return nil, errors.New(sanitize.Line(err.Error())) // it may quote what stands in the file
	}
	return p, nil
}

// A shareReader decodes a document of which no element is held that is larger
// than an honest one.
type shareReader struct {
	*json.Decoder
	from *bounded
	r    io.ReaderAt
	base int64 // where the decoder began in r
}

// newShareReader decodes what stands in r from a byte on, as if head stood before it.
func newShareReader(r io.ReaderAt, at int64, head string) *shareReader {
	b := &bounded{r: io.MultiReader(strings.NewReader(head), io.NewSectionReader(r, at, MaxShare+1-at))}
	return &shareReader{Decoder: json.NewDecoder(b), from: b, r: r, base: at - int64(len(head))}
}

// at is how far r was read.
func (d *shareReader) at() int64 { return d.base + d.from.at }

var errElement = errors.New("an entry of it is larger than any that trammel writes")

// A bounded reader gives no more than is permitted at a time.
type bounded struct {
	r      io.Reader
	at, to int64 // bytes given, and how many may be
}

func (b *bounded) Read(p []byte) (int, error) {
	left := b.to - b.at
	if left <= 0 {
		return 0, errElement
	}
	n, err := b.r.Read(p[:min(int64(len(p)), left)])
	b.at += int64(n)
	return n, err
}

// raw reads the bytes of the next value, at most so many.
func (d *shareReader) raw(most int64) (raw json.RawMessage, err error) {
	d.from.to = d.InputOffset() + most
	err = d.Decode(&raw)
	return raw, err
}

// Token reads the next sign of the document.
func (d *shareReader) Token() (json.Token, error) {
	d.from.to = d.InputOffset() + maxElement
	return d.Decoder.Token()
}

// More reports whether a list or object has another entry.
func (d *shareReader) More() bool {
	d.from.to = d.InputOffset() + maxElement
	return d.Decoder.More()
}

func (p *Part) read(d *shareReader, axes *Axes) error {
	if t, err := d.Token(); err != nil {
		return err
	} else if t != json.Delim('{') {
		return errors.New("it is not a JSON object, as trammel check --form json writes")
	}
	seen := map[string]bool{}
	schema := ""
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return err
		}
		key := t.(string) // the decoder gives nothing else here
		if seen[key] {
			return fmt.Errorf("%q stands in it twice", key)
		}
		seen[key] = true
		switch key {
		case "schema":
			err = element(d, &schema)
			if err == nil && schema != CheckSchema {
				return fmt.Errorf("it is not %s but %q", CheckSchema, schema)
			}
		case "summary":
			var s struct {
				Axes     int `json:"axes"`
				Judged   int `json:"judged"`
				Unjudged int `json:"not_judged"`
			}
			err = element(d, &s)
			p.summary.Axes, p.summary.Judged, p.summary.Unjudged = s.Axes, s.Judged, s.Unjudged
		case "findings":
			err = elements(d, func(f *jsonFinding) error {
				got, err := f.finding()
				p.summary.Findings = append(p.summary.Findings, got)
				return err
			})
		case "not_judged":
			err = elements(d, func(g *jsonGap) error {
				p.summary.MissingInputs = append(p.summary.MissingInputs, judge.MissingInput{Machine: g.Machine, Axis: g.Axis, Missing: g.Missing, Why: g.Why, Place: g.Place.place(), Rules: g.Rules})
				return g.Place.sound()
			})
		case "shortest_lists":
			err = elements(d, func(u *jsonUnlock) error {
				p.summary.NextInputs = append(p.summary.NextInputs, judge.NextInputs{Machine: u.Machine, Axis: u.Axis, Place: u.Place.place(), Waiting: u.Waiting, Lines: u.Lines, Judged: u.Judged})
				return errors.Join(u.Place.sound(), counts(u.Waiting, u.Judged))
			})
		case "share":
			err = p.readShare(d)
		case "axes":
			err = d.axes(axes)
		default:
			var skip json.RawMessage
			err = element(d, &skip)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", key, err)
		}
	}
	if _, err := d.Token(); err != nil {
		return err
	}
	if _, err := d.Token(); err != io.EOF {
		return errors.New("it has text after its end")
	}
	for _, key := range []string{"schema", "summary", "findings", "not_judged", "shortest_lists", "axes"} {
		if !seen[key] {
			return fmt.Errorf("it has no %q, as every result of trammel check --form json has", key)
		}
	}
	if !seen["share"] {
		return errors.New("it is the result of a whole check, not of one part; run trammel check --share")
	}
	if err := counts(p.summary.Axes, p.summary.Judged, p.summary.Unjudged); err != nil {
		return fmt.Errorf("summary: %w", err)
	}
	for _, i := range p.Unlimited {
		if i < 0 || i >= len(p.summary.Findings) {
			return fmt.Errorf("share: there is no finding %d", i)
		}
		p.summary.Findings[i].Utilisation = math.Inf(1)
	}
	return nil
}

// axes reads the list of axes: lines as this program writes them as they are, the rest one
// by one.
func (d *shareReader) axes(to *Axes) error {
	if t, err := d.Token(); err != nil {
		return err
	} else if t != json.Delim('[') {
		return errors.New("it is not a list")
	}
	n, at, more := axisLines(d.r, d.base+d.InputOffset(), to)
	*d = *newShareReader(d.r, at, `{"axes":[`)
	for range 3 { // the three signs put before it
		if _, err := d.Token(); err != nil {
			return err
		}
	}
	if n > 0 && more != d.More() {
		return fmt.Errorf("entry %d: the list goes on without a comma, or ends with one", n)
	}
	return items(d, n, func(a *jsonAxis) error {
		if err := a.sound(); err != nil {
			return err
		}
		if to != nil {
			to.add(a.kept(), string(libraryText(a)))
		}
		return nil
	})
}

// axisLines reads axes from a byte on, as long as each has a line of its own as it is
// written: how many, where it stopped, and whether another is to follow.
func axisLines(r io.ReaderAt, at int64, to *Axes) (n int, end int64, more bool) {
	b := bufio.NewReaderSize(io.NewSectionReader(r, at, MaxShare+1-at), 1<<20)
	const indent = "    "
	for {
		line, err := b.ReadSlice('\n')
		text, follows := bytes.CutSuffix(bytes.TrimSuffix(line, []byte("\n")), []byte(","))
		switch {
		case err != nil, n > 0 && !more:
			return n, at, more
		case n == 0 && len(line) == 1:
			at++
			continue
		}
		text, ok := bytes.CutPrefix(text, []byte(indent))
		k, ok2 := readLine(text)
		if !ok || !ok2 {
			return n, at, more
		}
		if to != nil {
			k.from, k.off, k.size, k.sum = r, at+int64(len(indent)), int32(len(text)), maphash.Bytes(seed, text)
			to.list = append(to.list, k)
		}
		n, at, more = n+1, at+int64(len(line)), follows
	}
}

// readShare reads the section that only a share has.
func (p *Part) readShare(d *shareReader) error {
	raw, err := d.raw(maxSection)
	if err == nil {
		err = json.Unmarshal(raw, &p.Share)
	}
	if err != nil {
		return err
	}
	s := &p.Share
	if s.Of < 1 || s.Of > maxShares || s.Number < 1 || s.Number > s.Of {
		return fmt.Errorf("part %d of %d does not exist", s.Number, s.Of)
	}
	for i := range s.Parts {
		f, err := s.Parts[i].facts()
		if err != nil {
			return fmt.Errorf("part %d: %w", i, err)
		}
		p.summary.Parts = append(p.summary.Parts, f)
	}
	for i := range s.Uses {
		if err := s.Uses[i].sound(); err != nil {
			return err
		}
		p.summary.Uses = append(p.summary.Uses, s.Uses[i].place())
	}
	for i := range s.Lines {
		if _, err := s.Lines[i].source(); err != nil {
			return err
		}
	}
	return nil
}

// element reads one value, no larger than an honest one.
func element(d *shareReader, into any) error {
	raw, err := d.raw(maxElement)
	if err != nil {
		return err
	}
	return json.Unmarshal(raw, into)
}

// elements reads a list one by one.
func elements[T any](d *shareReader, take func(*T) error) error {
	t, err := d.Token()
	if err != nil {
		return err
	}
	if t != json.Delim('[') {
		return errors.New("it is not a list")
	}
	return items(d, 0, take)
}

// items reads the rest of a list from the nth entry on.
func items[T any](d *shareReader, n int, take func(*T) error) error {
	for ; d.More(); n++ {
		var item T
		if err := element(d, &item); err != nil {
			return fmt.Errorf("entry %d: %w", n, err)
		}
		if err := take(&item); err != nil {
			return fmt.Errorf("entry %d: %w", n, err)
		}
	}
	_, err := d.Token()
	return err
}

// counts bounds numbers of things.
func counts(list ...int) error {
	for _, n := range list {
		if n < 0 || n > maxCount {
			return fmt.Errorf("there cannot be %d", n)
		}
	}
	return nil
}

// sound reports what no honest place has.
func (p *jsonPlace) sound() error {
	if p == nil {
		return nil
	}
	for _, n := range []int32{p.Line, p.Column, p.EndLine, p.EndColumn} {
		if n < 0 || n > spec.MaxFileSize+1 {
			return fmt.Errorf("there is no line or column %d", n)
		}
	}
	for _, n := range []int32{p.Byte, p.EndByte} {
		if n < 0 || n > spec.MaxFileSize {
			return fmt.Errorf("there is no byte %d", n)
		}
	}
	if p.File == "" {
		return errors.New("a location names no file")
	}
	return nil
}

// places are all that a finding names.
func (f *jsonFinding) places() []*jsonPlace {
	list := []*jsonPlace{f.Place}
	for i := range f.Inputs {
		list = append(list, f.Inputs[i].Place)
	}
	for i := range f.Related {
		list = append(list, f.Related[i].Place)
	}
	if f.Waived != nil {
		list = append(list, f.Waived.Place)
	}
	return list
}

func soundPlaces(list []*jsonPlace) error {
	for _, p := range list {
		if err := p.sound(); err != nil {
			return err
		}
	}
	return nil
}

func (f *jsonFinding) finding() (judge.Finding, error) {
	out := judge.Finding{Rule: f.Rule, Machine: f.Machine, Axis: f.Axis, Cause: f.Cause, Place: f.Place.place(), Message: f.Message, Utilisation: math.NaN()}
	var ok bool
	if out.Severity, ok = judge.ParseSeverity(f.Severity); !ok || out.Severity == judge.Off {
		return out, fmt.Errorf("there is no severity %q", f.Severity)
	}
	if f.Use != nil {
		out.Utilisation = *f.Use
	}
	var err error
	if out.Compared, err = f.compared(); err != nil {
		return out, err
	}
	for _, e := range f.Inputs {
		out.Inputs = append(out.Inputs, judge.Entry{Words: e.Words, Place: e.Place.place(), Assumed: e.Assumed})
	}
	for _, r := range f.Related {
		out.Related = append(out.Related, spec.Related{Message: r.Message, Place: r.Place.place()})
	}
	for i := range f.Fixes {
		out.Fixes = append(out.Fixes, f.Fixes[i].fix())
	}
	out.Waiver, out.WaiverPlace = f.Waived.waiver()
	return out, soundPlaces(f.places())
}

// compared turns the comparison back; the zero value for none.
func (c *jsonCompared) compared() (out judge.Compared, err error) {
	if *c == (jsonCompared{}) {
		return out, nil
	}
	if c.Of != "" {
		if out.Of = mechanics.ByName(c.Of); out.Of == nil {
			return out, fmt.Errorf("there is no quantity %q", c.Of)
		}
	}
	kind, known := unit.KindOfSI(c.Unit)
	x, ok := numberOf(c.Value)
	limit, fine := numberOf(c.Limit)
	if !known || !ok || !fine || c.Sense != judge.AtMost.String() && c.Sense != judge.AtLeast.String() {
		return out, fmt.Errorf("%v %s, %s %v: no value and limit", c.Value, c.Unit, c.Sense, c.Limit)
	}
	out.Value, out.Limit, out.Kind = x, limit, kind
	if c.Sense == judge.AtLeast.String() {
		out.Sense = judge.AtLeast
	}
	return out, nil
}

// numberOf reads what number writes.
func numberOf(v any) (x float64, ok bool) {
	switch v := v.(type) {
	case float64:
		return v, true
	case string:
		return math.Inf(1), v == "unlimited"
	}
	return 0, false
}

// sound reports what no honest axis has.
func (a *jsonAxis) sound() error {
	value := func(v any) bool {
		switch v.(type) {
		case nil, float64, string:
			return true
		}
		return false
	}
	for i := range a.Quantities {
		q := &a.Quantities[i]
		if !value(q.Value) || slices.ContainsFunc(q.Values, func(v any) bool { return !value(v) }) {
			return fmt.Errorf("the value of %s is none", q.Name)
		}
		if err := soundPlaces(append(q.Places, q.Place)); err != nil {
			return err
		}
	}
	for i := range a.Rules {
		for _, m := range a.Rules[i].Missing {
			if err := m.Place.sound(); err != nil {
				return err
			}
		}
	}
	return a.Place.sound()
}

// Merged is what a whole check would have found.
type Merged struct {
	Run
	Name func(shown string) string // path below the root of a shown one
}

// Merge puts all shares of one check together.
func Merge(parts []*Part) (*Merged, error) {
	if len(parts) == 0 {
		return nil, errors.New("no files to merge")
	}
	of := parts[0].Of
	have := make([]bool, of)
	for _, p := range parts {
		if p.Of != of {
			return nil, fmt.Errorf("one file is a part of %d, another of %d", of, p.Of)
		}
		if have[p.Number-1] {
			return nil, fmt.Errorf("part %d/%d is given twice; give each part once", p.Number, of)
		}
		have[p.Number-1] = true
		if what := differs(&parts[0].Share, &p.Share); what != "" {
			return nil, fmt.Errorf("parts %d/%d and %d/%d do not belong together: %s", parts[0].Number, of, p.Number, of, what)
		}
	}
	var missing []string
	for i, ok := range have {
		if !ok {
			missing = append(missing, fmt.Sprintf("%d/%d", i+1, of))
		}
	}
	if missing != nil {
		return nil, fmt.Errorf("missing parts: %s; run again each part that ended with status 2", strings.Join(missing, ", "))
	}
	first := &parts[0].Share
	out := &Merged{Run: Run{Summary: &run.Summary{}}, Name: first.Name}
	lines := map[string]*jsonLines{}
	used := map[spec.Place]bool{}
	for _, p := range parts {
		out.Summary.Merge(&p.summary)
		for _, at := range p.summary.Uses {
			used[at] = true
		}
		for i := range p.Lines {
			l := &p.Lines[i]
			if have := lines[l.File]; have != nil {
				l = both(have, l)
			}
			lines[l.File] = l
		}
	}
	found := &run.Summary{Findings: rules.Book().InTree(out.Parts, func(p spec.Place) bool { return used[p] }, first.Whole)}
	found.Place(first.Show)
	out.Summary.Merge(found)
	out.Parts, out.Uses = nil, nil
	out.Summary.Sort()
	out.Source = func(shown string) []byte {
		l := lines[first.Name(shown)]
		if l == nil {
			return nil
		}
		src, err := l.source()
		if err != nil {
			return nil
		}
		return src
	}
	return out, nil
}

// both joins the lines that two shares have of a file.
func both(a, b *jsonLines) *jsonLines {
	all := append(slices.Clone(a.Lines), b.Lines...)
	slices.SortStableFunc(all, func(x, y jsonLine) int { return cmp.Compare(x.Line, y.Line) })
	return &jsonLines{a.File, slices.CompactFunc(all, func(x, y jsonLine) bool { return x.Line == y.Line })}
}

// differs says in what two shares differ that cannot be put together.
func differs(a, b *Share) string {
	switch {
	case a.Version != b.Version:
		return fmt.Sprintf("they come from versions %s and %s", a.Version, b.Version)
	case a.Day != b.Day:
		return fmt.Sprintf("they were judged for different dates, %s and %s; give all parts the same --today", a.Day, b.Day)
	case a.Fixes != b.Fixes:
		return "one was made with --no-fixes"
	case a.Quantities != b.Quantities:
		return "one has computed quantities, the other has none; give all parts the same --quantities or --no-quantities"
	case a.Whole != b.Whole, a.From != b.From:
		return "they checked different folders; run all parts in the same folder with the same paths"
	case a.Tree != b.Tree:
		return "they saw different files; run all parts on the same state"
	}
	return ""
}
