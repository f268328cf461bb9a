package rules

import (
	"fmt"
	"math"

	"trammel/rules/judge"
	"trammel/spec"
)

var partOverruled = judge.Rule{
	Name:     "part-overruled",
	Question: "Do the values of screw and nut in the axis agree with their parts?",
	Doc: `A value of a screw or nut written in the axis overrides that of the part. The note makes
it visible: the axis is then judged by a value that is on no data sheet, and the next
change of the part does not reach it. All rules of parts also judge the values in the axis.

Where several screws share the carriage (load.screws) and a rating in the axis is the
part's times their number, or times what a pair of them would be rated at together
(their number to the power of 0.7 to 0.86), it is an error: every rating is of one
screw, and the shares are computed.`,
	Source:   "common practice, no source; the exponents are those of bearings in sets, ISO 281 (0.7) and of loaded turns, ISO 3408-5 (0.86), both from memory",
	Severity: judge.Error,
	Reasons: []judge.Reason{{Words: "neither screw nor nut refers to a part", If: func(v *judge.View) bool {
		return v.Value(judge.Field("screw.part")) == nil && v.Value(judge.Field("nut.part")) == nil
	}}},
	Check: func(v *judge.View) (out []judge.Fault) {
		for _, block := range []string{"screw", "nut"} {
			ref := v.Value(judge.Field(block + ".part"))
			if ref == nil || ref.Part == nil {
				continue
			}
			for _, theirs := range ref.Part.Values() {
				f := spec.Language().FieldAt(block + "." + theirs.Field.Name)
				if f == nil || theirs.Bad {
					continue
				}
				if own := v.Value(f); own != nil && own.Origin == spec.Own && !sameValue(own, theirs) {
					out = append(out, overruled(v, own, theirs, ref.Part))
				}
			}
		}
		return out
	},
}

// overruled words a value of the axis that differs from its part's.
func overruled(v *judge.View, own, theirs *spec.Value, p *spec.Part) judge.Fault {
	f := judge.Fault{
		At: own.Field, Move: -1, Severity: judge.Note,
		Message: fmt.Sprintf("%s %s overrides %s of %s", judge.Readable(own.Field.Name), v.Text(own), v.Text(theirs), p.Ref()),
		Related: []spec.Related{{Place: theirs.Place, Message: "the value of the part is declared here"}},
	}
	z := v.Value(judge.Field("load.screws"))
	if z == nil || z.Num.Nominal < 2 || own.Field.Name != "dynamic_rating" && own.Field.Name != "static_rating" {
		return f
	}
	power := math.Log(own.Num.Nominal/theirs.Num.Nominal) / math.Log(z.Num.Nominal)
	if power > 0.68 && power < 1.02 {
		f.Severity = judge.Error
		f.Message += fmt.Sprintf(": this looks like the rating of all %s screws together; declare the rating of one", z.Text)
		f.Inputs = []*spec.Field{z.Field}
	}
	return f
}

// sameValue reports whether two values of a field say the same.
func sameValue(a, b *spec.Value) bool {
	near := func(x, y float64) bool { return math.Abs(x-y) <= judge.Slack*math.Max(math.Abs(x), math.Abs(y)) }
	switch a.Field.Sort {
	case spec.Quantity, spec.Number:
		return near(a.Num.Nominal, b.Num.Nominal) && near(a.Num.Low, b.Num.Low) && near(a.Num.High, b.Num.High)
	case spec.Flag:
		return a.Flag == b.Flag
	case spec.Text:
		return true // descriptions are free
	}
	return a.Text == b.Text
}
