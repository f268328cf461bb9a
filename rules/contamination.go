package rules

import (
	"fmt"

	"trammel/rules/judge"
	"trammel/spec"
)

var contamination = judge.Rule{
	Name:     "contamination",
	Question: "Are dust, chips and water kept out of nut and supports, and particles kept in?",
	Doc: `Whatever the grease: dust needs wipers on the nut, bellows or another cover; chips
need a cover; wash-down needs wipers or a cover, a corrosion-resistant shaft and nut,
and sealed support units where support parts are declared. In a clean room the screw itself
gives off particles and grease: the shaft needs a cover. What is not declared is taken as
not present.`,
	Source:   "common practice, no source",
	Severity: judge.Error,
	Facts:    judge.Fields("environment"),
	Check: func(v *judge.View) []judge.Fault {
		var out []judge.Fault
		where := v.Word(judge.Field("environment"))
		cover := v.Word(judge.Field("screw.cover"))
		covered := cover != "" && cover != "none"
		bellows := judge.Change("bellows or another cover over the shaft", "screw.cover", "bellows")
		fault := func(at *spec.Field, fixes []judge.Draft, format string, args ...any) {
			out = append(out, judge.Fault{At: at, Move: -1, Message: fmt.Sprintf(format, args...), Fixes: fixes, Inputs: judge.Fields("screw.cover", "nut.wipers")})
		}
		if v.Flag(judge.Field("environment.dust")) && !covered && !v.Flag(judge.Field("nut.wipers")) {
			fault(judge.Field("nut.wipers"), []judge.Draft{judge.Declare(v, "wipers on the nut", "nut.wipers", "true"), bellows}, "dust at %s, but the nut has no wipers and the shaft no cover", where)
		}
		if v.Flag(judge.Field("environment.chips")) && !covered {
			fault(judge.Field("screw.cover"), []judge.Draft{bellows}, "chips at %s, but the shaft has no cover", where)
		}
		if v.Flag(judge.Field("environment.clean_room")) && !covered {
			fault(judge.Field("screw.cover"), []judge.Draft{judge.Change("an enclosed shaft", "screw.cover", "enclosed")}, "%s is a clean room, but the shaft has no cover: screw and grease give off particles", where)
		}
		if !v.Flag(judge.Field("environment.wash_down")) {
			return out
		}
		if !covered && !v.Flag(judge.Field("nut.wipers")) {
			fault(judge.Field("nut.wipers"), []judge.Draft{judge.Declare(v, "wipers on the nut", "nut.wipers", "true"), bellows}, "%s is washed down, but the nut has no wipers and the shaft no cover", where)
		}
		for _, path := range []string{"screw.corrosion_proof", "nut.corrosion_proof"} {
			if !v.Flag(judge.Field(path)) {
				fault(judge.Field(path), nil, "%s is washed down, but the %s is not declared corrosion_proof", where, path[:len(path)-len(".corrosion_proof")])
			}
		}
		for _, s := range [][2]string{{"supports.drive_end_part", "drive_support.sealed"}, {"supports.far_end_part", "far_support.sealed"}} {
			if x := v.Value(judge.Field(s[0])); x != nil && !v.Flag(judge.Field(s[1])) {
				fault(judge.Field(s[0]), nil, "%s is washed down, but %s is not declared sealed", where, x.Text)
			}
		}
		return out
	},
}
