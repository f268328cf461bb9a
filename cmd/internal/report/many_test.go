package report

import (
	"bytes"
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"trammel/rules/judge/run"
	"trammel/spec"
)

// Of many axes each has one line; what they say is the same, packed or not.
func TestManyAxes(t *testing.T) {
	at := spec.Place{File: "a/\u202eb.axis.hcl", Line: 1, Col: 1, EndLine: 1, EndCol: 2}
	axes := func(pack bool) (out []*Axis) {
		for _, name := range []string{"b", "##[a]"} {
			a := &Axis{Axis: name, Place: placeJSON(at), Moves: []string{}, Rules: []jsonRule{{Rule: "r", State: "passed", jsonCompared: jsonCompared{Value: 1.5}}}, sortKey: at}
			if at.Line++; pack {
				a.Pack()
			}
			out = append(out, a)
		}
		at.Line = 1
		return out
	}
	write := func(n int, pack bool) (string, map[string]any) {
		var b bytes.Buffer
		if err := JSON(&b, &Run{Summary: &run.Summary{Axes: n}}, axes(pack), nil); err != nil {
			t.Fatal(err)
		}
		var v map[string]any
		if err := json.Unmarshal(b.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		delete(v, "summary")
		return b.String(), v
	}
	few, content := write(ManyAxes, false)
	for _, n := range []int{ManyAxes, ManyAxes + 1} {
		whole, a := write(n, false)
		packed, b := write(n, true)
		if whole != packed || !reflect.DeepEqual(a, content) || !reflect.DeepEqual(b, content) {
			t.Errorf("%d axes: packed\n%s\nand not\n%s", n, packed, whole)
		}
		if oneLine := strings.Contains(whole, "\n    {\"axis\":\"b\""); oneLine != (n > ManyAxes) {
			t.Errorf("%d axes: %s", n, whole)
		}
	}
	if strings.Contains(few, "##[") || strings.Contains(few, "\u202e") {
		t.Errorf("signs that hide or command: %s", few)
	}
}
