package report

import (
	"bytes"
	"io"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"trammel/cmd/internal/codec"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/spec"
)

// The lines of a share stand in the text made of them as they stood in the
// file, to the byte.
func TestLines(t *testing.T) {
	for _, src := range []string{
		"", "\n", "a", "a\nb\nc\n", "\n\n\nx\n\n\ny", "\ufeffä\r\n\r\nlonger line\n\n€\n", "one\n\ntwo\n   \nthree\nfour", "x\xffy\nz",
	} {
		all := strings.Split(src, "\n")
		for mask := range 1 << len(all) {
			wanted := map[int]bool{99: true}
			for i := range all {
				if mask>>i&1 == 1 {
					wanted[i+1] = true
				}
			}
			l := jsonLines{"f", linesOf([]byte(src), wanted)}
			got, err := l.source()
			if err != nil {
				t.Fatalf("%q %b: %v", src, mask, err)
			}
			lines := strings.Split(string(got), "\n")
			at := 0
			for i, want := range all {
				if wanted[i+1] && (lines[i] != want || string(got[at:at+len(want)]) != want) {
					t.Fatalf("%q %b: %q", src, mask, got)
				}
				at += len(want) + 1
			}
		}
	}
}

// Lines that do not fit are refused and cost nothing.
func TestLinesForeign(t *testing.T) {
	for _, lines := range [][]jsonLine{
		{{Line: 0}}, {{Line: -5}}, {{Line: math.MinInt}}, {{Line: math.MaxInt}}, {{Line: 2}}, {{Line: 1, Byte: 1}}, {{Line: 5, Byte: 1 << 40}},
		{{Line: 1, Text: "abc"}, {Line: 2, Byte: 3}}, {{Line: 1, Text: "abc"}, {Line: 1, Byte: 4}}, {{Line: 1, Text: "abc"}, {Line: 2, Byte: 5}},
		{{Line: 1, Byte: -1}}, {{Line: 1, Byte: math.MinInt}}, {{Line: math.MaxInt, Byte: math.MinInt}}, {{Line: math.MinInt, Byte: math.MaxInt}},
		{{Line: 1}, {Line: 1 << 40, Byte: spec.MaxFileSize}}, {{Line: 1, Text: strings.Repeat("x", spec.MaxFileSize+1)}},
	} {
		if _, err := (&jsonLines{"f", lines}).source(); err == nil {
			t.Errorf("%.200v is taken", lines)
		}
	}
}

// An axis that is kept comes back as it was.
func TestAxisRoundTrip(t *testing.T) {
	_, axes := bakery(t)
	_, full := checkedAll(t, "../../../fixtures/bakery", true)
	for _, a := range append(axes, full...) {
		w := &codec.Writer{}
		a.Encode(w)
		r := codec.NewReader(w.Bytes())
		if got := DecodeAxis(r); r.End() != nil || !reflect.DeepEqual(got, a) {
			t.Fatalf("%v\ngot  %+v\nwant %+v", r.Err(), got, a)
		}
	}
}

// one is a share with all there can be in it.
func one(t testing.TB) []byte {
	run, axes := checkedAll(t, "../../../fixtures/bakery", true)
	run.Findings[0].Utilisation = math.Inf(1)
	run.Parts = []judge.PartFacts{{Kind: "screw", Name: "a", Ref: "screw.a", Place: run.Findings[0].Place, Listed: true, Faults: run.Findings[:1],
		Values: map[string]judge.PartValue{"lead": {Text: "3 mm", Number: 0.003}}, Asked: slices.Repeat([]judge.PartAsked{{Severity: judge.Warning}}, len(rules.Book().AcrossParts()))}}
	run.Uses = []spec.Place{run.Findings[1].Place}
	s := &Share{Number: 1, Of: 1, Version: "v", Day: "2026-11-02", Fixes: true, Quantities: true, Whole: true}
	s.Fill(run)
	var b bytes.Buffer
	if err := JSON(&b, run, kept(axes...), s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func FuzzMerge(f *testing.F) {
	whole := one(f)
	f.Add([]byte("{}"))
	f.Add([]byte(`{"schema":"trammel.check/1","summary":{},"findings":[{"rule":"r","severity":"note","message":"","location":null,"use":1e400}],"not_judged":[],"shortest_lists":[],"axes":[],"share":{"number":1,"of":1,"unlimited":[0]}}`))
	f.Add([]byte(`{"schema":"trammel.check/1","summary":{"axes":1},"findings":[],"not_judged":[{"location":{"file":"a","line":-1}}],"shortest_lists":[],"share":{"number":1,"of":1,"whole":true,"lines":[{"file":"a","lines":[{"line":2,"byte":9}]}]},"axes":[{"axis":"a","quantities":[{"name":"x","value":[1]}]}]}`))
	if len(whole) > 1<<16 {
		cut := bytes.Index(whole, []byte(`"axes": [`))
		f.Add(append(bytes.Clone(whole[:cut]), []byte("\"axes\": []\n}\n")...))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		axes := NewAxes(true)
		p, err := ReadShare(bytes.NewReader(data), axes)
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("%q", err)
			}
			return
		}
		m, err := Merge([]*Part{p})
		if err != nil {
			return
		}
		meta := Meta{Version: "v", Name: m.Name}
		for _, err := range []error{
			Text(io.Discard, &m.Run, Screen{}), JSON(io.Discard, &m.Run, axes, nil), SARIF(io.Discard, &m.Run, meta),
			JUnit(io.Discard, &m.Run, axes, meta), Annotations(io.Discard, &m.Run, meta),
		} {
			if err != nil {
				t.Error(err)
			}
		}
	})
}

// What is in a share comes out of a merge of it alone.
func TestShareRoundTrip(t *testing.T) {
	p, err := ReadShare(bytes.NewReader(one(t)), nil)
	if err != nil {
		t.Fatal(err)
	}
	m, err := Merge([]*Part{p})
	if err != nil {
		t.Fatal(err)
	}
	if !math.IsInf(m.Findings[0].Utilisation, 1) {
		t.Error("a limit of nothing is lost")
	}
	found := false
	for _, f := range m.Findings {
		found = found || f.Rule == "unused-part" && f.Severity == judge.Warning
	}
	if !found {
		t.Error("the part that no axis uses is not found")
	}
}
