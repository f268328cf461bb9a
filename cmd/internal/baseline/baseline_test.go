package baseline

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

var none = math.NaN()

func finding(rule, axis, cause string, use float64) judge.Finding {
	return judge.Finding{
		Rule: rule, Severity: judge.Error, Machine: "slicer", Axis: axis, Cause: cause, Utilisation: use,
		Message: "it is too much", Place: spec.Place{File: "slicer/lift.axis.hcl", Line: 3},
	}
}

func fast(use ...float64) []judge.Finding {
	var out []judge.Finding
	for i, u := range use {
		f := finding("critical-speed", "lift", "motion.move.speed[up]", u)
		f.Place.Line = int32(100 * i) // lines are nothing to go by
		out = append(out, f)
	}
	return out
}

func recorded(findings ...judge.Finding) *List {
	l := &List{}
	l.Record(findings, nil)
	return l
}

func read(t *testing.T, src string) *List {
	t.Helper()
	l, err := Read(strings.NewReader(src))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestFormat(t *testing.T) {
	part := judge.Finding{Rule: "unused-part", Place: spec.Place{File: "../parts/a.parts.hcl"}, Cause: "screw.old one", Utilisation: none}
	text := judge.Finding{Rule: "value", Place: spec.Place{File: "a.axis.hcl"}, Message: "\"x\" is no\nnumber", Utilisation: none}
	list := append(fast(1.12249, 1.12251, 1.12249, math.Inf(1)), finding("buckling", "größe 2", "supports.span", none), part, text)
	waived, fatal := finding("buckling", "waived", "x", 2), judge.Finding{Rule: "file", Place: spec.Place{File: "a.policy.hcl"}}
	waived.Waiver = &spec.Waiver{}
	l := &List{}
	if n := l.Record(append(list, waived, fatal), func(s string) string { return strings.TrimPrefix(s, "../") }); n != 7 || l.Len() != 7 {
		t.Errorf("recorded %d, holds %d", n, l.Len())
	}
	const want = header + "\n" + legend + `
value . "" "\"x\" is no\nnumber" - 1
unused-part parts "" "screw.old one" - 1
buckling slicer "größe 2" supports.span - 1
critical-speed slicer lift motion.move.speed[up] 1.122 2
critical-speed slicer lift motion.move.speed[up] 1.123 1
critical-speed slicer lift motion.move.speed[up] unlimited 1
`
	if got := string(l.Format()); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	again := read(t, strings.ReplaceAll(want, "\n", "\r\n"))
	if !bytes.Equal(again.Format(), l.Format()) {
		t.Errorf("read back as\n%s", again.Format())
	}
	if l.Record(list, func(s string) string { return strings.TrimPrefix(s, "../") }) != 0 {
		t.Error("recording the same again changed the list")
	}
}

// The parts of a key are those of the identity.
func TestKeyIsTheIdentity(t *testing.T) {
	list := append(fast(1), finding("a", "", "", none), finding("a", "", "cause", 1), finding("a", "b", "", 1))
	for i := range list {
		for _, machine := range []string{"", "slicer"} {
			f := &list[i]
			f.Machine = machine
			k := KeyOf(f, nil)
			if got := strings.Join([]string{k.Rule, k.Where, k.Axis, k.Cause}, "|"); got != f.Identity() {
				t.Errorf("key %s, identity %s", got, f.Identity())
			}
		}
	}
}

func TestMatch(t *testing.T) {
	for name, c := range map[string]struct {
		old, now []float64
		known    []int
		worse    map[int]float64
		stale    []float64
	}{
		"the same":                  {[]float64{1.2}, []float64{1.2}, []int{0}, nil, nil},
		"digits that are not kept":  {[]float64{1.23456}, []float64{1.23456}, []int{0}, nil, nil},
		"better":                    {[]float64{1.2}, []float64{1.1}, []int{0}, nil, nil},
		"a little worse":            {[]float64{1.2}, []float64{1.2119}, []int{0}, nil, nil},
		"worse":                     {[]float64{1.2}, []float64{1.2121}, nil, map[int]float64{0: 1.2}, nil},
		"gone":                      {[]float64{1.2}, nil, nil, nil, []float64{1.2}},
		"new":                       {nil, []float64{1.2}, nil, nil, nil},
		"one of two gone":           {[]float64{1.2, 1.5}, []float64{1.5}, []int{0}, nil, []float64{1.2}},
		"the other of two gone":     {[]float64{1.2, 1.5}, []float64{1.2}, []int{0}, nil, []float64{1.5}},
		"one more, the worst":       {[]float64{1.5}, []float64{1.4, 1.2}, []int{1}, nil, nil},
		"two equal stay two":        {[]float64{1.2, 1.2}, []float64{1.2, 1.2, 1.2}, []int{0, 1}, nil, nil},
		"one of two equal gone":     {[]float64{1.2, 1.2}, []float64{1.2}, []int{0}, nil, []float64{1.2}},
		"crossed, one worse":        {[]float64{1.2, 1.5}, []float64{1.6, 1.3}, []int{1}, map[int]float64{0: 1.2}, nil},
		"as many known as can be":   {[]float64{1.5, 1.2}, []float64{1.2, 1.5}, []int{0, 1}, nil, nil},
		"no number":                 {[]float64{none}, []float64{none}, []int{0}, nil, nil},
		"a number now":              {[]float64{none}, []float64{7}, []int{0}, nil, nil},
		"no number now":             {[]float64{7}, []float64{none}, []int{0}, nil, nil},
		"unlimited":                 {[]float64{math.Inf(1)}, []float64{math.Inf(1)}, []int{0}, nil, nil},
		"unlimited now":             {[]float64{7}, []float64{math.Inf(1)}, nil, map[int]float64{0: 7}, nil},
		"advice":                    {[]float64{0.95}, []float64{0.955}, []int{0}, nil, nil},
		"advice that is a fault":    {[]float64{0.995}, []float64{1.002}, nil, map[int]float64{0: 0.995}, nil},
		"advice just at the limit":  {[]float64{0.99999}, []float64{0.99999}, []int{0}, nil, nil},
		"just over the limit":       {[]float64{1.00001}, []float64{1.00001}, []int{0}, nil, nil},
		"below nothing":             {[]float64{-2}, []float64{-2}, []int{0}, nil, nil},
		"smaller than 4 digits say": {[]float64{1.00049}, []float64{1.0105}, nil, map[int]float64{0: 1}, nil},
	} {
		l := recorded(fast(c.old...)...)
		before := string(l.Format())
		now := fast(c.now...)
		m := l.Match(now, Options{})
		var got []int
		for i := range m.Known {
			got = append(got, i)
		}
		slices.Sort(got)
		var stale []float64
		for _, e := range m.Stale {
			for range e.Count {
				stale = append(stale, e.Use)
			}
		}
		if c.worse == nil {
			c.worse = map[int]float64{}
		}
		if !slices.Equal(got, c.known) || !reflect.DeepEqual(m.Worse, c.worse) || !slices.Equal(stale, c.stale) {
			t.Errorf("%s: known %v, worse %v, stale %v", name, got, m.Worse, stale)
		}
		if string(l.Format()) != before {
			t.Errorf("%s: comparing changed the list", name)
		}
		if n := l.Prune(m.Stale); n != len(c.stale) {
			t.Errorf("%s: pruned %d", name, n)
		}
		if after := l.Match(now, Options{}); len(after.Stale) > 0 || len(after.Known) != len(c.known) {
			t.Errorf("%s: pruned, %d are stale and %d known", name, len(after.Stale), len(after.Known))
		}
		l.Record(now, nil)
		if after := l.Match(now, Options{}); len(after.Known) != len(now) || l.Len() != len(now) {
			t.Errorf("%s: recorded, %d of %d are known and %d listed", name, len(after.Known), len(now), l.Len())
		}
	}
}

// Recording takes nothing off.
func TestRecordKeepsStale(t *testing.T) {
	l := recorded(finding("buckling", "lift", "supports.span", 1.5))
	l.Record(fast(1.2), nil)
	if l.Len() != 2 {
		t.Errorf("%s", l.Format())
	}
}

// A waiver is a decision until a day. It takes the finding off the list, so
// that it is new when the day has passed.
func TestWaivedAndFatalAreNotKnown(t *testing.T) {
	list := append(fast(1.2), judge.Finding{Rule: "syntax", Place: spec.Place{File: "a.policy.hcl"}, Utilisation: none})
	l := recorded(fast(1.2)...)
	l.add(KeyOf(&list[1], nil), none, 1)
	list[0].Waiver = &spec.Waiver{}
	if m := l.Match(list, Options{}); len(m.Known) != 0 || len(m.Stale) != 2 {
		t.Errorf("%+v", m)
	}
}

// What a run did not look at is not called stale.
func TestVerdicts(t *testing.T) {
	dir := t.TempDir()
	const src = `axis "lift" {
  motion {
    stroke = "1 m"
    move "up" {
      distance = "1 m"
      speed    = "0.1 m/s"
      ramp     = "0.1 s"
    }
    move "down" {
      distance = "-1 m"
      speed    = "0.1 m/s"
      ramp     = "0.1 s"
    }
  }
}
`
	if err := os.WriteFile(filepath.Join(dir, "lift.axis.hcl"), []byte(src), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, whole := range []bool{false, true} {
		v := &Verdicts{Whole: whole}
		sum := run.Files(rules.Book(), spec.NewTree(os.DirFS(dir)), []string{"lift.axis.hcl"}, run.Options{Today: time.Now(), As: run.Look{Each: v.Add}})
		if len(sum.Findings) > 0 {
			t.Fatalf("%+v", sum.Findings)
		}
		for k, want := range map[Key]bool{
			{"cycle-closes", ".", "lift", "x"}:           true,  // judged
			{"critical-speed", ".", "lift", "x"}:         false, // waits for the screw
			{"rule-that-is-gone", ".", "lift", "x"}:      true,
			{"critical-speed", ".", "other", "x"}:        whole,
			{"critical-speed", "elsewhere", "lift", "x"}: whole,
			{"value", ".", "", "x"}:                      whole,
		} {
			if got := v.Checked(k); got != want {
				t.Errorf("whole %v: %v: %v", whole, k, got)
			}
		}
		l := recorded(fast(1.2)...)
		if m := l.Match(nil, Options{Checked: v.Checked}); (len(m.Stale) == 1) != whole {
			t.Errorf("whole %v: stale %v", whole, m.Stale)
		}
	}
}

func TestDamagedLists(t *testing.T) {
	const good = "critical-speed slicer lift motion 1.2 1\n"
	for src, want := range map[string]string{
		"":                                                    "is empty",
		"{}\n":                                                "line 1: this is no list",
		"trammel-known 2\n":                                   "line 1: this list is of a version",
		header + "\n" + "a b c":                               "line 2: the cause is missing",
		header + "\n" + "a b c d 1":                           "line 2: the count is missing",
		header + "\n\n# x\n" + `a b "c"`:                      "line 4: it ends before the cause",
		header + "\n" + `a b "c"d e 1 1`:                      "line 2: a space should stand before the cause",
		header + "\n" + `a b "c d e 1 1`:                      "line 2: the quotes around the axis",
		header + "\n" + `a b "\q" e 1 1`:                      "line 2: the quotes around the axis",
		header + "\n" + "a b `c` d 1 1":                       "line 2: the axis is \"`c`\", which should stand in quotes",
		header + "\n" + "a b  c d 1 1":                        "line 2: the axis is missing",
		header + "\n" + "a b c d much 1":                      "line 2: the use of the limit",
		header + "\n" + "a b c d nan 1":                       "line 2: the use of the limit",
		header + "\n" + "a b c d 0x1p3 1":                     "line 2: the use of the limit",
		header + "\n" + "a b c d 1e999 1":                     "line 2: the use of the limit",
		header + "\n" + "a b c d 1 0":                         "line 2: the count",
		header + "\n" + "a b c d 1 -1":                        "line 2: the count",
		header + "\n" + "a b c d 1 99999999999":               "line 2: the count",
		header + "\n" + "a b c d 1 1 1":                       "line 2: more stands behind the count",
		header + "\n" + good + good:                           "line 3 says the same as line 2",
		header + "\n" + "a b c d - 1\na b c d - 2\n":          "line 3 says the same as line 2",
		header + "\n" + "<<<<<<< HEAD\n" + good:               "line 2: a merge conflict",
		header + "\n" + good + "=======\n":                    "line 3: a merge conflict",
		header + "\n" + "critical-speed slicer lift mot\x00n": "should stand in quotes",
	} {
		if _, err := Read(strings.NewReader(src)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", src, err, want)
		}
	}
}

func TestUpdate(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "known list")
	if _, err := Open(name); !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	record := func(l *List) error { l.Record(fast(1.2), nil); return nil }
	if err := Update(name, record); err != nil {
		t.Fatal(err)
	}
	before, _ := os.Stat(name)
	if err := Update(name, record); err != nil {
		t.Fatal(err)
	}
	if after, _ := os.Stat(name); !os.SameFile(before, after) {
		t.Error("a list that did not change was written")
	}

	// The mode and a link stay.
	if err := os.Chmod(name, 0o600); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(dir, "link")
	if err := os.Symlink("known list", link); err != nil {
		t.Skip(err)
	}
	if err := Update(link, func(l *List) error { l.Record(fast(1.2, 1.3), nil); return nil }); err != nil {
		t.Fatal(err)
	}
	if info, _ := os.Lstat(link); info.Mode()&fs.ModeSymlink == 0 {
		t.Error("the link was replaced")
	}
	if info, _ := os.Stat(name); info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v", info.Mode())
	}
	if l, err := Open(name); err != nil || l.Len() != 2 {
		t.Errorf("%v %v", l, err)
	}

	// A change that fails, and a damaged file, leave everything as it is.
	good, _ := os.ReadFile(name)
	if err := Update(name, func(l *List) error { l.uses = nil; return os.ErrInvalid }); !errors.Is(err, os.ErrInvalid) {
		t.Error(err)
	}
	if now, _ := os.ReadFile(name); !bytes.Equal(now, good) {
		t.Error("a change that failed was written")
	}
	damaged := append(good[:len(good)-9:len(good)-9], "x\n"...)
	if err := os.WriteFile(name, damaged, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := Update(name, record); err == nil || !strings.Contains(err.Error(), name+": line ") {
		t.Error(err)
	}
	if now, _ := os.ReadFile(name); !bytes.Equal(now, damaged) {
		t.Error("a damaged list was overwritten")
	}
	if err := (&List{}).Write(dir); err == nil {
		t.Error("a folder was written to")
	}
	if err := (&List{}).Write(filepath.Join(dir, "no", "list")); err == nil {
		t.Error("a list was written to a folder that is not there")
	}
	if left, _ := os.ReadDir(dir); len(left) != 2 {
		t.Errorf("left behind: %v", left)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(header + "\n" + legend + "\ncritical-speed slicer lift motion.move.speed[up] 1.122 1\n"))
	f.Add([]byte(header + "\r\na \"b c\" \"\" \"\\xff\\n|\\\"\" - 3\r\n"))
	f.Add([]byte(header + "\na b c d unlimited 1\na b c d -0.00001 1000000000"))
	f.Add([]byte(header + "\n<<<<<<< HEAD\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		l, err := Read(bytes.NewReader(src))
		if err != nil {
			return
		}
		text := l.Format()
		again, err := Read(bytes.NewReader(text))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if !bytes.Equal(again.Format(), text) || again.Len() != l.Len() {
			t.Fatalf("%s\nreads back as\n%s", text, again.Format())
		}
		// Findings made of the entries are known, all of them, and none is stale.
		var list []judge.Finding
		for _, e := range l.Entries() {
			for range min(e.Count, 3) {
				list = append(list, judge.Finding{Rule: e.Rule, Machine: e.Where, Axis: e.Axis, Cause: e.Cause, Utilisation: e.Use})
			}
		}
		m := l.Match(list, Options{})
		for i := range list {
			k := KeyOf(&list[i], nil)
			if list[i].Fatal() || k != (Key{list[i].Rule, list[i].Machine, list[i].Axis, list[i].Cause}) {
				continue // not a finding that can be recorded like this
			}
			if !m.Known[i] {
				t.Fatalf("%+v is not known to\n%s", list[i], text)
			}
		}
		l.Prune(m.Stale)
		if rest := l.Match(list, Options{}); len(rest.Stale) > 0 {
			t.Fatalf("pruned, and still stale: %v", rest.Stale)
		}
	})
}

// FuzzEntries makes lists of any values, which no text of a list need have had,
// and holds them against findings of any use.
func FuzzEntries(f *testing.F) {
	f.Add("critical-speed", "slicer", "lift", "motion.move.speed[up]", 1.122, 1.13, uint32(2), uint8(1))
	f.Add("a b", "\x1b\n\u202e", "", "##[error]\u200b", math.Inf(1), math.NaN(), uint32(maxCount), uint8(0))
	f.Add("", "#", "\ufeff", "\xff", math.Copysign(0, -1), -1e308, uint32(0), uint8(3))
	f.Fuzz(func(t *testing.T, rule, where, axis, cause string, use, found float64, count uint32, kind uint8) {
		l := &List{}
		key := Key{rule, where, axis, cause}
		n := int(count)%maxCount + 1
		l.add(key, round(use), n)
		text := l.Format()
		if got := strings.Count(string(text), "\n"); got != 3 || bytes.ContainsAny(text, "\x1b\r\t\x00") {
			t.Fatalf("%d lines: %q", got, text)
		}
		if i := strings.IndexFunc(string(text), func(r rune) bool { return r != '\n' && sanitize.Hides(r) }); i >= 0 {
			t.Fatalf("%q", text[i:])
		}
		again, err := Read(bytes.NewReader(text))
		if err != nil || !bytes.Equal(again.Format(), text) || again.Len() != n {
			t.Fatalf("%v: %q", err, text)
		}
		one := judge.Finding{Rule: rule, Severity: judge.Severity(1 + kind%3), Machine: where, Axis: axis, Cause: cause, Utilisation: found, Message: cause}
		if kind&4 != 0 {
			one.Waiver = &spec.Waiver{}
		}
		if KeyOf(&one, nil) != key {
			return // no finding has this key
		}
		list := []judge.Finding{one, one}
		m := again.Match(list, Options{})
		for i := range list {
			if m.Known[i] && (one.Waiver != nil || one.Fatal()) {
				t.Fatalf("%+v is known", one)
			}
		}
		if len(m.Known) > n {
			t.Fatalf("%d known of %d", len(m.Known), n)
		}
		if use == use && found == found && !math.IsInf(use, 1) && found > round(use)+math.Abs(round(use))/50 && len(m.Known) > 0 {
			t.Fatalf("%v is known as %v", found, use)
		}
		again.Record(list, nil)
		if recordable(&one) {
			if m = again.Match(list, Options{}); len(m.Known) != 2 {
				t.Fatalf("recorded, and not known: %q", again.Format())
			}
		}
		again.Prune(m.Stale)
		if m = again.Match(list, Options{}); len(m.Stale) > 0 {
			t.Fatalf("pruned, and still stale: %v", m.Stale)
		}
	})
}

// TestTooLong: a list without end is refused, not cut off and believed.
func TestTooLong(t *testing.T) {
	line := strings.NewReader("# " + strings.Repeat("x", 1<<20) + "\n")
	many := make([]io.Reader, 0, 2*maxFile>>20)
	many = append(many, strings.NewReader(header+"\n"))
	for range maxFile>>20 + 1 {
		again := *line
		many = append(many, &again)
	}
	if l, err := Read(io.MultiReader(many...)); err == nil || !strings.Contains(err.Error(), "larger than") {
		t.Errorf("it has %v, %v", l, err)
	}
}

// Len is how many findings are on the list.
func (l *List) Len() int {
	n := 0
	for _, slots := range l.uses {
		for _, s := range slots {
			n += s.count
		}
	}
	return n
}
