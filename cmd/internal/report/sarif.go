package report

import (
	"bufio"
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"path"
	"slices"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"

	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/unit"
)

// Meta is what the forms for other programs need besides the run.
type Meta struct {
	Version string                   // of the program
	Name    func(file string) string // path below the repository's root of a shown path; nil: shown paths are such paths
	Base    string                   // URI of the repository's root; "" leaves it to the reader
	Exit    int                      // the exit status of the run
	FailAt  judge.Severity           // findings from here on are failures (JUnit)
}

// at gives a place its path below the root of the repository.
func (m *Meta) at(p spec.Place) spec.Place {
	if m.Name != nil && p.Valid() {
		p.File = m.Name(p.File)
	}
	return p
}

// placed gives every place of a finding its path below the root.
func (m *Meta) placed(f *judge.Finding) *judge.Finding {
	out := *f
	if m.Name == nil {
		return &out
	}
	out.Place, out.WaiverPlace = m.at(f.Place), m.at(f.WaiverPlace)
	out.Inputs, out.Related = slices.Clone(f.Inputs), slices.Clone(f.Related)
	for i := range out.Inputs {
		out.Inputs[i].Place = m.at(out.Inputs[i].Place)
	}
	for i := range out.Related {
		out.Related[i].Place = m.at(out.Related[i].Place)
	}
	return &out
}

// Bounds on a SARIF run. Review sites refuse longer ones or cut them where they
// like; a line that is missing is said once for each axis and can be seen in
// the other forms.
const (
	maxSARIFResults = 25000
	maxSARIFGaps    = 1000
)

const sarifSchema = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"

type sarifLog struct {
	Schema  string     `json:"$schema"`
	Version string     `json:"version"`
	Runs    []sarifRun `json:"runs"`
}

type sarifRun struct {
	Tool        sarifTool                `json:"tool"`
	Invocations []sarifInvocation        `json:"invocations"`
	Bases       map[string]sarifArtifact `json:"originalUriBaseIds,omitempty"`
	Results     []sarifResult            `json:"results"`
	Encoding    string                   `json:"defaultEncoding"`
	ColumnKind  string                   `json:"columnKind"`
}

type sarifTool struct {
	Driver sarifDriver `json:"driver"`
}

type sarifDriver struct {
	Name          string      `json:"name"`
	Version       string      `json:"version,omitempty"`
	Rules         []sarifRule `json:"rules"`
	Notifications []sarifRule `json:"notifications"`
}

type sarifRule struct {
	ID         string           `json:"id"`
	Short      *sarifText       `json:"shortDescription,omitempty"`
	Full       *sarifText       `json:"fullDescription,omitempty"`
	Help       *sarifText       `json:"help,omitempty"`
	Config     *sarifConfig     `json:"defaultConfiguration,omitempty"`
	Properties *sarifProperties `json:"properties,omitempty"`
}

type sarifConfig struct {
	Enabled *bool  `json:"enabled,omitempty"` // nil is true
	Level   string `json:"level"`
}

type sarifProperties struct {
	Tags   []string `json:"tags,omitempty"`
	Source string   `json:"source,omitempty"`
	Limits []string `json:"limits,omitempty"`
	Use    *float64 `json:"use,omitempty"`
	jsonCompared
	Cause string `json:"cause,omitempty"`
}

type sarifText struct {
	Text     string `json:"text"`
	Markdown string `json:"markdown,omitempty"`
}

type sarifInvocation struct {
	Successful    bool                `json:"executionSuccessful"`
	ExitCode      int                 `json:"exitCode"`
	ExitWords     string              `json:"exitCodeDescription,omitempty"`
	Notifications []sarifNotification `json:"toolExecutionNotifications,omitempty"`
}

type sarifNotification struct {
	Descriptor sarifRuleRef    `json:"descriptor"`
	Level      string          `json:"level"`
	Message    sarifText       `json:"message"`
	Locations  []sarifLocation `json:"locations,omitempty"`
}

type sarifRuleRef struct {
	ID    string `json:"id"`
	Index int    `json:"index"`
}

