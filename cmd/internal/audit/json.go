package audit

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"math"

	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
)

// Schema names the version of the JSON output.
const Schema = "trammel.audit/1"

type jsonCounts struct {
	Errors   int `json:"errors"`
	Warnings int `json:"warnings"`
	Notes    int `json:"notes"`
	Waived   int `json:"waived"`
}

func (c Counts) json() jsonCounts { return jsonCounts(c) }

type jsonTotals struct {
	Machines int `json:"machines"`
	Axes     int `json:"axes"`
	jsonCounts
	Judged   int `json:"judged"`
	Unjudged int `json:"not_judged"`
	Broken   int `json:"files_not_read"`
}

type jsonRuleSum struct {
	Rule string `json:"rule"`
	jsonCounts
	Passed   int `json:"passed"`
	Failed   int `json:"failed"`
	Unjudged int `json:"not_judged"`
}

type jsonMachine struct {
	Machine string `json:"machine"`
	Folder  string `json:"folder"`
	Axes    int    `json:"axes"`
	jsonCounts
	Judged   int `json:"judged"`
	Unjudged int `json:"not_judged"`
}

type jsonAxisRef struct {
	Machine string `json:"machine"`
	Axis    string `json:"axis"`
	File    string `json:"file"`
	Line    int32  `json:"line"`
}

type jsonWorst struct {
	jsonAxisRef
	State  string `json:"state"`
	Rule   string `json:"rule"`
	Margin any    `json:"margin"`
}

type jsonBrake struct {
	jsonAxisRef
	State string `json:"state"`
	Lacks string `json:"lacks,omitempty"`
}

type jsonHorizon struct {
	Remaining string `json:"remaining"`
	Axes      int    `json:"axes"`
}

type jsonWear struct {
	jsonAxisRef
	jsonAge
}

type jsonAge struct {
	Basis     string `json:"age_by,omitempty"`
	Years     any    `json:"years_in_service,omitempty"`
	Duty      any    `json:"hours_over_declared_duty,omitempty"`
	Used      any    `json:"used_revolutions,omitempty"`
	Share     any    `json:"used_share,omitempty"`
	Remaining any    `json:"remaining_years,omitempty"`
	Out       string `json:"ends_on,omitempty"`
}

func ageJSON(w Wear) jsonAge {
	a := jsonAge{Basis: w.Basis, Years: value(w.Years), Duty: value(w.Duty), Used: value(w.Used), Share: value(w.Share), Remaining: value(w.Remaining)}
	if !w.Out.IsZero() {
		a.Out = w.ends()
	}
	return a
}

type jsonExpired struct {
	Machine string `json:"machine,omitempty"`
	Axis    string `json:"axis,omitempty"`
	File    string `json:"file"`
	Line    int32  `json:"line"`
	Message string `json:"message"`
}

type jsonWaiver struct {
	Rule     string `json:"rule"`
	File     string `json:"file"`
	Line     int32  `json:"line"`
	Until    string `json:"until"`
	Reason   string `json:"reason"`
	Findings int    `json:"findings"`
	Axes     int    `json:"axes"`
}

type jsonStep struct {
	Lines   []string `json:"lines"`
	Written int      `json:"lines_to_write"`
	Where   string   `json:"where"`
	Judged  int      `json:"judged"`
	Sum     int      `json:"judged_so_far"`
}

type jsonPart struct {
	Part string `json:"part"`
	File string `json:"file"`
	Line int32  `json:"line"`
	Axes int    `json:"axes"`
}

type jsonWorse struct {
	Machine string   `json:"machine"`
	Axis    string   `json:"axis"`
	Rules   []string `json:"rules"`
}

type jsonReplaced struct {
	Part  string      `json:"part"`
	Axes  int         `json:"axes"`
	Near  bool        `json:"hardly_differs"`
	Holds bool        `json:"no_rule_worse"`
	Moved bool        `json:"must_move"`
	Worse []jsonWorse `json:"worse,omitempty"`
}

type jsonMerge struct {
	Size    string         `json:"size"`
	Into    string         `json:"into,omitempty"`
	InUse   int            `json:"in_use"`
	Tried   int            `json:"tried"`
	Replace []jsonReplaced `json:"replaces"`
}

type jsonMonth struct {
	Month     string `json:"month"`
	Axes      int    `json:"axes"`
	Greasings int    `json:"greasings"`
}

type jsonBroken struct {
	File     string `json:"file"`
	Line     int32  `json:"line"`
	Rule     string `json:"rule"`
	Message  string `json:"message"`
	Problems int    `json:"problems"`
}

