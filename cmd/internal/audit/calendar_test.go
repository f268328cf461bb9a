package audit

import (
	"bytes"
	"fmt"
	"html"
	"math"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"trammel/rules"
	"trammel/spec"
)

// calendarOf reads a calendar back by the grammar of RFC 5545: content lines (3.1) unfolded,
// values of type TEXT (3.3.11) with their escapes undone.
func calendarOf(t *testing.T, out string) []map[string]string {
	t.Helper()
	if !strings.HasSuffix(out, "\r\n") || strings.ContainsAny(strings.ReplaceAll(out, "\r\n", ""), "\r\n") {
		t.Error("lines do not end with CRLF")
	}
	for _, l := range strings.Split(out, "\r\n") {
		if len(l) > 75 || !utf8.ValidString(l) {
			t.Errorf("a line of %d octets: %q", len(l), l)
		}
	}
	var events []map[string]string
	var open []string
	for _, l := range strings.Split(strings.TrimSuffix(strings.ReplaceAll(out, "\r\n ", ""), "\r\n"), "\r\n") {
		name, value, ok := strings.Cut(l, ":")
		switch {
		case !ok:
			t.Errorf("no content line: %q", l)
		case name == "BEGIN":
			if open = append(open, value); value == "VEVENT" {
				events = append(events, map[string]string{})
			}
		case name == "END":
			if len(open) == 0 || open[len(open)-1] != value {
				t.Fatalf("%s ends inside %v", value, open)
			}
			open = open[:len(open)-1]
		case slices.Equal(open, []string{"VCALENDAR", "VEVENT"}):
			if _, twice := events[len(events)-1][name]; twice {
				t.Errorf("%s stands twice in an event", name)
			}
			events[len(events)-1][name] = strings.NewReplacer(`\\`, `\`, `\;`, ";", `\,`, ",", `\n`, "\n").Replace(value)
		}
	}
	if len(open) > 0 || !strings.HasPrefix(out, "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:") {
		t.Errorf("%v stays open, or the head is wrong: %.80q", open, out)
	}
	return events
}

func greasedFleet(rows ...*Row) *Fleet {
	f := New(today, Tree{Show: func(p spec.Place) spec.Place { return p }})
	f.machines = []machine{{name: "m, one; two", folder: "m", shown: "m, one; two"}, {name: "n", folder: "n", shown: "n"}}
	f.rows = rows
	for _, r := range rows {
		r.parts = [partKinds]int32{-1, -1, -1}
		r.Place = spec.Place{File: "m/a.axis.hcl"}
	}
	return f
}

func TestCalendar(t *testing.T) {
	march := int32(time.Date(2024, 3, 10, 0, 0, 0, 0, time.UTC).Unix() / day)
	f := greasedFleet(
		&Row{Axis: `lift \ µm ` + strings.Repeat("ö", 60), every: 12 * month, commissioned: march},
		&Row{Axis: "feed\nEND:VEVENT", every: 12 * month, commissioned: march},
		&Row{Axis: "other", machine: 1, every: 6 * month, commissioned: noDay},
		&Row{Axis: "never", every: math.NaN()},
	)
	out := string(render(t, f.Calendar))
	events := calendarOf(t, out)
	var got []string
	uids := map[string]bool{}
	for _, e := range events {
		got = append(got, e["DTSTART;VALUE=DATE"]+" "+strings.SplitN(e["SUMMARY"], ":", 2)[0])
		uids[e["UID"]] = true
		if want := f.today.Format("20060102") + "T000000Z"; e["DTSTAMP"] != want {
			t.Errorf("the stamp is %s, expected %s", e["DTSTAMP"], want)
		}
	}
	// By hand: a year of 365.25 days after 10 March 2024 comes 10 March 2025, 2026 and 2027,
	// three quarters of a day late by then; half years after 1 January 2026 come 2 July, 1
	// January 2027, 2 July.
	if want := []string{"20270101 Regrease n", "20270310 Regrease m, one; two", "20270702 Regrease n"}; !slices.Equal(got, want) {
		t.Errorf("events %q, expected %q", got, want)
	}
	if len(uids) != len(events) {
		t.Errorf("%d events have %d names", len(events), len(uids))
	}
	words := events[1]["SUMMARY"] + events[1]["DESCRIPTION"]
	for _, w := range []string{`lift \ µm ö`, `feed\nEND:VEVENT`, "every 12 months", "Lock the machine out"} {
		if !strings.Contains(words, w) {
			t.Errorf("%q is missing in %q", w, words)
		}
	}
	if !strings.Contains(events[0]["DESCRIPTION"], "counted from 1 January") || strings.Contains(words, "counted from 1 January") {
		t.Error("what it is counted from is wrong")
	}
	if !bytes.Equal(render(t, f.Calendar), []byte(out)) {
		t.Error("the same fleet gives other bytes")
	}
}

// The days of the calendar and the months of the plan agree.
func TestCalendarAgreesWithPlan(t *testing.T) {
	for _, every := range []float64{0.01, 0.25, 1, 1.7, 2, 3, 6, 7.3, 12, 24} {
		for commissioned := int32(19000); commissioned < 21500; commissioned += 97 {
			r := &Row{Axis: "a", every: every * month, commissioned: commissioned}
			f := greasedFleet(r)
			months, _ := f.Greasing()
			due := map[string]bool{}
			f.dueDays(r, func(at time.Time) { due[at.Format("2006-01")] = true })
			for _, m := range months {
				if due[m.Month] != (m.Axes == 1) {
					t.Fatalf("every %g months from day %d: %s has %d axes in the plan, in the calendar: %v", every, commissioned, m.Month, m.Axes, due[m.Month])
				}
			}
		}
	}
}

func TestFolding(t *testing.T) {
	for n := range 200 {
		var b bytes.Buffer
		(&calendarWriter{w: &b}).line("SUMMARY", strings.Repeat("x", n)+"€"+strings.Repeat("ü", n))
		got := b.String()
		if back := strings.TrimSuffix(strings.ReplaceAll(got, "\r\n ", ""), "\r\n"); back != fmt.Sprintf("SUMMARY:%s€%s", strings.Repeat("x", n), strings.Repeat("ü", n)) {
			t.Fatalf("unfolded: %q", back)
		}
		for _, l := range strings.Split(got, "\r\n") {
			if len(l) > 75 || !utf8.ValidString(l) {
				t.Fatalf("a line of %d octets: %q", len(l), l)
			}
		}
	}
}

// What can hurt someone comes first on the page: errors that stand, of rules with a caution,
// each with its sentence; what can fall before the rest.
func TestDangersFirst(t *testing.T) {
	f, _ := build(t, manyBakeries(t, 2), 0)
	page := string(render(t, f.HTML))
	if len(f.dangers) < 2 {
		t.Fatalf("%d dangers", len(f.dangers))
	}
	for i, d := range f.dangers {
		if d.errors == 0 || rules.Book().Caution(d.Rule) == "" || d.Message == "" {
			t.Errorf("%s of %s is none: %s", d.Rule, d.Axis, d.Message)
		}
		if i > 0 && d.brake > f.dangers[i-1].brake {
			t.Errorf("%s comes behind %s", d.Axis, f.dangers[i-1].Axis)
		}
		if at := strings.Index(page, html.EscapeString(d.Message)); at < 0 || at > strings.Index(page, `id="lifting"`) {
			t.Errorf("%q does not stand in front", d.Message)
		}
	}
	for _, r := range f.held(brakeFails) {
		if !slices.ContainsFunc(f.dangers, func(d Danger) bool { return d.Row == r }) {
			t.Errorf("%s can fall and is no danger", r.Axis)
		}
	}
	var axes, machines int
	for _, l := range f.Lines() {
		axes, machines = axes+l.Axes, machines+l.Machines
	}
	if lines := f.Lines(); len(lines) != 2 || axes != f.Axes() || machines != len(f.Machines()) {
		t.Errorf("%d product lines with %d axes of %d on %d machines of %d", len(lines), axes, f.Axes(), machines, len(f.Machines()))
	}
}
