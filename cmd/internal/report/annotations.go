package report

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
)

// maxAnnotations is how many annotations of a level the readers of workflow
// commands show; the rest they drop without a word.
const maxAnnotations = 10

// Annotations writes the worst findings of each level as workflow commands,
// one a line, then a notice with the total. Waived and known findings are left
// out.
func Annotations(w io.Writer, run *Run, meta Meta) error {
	buf := bufio.NewWriter(w)
	reg := newRegions(run.Source)
	// The closing notice takes one place among the notices.
	room := map[judge.Severity]int{judge.Error: maxAnnotations, judge.Warning: maxAnnotations, judge.Note: maxAnnotations - 1}
	left := 0
	for _, i := range worstFirst(run) {
		if run.accepted(i) {
			continue
		}
		f := &run.Findings[i]
		if room[f.Severity] == 0 {
			left++
			continue
		}
		room[f.Severity]--
		buf.WriteString(annotation(f, meta, reg))
	}
	total := Closing(run)
	if left > 0 {
		total += fmt.Sprintf("; %s not shown here", sanitize.Count(left, "finding is", "findings are"))
	}
	sanitize.Fprintf(buf, "::notice title=trammel::%s\n", commandText.Replace(total))
	return buf.Flush()
}

func annotation(shown *judge.Finding, meta Meta, reg *regions) string {
	f := meta.placed(shown)
	command := f.Severity.String()
	if f.Severity == judge.Note {
		command = "notice"
	}
	var with []string
	if f.Place.Valid() {
		at := reg.of(shown.Place)
		with = append(with, "file="+property(f.Place.File), fmt.Sprintf("line=%d", at.StartLine))
		// Columns are permitted within one line only.
		switch {
		case at.EndLine > at.StartLine:
			with = append(with, fmt.Sprintf("endLine=%d", at.EndLine))
		case at.StartColumn > 0:
			with = append(with, fmt.Sprintf("col=%d", at.StartColumn))
			if at.EndColumn > at.StartColumn {
				with = append(with, fmt.Sprintf("endColumn=%d", at.EndColumn))
			}
		}
	}
	title := f.Rule
	if f.Axis != "" {
		title = f.Axis + ": " + title
	}
	with = append(with, "title="+property(title))
	text := append([]string{f.Message}, details(f)...)
	return "::" + command + " " + strings.Join(with, ",") + "::" + commandText.Replace(harmless(text)) + "\n"
}

var (
	commandText     = strings.NewReplacer("%", "%25", "\r", "%0D", "\n", "%0A")
	commandProperty = strings.NewReplacer("%", "%25", "\r", "%0D", "\n", "%0A", ":", "%3A", ",", "%2C")
)

func property(s string) string { return commandProperty.Replace(sanitize.Line(s)) }