type jsonRule struct {
	Rule   string `json:"rule"`
	State  string `json:"state"`
	Margin any    `json:"margin,omitempty"`
}

type jsonRow struct {
	jsonAxisRef
	State string `json:"state"`
	jsonCounts
	Judged       int            `json:"judged"`
	Unjudged     int            `json:"not_judged"`
	WorstRule    string         `json:"worst_rule,omitempty"`
	WorstMargin  any            `json:"worst_margin,omitempty"`
	Brake        string         `json:"holding_brake,omitempty"`
	Screw        string         `json:"screw,omitempty"`
	Motor        string         `json:"motor,omitempty"`
	Grease       string         `json:"grease,omitempty"`
	Every        any            `json:"regrease_every_months,omitempty"`
	Life         any            `json:"life_revolutions,omitempty"`
	LifeYears    any            `json:"life_years,omitempty"`
	Commissioned string         `json:"commissioned,omitempty"`
	Hours        any            `json:"hours_so_far,omitempty"`
	Age          jsonAge        `json:"age"`
	Quantities   map[string]any `json:"quantities"`
	Rules        []jsonRule     `json:"rules"`
	Sheet        string         `json:"sheet,omitempty"`
}

// value is a number for JSON: nil where there is none, a word where there is no
// end to it.
func value(x float64) any {
	switch {
	case math.IsNaN(x):
		return nil
	case math.IsInf(x, 0):
		return "unlimited"
	}
	return round(x)
}

func (f *Fleet) ref(r *Row) jsonAxisRef {
	at := f.show(r)
	return jsonAxisRef{f.machineName(r), r.Axis, at.File, at.Line}
}

