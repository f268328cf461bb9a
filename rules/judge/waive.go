package judge

import (
	"math"
	"slices"
	"time"

	"trammel/spec"
)

// A WaiverView is one waiver as a rule of waivers sees it, once the other rules of its
// axis are judged.
type WaiverView struct {
	*spec.Waiver
	Expired bool    // its last day is over
	Ahead   float64 // s from today to its last day, negative where that is over
	Accepts bool    // its rule has a finding for it to accept
	Judged  bool    // its rule came to a verdict
	force   *InForce
	rule    *Rule // that is being asked
}

// Limit is the limit in force of the rule that is evaluated.
func (w *WaiverView) Limit(name string) float64 { return w.force.limitNamed(w.rule, name) }

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
		if p := v.InForce.unknownWaived(w); p != nil {
			rep.Findings = append(rep.Findings, FindingOf(*p))
			unknown++
			continue
		}
		all = append(all, w)
	}
	own := len(all)
	for _, w := range v.InForce.Waivers {
		if found[w.Rule] && w.OfAxis(v.Axis.Name) {
			all = append(all, w)
		}
	}
	n := len(rep.Findings)
	for i, w := range all {
		if w.Broken {
			continue // a problem of the text says so
		}
		accepted, expired := false, j.over(w)
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
		seen := WaiverView{Waiver: w, Expired: expired, Ahead: j.ahead(w), Accepts: accepted, Judged: rep.judged(w.Rule)}
		for _, f := range j.aboutWaiver(v.InForce, &seen, v.Axis.Folder) {
			f.Axis = v.Axis.Name
			rep.Results[j.Book.byName[f.Rule].Index].State = Failed
			rep.Findings = append(rep.Findings, f)
		}
	}
}

// over reports whether the last day of a waiver is over. It is a day, or the waiver is
// broken.
func (j *Judge) over(w *spec.Waiver) bool {
	until, _ := time.Parse(time.DateOnly, w.Until.Text)
	return j.Today.After(until)
}

// ahead is the time in s from today to the last day of a waiver.
func (j *Judge) ahead(w *spec.Waiver) float64 {
	until, _ := time.Parse(time.DateOnly, w.Until.Text)
	return until.Sub(j.Today).Seconds()
}

// WaiverDays are the days of a waiver in a folder: the last one on which it holds, and the
// last one on which it reaches further ahead than it may. None for a broken waiver.
func (j *Judge) WaiverDays(f *spec.Folder, w *spec.Waiver) (days []time.Time) {
	if w.Until == nil {
		return nil
	}
	until, err := time.Parse(time.DateOnly, w.Until.Text)
	if err != nil {
		return nil
	}
	days = append(days, until)
	force := j.policies.of(f)
	for _, r := range j.Book.waiver {
		for _, l := range r.Limits {
			term := min(force.limitNamed(r, l.Name), 200*365*86400) // as much as a Duration holds
			first := until.Add(-time.Duration(term * float64(time.Second)))
			days = append(days, first.Add(-1).Truncate(24*time.Hour))
		}
	}
	return days
}

// aboutWaiver asks the rules about waivers of one. What they find stands at its last day
// where that is over or is compared with a limit, else at the rule it names.
func (j *Judge) aboutWaiver(force *InForce, w *WaiverView, f *spec.Folder) (out []Finding) {
	for _, r := range j.Book.waiver {
		set := &force.Settings[r.Index]
		if set.Severity == Off {
			continue
		}
		w.force, w.rule = force, r
		words := r.Waiver(w)
		if words == "" {
			continue
		}
		x := Finding{Rule: r.Name, Severity: set.Severity, Machine: f.MachineName(), Place: w.RulePlace, Message: words, Utilisation: math.NaN(), Cause: "waive." + w.Rule}
		if w.Expired || len(r.Limits) > 0 {
			x.Place = w.Until.Place
		}
		for _, l := range set.Limits {
			if l.From.Valid() {
				x.Related = append(x.Related, spec.Related{Place: l.From, Message: "the policy sets the limit here"})
			}
		}
		out = append(out, x)
	}
	return out
}

// PolicyWaivers reports what is wrong with the days of the waivers of a folder's own
// policies, once and not axis by axis.
func (j *Judge) PolicyWaivers(f *spec.Folder) []Finding {
	var out []Finding
	force := j.policies.of(f)
	for _, file := range f.Policies {
		for _, w := range file.Waivers {
			if !w.Broken && force.unknownWaived(w) == nil {
				out = append(out, j.aboutWaiver(force, &WaiverView{Waiver: w, Expired: j.over(w), Ahead: j.ahead(w), Accepts: true}, f)...)
			}
		}
	}
	return out
}

// judged reports whether a rule came to a verdict.
func (rep *Report) judged(rule string) bool {
	return slices.ContainsFunc(rep.Results, func(r Result) bool {
		return r.Rule == rule && (r.State == Passed || r.State == Failed || r.State == NotApplicable)
	})
}
