package sheet_test

import (
	"bytes"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/sheet"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
	"trammel/spec/step"
)

const drawnAxis = `axis "lift" {
  screw {
    model            = "lift.step"
    nominal_diameter = "0.75 in"
    lead             = "10 mm"
    root_diameter    = "17.2 mm"
    length           = "900 mm"
    end_lengths      = ["58 mm", "0 mm"]
    end_diameters    = ["15 mm", "12 mm"]
  }
}
`

// eachReport judges an axis, with a model if there is one.
func eachReport(text string, model []byte, do func(*judge.Report)) {
	tree := spec.NewTree(fstest.MapFS{"a.axis.hcl": {Data: []byte(text)}, "lift.step": {Data: model}})
	run.Files(rules.Book(), tree, []string{"a.axis.hcl"}, run.Options{Today: time.Now(), As: run.Look{Each: do}})
}

// A shaft that is written as a model agrees with the axis it was written of.
func TestWrittenShaftAgrees(t *testing.T) {
	t.Parallel()
	var model bytes.Buffer
	eachReport(drawnAxis, nil, func(rep *judge.Report) {
		if err := sheet.ShaftOf(rep).STEP(&model); err != nil {
			t.Fatal(err)
		}
	})
	if !strings.Contains(model.String(), "'thread, nominal diameter 0.75 in, lead 10 mm, root diameter 17.2 mm'") {
		t.Error("the thread is not named")
	}
	asked := false
	eachReport(drawnAxis, model.Bytes(), func(rep *judge.Report) {
		for _, r := range rep.Results {
			if asked = asked || r.Rule == "model-agrees"; r.Rule == "model-agrees" && r.State != judge.Passed {
				t.Errorf("%v %s", r.State, r.Why)
			}
		}
	})
	if !asked {
		t.Error("the rule was not asked")
	}
}

func TestShaftThatCannotBeDrawn(t *testing.T) {
	t.Parallel()
	for want, change := range map[string][2]string{
		"shaft of lift cannot be drawn: declare screw.length": {"    length           = \"900 mm\"\n", ""},
		"segment 2 has no size; check screw.length":           {`"900 mm"`, `"50 mm"`},
	} {
		eachReport(strings.Replace(drawnAxis, change[0], change[1], 1), nil, func(rep *judge.Report) {
			var b bytes.Buffer
			if err := sheet.ShaftOf(rep).STEP(&b); err == nil || !strings.Contains(err.Error(), want) || b.Len() > 0 {
				t.Errorf("got %v and %d bytes; want %s", err, b.Len(), want)
			}
		})
	}
}

// The sheet shows the model as it is, with the declared shaft beside it, the driven end
// first; of one that cannot be read it says why, and without a model it says nothing.
func TestSheetShowsModel(t *testing.T) {
	t.Parallel()
	var model bytes.Buffer
	// Its thread is 10 mm shorter, and it is drawn the other way round.
	list := []step.Segment{{Surface: step.Cylinder, To: 832, Diameter: [2]float64{19.05, 19.05}}, {Surface: step.Cylinder, From: 832, To: 890, Diameter: [2]float64{15, 15}}}
	if err := step.Write(&model, "shaft", list, step.Vec{}, step.Vec{1, 0, 0}, func(int) string { return "" }); err != nil {
		t.Fatal(err)
	}
	written := func(text string, model []byte) (out string) {
		eachReport(text, model, func(rep *judge.Report) {
			var b bytes.Buffer
			if err := document.Text(&b, sheet.Build(rep, sheet.Options{Show: func(p spec.Place) spec.Place { return p }})); err != nil {
				t.Fatal(err)
			}
			out = b.String()
		})
		return out
	}
	got := strings.Join(strings.Fields(written(drawnAxis, model.Bytes())), " ")
	for _, want := range []string{"Shaft in the model", "model 890 mm long; declared 900 mm", "0 mm 58 mm cylinder 15 mm #", "58 mm 890 mm cylinder 19.1 mm #"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is missing in %s", want, got[:min(len(got), 3000)])
		}
	}
	if got := written(drawnAxis, []byte("no model")); !strings.Contains(got, "lift.step: it cannot be read: line 1: this is not a STEP file") {
		t.Error("it is not said why the model is not shown")
	}
	if got := written(strings.Replace(drawnAxis, "    model            = \"lift.step\"\n", "", 1), nil); strings.Contains(got, "Shaft in the model") {
		t.Error("a model that nobody named")
	}
}
