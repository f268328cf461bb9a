package main

import (
	"errors"
	"fmt"

	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
	"trammel/rules/judge/expect"
	"trammel/rules/judge/run"
)

// An expecting counts, over all jobs of a check, what comments expect.
type expecting struct{ comments, met, clean, surplus int }

// expectOptions refuses what does not go together with --expect: it answers another
// question than they do.
func (o *checkOptions) expectOptions() error {
	switch {
	case !o.expect:
		return nil
	case o.form != "text" || len(o.write) > 0:
		return errors.New("--expect writes only text; leave out --form and --write")
	case o.known != "" || o.since != "" || o.share != "":
		return errors.New("--expect needs every finding; it cannot be combined with --known, --since or --share")
	}
	return nil
}

// expected reads what the comments in a job's files expect.
func (j *job) expected() *expect.Set {
	set := &expect.Set{}
	for _, name := range j.files {
		if src, p := j.tree.Read(name); p == nil {
			set.Read(name, src)
		}
	}
	return set
}

// hold puts in the place of what was found where that is not as expected.
func (e *expecting) hold(set *expect.Set, sum *run.Summary) {
	problems := set.Hold(sum, false)
	e.comments, e.met, e.clean = e.comments+len(set.List), e.met+set.Met(), e.clean+set.Clean()
	e.surplus += len(problems)
	sum.Findings, sum.MissingInputs, sum.NextInputs, sum.Unjudged = nil, nil, nil, 0
	for _, p := range problems {
		sum.Findings = append(sum.Findings, judge.FindingOf(p))
	}
}

// closing is the last line; an error where nothing was expected at all.
func (e *expecting) closing(axes int) (string, error) {
	if e.comments+e.clean+e.surplus == 0 {
		return "", errors.New("nothing is expected in these files: they hold no comment # expect: or # clean (see House rules in the documentation of policies)")
	}
	out := fmt.Sprintf("%s, %s as expected", sanitize.Count(axes, "axis", "axes"), sanitize.Count(e.met, "finding", "findings"))
	if e.clean > 0 {
		out += fmt.Sprintf(", %s marked clean", sanitize.Count(e.clean, "axis", "axes"))
	}
	return out + ", " + sanitize.Count(e.surplus, "error", "errors"), nil
}
