package audit

import (
	"encoding/csv"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"

	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
)

// plainNumber is what a spreadsheet reads as a number whatever it begins with.
var plainNumber = regexp.MustCompile(`^[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?$`)

// Cell makes text safe to open in a spreadsheet: text that one would execute as
// a formula gets an apostrophe before it. Quotes and blanks before the sign do
// not hide it, since some programs drop them.
func Cell(s string) string {
	t := strings.TrimLeft(s, "\"' \u00a0\ufeff")
	if t == "" || !strings.ContainsAny(t[:1], "=+-@\t\r\n|%") && !strings.HasPrefix(t, "＝") && !strings.HasPrefix(t, "＋") && !strings.HasPrefix(t, "－") && !strings.HasPrefix(t, "＠") {
		return s
	}
	if plainNumber.MatchString(s) {
		return s
	}
	return "'" + s
}

// number writes a number for a machine to read, "" where there is none.
func number(x float64) string {
	switch {
	case math.IsNaN(x):
		return ""
	case math.IsInf(x, 1):
		return "unlimited"
	}
	return strconv.FormatFloat(round(x), 'g', -1, 64)
}

// round keeps six digits: more are not known, and fewer bytes are read faster.
func round(x float64) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 6, 64), 64)
	if err != nil {
		return x
	}
	return r
}

// CSV writes one row an axis.
func (f *Fleet) CSV(w io.Writer) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true // RFC 4180
	head := []string{"machine", "axis", "file", "line", "state", "errors", "warnings", "notes", "waived", "rules judged", "rules not judged", "worst rule", "worst margin", "holding brake"}
	for _, k := range keys {
		head = append(head, withUnit(k.head, k.unit))
	}
	head = append(head, "life [revolutions]", "life [years]", "commissioned", "operating hours so far [h]", "age counted by", "years in service [years]",
		"hours so far over declared duty", "life used [%]", "remaining life [years]", "life ends on", "screw", "motor", "grease", "regrease every [months]")
	order := f.ruleOrder()
	for _, i := range order {
		head = append(head, "margin: "+f.ruleShown(i))
	}
	row := make([]string, len(head))
	write := func(cells []string) error {
		for i := range cells {
			cells[i] = Cell(sanitize.Line(cells[i]))
		}
		return c.Write(cells)
	}
	if err := write(head); err != nil {
		return err
	}
	for _, r := range f.rows {
		at, wear := f.show(r), r.wear(f.today)
		row = append(row[:0], f.machineName(r), r.Axis, at.File, strconv.Itoa(int(at.Line)), r.word(),
			strconv.Itoa(int(r.errors)), strconv.Itoa(int(r.warnings)), strconv.Itoa(int(r.notes)), strconv.Itoa(int(r.waived)),
			strconv.Itoa(int(r.judged)), strconv.Itoa(int(r.unjudged)))
		if r.worst >= 0 {
			row = append(row, f.ruleShown(int(r.worst)), number(margin(float64(r.worstUse))))
		} else {
			row = append(row, "", "")
		}
		row = append(row, r.brake.String())
		for _, x := range r.values {
			row = append(row, number(float64(x)))
		}
		row = append(row, number(r.life), number(r.lifeYears), r.day(), number(r.hours), wear.Basis, number(wear.Years), number(wear.Duty), number(wear.Share*100), number(wear.Remaining))
		if wear.Out.IsZero() {
			row = append(row, "")
		} else {
			row = append(row, wear.Out.Format("2006-01-02"))
		}
		row = append(row, f.partName(r, screws), f.partName(r, motors), f.partName(r, greases), number(r.every/month))
		for _, i := range order {
			row = append(row, marginCell(r.result(i)))
		}
		if err := write(row); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// marginCell is empty where a rule does not apply, a number where it compares
// numbers, a word elsewhere.
func marginCell(s judge.State, use float64) string {
	switch s {
	case judge.Unjudged:
		return "not judged"
	case judge.Passed, judge.Failed:
		if use == use {
			return number(margin(use))
		}
		return s.String()
	}
	return ""
}

func withUnit(name, u string) string {
	if u == "" {
		return name
	}
	return name + " [" + u + "]"
}
