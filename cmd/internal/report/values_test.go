package report

import (
	"bytes"
	"encoding/json"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"trammel/cmd/internal/sanitize"
	"trammel/spec"
	"trammel/spec/amount"
)

// A slot is a place in a parsed document where another value may be put.
type slot struct {
	value any
	set   func(any)
	drop  func()
}

// slots lists all values of a parsed document, always in the same order.
func slots(v any, set func(any), drop func(), out []slot) []slot {
	out = append(out, slot{v, set, drop})
	switch v := v.(type) {
	case map[string]any:
		for _, k := range slices.Sorted(maps.Keys(v)) {
			out = slots(v[k], func(x any) { v[k] = x }, func() { delete(v, k) }, out)
		}
	case []any:
		for i := range v {
			out = slots(v[i], func(x any) { v[i] = x }, func() { set(slices.Delete(slices.Clone(v), i, i+1)) }, out)
		}
	}
	return out
}

// parsed is a document with no more than a few entries in each list.
func parsed(t testing.TB, doc []byte) any {
	d := json.NewDecoder(bytes.NewReader(doc))
	d.UseNumber()
	var v any
	if err := d.Decode(&v); err != nil {
		t.Fatal(err)
	}
	return trim(v)
}

func trim(v any) any {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			v[k] = trim(x)
		}
	case []any:
		v = v[:min(len(v), 3)]
		for i := range v {
			v[i] = trim(v[i])
		}
		return v
	}
	return v
}

const nasty = "\x1b[2J\u202e\u200b\n::error::x ##[error]y ##vso[z \U000e0041\u0085\x7f"

// foreign are values that no honest run writes where they are put.
var foreign = []any{
	json.Number("-9223372036854775808"), json.Number("9223372036854775807"), json.Number("-1"), json.Number("0"), json.Number("1"), json.Number("2"),
	json.Number("2147483647"), json.Number("-2147483648"), json.Number("2147483648"), json.Number("1048576"), json.Number("1048577"),
	json.Number("1e308"), json.Number("-1e308"), json.Number("5e-324"), json.Number("1e400"), json.Number("0.5"), json.Number("1000000000000"),
	"", "a", nasty, "unlimited", "../../x", "error", "off", nil, true, false, []any{}, map[string]any{}, []any{nil}, []any{json.Number("-1")},
}

// mutate changes values of a parsed document: three bytes say which and how.
func mutate(v any, how []byte) any {
	for ; len(how) >= 3; how = how[3:] {
		all := slots(v, func(x any) { v = x }, func() {}, nil)
		n := int(how[0])<<8 | int(how[1])
		s, do := all[n%len(all)], int(how[2])
		switch {
		case do < 2*len(foreign):
			s.set(clone(foreign[do%len(foreign)])) // a map that stood in itself would have no end
		case do < 100:
			s.drop()
		case do < 200:
			// A value from elsewhere in the document.
			s.set(clone(all[(n+do*31)%len(all)].value))
		default:
			if list, ok := s.value.([]any); ok && len(list) > 0 && len(list) < 100 {
				s.set(append(slices.Clone(list), clone(list[do%len(list)])))
			}
		}
	}
	return v
}