type sarifResult struct {
	RuleID       string             `json:"ruleId"`
	RuleIndex    int                `json:"ruleIndex"`
	Level        string             `json:"level"`
	Message      sarifText          `json:"message"`
	Locations    []sarifLocation    `json:"locations"`
	Related      []sarifLocation    `json:"relatedLocations,omitempty"`
	Fingerprints map[string]string  `json:"partialFingerprints"`
	Suppressions []sarifSuppression `json:"suppressions"` // of all results or of none, says the standard
	Fixes        []sarifFix         `json:"fixes,omitempty"`
	Properties   *sarifProperties   `json:"properties,omitempty"`
}

type sarifFix struct {
	Description sarifText     `json:"description"`
	Changes     []sarifChange `json:"artifactChanges"`
}

type sarifChange struct {
	Artifact     sarifArtifact      `json:"artifactLocation"`
	Replacements []sarifReplacement `json:"replacements"`
}

type sarifReplacement struct {
	Deleted  sarifDeleted `json:"deletedRegion"` // of no length: the text is inserted
	Inserted sarifText    `json:"insertedContent"`
}

type sarifDeleted struct {
	region
	Offset int32 `json:"byteOffset"`
	Length int32 `json:"byteLength"`
}

type sarifSuppression struct {
	Kind          string         `json:"kind"`
	Status        string         `json:"status"`
	Justification string         `json:"justification"`
	Location      *sarifLocation `json:"location,omitempty"`
}

type sarifLocation struct {
	ID       int            `json:"id,omitempty"`
	Physical *sarifPhysical `json:"physicalLocation,omitempty"`
	Logical  []sarifLogical `json:"logicalLocations,omitempty"`
	Message  *sarifText     `json:"message,omitempty"`
}

type sarifPhysical struct {
	Artifact sarifArtifact `json:"artifactLocation"`
	Region   region        `json:"region"`
}

type sarifArtifact struct {
	URI  string `json:"uri"`
	Base string `json:"uriBaseId,omitempty"`
}

type sarifLogical struct {
	Name string `json:"name"`
	Full string `json:"fullyQualifiedName,omitempty"`
	Kind string `json:"kind"`
}

// SARIF writes everything a run found as one SARIF 2.1.0 document. Waived and
// known findings are in it, as suppressed results. What could not be judged is
// told as notifications: results of kind "open" would say the same, but sites
// that know no kinds would show them as findings.
func SARIF(w io.Writer, run *Run, meta Meta) error {
	return writeSARIF(w, run, meta, maxSARIFResults, maxSARIFGaps)
}

func writeSARIF(w io.Writer, run *Run, meta Meta, maxResults, maxGaps int) error {
	m := &sarifMaker{run: run, meta: meta, regions: newRegions(run.Source), index: map[string]int{}, maxResults: maxResults, maxGaps: maxGaps}
	driver := sarifDriver{Name: "trammel", Version: meta.Version, Rules: m.rules(), Notifications: notifications}
	results, left := m.results()
	out := sarifRun{
		Tool:    sarifTool{driver},
		Results: results, Encoding: "UTF-8", ColumnKind: "utf16CodeUnits",
		Invocations: []sarifInvocation{{
			Successful: meta.Exit < 2, ExitCode: meta.Exit, ExitWords: exitWords[min(max(meta.Exit, 0), 2)],
			Notifications: m.notifications(left),
		}},
	}
	if meta.Base != "" {
		out.Bases = map[string]sarifArtifact{srcRoot: {URI: strings.TrimSuffix(meta.Base, "/") + "/"}}
	}
	buf := bufio.NewWriter(w)
	enc := json.NewEncoder(sanitize.JSON(buf))
	enc.SetIndent("", " ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(sarifLog{sarifSchema, "2.1.0", []sarifRun{out}}); err != nil {
		return err
	}
	return buf.Flush()
}

const srcRoot = "%SRCROOT%"

var exitWords = [...]string{"nothing at or above the failing level", "findings at or above the failing level", "trammel could not do its job"}

const (
	notJudged = iota
	leftOut
)

var notifications = []sarifRule{
	notJudged: {ID: "not-judged", Short: &sarifText{Text: "Rules that could not be judged, with what is missing"}},
	leftOut:   {ID: "left-out", Short: &sarifText{Text: "How much is not in this document"}},
}

type sarifMaker struct {
	run     *Run
	meta    Meta
	regions *regions
	index   map[string]int // of rules by name

	maxResults, maxGaps int
}

