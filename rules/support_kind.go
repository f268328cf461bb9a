package rules

import (
	"fmt"

	"trammel/rules/judge"
	"trammel/spec"
)

var supportKind = judge.Rule{
	Name:     "support-kind",
	Question: "Do the supports hold the shaft as declared, and does one take the thrust?",
	Doc: `At least one end must be fixed, or nothing takes the thrust; a free end needs a
fixed one opposite. A support unit of kind "supported" cannot hold an end declared fixed. A unit
of kind "fixed" at an end declared supported is unusual but safe for speed and buckling: a
warning, since the shaft may jam when it grows.`,
	Source:   "common practice, no source",
	Severity: judge.Error,
	Facts:    judge.Fields("supports.drive_end", "supports.far_end"),
	WantsBy: func(v *judge.View) (out []*spec.Field) {
		for _, s := range [][2]string{{"supports.drive_end_part", "drive_support.kind"}, {"supports.far_end_part", "far_support.kind"}} {
			if v.Value(judge.Field(s[0])) != nil {
				out = append(out, judge.Field(s[1]))
			}
		}
		return out
	},
	Check: func(v *judge.View) []judge.Fault {
		var out []judge.Fault
		drive, far := v.Word(judge.Field("supports.drive_end")), v.Word(judge.Field("supports.far_end"))
		if drive != "fixed" && far != "fixed" {
			out = append(out, judge.Fault{At: judge.Field("supports.drive_end"), Move: -1, Inputs: judge.Fields("supports.far_end"),
				Message: fmt.Sprintf("driven end is %s, far end is %s: no end is fixed, so nothing takes the thrust", drive, far),
				Fixes:   []judge.Draft{judge.Change("drive end fixed", "supports.drive_end", "fixed"), judge.Change("far end fixed", "supports.far_end", "fixed")}})
		}
		for _, e := range [][3]string{{"supports.drive_end", "supports.drive_end_part", "drive_support.kind"}, {"supports.far_end", "supports.far_end_part", "far_support.kind"}} {
			end, part, kind := v.Word(judge.Field(e[0])), v.Word(judge.Field(e[1])), v.Word(judge.Field(e[2]))
			f := judge.Fault{At: judge.Field(e[1]), Move: -1, Inputs: judge.Fields(e[0], e[2])}
			switch {
			case part == "":
				continue
			case end == "free":
				f.Message = fmt.Sprintf("%s holds the end, but the end is declared free", part)
			case kind == "supported" && end == "fixed":
				f.Message = fmt.Sprintf("%s takes no thrust, but the end is declared fixed", part)
			case kind == "fixed" && end == "supported":
				f.Message = fmt.Sprintf("%s takes thrust, but the end is declared supported", part)
				f.Severity = judge.Warning
			default:
				continue
			}
			out = append(out, f)
		}
		return out
	},
}
