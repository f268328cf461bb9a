package judge

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"trammel/rules/judge/testaxis"
)

// TestComparedMakesTheUse: the value and the limit of a result give its use, whatever is
// assumed and within whatever tolerance the worst case lies.
func TestComparedMakesTheUse(t *testing.T) {
	seen := 0
	testaxis.Check(t, 60, func(rt *rapid.T) {
		s := testaxis.DrawSheet(rt)
		if rapid.Bool().Draw(rt, "assumed") {
			s = open(s)
		}
		j, b, v := load(s, rt)
		for _, r := range j.Judge(b, v.Axis, nil).Results {
			c := r.Compared
			if c.Of == nil {
				continue
			}
			if r.State != Passed && r.State != Failed && r.State != Unjudged {
				rt.Fatalf("%s %s compares %g with %g", r.Rule, r.State, c.Value, c.Limit)
			}
			x, limit := c.Value, c.Limit
			if c.Sense == AtLeast {
				x, limit = limit, x
			}
			if limit <= 0 || math.IsInf(limit, 1) {
				continue
			}
			if seen++; math.Abs(x/limit-r.Utilisation) > 1e-12*math.Abs(r.Utilisation) {
				rt.Fatalf("%s: %s %g %s %g uses %g, not %g", r.Rule, c.Of.Name, c.Value, c.Sense, c.Limit, r.Utilisation, x/limit)
			}
		}
	})
	if seen < 500 {
		t.Errorf("only %d comparisons", seen)
	}
}

// TestComparedUnits: a limit that is a share of another quantity is compared with the value
// as that much of it; else both are of the limit's kind.
func TestComparedUnits(t *testing.T) {
	j, b, v := load(testaxis.WholeSheet(), t)
	got := map[string]Compared{}
	for _, r := range j.Judge(b, v.Axis, nil).Results {
		got[r.Rule] = r.Compared
	}
	for rule, unit := range map[string]string{"critical-speed": "1", "motor-rms-torque": "N·m", "overtravel": "m", "static-safety": "1"} {
		if c := got[rule]; c.Of == nil || c.Kind.SI() != unit {
			t.Errorf("%s compares in %q: %+v", rule, c.Kind.SI(), c)
		}
	}
	if c := got["motor-rms-torque"]; c.Limit != 0.9*v.V(Book().ByName("motor-rms-torque").Tests[0].Against) {
		t.Errorf("%+v", c)
	}
}