// rules describes every rule there is, then those of the house that found
// something.
func (m *sarifMaker) rules() []sarifRule {
	var out []sarifRule
	add := func(r sarifRule) {
		m.index[r.ID] = len(out)
		out = append(out, r)
	}
	for _, r := range rules.Book().All() {
		add(ruleText(r))
	}
	asks := judge.TextRules()
	for _, n := range judge.TextRuleNames() {
		r := plainRule(n, "text", asks[n], "One of the language's own checks. They are made while a file is read, are always errors, and cannot be switched off.")
		r.Config = &sarifConfig{Level: "error"}
		add(r)
	}
	var house []string
	for i := range m.run.Findings {
		if n := m.run.Findings[i].Rule; !has(m.index, n) {
			m.index[n] = -1
			house = append(house, n)
		}
	}
	sort.Strings(house)
	for _, n := range house {
		add(plainRule(n, "house", "Does the house rule "+sanitize.Line(n)+" hold?", "A rule of the house, declared in a policy file of the folder or above it."))
	}
	return out
}

func has(m map[string]int, k string) bool { _, ok := m[k]; return ok }

func plainRule(name, tag, question, help string) sarifRule {
	return sarifRule{
		ID: name, Short: &sarifText{Text: question}, Full: &sarifText{Text: help}, Help: &sarifText{Text: question + "\n\n" + help, Markdown: "**" + question + "**\n\n" + help},
		Properties: &sarifProperties{Tags: []string{tag}},
	}
}

func ruleText(r *judge.Rule) sarifRule {
	limits := limitWords(r)
	text := r.Question + "\n\n" + r.Doc
	mark := "**" + r.Question + "**\n\n" + r.Doc
	if len(limits) > 0 {
		text += "\n\nLimits by default:\n- " + strings.Join(limits, "\n- ")
		mark += "\n\nLimits by default:\n\n- " + strings.Join(limits, "\n- ")
	}
	text += "\n\nSource: " + r.Source + "."
	mark += "\n\n*Source:* " + r.Source + "."
	first, _, _ := strings.Cut(r.Doc, "\n\n")
	out := sarifRule{
		ID: r.Name, Short: &sarifText{Text: r.Question}, Full: &sarifText{Text: strings.Join(strings.Fields(first), " ")}, Help: &sarifText{Text: text, Markdown: mark},
		Config: &sarifConfig{Level: level(r.Severity)}, Properties: &sarifProperties{Tags: []string{"design"}, Source: r.Source, Limits: limits},
	}
	if r.Severity == judge.Off {
		off := false
		out.Config.Enabled = &off
	}
	return out
}

// limitWords says what a rule permits where no policy says otherwise.
func limitWords(r *judge.Rule) []string {
	var out []string
	for i := range r.Tests {
		for _, l := range []*judge.Limit{&r.Tests[i].Limit, r.Tests[i].Advice} {
			if l == nil {
				continue
			}
			sense, value := "at most", "what depends on the axis"
			if l.Sense == judge.AtLeast {
				sense = "at least"
			}
			switch {
			case l.Spread != "":
				value = l.Spread
			case l.By == nil:
				value = unit.FormatExact(l.Default, l.Kind, unit.Metric)
			}
			out = append(out, fmt.Sprintf("%s (%s): %s %s", l.Name, l.Doc, sense, value))
		}
	}
	return out
}

// level is SARIF's word for a severity. A rule that is off has the level it
// would be switched on with at the least.
func level(s judge.Severity) string {
	if s == judge.Off {
		return judge.Note.String()
	}
	return s.String()
}

// worstFirst orders findings: what stands before what is accepted, then by
// severity, then what keeps others from being judged, then by how much of the
// limit is used.
func worstFirst(run *Run) []int {
	order := make([]int, len(run.Findings))
	for i := range order {
		order[i] = i
	}
	asks := judge.TextRules()
	weight := func(f *judge.Finding) float64 {
		switch {
		case f.Fatal():
			return 2e300
		case asks[f.Rule] != "":
			return 1e300
		case f.Utilisation != f.Utilisation:
			return 0
		}
		return min(f.Utilisation, 1e299)
	}
	slices.SortStableFunc(order, func(i, k int) int {
		a, b := &run.Findings[i], &run.Findings[k]
		return cmp.Or(
			cmp.Compare(rank(run.accepted(i)), rank(run.accepted(k))),
			cmp.Compare(b.Severity, a.Severity),
			cmp.Compare(weight(b), weight(a)),
		)
	})
	return order
}

