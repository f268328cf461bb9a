package audit

import (
	"cmp"
	"crypto/sha256"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"trammel/cmd/internal/sanitize"
	"trammel/spec/unit"
)

const day = 86400 // seconds

// dueDays calls each for every day of twelve months, today's included from today on, on
// which a row is due; the days are those of Greasing.
func (f *Fleet) dueDays(r *Row, each func(at time.Time)) {
	if r.every != r.every {
		return
	}
	first := time.Date(f.today.Year(), f.today.Month(), 1, 0, 0, 0, 0, time.UTC)
	from, now, end := f.countedFrom(r), float64(f.today.Unix()), float64(first.AddDate(0, 12, 0).Unix())
	every := math.Max(r.every, day) // what is due more often is due each day
	// Rounding must not move a day.
	for k := math.Max(1, math.Ceil((now-from)/every-1e-9)); ; k++ {
		at := from + k*every
		if at >= end-1e-6 {
			return
		}
		each(time.Unix(int64(at+0.5), 0).UTC().Truncate(24 * time.Hour))
	}
}

// countedFrom is the time from which a row's intervals are counted: its day of commissioning,
// or 1 January of this year where that is not declared.
func (f *Fleet) countedFrom(r *Row) float64 {
	if r.commissioned != noDay {
		return float64(r.commissioned) * day
	}
	return float64(time.Date(f.today.Year(), 1, 1, 0, 0, 0, 0, time.UTC).Unix())
}

// A greasingRound is the greasing of a machine's axes on a day.
type greasingRound struct {
	machine int32
	day     time.Time
	rows    []*Row
}

// Calendar writes the regreasing of twelve months as an iCalendar file (RFC 5545): an event
// for each machine and day. The same fleet gives the same bytes, and an event keeps its UID
// from run to run, so that a calendar that takes the file again holds each once.
func (f *Fleet) Calendar(w io.Writer) error {
	type key struct {
		machine int32
		day     time.Time
	}
	rounds := map[key]*greasingRound{}
	for _, r := range f.rows {
		f.dueDays(r, func(at time.Time) {
			k := key{r.machine, at}
			if rounds[k] == nil {
				rounds[k] = &greasingRound{machine: r.machine, day: at}
			}
			rounds[k].rows = append(rounds[k].rows, r)
		})
	}
	var list []*greasingRound
	for _, r := range rounds {
		list = append(list, r)
	}
	slices.SortFunc(list, func(a, b *greasingRound) int {
		return cmp.Or(a.day.Compare(b.day), cmp.Compare(f.machines[a.machine].shown, f.machines[b.machine].shown), cmp.Compare(f.machines[a.machine].folder, f.machines[b.machine].folder), cmp.Compare(a.machine, b.machine))
	})
	c := calendarWriter{w: w}
	c.line("BEGIN", "VCALENDAR")
	c.line("VERSION", "2.0")
	c.line("PRODID", "-//trammel//regreasing//EN")
	for _, r := range list {
		f.event(&c, r)
	}
	c.line("END", "VCALENDAR")
	return c.err
}

func (f *Fleet) event(c *calendarWriter, r *greasingRound) {
	m := &f.machines[r.machine]
	sum := sha256.Sum256(fmt.Appendf(nil, "%d\x00%s\x00%s\x00%s", m.tree, m.folder, m.name, r.day.Format(time.DateOnly)))
	var names, lines []string
	for _, x := range r.rows {
		names = append(names, sanitize.Line(x.Axis))
		about := "every " + interval(x.every)
		if g := f.partName(x, greases); g != "" {
			about += " with " + g
		}
		if x.commissioned == noDay {
			about += ", counted from 1 January since no day of commissioning is declared"
		}
		lines = append(lines, sanitize.Sprintf("%s (%s): %s", x.Axis, f.show(x), about))
	}
	lines = append(lines, "Lock the machine out and secure axes that can fall before greasing. Local codes and the machine's manual take precedence.")
	c.line("BEGIN", "VEVENT")
	c.line("UID", fmt.Sprintf("%x@trammel", sum[:16]))
	c.line("DTSTAMP", f.today.UTC().Format("20060102")+"T000000Z")
	c.line("DTSTART;VALUE=DATE", r.day.Format("20060102"))
	c.line("SUMMARY", escapeText("Regrease "+sanitize.Line(m.shown)+": "+strings.Join(names, ", ")))
	c.line("DESCRIPTION", escapeText(strings.Join(lines, "\n")))
	c.line("TRANSP", "TRANSPARENT") // the day stays free
	c.line("END", "VEVENT")
}

// interval writes whole months as such: those of a year are no whole days.
func interval(seconds float64) string {
	if n := math.Round(seconds / month); n == 1 && math.Abs(seconds-n*month) < 1 {
		return "month"
	}
	return unit.Format(seconds, regreaseField.Unit, unit.Metric)
}

// escapeText escapes a value of type TEXT (RFC 5545, 3.3.11).
var escapeText = strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\n", `\n`).Replace

// A calendarWriter writes content lines.
type calendarWriter struct {
	w   io.Writer
	err error
}

// line writes a content line: it ends with CRLF and is folded so that no line is longer than
// 75 octets, between characters (RFC 5545, 3.1).
func (c *calendarWriter) line(name, value string) {
	var b strings.Builder
	room := 75
	for _, r := range name + ":" + value {
		n := utf8.RuneLen(r)
		if n > room {
			b.WriteString("\r\n ")
			room = 74
		}
		b.WriteRune(r)
		room -= n
	}
	b.WriteString("\r\n")
	if c.err == nil {
		_, c.err = io.WriteString(c.w, b.String())
	}
}
