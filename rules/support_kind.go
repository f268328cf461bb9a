package rules

import (
	"fmt"

	"trammel/spec"
)

var supportKind = Rule{
	Name:     "support-kind",
	Question: "Do the supports hold the shaft as declared, and does one take the thrust?",
	Doc: `At least one end must be fixed, or nothing takes the thrust; an end that is free goes
with a fixed one only. A support unit of kind "supported" cannot stand where the end is
declared fixed. A unit of kind "fixed" at an end declared supported is odd but safe as to
speed and buckling: a warning, since it may jam the shaft when it grows.`,
	Source:   "common practice, no source",
	Severity: Error,
	Facts:    fields("supports.drive_end", "supports.far_end"),
	WantsBy: func(v *View) (out []*spec.Field) {
		for _, s := range [][2]string{{"supports.drive_end_part", "drive_support.kind"}, {"supports.far_end_part", "far_support.kind"}} {
			if v.Value(field(s[0])) != nil {
				out = append(out, field(s[1]))
			}
		}
		return out
	},
	Check: func(v *View) []Fault {
		var out []Fault
		drive, far := v.Word(field("supports.drive_end")), v.Word(field("supports.far_end"))
		if drive != "fixed" && far != "fixed" {
			out = append(out, Fault{At: field("supports.drive_end"), Move: -1, Enters: fields("supports.far_end"),
				Message: fmt.Sprintf("the driven end is %s and the far end %s: no end is fixed, so nothing takes the thrust", drive, far),
				Fixes:   []Draft{change("drive end fixed", "supports.drive_end", "fixed"), change("far end fixed", "supports.far_end", "fixed")}})
		}
		for _, e := range [][3]string{{"supports.drive_end", "supports.drive_end_part", "drive_support.kind"}, {"supports.far_end", "supports.far_end_part", "far_support.kind"}} {
			end, part, kind := v.Word(field(e[0])), v.Word(field(e[1])), v.Word(field(e[2]))
			f := Fault{At: field(e[1]), Move: -1, Enters: fields(e[0], e[2])}
			switch {
			case part == "":
				continue
			case end == "free":
				f.Message = fmt.Sprintf("the end is declared free, but %s holds it", part)
			case kind == "supported" && end == "fixed":
				f.Message = fmt.Sprintf("%s takes no thrust (kind supported); the end is declared fixed", part)
			case kind == "fixed" && end == "supported":
				f.Message = fmt.Sprintf("%s takes thrust (kind fixed); the end is declared supported", part)
				f.Severity = Warning
			default:
				continue
			}
			out = append(out, f)
		}
		return out
	},
}
