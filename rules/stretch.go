package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var stretch = judge.Rule{
	Name:     "stretch",
	Question: "Is the stretch of the shaft within the usual range for its ends and bearings?",
	Doc: `A shaft between two fixed ends is mounted with a stretch so that it may grow warm
without pushing. Usually the stretch equals the growth over 3 K; more than the growth over 5 K
loads the bearings needlessly and makes the travel too long (thermal-growth). Shafts above 50 mm diameter
are not stretched: the force grows with the section, and the bearings cannot carry it. A stretch
needs two fixed ends to hold it.

Caution: a stretched shaft stores force, which is released when a support or its lock nut is
loosened. Relieve it at the nut that applied it, evenly and by the maker's instruction, before
work on the supports. Local rules and licensed practice take precedence.`,
	Source:   "3 to 5 K and 50 mm: common practice, no source",
	Caution:  relieveShaft,
	Severity: judge.Warning,
	Reasons:  []judge.Reason{{Words: "the shaft is mounted without stretch", If: func(v *judge.View) bool { return v.V(m.Stretch) == 0 }}},
	Check: func(v *judge.View) []judge.Fault {
		s := v.Value(judge.Field("supports.stretch"))
		if s == nil || s.Num.High <= 0 || bothEndsFixed(v) {
			return nil
		}
		var out []judge.Fault
		for _, path := range []string{"supports.drive_end", "supports.far_end"} {
			if e := v.Value(judge.Field(path)); e != nil && e.Word != m.FixedEnd {
				out = append(out, judge.Fault{At: s.Field, Move: -1, Severity: judge.Error, Inputs: judge.Fields(path),
					Message: fmt.Sprintf("stretch %s needs two fixed ends; %s is %s", v.Text(s), judge.Readable(e.Field.Name), e.Text)})
			}
		}
		return out
	},
	Wants: judge.Fields("supports.drive_end", "supports.far_end"),
	Tests: []judge.Test{
		{
			Limit: judge.Limit{Name: "limit", Doc: "temperature rise that the stretch takes up", Kind: unit.TemperatureDifference, Sense: judge.AtMost, Default: 5},
			Value: m.StretchTemperature,
			Needs: quantities(m.StretchForce),
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("stretch %s takes up a temperature rise of %s and stores %s in the shaft; usual maximum %s",
					v.F(m.Stretch), v.F(m.StretchTemperature), v.F(m.StretchForce), v.Show(limit, unit.TemperatureDifference))
			},
			At:         at("supports.stretch"),
			Inputs:     quantities(m.Span, m.Expansion, m.RootDiameter, m.TemperatureRise),
			Parameters: parameters(lessStretch),
		},
		{
			Limit: judge.Limit{Name: "diameter", Doc: "nominal diameter of a stretched shaft", Kind: unit.Length, Sense: judge.AtMost, Default: 50e-3},
			Value: m.NominalDiameter,
			Needs: quantities(m.StretchForce),
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("shaft of %s is stretched with %s; shafts above %s are usually not stretched",
					v.F(m.NominalDiameter), v.F(m.StretchForce), v.Show(limit, unit.Length))
			},
			At:     func(*judge.View) (*spec.Field, int) { return judge.Field("supports.stretch"), -1 },
			Inputs: quantities(m.NominalDiameter, m.Stretch),
		},
	},
}
