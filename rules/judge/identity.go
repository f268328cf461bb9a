package judge

import (
	"path"
	"strings"
)

// Identity names what a finding is about in a way that survives edits: by
// rule, machine, axis and cause, never by line or file name. Two findings of
// one identity can stand beside each other (two moves of one name in error, for
// example), so lists of identities count them.
//
// A finding about the text of a file, which has no axis, is named by its folder
// and message instead.
func (f *Finding) Identity() string {
	where := f.Machine
	if where == "" {
		where = path.Dir(f.Place.File)
	}
	cause := f.Cause
	if f.Axis == "" && cause == "" {
		cause = f.Message
	}
	return strings.Join([]string{f.Rule, where, f.Axis, cause}, "|")
}