func clone(v any) any {
	switch v := v.(type) {
	case map[string]any:
		out := map[string]any{}
		for k, x := range v {
			out[k] = clone(x)
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i, x := range v {
			out[i] = clone(x)
		}
		return out
	}
	return v
}

// shown holds what is written against what is true of every output: it does
// nothing to who looks at it.
func shown(t *testing.T, form string, data []byte) {
	t.Helper()
	for line := range strings.Lines(string(data)) {
		line = strings.TrimSuffix(line, "\n")
		if i := strings.IndexFunc(line, func(r rune) bool { return sanitize.Hides(r) && r != '\t' }); i >= 0 {
			t.Errorf("%s: %.80q", form, line[i:])
		}
		if form != "annotations" && sanitize.Line(line) != line {
			t.Errorf("%s: a line comes out raw: %.200q", form, line)
		}
		if strings.Contains(line, "##[") || strings.Contains(line, "##vso[") {
			t.Errorf("%s: a command: %.200q", form, line)
		}
		if form == "annotations" && !strings.HasPrefix(line, "::error ") && !strings.HasPrefix(line, "::warning ") && !strings.HasPrefix(line, "::notice ") {
			t.Errorf("annotations: %.200q", line)
		}
	}
}

// FuzzMergeValues puts foreign values into the parsed documents of two shares,
// which a change of bytes seldom finds, and merges them.
func FuzzMergeValues(f *testing.F) {
	doc := one(f)
	f.Add([]byte{})
	f.Add([]byte{0, 90, 5})
	honest := parsed(f, doc)
	all := slots(honest, func(any) {}, func() {}, nil)
	for i := range all {
		if _, ok := all[i].value.(json.Number); ok {
			f.Add([]byte{byte(i >> 8), byte(i), 0}) // each number once the smallest there is
		}
	}
	f.Fuzz(func(t *testing.T, how []byte) {
		if len(how) > 60 {
			return
		}
		one, two := clone(honest), clone(honest)
		for i, v := range []any{one, two} {
			share := v.(map[string]any)["share"].(map[string]any)
			share["number"], share["of"] = json.Number([]string{"1", "2"}[i]), json.Number("2")
		}
		one = mutate(one, how)
		var parts []*Part
		axes := NewAxes(true)
		for _, v := range []any{one, two} {
			text, err := json.Marshal(v)
			if err != nil {
				t.Fatal(err)
			}
			p, err := ReadShare(bytes.NewReader(text), axes)
			if err != nil {
				if sanitize.Line(err.Error()) != err.Error() {
					t.Errorf("%q", err)
				}
				return
			}
			parts = append(parts, p)
		}
		m, err := Merge(parts)
		if err != nil {
			return
		}
		meta := Meta{Version: "v", Name: m.Name}
		for form, write := range map[string]func(io.Writer) error{
			"text":        func(w io.Writer) error { return Text(w, &m.Run, Screen{}) },
			"json":        func(w io.Writer) error { return JSON(w, &m.Run, axes, nil) },
			"sarif":       func(w io.Writer) error { return SARIF(w, &m.Run, meta) },
			"junit":       func(w io.Writer) error { return JUnit(w, &m.Run, axes, meta) },
			"annotations": func(w io.Writer) error { return Annotations(w, &m.Run, meta) },
		} {
			var b bytes.Buffer
			if err := write(&b); err != nil {
				t.Errorf("%s: %v", form, err)
			}
			shown(t, form, b.Bytes())
		}
	})
}

// Every number of a share is bounded.
func TestLongShareNumbers(t *testing.T) {
	amount.Long(t)
	doc := one(t)
	for _, c := range []struct{ path, value string }{
		{"summary.axes", "-1"}, {"summary.axes", "9223372036854775807"}, {"summary.judged", "1e12"}, {"summary.not_judged", "-9223372036854775808"},
		{"findings.0.location.line", "-1"}, {"findings.0.location.byte", "-1"}, {"findings.0.location.end_byte", "2147483647"}, {"findings.0.location.column", "2147483647"},
		{"findings.0.inputs.0.location.end_line", "-2147483648"}, {"not_judged.0.location.line", "1048578"}, {"shortest_lists.0.waiting", "-5"},
		{"shortest_lists.0.judged", "9223372036854775807"}, {"share.number", "0"}, {"share.of", "1000000"}, {"share.unlimited.0", "-1"}, {"share.unlimited.0", "99999"},
		{"share.lines.0.lines.0.byte", "-9223372036854775808"}, {"share.lines.0.lines.0.line", "9223372036854775807"}, {"share.uses.0.line", "-1"},
		{"share.parts.0.location.line", "-1"}, {"share.parts.0.unlimited", "[7]"}, {"axes.0.location.byte", "-1"}, {"axes.0.rules.0.use", "1e400"},
		{"findings.0.use", "1e400"}, {"share.parts.0.values.lead.number", "1e400"},
	} {
		v := parsed(t, doc)
		at := v
		keys := strings.Split(c.path, ".")
		for _, k := range keys[:len(keys)-1] {
			switch x := at.(type) {
			case map[string]any:
				at = x[k]
			case []any:
				at = x[k[0]-'0']
			}
		}
		var value any = json.Number(c.value)
		if c.value[0] == '[' {
			value = []any{json.Number("7")}
		}
		switch x := at.(type) {
		case map[string]any:
			x[keys[len(keys)-1]] = value
		case []any:
			x[keys[len(keys)-1][0]-'0'] = value
		default:
			t.Fatalf("%s is not there", c.path)
		}
		text, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ReadShare(bytes.NewReader(text), nil); err == nil {
			t.Errorf("%s = %s is taken", c.path, c.value)
		}
	}
}

// An entry larger than any that is written is not held in memory.
func TestShareElement(t *testing.T) {
	for _, doc := range []string{`{"schema":"`, `{"findings":["`, `{"x":"`, `{"x":[[[`, `{"axes":[{"axis":"`, `{"`} {
		endless := &tape{head: doc}
		_, err := ReadShare(endless, nil)
		if err == nil || endless.given > 2*maxElement {
			t.Errorf("%s: %d MB were read; %v", doc, endless.given>>20, err)
		}
	}
	if math.MaxInt64 < MaxShare+spec.MaxFileSize {
		t.Error("offsets do not fit")
	}
}

// A tape goes on for ever.
type tape struct {
	head  string
	given int
}

func (e *tape) ReadAt(p []byte, at int64) (int, error) {
	n := copy(p, e.head[min(at, int64(len(e.head))):])
	for i := n; i < len(p); i++ {
		p[i] = 'a'
	}
	e.given += len(p)
	return len(p), nil
}
