package rules

import (
	"fmt"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// serviceFactor is the minimum service factor of couplings that is usual for how the load
// comes on, and what it is.
func serviceFactor(v *judge.View) (k float64, because string, ok bool) {
	shock := v.V(m.Shock)
	if f := v.V(m.LoadFactorGiven); f == f {
		switch {
		case f <= 1.2+judge.Slack:
			shock = m.Smooth
		case f <= 1.5+judge.Slack:
			shock = m.Ordinary
		default:
			shock = m.Shocks
		}
	}
	if shock != shock {
		return 0, "", false
	}
	return serviceFactors[int(shock)], serviceWords[int(shock)], true
}

// serviceFactors are those for each kind of load, and serviceWords what they are.
var (
	serviceFactors = [...]float64{m.Smooth: 1, m.Ordinary: 1.5, m.Shocks: 2.5}
	serviceWords   = func() (out [len(serviceFactors)]string) {
		for shock, k := range serviceFactors {
			out[shock] = fmt.Sprintf("service factor %g for %s loads", k, m.Shock.Words[shock])
		}
		return out
	}()
)

// overloaded is for questions that come after that of the coupling's rating.
var overloaded = judge.Reason{Words: "the peak torque exceeds the coupling's rating (see coupling-torque)", If: func(v *judge.View) bool {
	return judge.Above(v.V(m.DriveEndTorque), v.V(m.CouplingTorque))
}}

var couplingService = judge.Rule{
	Name:     "coupling-service",
	Question: "Does the coupling have reserve for shocks and for the full torque of the motor?",
	Doc: `Two questions beyond the peak torque of coupling-torque:

- The rated torque over the peak torque of the cycle is compared with the usual service factor
  for the kind of load: smooth 1 to 1.5, ordinary 1.5 to 2.5, shocks 2.5 to 3.5. The lower ends
  are required; a load factor up to 1.2 is taken as smooth, up to 1.5 as ordinary. The data
  sheet of the coupling takes precedence: set the limit in a policy.
- A motor gives its peak torque (or drive.torque_limit) when the axis runs against something or
  the controller is tuned, and through a gear its ratio times that. The coupling must withstand
  it occasionally: max_torque of the coupling, or its rated torque where none is declared (many
  withstand twice that). A slipping coupling loses the position without notice.`,
	Source:   "service factors from one trade table, and the rated torque for the short peak: common practice, no source; elementary mechanics",
	Severity: judge.Warning,
	Facts:    judge.Fields("drive.motor"),
	Reasons:  noCoupling,
	Tests: []judge.Test{
		{
			Limit: judge.Limit{Name: "service", Doc: "peak torque of the cycle over the coupling's rated torque", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1,
				By: func(v *judge.View) (float64, string, bool) {
					k, because, ok := serviceFactor(v)
					return 1 / k, because, ok
				}, Spread: "100 % smooth, 66.7 % ordinary, 40 % shocks", Lacks: judge.Fields("duty.shock")},
			Value:   m.CycleEndTorque,
			Against: m.CouplingTorque,
			Also:    quantities(m.Shock, m.LoadFactorGiven, m.DriveEndTorque),
			Reasons: []judge.Reason{overloaded},
			Say: func(v *judge.View, limit float64) string {
				return fmt.Sprintf("coupling rating %s is %s times the peak torque %s of the cycle; usual minimum %s",
					v.F(m.CouplingTorque), v.Ratio(v.V(m.CouplingTorque)/v.V(m.CycleEndTorque)), v.F(m.CycleEndTorque), v.Ratio(1/limit))
			},
			At:         at("drive.coupling"),
			Inputs:     quantities(m.CouplingTorque, m.Mass, m.CarriedMass, m.Lead, m.Shock, m.LoadFactorGiven),
			Parameters: parameters(coupler, longerRamp, gentler, lighter, lessPayload, lessThrust),
		},
		{
			Limit:   judge.Limit{Name: "motor", Doc: "motor torque at the coupling over the peak torque of the coupling", Kind: unit.Percentage, Sense: judge.AtMost, Default: 1},
			Value:   m.MotorEndTorque,
			Against: m.CouplingPeak,
			Needs:   quantities(m.CouplingTorque, m.StallTorque),
			Say: func(v *judge.View, _ float64) string {
				return fmt.Sprintf("motor can load the coupling with %s; peak torque of the coupling %s (rated torque %s)", v.F(m.MotorEndTorque), v.F(m.CouplingPeak), v.F(m.CouplingTorque))
			},
			At:         func(v *judge.View) (*spec.Field, int) { return judge.Field("drive.coupling"), -1 },
			Inputs:     quantities(m.CouplingTorque, m.CouplingPeakGiven, m.MotorPeakTorque, m.TorqueLimit, m.Ratio),
			Parameters: parameters(coupler, limitTorque),
		},
	},
}
