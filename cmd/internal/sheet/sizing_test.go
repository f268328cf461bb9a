package sheet

import (
	"bytes"
	"context"
	"encoding/json"
	"strings"
	"testing"

	"trammel/cmd/internal/document"
	"trammel/rules/judge"
	"trammel/rules/sizing"
	"trammel/spec/amount"
)

// lift is what was made once.
var lift struct {
	z *sizing.Result
	f *sizing.FreeDesign
}

// sizings makes a sizing and a free design of the lift of the library.
func sizings(tb testing.TB) (z *sizing.Result, f *sizing.FreeDesign) {
	tb.Helper()
	if lift.z != nil {
		return lift.z, lift.f
	}
	build(tb, fixtureTree("library"), buildOptions{each: func(rep *judge.Report) {
		if rep.View.Axis.Name != "lift" {
			return
		}
		opt := sizing.Options{Today: testDay, Level: judge.Warning}
		var err error
		if z, err = sizing.Find(context.Background(), rep, opt); err != nil {
			tb.Fatal(err)
		}
		if f, err = sizing.FindFree(context.Background(), rep, opt); err != nil {
			tb.Fatal(err)
		}
	}})
	lift.z, lift.f = z, f
	return z, f
}

// The three forms and the JSON say the same of a sizing.
func TestLongSizingForms(t *testing.T) {
	amount.Long(t)
	z, f := sizings(t)
	o := Options{Show: show}
	for name, s := range map[string]*document.Document{"sizing": Sizing(z, o), "free": Free(f, o)} {
		var text, md, page bytes.Buffer
		if err := document.Text(&text, s); err != nil {
			t.Fatal(err)
		}
		if err := document.Markdown(&md, s); err != nil {
			t.Fatal(err)
		}
		if err := document.HTML(&page, document.Page{Title: s.Title}, s); err != nil {
			t.Fatal(err)
		}
		for _, sec := range s.Sections {
			for form, b := range map[string]string{"text": text.String(), "markdown": md.String(), "html": page.String()} {
				if !strings.Contains(b, sec.Title) {
					t.Errorf("%s as %s: no section %s", name, form, sec.Title)
				}
			}
		}
	}
	var b bytes.Buffer
	if err := SizingJSON(&b, z, o); err != nil {
		t.Fatal(err)
	}
	var got struct {
		Holding int `json:"holding"`
		Answers []struct {
			Picks []struct {
				Choice, Take string
			} `json:"picks"`
			Use *float64 `json:"largest_use"`
		} `json:"answers"`
	}
	if err := json.Unmarshal(b.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if got.Holding != z.Holding || len(got.Answers) != len(z.Answers) || got.Answers[0].Picks[0].Take != z.Answers[0].Picks[0].Words || *got.Answers[0].Use != z.Answers[0].Utilisation {
		t.Errorf("%+v", got)
	}
	b.Reset()
	if err := FreeJSON(&b, f, o); err != nil {
		t.Fatal(err)
	}
	if !json.Valid(b.Bytes()) || strings.Count(b.String(), `"lead"`) != len(f.Needs) {
		t.Error(b.String())
	}
}
