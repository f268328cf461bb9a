package rules_test

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"trammel/rules/judge"
	"trammel/spec/step"
)

func cone(from, to, a, b float64) step.Segment {
	return step.Segment{Surface: step.Cone, From: from, To: to, Diameter: [2]float64{a, b}}
}

// Models that are not the shaft that is declared, in places where the declared numbers
// alone would not show it: none of them passes.
func TestModelsThatWouldDeceive(t *testing.T) {
	t.Parallel()
	journals := strings.TrimSuffix(declaredShaft, "}\n") + "  drive_journal {\n    diameter = \"15 mm\"\n  }\n}\n"
	steps := strings.TrimSuffix(strings.Replace(declaredShaft, `"15 mm", "12 mm"`, `"15.2 mm", "12 mm"`, 1), "}\n") + `  drive_journal {
    diameter           = "12 mm"
    seat_diameter      = "15.2 mm"
    seat_length        = "24 mm"
    stub_diameter      = "12 mm"
    stub_length        = "22 mm"
  }
  far_journal {
    groove          = "ring"
    groove_width    = "1.1 mm"
    groove_diameter = "11.5 mm"
    groove_at       = "11.9 mm"
  }
}
`
	alike := strings.NewReplacer(`["58 mm", "22 mm"]`, `["50 mm", "50 mm"]`, `["15 mm", "12 mm"]`, `["15 mm", "15 mm"]`).Replace(strings.TrimSuffix(declaredShaft, "}\n")) +
		"  drive_journal {\n    seat_diameter = \"15 mm\"\n    seat_length = \"30 mm\"\n  }\n  far_journal {\n    seat_diameter = \"15 mm\"\n    seat_length = \"20 mm\"\n  }\n}\n"
	one := modelText(t, agreeing...)
	shell := []byte("MANIFOLD_SOLID_BREP('shaft',")
	at := bytes.Index(one, shell) + len(shell)
	end := at + bytes.IndexByte(one[at:], ')')
	voids := bytes.ReplaceAll(append(append(bytes.Clone(one[:end]), ",()"...), one[end:]...), []byte("MANIFOLD_SOLID_BREP"), []byte("BREP_WITH_VOIDS"))
	for name, c := range map[string]struct {
		text  string
		model []byte
		want  judge.State
		says  string
	}{
		"a long taper up to the thread, which is no chamfer": {declaredShaft,
			modelText(t, cylinder(0, 28, 15), cone(28, 58, 15, 20), cylinder(58, 878, 20), cylinder(878, 900, 12)), judge.Failed, "largest diameter of the driven end is declared as 15 mm, in the model it is 20 mm"},
		"a taper where there should be thread": {declaredShaft,
			modelText(t, cylinder(0, 58, 15), cone(58, 88, 15, 20), cylinder(88, 878, 20), cylinder(878, 900, 12)), judge.Failed, "driven end is declared 58 mm long, in the model it is 88 mm"},
		"a tapered journal": {declaredShaft,
			modelText(t, cone(0, 58, 8, 15), cylinder(58, 878, 20), cylinder(878, 900, 12)), judge.Passed, ""},
		"a tapered journal, calculated as a cylinder": {journals,
			modelText(t, cone(0, 58, 8, 15), cylinder(58, 878, 20), cylinder(878, 900, 12)), judge.Failed, "smallest diameter of the driven end is declared as 15 mm, in the model it is 8 mm"},
		"a taper thicker than its journal": {declaredShaft,
			modelText(t, cylinder(0, 20, 15), cone(20, 58, 15, 18), cylinder(58, 878, 20), cylinder(878, 900, 12)), judge.Failed, "largest diameter of the driven end is declared as 15 mm, in the model it is 18 mm"},
		"a neck of two cones": {journals,
			modelText(t, cylinder(0, 20, 15), cone(20, 21, 15, 6), cone(21, 22, 6, 15), cylinder(22, 58, 15), cylinder(58, 878, 20), cylinder(878, 900, 12)), judge.Failed, "declared as 15 mm, in the model it is 6 mm"},
		"steps of an end as declared": {steps,
			modelText(t, cylinder(0, 22, 12), cylinder(22, 34, 15), cylinder(34, 58, 15.2), cylinder(58, 878, 20), cylinder(878, 887, 12), cylinder(887, 888.1, 11.5), cylinder(888.1, 900, 12)), judge.Passed, ""},
		"a seat that is too short, a stub too long": {steps,
			modelText(t, cylinder(0, 28, 12), cylinder(28, 40, 13), cylinder(40, 58, 15.2), cylinder(58, 878, 20), cylinder(878, 900, 12)), judge.Failed,
			"bearing seat of the driven end is declared 24 mm long, in the model it is 18 mm (a.step:#97)\nstub of the driven end is declared 22 mm long, in the model it is 28 mm"},
		"a seat of another diameter": {steps,
			modelText(t, cylinder(0, 22, 12), cylinder(22, 34, 14), cylinder(34, 58, 15), cylinder(58, 878, 20), cylinder(878, 900, 12)), judge.Failed,
			"bearing seat of the driven end is declared 15.2 mm thick; in the model the end has no cylinder of that diameter"},
		"a stub with a groove": {strings.Replace(steps, "groove_at       = \"11.9 mm\"", "groove_at       = \"11.9 mm\"\n    stub_diameter = \"12 mm\"\n    stub_length = \"22 mm\"", 1),
			modelText(t, cylinder(0, 22, 12), cylinder(22, 34, 15), cylinder(34, 58, 15.2), cylinder(58, 878, 20), cylinder(878, 887, 12), cylinder(887, 888.1, 11.5), cylinder(888.1, 900, 12)), judge.Passed, ""},
		"a groove elsewhere": {steps,
			modelText(t, cylinder(0, 22, 12), cylinder(22, 34, 15), cylinder(34, 58, 15.2), cylinder(58, 878, 20), cylinder(878, 885, 12), cylinder(885, 886.1, 11.5), cylinder(886.1, 900, 12)), judge.Failed,
			"groove in the far end is declared 11.9 mm from the end, in the model it is 13.9 mm"},
		"a groove that is not there": {steps,
			modelText(t, cylinder(0, 22, 12), cylinder(22, 34, 15), cylinder(34, 58, 15.2), cylinder(58, 878, 20), cylinder(878, 900, 12)), judge.Failed,
			"a ring groove is declared in the far end; the model has none there"},
		"a keyway that is not there": {strings.Replace(steps, "drive_journal {", "drive_journal {\n    keyway = \"end-milled\"", 1),
			modelText(t, cylinder(0, 22, 12), cylinder(22, 34, 15), cylinder(34, 58, 15.2), cylinder(58, 878, 20), cylinder(878, 887, 12), cylinder(887, 888.1, 11.5), cylinder(888.1, 900, 12)), judge.Unjudged,
			"the keyway that is declared for the driven end is not in the model"},
		"thread and stub of one diameter": {strings.Replace(steps, "stub_length        = \"22 mm\"", "stub_length        = \"22 mm\"\n    lock_thread = \"M12x1\"\n    lock_thread_length = \"12 mm\"", 1),
			modelText(t, cylinder(0, 34, 12), cylinder(34, 58, 15.2), cylinder(58, 878, 20), cylinder(878, 887, 12), cylinder(887, 888.1, 11.5), cylinder(888.1, 900, 12)), judge.Passed, ""},
		"ends alike but for their steps, drawn from the far end": {alike,
			modelText(t, cylinder(0, 30, 12), cylinder(30, 50, 15), cylinder(50, 850, 20), cylinder(850, 880, 15), cylinder(880, 900, 12)), judge.Passed, ""},
		"ends alike, with the steps of neither": {alike,
			modelText(t, cylinder(0, 25, 12), cylinder(25, 50, 15), cylinder(50, 850, 20), cylinder(850, 875, 15), cylinder(875, 900, 12)), judge.Failed, "bearing seat of the driven end is declared 30 mm long, in the model it is 25 mm"},
		"another shaft": {declaredShaft,
			modelText(t, cylinder(0, 70, 18), cylinder(70, 1178, 25), cylinder(1178, 1200, 17)), judge.Failed, "the model seems to be of another shaft: 1200 mm long with a thread of 25 mm"},
		"another thread length between ends that are as thick": {declaredShaft,
			modelText(t, cylinder(0, 78, 15), cylinder(78, 878, 20), cylinder(878, 900, 12)), judge.Failed, "driven end is declared 58 mm long, in the model it is 78 mm"},
		"a chamfer at the end": {journals,
			modelText(t, cone(0, 1, 13, 15), cylinder(1, 58, 15), cylinder(58, 878, 20), cylinder(878, 900, 12)), judge.Passed, ""},
		"hollow within": {declaredShaft, voids, judge.Unjudged, "model a.step: the shaft has hollows within, which are not read"},
		"the thread is a journal's length too long, the far end too short": {declaredShaft,
			modelText(t, cylinder(0, 58, 15), cylinder(58, 888, 20), cylinder(888, 900, 12)), judge.Failed, "far end is declared 22 mm long, in the model it is 12 mm"},
		"the ends changed places, as in the mirrored shaft of a neighbour": {declaredShaft,
			modelText(t, cylinder(0, 58, 12), cylinder(58, 878, 20), cylinder(878, 900, 15)), judge.Failed, ""},
		"no ends": {declaredShaft, modelText(t, cylinder(0, 900, 20)), judge.Failed, "driven end is declared 58 mm long, in the model it is 0 mm"},
	} {
		res, found := askModel(t, c.text, c.model)
		all := res.Why
		for _, f := range found {
			all += "\n" + f.Message
		}
		if res.State != c.want || !strings.Contains(all, c.says) {
			t.Errorf("%s: %v; want %v, %q:\n%s", name, res.State, c.want, c.says, all)
		}
		if name == "another shaft" && len(found) != 1 {
			t.Errorf("%s: %d findings:\n%s", name, len(found), all)
		}
	}
}

// Of ends that are alike it is said that a keyway cannot be placed, and nothing passes.
func TestModelOfAlikeEndsIsNotJudged(t *testing.T) {
	t.Parallel()
	keyed, err := os.ReadFile("../fixtures/rules/model-agrees/cad/keyed.step")
	if err != nil {
		t.Fatal(err)
	}
	text := strings.NewReplacer("\n    end_lengths      = [\"58 mm\", \"22 mm\"]", "", "\n    end_diameters    = [\"15 mm\", \"12 mm\"]", "").Replace(declaredShaft)
	if res, _ := askModel(t, text, keyed); res.State != judge.Unjudged || !strings.Contains(res.Why, "too much alike") {
		t.Errorf("%v %s", res.State, res.Why)
	}
}