func rank(b bool) int {
	if b {
		return 1
	}
	return 0
}

// accepted reports whether a finding is waived or known.
func (run *Run) accepted(i int) bool { return run.Findings[i].Waiver != nil || run.Known[i] }

// results makes the results in the order of the findings, and says how many
// findings were left out.
func (m *sarifMaker) results() (out []sarifResult, left int) {
	findings := m.run.Findings
	keep := func(int) bool { return true }
	if left = max(0, len(findings)-m.maxResults); left > 0 {
		kept := make([]bool, len(findings))
		for _, i := range worstFirst(m.run)[:m.maxResults] {
			kept[i] = true
		}
		keep = func(i int) bool { return kept[i] }
	}
	out = make([]sarifResult, 0, len(findings)-left)
	// Repeats are numbered over all findings, so that a key does not hang on
	// what was left out.
	repeats := map[string]int{}
	for i := range findings {
		f := m.meta.placed(&findings[i])
		id := f.Identity()
		repeats[id]++
		if keep(i) {
			sum := sha256.Sum256([]byte(id))
			out = append(out, m.result(i, f, hex.EncodeToString(sum[:])+":"+strconv.Itoa(repeats[id])))
		}
	}
	return out, left
}

// result makes one result. f is the finding with places below the root; the
// run's own has them as shown, by which the source text is found.
func (m *sarifMaker) result(i int, f *judge.Finding, key string) sarifResult {
	shown := &m.run.Findings[i]
	res := sarifResult{
		RuleID: f.Rule, RuleIndex: m.index[f.Rule], Level: level(f.Severity),
		Fingerprints: map[string]string{"trammelIdentity/v1": key}, Suppressions: []sarifSuppression{}, Locations: []sarifLocation{},
	}
	if use := sanitize.Finite(f.Utilisation); use != nil || f.Compared.Made() || f.Cause != "" {
		res.Properties = &sarifProperties{Use: use, jsonCompared: comparedJSON(f.Compared), Cause: f.Cause}
	}
	// The message has the full sense: many readers show nothing else.
	text := sentence(literal(f.Message))
	where, ok := m.location(shown.Place)
	if !ok && f.Place.Valid() {
		text += "\nIt stands at " + literal(f.Place.String()) + "."
	}
	where.Logical = logical(f.Machine, f.Axis)
	if ok || where.Logical != nil {
		res.Locations = append(res.Locations, where)
	}
	link := func(p spec.Place, words string) string {
		at := literal(judge.At(m.meta.at(p), f.Place.File))
		loc, ok := m.location(p)
		if !ok {
			return at
		}
		loc.ID = len(res.Related) + 1
		loc.Message = &sarifText{Text: literal(words)}
		res.Related = append(res.Related, loc)
		return "[" + linkEscape.Replace(at) + "](" + strconv.Itoa(loc.ID) + ")"
	}
	var list []string
	for _, e := range shown.Inputs {
		s := literal(e.Words)
		switch {
		case e.Assumed != "":
			s += " (assumed: " + literal(e.Assumed) + ")"
		case e.Place.Valid():
			s += " (" + link(e.Place, e.Words) + ")"
		}
		list = append(list, s)
	}
	if len(list) > 0 {
		text += "\nEnters: " + strings.Join(list, ", ") + "."
	}
	list = nil
	for _, r := range shown.Related {
		if r.Place.Valid() {
			list = append(list, literal(r.Message)+" ("+link(r.Place, r.Message)+")")
		}
	}
	if len(list) > 0 {
		text += "\nSee also: " + strings.Join(list, ", ") + "."
	}
	if s := judge.FixWords(f.Fixes); s != "" {
		text += "\n" + strings.ToUpper(s[:1]) + sentence(literal(s[1:]))
	}
	for k := range shown.Fixes {
		if x, ok := m.fix(&shown.Fixes[k]); ok {
			res.Fixes = append(res.Fixes, x)
		}
	}
	if f.Axis != "" {
		text += "\nAxis " + literal(f.Axis)
		if f.Machine != "" {
			text += " of machine " + literal(f.Machine)
		}
		text += "."
	}
	if f.Waiver != nil {
		s := sarifSuppression{Kind: "external", Status: "accepted", Justification: waived(f)}
		if at, ok := m.location(shown.WaiverPlace); ok {
			s.Location = &at
		}
		res.Suppressions = append(res.Suppressions, s)
		text += "\n" + sentence(literal("W"+s.Justification[1:]))
	}
	if m.run.Known[i] {
		res.Suppressions = append(res.Suppressions, sarifSuppression{Kind: "external", Status: "accepted", Justification: "it is on the list of known findings"})
		text += "\nIt is on the list of known findings."
	}
	res.Message.Text = text
	return res
}

