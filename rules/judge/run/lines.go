package run

import (
	"bytes"
	"slices"
)

// A Line is a line of an axis file on which a finding is, as it was judged, without its
// end.
type Line struct {
	Number int32 // from 1
	Text   string
}

// LongLine is how long a Line is at most, in bytes; longer ones are left out.
const LongLine = 400

// lines are those of the file on which its findings are.
func (f *fileResult) lines() (out []Line) {
	if len(f.src) == 0 || len(f.Findings) == 0 {
		return nil
	}
	var wanted []int32
	for i := range f.Findings {
		if at := &f.Findings[i].Place; at.File == f.name {
			wanted = append(wanted, at.Line)
		}
	}
	slices.Sort(wanted)
	src := bytes.TrimPrefix(f.src, []byte("\ufeff"))
	number := int32(1)
	for _, n := range slices.Compact(wanted) {
		for ; number < n && src != nil; number++ {
			_, src, _ = bytes.Cut(src, []byte("\n"))
		}
		if number != n || src == nil {
			continue
		}
		line, _, _ := bytes.Cut(src, []byte("\n"))
		if line = bytes.TrimSuffix(line, []byte("\r")); len(line) <= LongLine {
			out = append(out, Line{n, string(line)})
		}
	}
	return out
}
