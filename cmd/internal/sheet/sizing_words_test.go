package sheet

import (
	"bytes"
	"context"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/cmd/internal/document"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/sizing"
	"trammel/spec"
)

const (
	twoScrews = `screw "a" {
  nominal_diameter = "20 mm"
  root_diameter    = "17 mm"
  lead             = "10 mm"
  dynamic_rating   = "15 kN"
  static_rating    = "30 kN"
}
screw "b" {
  nominal_diameter = "25 mm"
  lead             = "10 mm"
}
motor "m" {
  rated_torque = "3 N·m"
}
`
	bareLift = `axis "x" {
  orientation = "vertical"
  load {
    mass     = "30 kg"
    friction = 0.01
  }
  motion {
    move "up" {
      distance = "300 mm"
      speed    = "0.2 m/s"
      ramp     = "0.1 s"
    }
  }
  screw {
    part          = screw.a
    root_diameter = "16.9 mm"
    length        = "500 mm"
  }
  nut {
    preload     = "500 N"
    drag_torque = "0.2 N·m"
    length      = "60 mm"
  }
  drive {
    motor = motor.m
  }
}
`
)

// sized gives the text of a sizing, or why there is none.
func sized(t *testing.T, axis, policy string) (text string, err error) {
	t.Helper()
	tree := spec.NewTree(fstest.MapFS{"a.axis.hcl": {Data: []byte(axis)}, "p.parts.hcl": {Data: []byte(twoScrews)}, "h.policy.hcl": {Data: []byte(policy)}})
	run.Files(rules.Book(), tree, []string{"a.axis.hcl"}, run.Options{Today: testDay, As: run.Look{Each: func(rep *judge.Report) {
		if rep.View.Axis.Name != "x" {
			return
		}
		var z *sizing.Result
		if z, err = sizing.Find(context.Background(), rep, sizing.Options{Today: testDay, Level: judge.Warning}); err != nil {
			return
		}
		var b bytes.Buffer
		if e := document.Text(&b, Sizing(z, Options{Show: show})); e != nil {
			t.Fatal(e)
		}
		text = b.String()
	}}})
	return strings.Join(strings.Fields(text), " "), err
}

// A sizing says in words which lines of the axis do not hold for another screw, and of a
// rule that could not be judged what was missing.
func TestSizingWords(t *testing.T) {
	t.Parallel()
	text, err := sized(t, bareLift, "")
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"* not used: the declared drag torque of the nut, which is that of one screw at one preload",
		"* lines of the axis that another screw replaces: screw root diameter 16.9 mm",
		"* no. 2: not judged: shaft-stress (root_diameter of screw.b is missing)",
		"(static_rating of screw.b is missing; duty.shock is missing)",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is missing in\n%s", want, text)
		}
	}
}

// Whatever keeps an axis from being sized is said at once.
func TestNotSized(t *testing.T) {
	t.Parallel()
	both := strings.Replace(bareLift, "    friction = 0.01\n", "    friction = \"much\"\n    carries  = [axis.y]\n", 1) + "axis \"y\" {\n}\n"
	for axis, want := range map[string]string{
		both: "some of its lines, or of its parts' or machine's, could not be read; the mass of an axis it carries is not known",
		strings.Replace(both, "\"much\"", "0.01", 1): "the mass of an axis it carries is not known",
	} {
		if _, err := sized(t, axis, ""); err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}