// fix gives a fix as SARIF; ok is false for a remark, and where the stretch of text
// that goes cannot be told exactly.
func (m *sarifMaker) fix(x *judge.Fix) (out sarifFix, ok bool) {
	out.Description = sarifText{Text: literal(x.Words)}
	for _, e := range x.Edits {
		at, ok := m.location(e.Place)
		if !ok || at.Physical.Region.StartColumn == 0 {
			return out, false
		}
		r := at.Physical.Region
		r.EndLine = max(r.EndLine, r.StartLine)
		one := sarifReplacement{sarifDeleted{r, e.Place.Byte, e.Place.EndByte - e.Place.Byte}, sarifText{Text: e.Text}}
		if n := len(out.Changes); n > 0 && out.Changes[n-1].Artifact == at.Physical.Artifact {
			out.Changes[n-1].Replacements = append(out.Changes[n-1].Replacements, one)
			continue
		}
		out.Changes = append(out.Changes, sarifChange{at.Physical.Artifact, []sarifReplacement{one}})
	}
	return out, len(out.Changes) > 0
}

func waived(f *judge.Finding) string {
	return "waived until " + sanitize.Line(f.Waiver.Until.Text) + ": " + sanitize.Line(f.Waiver.Reason.Text)
}

// location gives a shown place as SARIF; ok is false where it is none or lies
// outside of the repository.
func (m *sarifMaker) location(shown spec.Place) (loc sarifLocation, ok bool) {
	if !shown.Valid() {
		return loc, false
	}
	u, below := fileURI(m.meta.at(shown).File)
	if u == "" {
		return loc, false
	}
	a := sarifArtifact{URI: u}
	if below {
		a.Base = srcRoot
	}
	return sarifLocation{Physical: &sarifPhysical{a, m.regions.of(shown)}}, true
}

func logical(machine, axis string) []sarifLogical {
	if axis == "" {
		return nil
	}
	out := []sarifLogical{{Name: axis, Full: axis, Kind: "axis"}}
	if machine != "" {
		out[0].Full = machine + "/" + axis
	}
	return out
}

func (m *sarifMaker) notifications(left int) []sarifNotification {
	var out []sarifNotification
	add := func(kind int, lev, text string) *sarifNotification {
		out = append(out, sarifNotification{Descriptor: sarifRuleRef{notifications[kind].ID, kind}, Level: lev, Message: sarifText{Text: text}})
		return &out[len(out)-1]
	}
	if left > 0 {
		add(leftOut, "warning", fmt.Sprintf("Of %d findings the %d worst are here; %d are left out. Check fewer folders at once to see them.", left+m.maxResults, m.maxResults, left))
	}
	order := make([]int, len(m.run.MissingInputs))
	for i := range order {
		order[i] = i
	}
	if n := len(order) - m.maxGaps; n > 0 {
		add(leftOut, "note", fmt.Sprintf("Of %d missing lines the %d that most rules wait for are here; %d are left out.", len(order), m.maxGaps, n))
		slices.SortStableFunc(order, func(i, k int) int {
			return cmp.Compare(len(m.run.MissingInputs[k].Rules), len(m.run.MissingInputs[i].Rules))
		})
		order = order[:m.maxGaps]
		slices.Sort(order)
	}
	for _, i := range order {
		g := &m.run.MissingInputs[i]
		text := sentence(literal("Not judged: " + GapLine(g)))
		text += " Axis " + literal(g.Axis)
		if g.Machine != "" {
			text += " of machine " + literal(g.Machine)
		}
		n := add(notJudged, "note", text+".")
		loc, ok := m.location(g.Place)
		if loc.Logical = logical(g.Machine, g.Axis); ok || loc.Logical != nil {
			n.Locations = []sarifLocation{loc}
		}
	}
	return out
}

