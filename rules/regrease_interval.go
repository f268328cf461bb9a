package rules

import (
	"fmt"
	"strings"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec/unit"
)

// dryRunning is for questions about grease.
var dryRunning = judge.Reason{Words: "the screw runs on a dry film", If: func(v *judge.View) bool { return v.Word(judge.Field("grease.thickener")) == "dry-film" }}

// greaseWears says by what the usual interval is shortened.
func greaseWears(v *judge.View) string {
	part := v.V(m.GreasePart)
	if part > 1-judge.Slack {
		return ""
	}
	var why []string
	if t := v.V(m.NutTemperature); m.GreaseFactor(t, v.V(m.GreaseMax), false) < 1 {
		why = append(why, fmt.Sprintf("the nut reaches %s", unit.Format(t, unit.Temperature, v.Units())))
	}
	if v.V(m.Incline) >= m.Upright {
		why = append(why, "the incline is 45° or more")
	}
	return fmt.Sprintf(" (%s of the usual interval: %s)", v.Percent(part), strings.Join(why, ", "))
}

// tooHotForGrease is for questions about a grease that does not bear the heat at all.
var tooHotForGrease = judge.Reason{Words: "the nut gets hotter than the grease is rated for (see lubricant-environment)", If: func(v *judge.View) bool {
	return v.V(m.NutTemperature) > v.V(m.GreaseMax)
}}

// regreased are what the first two tests compare.
var regreased = quantities(m.RegreaseEvery, m.RegreaseDistance)

// regreaseUsed is how often interval (0) or distance (1) goes into what is left of its limit; 0
// where that is not known.
func regreaseUsed(v *judge.View, test int) float64 {
	limit, _, ok := v.TestLimit("regrease-interval", test)
	if used := v.V(regreased[test]) / (limit * v.V(m.GreasePart)); ok && used > 0 {
		return used
	}
	return 0
}

// further is for the one of two questions that asks for less where the other fails too: a line has
// one finding that names both.
func further(words string, this, other int) judge.Reason {
	return judge.Reason{Words: words, If: func(v *judge.View) bool {
		mine, its := regreaseUsed(v, this), regreaseUsed(v, other)
		return judge.Above(its, 1) && (its > mine || its == mine && other < this)
	}}
}

// orElse names the other of two limits where it is exceeded too.
func orElse(v *judge.View, other int) string {
	if !judge.Above(regreaseUsed(v, other), 1) {
		return ""
	}
	limit, _, _ := v.TestLimit("regrease-interval", other)
	return " or " + v.Show(limit*v.V(m.GreasePart), []unit.Kind{unit.Span, unit.Length}[other])
}

// worn is for a question that would require what is required already.
var worn = judge.Reason{Words: "interval or distance is too long already", If: func(v *judge.View) bool {
	return judge.Above(regreaseUsed(v, 0), 1) || judge.Above(regreaseUsed(v, 1), 1)
}}

var regreaseInterval = judge.Rule{
	Name:     "regrease-interval",
	Question: "Is the screw regreased often enough for its travel, revolutions, temperature and age?",
	Doc: `Grease ages with time and with work. Regrease at least every six months, every 1000 km
of travel, or as often as a thrust ball bearing of the same diameter at the same speed,
whichever comes first. The grease's own data take precedence over these rules of thumb: set the
limits in a policy. The distance comes from cycle and duty; small leads make many turns of a
short distance.

They apply up to 70 °C at the nut (the environment and the shaft's own rise) on a horizontal
screw, with a grease rated to 120 °C; a higher rating of the grease raises the 70 °C by as much.
Each 15 K above that halves the interval, and so does an incline of 45° or more, from which
grease runs down. An environment whose temperature is not declared is taken as no warmer than
70 °C; see lubricant-environment.

The turns of a thrust ball bearing are 60·(14·10⁶/√d − 4·d·n) with d in mm and n in rpm.`,
	Source:   "bearing handbooks for high temperature and vertical shafts; an empirical formula of guides to drive elements for the turns; 1000 km and six months: common practice, no source",
	Severity: judge.Warning,
	Reasons:  []judge.Reason{dryRunning, tooHotForGrease},
	Tests: []judge.Test{
		{
			Limit:   judge.Limit{Name: "interval", Doc: "regreasing interval of a horizontal screw up to 70 °C", Kind: unit.Span, Sense: judge.AtMost, Default: m.Year / 2},
			Value:   m.RegreaseEvery,
			Against: m.GreasePart,
			Also:    quantities(m.RegreaseDistance),
			Reasons: []judge.Reason{further("the distance between two greasings is exceeded by more", 0, 1)},
			Say: func(v *judge.View, limit float64) string {
				travels := ""
				if judge.Above(regreaseUsed(v, 1), 1) {
					travels = fmt.Sprintf(": the nut travels %s (%s a working day)", v.F(m.RegreaseDistance), v.F(m.DistancePerDay))
				}
				return fmt.Sprintf("regreasing every %s is too seldom%s; usual at least every %s%s%s",
					v.F(m.RegreaseEvery), travels, v.Show(limit*v.V(m.GreasePart), unit.Span), orElse(v, 1), greaseWears(v))
			},
			At:         at("lubrication.regrease_every"),
			Inputs:     quantities(m.EnvironmentMax, m.TemperatureRise, m.GreaseMax, m.Orientation, m.InclineGiven),
			Parameters: parameters(regrease),
		},
		{
			Limit:   judge.Limit{Name: "distance", Doc: "distance travelled between two greasings of a horizontal screw up to 70 °C", Kind: unit.Length, Sense: judge.AtMost, Default: 1e6},
			Value:   m.RegreaseDistance,
			Against: m.GreasePart,
			Needs:   quantities(m.DistancePerDay),
			Reasons: []judge.Reason{further("the time between two greasings is exceeded by more", 1, 0)},
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("regreasing every %s is too seldom: the nut travels %s (%s a working day); usual at least every %s%s%s",
					v.F(m.RegreaseEvery), v.F(m.RegreaseDistance), v.F(m.DistancePerDay), v.Show(limit*v.V(m.GreasePart), unit.Length), orElse(v, 0), greaseWears(v))
			},
			At:         at("lubrication.regrease_every"),
			Inputs:     quantities(m.HoursPerDay, m.DaysPerYear, m.EnvironmentMax, m.TemperatureRise, m.GreaseMax, m.Orientation, m.InclineGiven),
			Parameters: parameters(regrease),
		},
		{
			Limit:   judge.Limit{Name: "turns", Doc: "turns between two greasings over those of a thrust ball bearing, horizontal screw up to 70 °C", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
			Value:   m.RegreaseShare,
			Against: m.GreasePart,
			Needs:   quantities(m.RegreaseTurns, m.UsualTurns),
			Also:    quantities(m.RegreaseDistance),
			Reasons: []judge.Reason{worn},
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("regreasing every %s is too seldom: the screw makes %s; a thrust ball bearing of its size needs grease every %s%s",
					v.F(m.RegreaseEvery), v.F(m.RegreaseTurns), v.Show(limit*v.V(m.GreasePart)*v.V(m.UsualTurns), unit.Revolutions), greaseWears(v))
			},
			At:         at("lubrication.regrease_every"),
			Inputs:     quantities(m.Lead, m.NominalDiameter, m.HoursPerDay, m.DaysPerYear, m.EnvironmentMax, m.TemperatureRise, m.GreaseMax, m.Orientation, m.InclineGiven),
			Parameters: parameters(regrease),
		},
	},
}
