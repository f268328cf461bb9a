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
	Expired bool // its last day is over
	Accepts bool // its rule has a finding for it to accept
	Judged  bool // its rule came to a verdict
}

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
		seen := WaiverView{Waiver: w, Expired: expired, Accepts: accepted, Judged: rep.judged(w.Rule)}
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

// aboutWaiver asks the rules about waivers of one. What they find stands at its last day
// where that is over, else at the rule it names.
func (j *Judge) aboutWaiver(force *InForce, w *WaiverView, f *spec.Folder) (out []Finding) {
	at := w.RulePlace
	if w.Expired {
		at = w.Until.Place
	}
	for _, r := range j.Book.waiver {
		sev := force.Settings[r.Index].Severity
		if sev == Off {
			continue
		}
		if words := r.Waiver(w); words != "" {
			out = append(out, Finding{Rule: r.Name, Severity: sev, Machine: f.MachineName(), Place: at, Message: words, Utilisation: math.NaN(), Cause: "waive." + w.Rule})
		}
	}
	return out
}

// ExpiredWaivers reports the waivers of a folder's own policies that hold no more,
// once and not axis by axis.
func (j *Judge) ExpiredWaivers(f *spec.Folder) []Finding {
	var out []Finding
	force := j.policies.of(f)
	for _, file := range f.Policies {
		for _, w := range file.Waivers {
			if !w.Broken && force.unknownWaived(w) == nil && j.over(w) {
				out = append(out, j.aboutWaiver(force, &WaiverView{Waiver: w, Expired: true, Accepts: true}, f)...)
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