// literal writes text so that no reader of SARIF takes a part of it for a
// placeholder or a link.
func literal(s string) string { return literalEscape.Replace(sanitize.Line(s)) }

var (
	literalEscape = strings.NewReplacer("{", "{{", "}", "}}", "](", "] (")
	linkEscape    = strings.NewReplacer(`\`, `\\`, "[", `\[`, "]", `\]`)
)

func sentence(s string) string {
	if s == "" || strings.ContainsAny(s[len(s)-1:], ".!?") {
		return s
	}
	return s + "."
}

// fileURI encodes a path below the root as a relative reference; below is
// false for an absolute one. It is "" for a path that leads out of the root.
func fileURI(name string) (uri string, below bool) {
	name = path.Clean(name)
	if name == "." || name == ".." || strings.HasPrefix(name, "../") {
		return "", false
	}
	const keep = "-._~/"
	var b strings.Builder
	below = name[0] != '/'
	if !below {
		b.WriteString("file://")
	}
	for i := 0; i < len(name); i++ {
		c := name[i]
		if 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || '0' <= c && c <= '9' || strings.IndexByte(keep, c) >= 0 {
			b.WriteByte(c)
			continue
		}
		fmt.Fprintf(&b, "%%%02X", c)
	}
	return b.String(), below
}

// A region is a stretch of text with columns in UTF-16 units, as readers of
// the forms for other programs count. EndColumn is the one behind the last.
type region struct {
	StartLine   int `json:"startLine"`
	StartColumn int `json:"startColumn,omitempty"`
	EndLine     int `json:"endLine,omitempty"`
	EndColumn   int `json:"endColumn,omitempty"`
}

// regions turns places into regions by the text they stand in.
type regions struct {
	source func(string) []byte
	files  map[string]*lines
}

type lines struct {
	src    []byte
	starts []int // offsets of the lines' first bytes, behind a byte order mark
	seen   map[spec.Place]region
}

func newRegions(source func(string) []byte) *regions {
	return &regions{source, map[string]*lines{}}
}

func (r *regions) of(p spec.Place) region {
	l, ok := r.files[p.File]
	if !ok {
		if r.source != nil {
			if src := r.source(p.File); src != nil {
				l = newLines(src)
			}
		}
		r.files[p.File] = l
	}
	whole := region{StartLine: max(1, int(p.Line))}
	if p.EndLine > p.Line {
		whole.EndLine = int(p.EndLine)
	}
	if l == nil || p.Line < 1 {
		return whole // a wrong column is worse than none
	}
	got, ok := l.seen[p]
	if !ok {
		if got, ok = l.region(p); !ok {
			got = whole
		}
		l.seen[p] = got
	}
	return got
}

func newLines(src []byte) *lines {
	l := &lines{src: src, starts: []int{0}, seen: map[spec.Place]region{}}
	if bytes.HasPrefix(src, []byte("\ufeff")) {
		l.starts[0] = len("\ufeff")
	}
	for i, c := range src {
		if c == '\n' {
			l.starts = append(l.starts, i+1)
		}
	}
	return l
}

func (l *lines) region(p spec.Place) (region, bool) {
	line, col, ok := l.at(int(p.Byte), int(p.Line), int(p.Col))
	endLine, endCol, ok2 := l.at(int(p.EndByte), int(p.EndLine), int(p.EndCol))
	if !ok || !ok2 || endLine < line || endLine == line && endCol < col {
		return region{}, false
	}
	return region{line, col, endLine, endCol}, true
}

// at gives line and UTF-16 column of an offset. Where the offset does not fit
// the line, as with places that have none, the column as a person sees it
// counts.
func (l *lines) at(offset, line, col int) (int, int, bool) {
	if line < 1 || line > len(l.starts) {
		return 0, 0, false
	}
	start, end := l.starts[line-1], len(l.src)
	if line < len(l.starts) {
		end = l.starts[line] - 1
	}
	if offset < start || offset > end || offset == start && col > 1 {
		offset = start + byteOfColumn(string(l.src[start:end]), col)
	}
	return line, 1 + utf16Units(l.src[start:offset]), true
}

// utf16Units counts the UTF-16 units of text.
func utf16Units(b []byte) (n int) {
	for len(b) > 0 {
		r, size := utf8.DecodeRune(b)
		n++
		if r > 0xffff {
			n++
		}
		b = b[size:]
	}
	return n
}
