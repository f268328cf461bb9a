package rules

import (
	"fmt"
	"math"
	"slices"
	"time"

	"trammel/spec"
)

// The two rules about waivers have no question of an axis's own; they are
// raised while waivers are applied.
var (
	waiverExpired = register(Rule{
		Name:     "waiver-expired",
		Question: "Is every waiver still in date?",
		Doc: `A waiver accepts the findings of one rule for an axis until a day. From the
day after, it accepts nothing any more: the findings stand again and the waiver
is reported, so that nobody believes it still holds. Decide again: mend the
axis, or give a new day and reason.`,
		Source:   "common practice, no source",
		Severity: Warning,
		Reasons:  []Reason{noWaiver},
	})
	waiverUnneeded = register(Rule{
		Name:     "waiver-unneeded",
		Question: "Does every waiver accept something?",
		Doc: `A waiver whose rule was judged and passed, or does not apply, has outlived its
reason. Take it out, so that it does not hide a later fault. A waiver is called
unneeded only where its rule could be judged.`,
		Source:   "common practice, no source",
		Severity: Note,
		Reasons:  []Reason{noWaiver},
	})
)

var noWaiver = Reason{"no waiver is declared", func(v *View) bool { return len(v.Axis.Waivers) == 0 }}

// waive marks the findings that a waiver accepts, and reports waivers that are
// expired or accept nothing.
func (j *Judge) waive(v *View, rep *Report) {
	found := map[string]bool{}
	for i := range rep.Findings {
		found[rep.Findings[i].Rule] = true
	}
	var all []*spec.Waiver
	unknown := 0
	for _, w := range v.Axis.Waivers {
		if unknown == maxPolicyProblems {
			break // the rest would only be more of the same
		}
		if p := unknownWaived(w, v.force.house); p != nil {
			rep.Findings = append(rep.Findings, FindingOf(*p))
			unknown++
			continue
		}
		all = append(all, w)
	}
	own := len(all)
	for _, w := range v.force.waivers {
		if found[w.Rule] && w.OfAxis(v.Axis.Name) {
			all = append(all, w)
		}
	}
	n := len(rep.Findings)
	for i, w := range all {
		if w.Broken {
			continue // a problem of the text says so
		}
		until, _ := time.Parse(time.DateOnly, w.Until.Text) // it is a day, or the waiver is broken
		accepted := false
		expired := j.today.After(until)
		for k := range rep.Findings[:n] {
			f := &rep.Findings[k]
			if f.Rule == w.Rule && f.Waiver == nil {
				accepted = true
				if !expired {
					f.Waiver, f.WaiverPlace = w, w.RulePlace
				}
			}
		}
		if i >= own {
			continue // one for a whole folder is not reported axis by axis
		}
		about := func(r *Rule, at spec.Place, format string, args ...any) {
			s := v.force.settings[r.index()].Severity
			if s == Off {
				return
			}
			res := &rep.Results[r.index()]
			res.State = Failed
			rep.Findings = append(rep.Findings, Finding{
				Rule: r.Name, Severity: s, Machine: v.Axis.Folder.MachineName(), Axis: v.Axis.Name,
				Place: at, Message: fmt.Sprintf(format, args...), Use: math.NaN(), Cause: "waive." + w.Rule,
			})
		}
		switch {
		case expired:
			about(waiverExpired, w.Until.Place, "the waiver of %s held until %s; it accepts nothing any more", w.Rule, w.Until.Text)
		case !accepted && rep.judged(w.Rule):
			about(waiverUnneeded, w.RulePlace, "nothing here needs the waiver of %s; take it out", w.Rule)
		}
	}
}

// expired reports the waivers of a folder's own policies that hold no more,
// once and not axis by axis.
func (j *Judge) expired(f *spec.Folder) []Finding {
	var out []Finding
	for _, file := range f.Policies {
		for _, w := range file.Waivers {
			force := j.policies.of(f)
			s := force.settings[waiverExpired.index()].Severity
			if w.Broken || s == Off || unknownWaived(w, force.house) != nil {
				continue
			}
			if until, _ := time.Parse(time.DateOnly, w.Until.Text); !j.today.After(until) {
				continue
			}
			out = append(out, Finding{
				Rule: waiverExpired.Name, Severity: s, Machine: f.MachineName(), Place: w.Until.Place, Use: math.NaN(), Cause: "waive." + w.Rule,
				Message: fmt.Sprintf("the waiver of %s held until %s; it accepts nothing any more", w.Rule, w.Until.Text),
			})
		}
	}
	return out
}

// judged reports whether a rule came to a verdict.
func (rep *Report) judged(rule string) bool {
	return slices.ContainsFunc(rep.Results, func(r Result) bool {
		return r.Rule == rule && (r.State == Passed || r.State == Failed || r.State == Idle)
	})
}
