package sheet_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"pgregory.net/rapid"

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
    root_diameter    = "17.3 mm"
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
	if !strings.Contains(model.String(), "'thread, nominal diameter 0.75 in, lead 10 mm, root diameter 17.3 mm'") {
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

// So does one with any machined ends that are declared from thread to end: its steps and
// grooves are drawn as declared.
func TestWrittenStepsAgree(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		var ends [2]string
		var long, thick [2]int
		grooves := 0
		for i, block := range []string{"drive_journal", "far_journal"} {
			mm := func(low, high int, name string) int { return rapid.IntRange(low, high).Draw(rt, block+" "+name) }
			stub, seat := mm(8, 11, "stub"), mm(12, 15, "seat")
			collar, collarLong := mm(16, 19, "collar"), mm(0, 6, "collar length")
			stubLong, seatLong, lockLong := mm(15, 30, "stub length"), mm(10, 30, "seat length"), mm(0, 12, "lock thread length")
			text := fmt.Sprintf("stub_diameter = \"%d mm\"\nstub_length = \"%d mm\"\nseat_diameter = \"%d mm\"\nseat_length = \"%d mm\"\n", stub, stubLong, seat, seatLong)
			long[i], thick[i] = stubLong+seatLong, seat
			if lockLong > 0 {
				text += fmt.Sprintf("lock_thread = \"M%dx1\"\nlock_thread_length = \"%d mm\"\n", mm(stub, seat, "lock thread"), lockLong)
				long[i] += lockLong
			}
			if collarLong > 0 {
				text += fmt.Sprintf("shoulder_diameter = \"%d mm\"\nshoulder_length = \"%d mm\"\n", collar, collarLong)
				long[i], thick[i] = long[i]+collarLong, collar
			}
			if rapid.Bool().Draw(rt, block+" groove") {
				text += fmt.Sprintf("groove = \"ring\"\ngroove_width = \"1.1 mm\"\ngroove_diameter = \"%g mm\"\ngroove_at = \"%d mm\"\n", float64(stub)-0.8, mm(2, stubLong-3, "groove at"))
				grooves++
			}
			ends[i] = block + " {\n" + text + "}\n"
		}
		text := fmt.Sprintf("axis \"lift\" {\nscrew {\nmodel = \"lift.step\"\nnominal_diameter = \"20 mm\"\nroot_diameter = \"17.3 mm\"\nlength = \"900 mm\"\n"+
			"end_lengths = [\"%d mm\", \"%d mm\"]\nend_diameters = [\"%d mm\", \"%d mm\"]\n}\n%s%s}\n", long[0], long[1], thick[0], thick[1], ends[0], ends[1])
		var model bytes.Buffer
		eachReport(text, nil, func(rep *judge.Report) {
			if err := sheet.ShaftOf(rep).STEP(&model); err != nil {
				rt.Fatalf("%v:\n%s", err, text)
			}
		})
		if n := strings.Count(model.String(), ", groove'"); n < grooves {
			rt.Errorf("%d of %d grooves are drawn", n, grooves)
		}
		asked := false
		eachReport(text, model.Bytes(), func(rep *judge.Report) {
			for _, r := range rep.Results {
				if r.Rule != "model-agrees" {
					continue
				}
				asked = true
				alike := r.State == judge.Unjudged && strings.Contains(r.Why, "too much alike") // ends of one outline
				if r.State != judge.Passed && !alike {
					rt.Errorf("%v %s %+v:\n%s", r.State, r.Why, rep.Findings, text)
				}
			}
		})
		if !asked {
			rt.Error("the rule was not asked")
		}
	})
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
