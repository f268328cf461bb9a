package rules_test

import (
	"fmt"
	"strings"
	"testing"

	"trammel/rules"
	"trammel/rules/judge"
)

// TestRisingCaution: papers say that a counterbalance drives the axis up, and when. 60 kg weigh
// 588 N and 80 kg 785 N; of an incline of 30 degrees 294 and 392 N, and guides of 0.05 hold
// 25.5 and 34 N there.
func TestRisingCaution(t *testing.T) {
	for _, x := range []struct{ stands, counterbalance, of string }{
		{`orientation = "vertical"`, "580 N", ""}, {`orientation = "vertical"`, "600 N", "the empty carriage"},
		{`orientation = "vertical"`, "780 N", "the empty carriage"}, {`orientation = "vertical"`, "790 N", "carriage and payload"},
		{`incline = "30 deg"`, "318 N", ""}, {`incline = "30 deg"`, "322 N", "the empty carriage"}, {`incline = "30 deg"`, "430 N", "carriage and payload"},
		{`orientation = "horizontal"`, "0 N", ""},
	} {
		tree := treeOf(map[string][]byte{"a.axis.hcl": fmt.Appendf(nil, `axis "a" {
  %s
  load {
    mass           = "60 kg"
    friction       = 0.05
    counterbalance = "%s"
  }
  motion {
    move "up" {
      distance = "100 mm"
      payload  = "20 kg"
    }
  }
}
`, x.stands, x.counterbalance)})
		rep := rules.Book().NewJudge(fixtureDay, false).Judge(judge.NewScratch(), tree.ReadAxes("a.axis.hcl").Axes[0], nil)
		said := strings.Join(rules.Cautions(rep.View), "\n")
		if strings.Contains(said, "Rising axis") != (x.of != "") || !strings.Contains(said, "exceeds the weight of "+x.of) && x.of != "" {
			t.Errorf("%s, %s: expected %q:\n%s", x.stands, x.counterbalance, x.of, said)
		}
	}
}