// JSON writes everything as one document, the axes one by one.
func (f *Fleet) JSON(w io.Writer) error {
	type obj = map[string]any
	t := f.Totals()
	units := obj{}
	for _, k := range keys {
		units[k.quantity] = k.unit
	}
	rulesOut, machines, worst, brakes := []jsonRuleSum{}, []jsonMachine{}, []jsonWorst{}, []jsonBrake{}
	for _, s := range f.Rules() {
		rulesOut = append(rulesOut, jsonRuleSum{s.Rule, s.Counts.json(), s.Passed, s.Failed, s.Unjudged})
	}
	for _, m := range f.Machines() {
		machines = append(machines, jsonMachine{m.Machine, m.Folder, m.Axes, m.Counts.json(), m.Judged, m.Unjudged})
	}
	for i, r := range f.Worst() {
		if i == 100 {
			break
		}
		worst = append(worst, jsonWorst{f.ref(r), r.word(), f.ruleShown(int(r.worst)), value(margin(float64(r.worstUse)))})
	}
	for b := brakeFails; b <= brakeOff; b++ {
		for _, r := range f.held(b) {
			brakes = append(brakes, jsonBrake{f.ref(r), b.String(), r.lackBrake})
		}
	}
	list, noAge, noLife := f.aging()
	classes, shortest := []jsonHorizon{}, []jsonWear{}
	for i, n := range byHorizon(list) {
		classes = append(classes, jsonHorizon{horizons[i].name, n})
	}
	for i, l := range list {
		if i == 100 {
			break
		}
		shortest = append(shortest, jsonWear{f.ref(l.Row), ageJSON(l.Wear)})
	}
	expired, steps, merges, months, broken := []jsonExpired{}, []jsonStep{}, []jsonMerge{}, []jsonMonth{}, []jsonBroken{}
	for _, x := range f.expired {
		expired = append(expired, jsonExpired{x.Machine, x.Axis, x.Place.File, x.Place.Line, x.Message})
	}
	waivers := []jsonWaiver{}
	for _, w := range f.inForce() {
		waivers = append(waivers, jsonWaiver{w.Rule, w.Place.File, w.Place.Line, w.Until, w.Reason, w.Findings, w.Axes})
	}
	for _, s := range f.gaps.steps(mostSteps) {
		steps = append(steps, jsonStep(s))
	}
	variety := obj{}
	for k, name := range []string{"screws", "motors", "greases"} {
		parts, without := f.Variety(k)
		out := []jsonPart{}
		for _, p := range parts {
			out = append(out, jsonPart{p.Part, p.Place.File, p.Place.Line, p.Axes})
		}
		variety[name] = obj{"in_use": out, "axes_without": without}
	}
	for i := range f.merges {
		m := &f.merges[i]
		out := jsonMerge{Size: m.Size, InUse: m.OutOf, Tried: m.Tried, Replace: []jsonReplaced{}}
		if !m.Skipped {
			out.Into = m.Into
		}
		for _, p := range m.Parts {
			x := jsonReplaced{Part: p.Part, Axes: p.Axes, Near: p.Near, Holds: len(p.Worse) == 0, Moved: p.Moved}
			for _, w := range p.Worse {
				x.Worse = append(x.Worse, jsonWorse{w.Machine, w.Axis, w.Rules})
			}
			out.Replace = append(out.Replace, x)
		}
		merges = append(merges, out)
	}
	plan, without := f.Greasing()
	for _, m := range plan {
		months = append(months, jsonMonth(m))
	}
	for _, b := range f.Broken() {
		broken = append(broken, jsonBroken{b.Place.File, b.Place.Line, b.Rule, b.Message, b.Problems})
	}
	head := struct {
		Schema   string        `json:"schema"`
		Today    string        `json:"today"`
		Totals   jsonTotals    `json:"totals"`
		Rules    []jsonRuleSum `json:"rules"`
		Machines []jsonMachine `json:"machines"`
		Worst    []jsonWorst   `json:"worst_axes"`
		Brakes   []jsonBrake   `json:"lifting_without_brake"`
		Life     any           `json:"life"`
		Expired  []jsonExpired `json:"expired_waivers"`
		Waivers  []jsonWaiver  `json:"waivers"`
		Missing  any           `json:"missing_lines"`
		Variety  any           `json:"variety"`
		Merges   []jsonMerge   `json:"merges"`
		Greasing any           `json:"regreasing"`
		Broken   []jsonBroken  `json:"files_not_read"`
		Units    any           `json:"units"`
	}{
		Schema, f.today.Format("2006-01-02"),
		jsonTotals{t.Machines, t.Axes, t.Counts.json(), t.Judged, t.Unjudged, len(broken)},
		rulesOut, machines, worst, brakes,
		obj{"remaining": classes, "shortest": shortest, "age_not_declared": noAge, "life_not_known": noLife},
		expired, waivers,
		obj{"waiting": f.gaps.waiting, "other_reasons": f.gaps.other, "steps": steps},
		variety, merges,
		obj{"months": months, "axes_without_interval": without},
		broken, units,
	}
	var b bytes.Buffer
	enc := json.NewEncoder(sanitize.JSON(&b))
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(head); err != nil {
		return err
	}
	out := bufio.NewWriter(w)
	out.Write(bytes.TrimSuffix(b.Bytes(), []byte("\n}\n")))
	out.WriteString(",\n  \"axes\": [")
	order := f.ruleOrder()
	for i, r := range f.rows {
		if i > 0 {
			out.WriteByte(',')
		}
		b.Reset()
		row := json.NewEncoder(sanitize.JSON(&b))
		row.SetEscapeHTML(false)
		if err := row.Encode(f.rowJSON(r, order)); err != nil {
			return err
		}
		out.WriteString("\n    ")
		if _, err := out.Write(bytes.TrimSuffix(b.Bytes(), []byte("\n"))); err != nil {
			return err
		}
	}
	if len(f.rows) > 0 {
		out.WriteString("\n  ")
	}
	out.WriteString("]\n}\n")
	return out.Flush()
}

const mostSteps = 10

func (f *Fleet) rowJSON(r *Row, order []int) jsonRow {
	out := jsonRow{
		jsonAxisRef: f.ref(r), State: r.word(), jsonCounts: jsonCounts{int(r.errors), int(r.warnings), int(r.notes), int(r.waived)},
		Judged: int(r.judged), Unjudged: int(r.unjudged), Brake: r.brake.String(),
		Screw: f.partName(r, screws), Motor: f.partName(r, motors), Grease: f.partName(r, greases), Every: value(r.every / month),
		Life: value(r.life), LifeYears: value(r.lifeYears), Commissioned: r.day(), Hours: value(r.hours), Age: ageJSON(r.wear(f.today)),
		Quantities: map[string]any{}, Rules: []jsonRule{}, Sheet: f.sheets[r],
	}
	if r.worst >= 0 {
		out.WorstRule, out.WorstMargin = f.ruleShown(int(r.worst)), value(margin(float64(r.worstUse)))
	}
	for i, x := range r.values {
		if x == x {
			out.Quantities[keys[i].quantity] = value(float64(x))
		}
	}
	for _, i := range order {
		s, use := r.result(i)
		if s == judge.NotApplicable || s == judge.Disabled {
			continue
		}
		out.Rules = append(out.Rules, jsonRule{f.ruleShown(i), s.String(), value(margin(use))})
	}
	return out
}
