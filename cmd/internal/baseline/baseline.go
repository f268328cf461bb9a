// Package baseline keeps the recorded list of known findings, so that an old
// fleet can start with "nothing new" and only get better.
//
// The list is a text file, one entry a line:
//
//	trammel-known 1
//	# rule, machine or folder, axis, cause, use of the limit, count
//	critical-speed slicer lift motion.move.speed[up] 1.122 1
//
// An entry names a finding as Finding.Identity does, never by a line number.
// Words that are not plain stand in quotes, as Go writes them. The use is "-"
// where the rule has no such number and "unlimited" where nothing is permitted.
package baseline

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
)

const (
	header   = "trammel-known 1"
	legend   = "# rule, machine or folder, axis, cause, use of the limit, count"
	maxFile  = 64 << 20 // bytes; far above any honest list
	maxCount = 1_000_000_000
)

// A Key names what findings are about, in the parts of Finding.Identity.
type Key struct {
	Rule  string
	Where string // machine, or folder where there is none
	Axis  string // "" for a finding about a file
	Cause string
}

// KeyOf is the key of a finding. name gives the path below the repository's
// root of a place's file; nil where places are such paths.
func KeyOf(f *judge.Finding, name func(string) string) Key {
	k := Key{f.Rule, f.Machine, f.Axis, f.Cause}
	if k.Where == "" {
		file := f.Place.File
		if name != nil && file != "" {
			file = name(file)
		}
		k.Where = path.Dir(file)
	}
	if k.Axis == "" && k.Cause == "" {
		k.Cause = f.Message
	}
	return k
}

func compareKeys(a, b Key) int {
	return cmp.Or(cmp.Compare(a.Where, b.Where), cmp.Compare(a.Axis, b.Axis), cmp.Compare(a.Rule, b.Rule), cmp.Compare(a.Cause, b.Cause))
}

// An Entry is one line of the list: so many findings of one key that use so
// much of their limit.
type Entry struct {
	Key
	Use   float64 // with 4 digits, 1 is the limit; NaN where there is no such number
	Count int
}

// A List is a recorded list of known findings.
type List struct {
	uses map[Key][]slot // by use, NaN last
}

type slot struct {
	use   float64
	count int
}

// Entries lists the entries in order: by machine, axis, rule, cause, use.
func (l *List) Entries() []Entry {
	var out []Entry
	for k, slots := range l.uses {
		for _, s := range slots {
			out = append(out, Entry{k, s.use, s.count})
		}
	}
	sortEntries(out)
	return out
}

func sortEntries(list []Entry) {
	slices.SortFunc(list, func(a, b Entry) int {
		return cmp.Or(compareKeys(a.Key, b.Key), compareUses(a.Use, b.Use))
	})
}

func compareUses(a, b float64) int {
	switch {
	case a != a && b != b:
		return 0
	case a != a:
		return 1
	case b != b:
		return -1
	}
	return cmp.Compare(a, b)
}

func (l *List) add(k Key, use float64, count int) {
	if l.uses == nil {
		l.uses = map[Key][]slot{}
	}
	i, found := slices.BinarySearchFunc(l.uses[k], use, func(s slot, use float64) int { return compareUses(s.use, use) })
	if found {
		l.uses[k][i].count += count
		return
	}
	l.uses[k] = slices.Insert(l.uses[k], i, slot{use, count})
}

// remove takes findings of one use off the list.
func (l *List) remove(k Key, use float64, count int) (removed int) {
	slots := l.uses[k]
	i, found := slices.BinarySearchFunc(slots, use, func(s slot, use float64) int { return compareUses(s.use, use) })
	if !found || count < 1 {
		return 0
	}
	removed = min(count, slots[i].count)
	if slots[i].count -= removed; slots[i].count == 0 {
		slots = slices.Delete(slots, i, i+1)
	}
	if l.uses[k] = slots; len(slots) == 0 {
		delete(l.uses, k)
	}
	return removed
}

// Options of a comparison.
type Options struct {
	Name    func(file string) string // as for KeyOf
	Checked func(Key) bool           // whether the run came to a verdict on what a key names; nil: on everything
}

// A Match is what the comparison of a list with the findings of a run gave.
type Match struct {
	Known map[int]bool    // findings that are on the list, by index
	Worse map[int]float64 // new findings that are on the list with the smaller use given
	Stale []Entry         // entries, or parts of their counts, that were not found any more
}

// Match compares the list with the findings of a run, each entry with as many
// findings as it counts. A finding is known where its use is no more than 1 %
// over the entry's and has not passed the limit since. Waived findings, and
// those that kept the program from its job, are never known.
func (l *List) Match(findings []judge.Finding, opt Options) Match {
	m, _ := l.match(findings, opt)
	return m
}

// match also gives the findings that have no entry at all.
func (l *List) match(findings []judge.Finding, opt Options) (Match, []int) {
	m := Match{Known: map[int]bool{}, Worse: map[int]float64{}}
	present := map[Key][]int{}
	for i := range findings {
		if recordable(&findings[i]) {
			k := KeyOf(&findings[i], opt.Name)
			present[k] = append(present[k], i)
		}
	}
	var unlisted []int
	for k, list := range present {
		left := slices.Clone(l.uses[k])
		// The smallest use takes the smallest entry that permits it: so as many
		// as can be are known, and the worst are the new ones.
		slices.SortStableFunc(list, func(i, k int) int { return compareUses(findings[i].Utilisation, findings[k].Utilisation) })
		var over []int
		for _, i := range list {
			s := slices.IndexFunc(left, func(s slot) bool { return s.count > 0 && s.permits(findings[i].Utilisation) })
			if s < 0 {
				over = append(over, i)
				continue
			}
			left[s].count--
			m.Known[i] = true
		}
		// What is over on both sides got worse: its entry is not stale.
		s := 0
		for _, i := range over {
			for s < len(left) && left[s].count == 0 {
				s++
			}
			if s == len(left) {
				unlisted = append(unlisted, i)
				continue
			}
			left[s].count--
			m.Worse[i] = left[s].use
		}
		m.stale(k, left, opt)
	}
	for k, slots := range l.uses {
		if present[k] == nil {
			m.stale(k, slots, opt)
		}
	}
	sortEntries(m.Stale)
	slices.Sort(unlisted)
	return m, unlisted
}

func (m *Match) stale(k Key, left []slot, opt Options) {
	if opt.Checked != nil && !opt.Checked(k) {
		return
	}
	for _, s := range left {
		if s.count > 0 {
			m.Stale = append(m.Stale, Entry{k, s.use, s.count})
		}
	}
}

func recordable(f *judge.Finding) bool { return f.Waiver == nil && !f.Fatal() }

// permits reports whether a finding that uses so much of its limit is the
// known one still. Where either has no number, it is.
func (s slot) permits(use float64) bool {
	if use != use || s.use != s.use || math.IsInf(s.use, 1) {
		return true
	}
	if s.use < 1 && round(use) > 1 {
		return false // what was advice only has passed the limit
	}
	return use <= s.use+math.Abs(s.use)/100
}

// Record adds all findings that are not on the list, and gives those that got
// worse their new use. Nothing is taken off. It returns how many were added or
// changed.
func (l *List) Record(findings []judge.Finding, name func(string) string) int {
	m, unlisted := l.match(findings, Options{Name: name})
	for i, was := range m.Worse {
		k := KeyOf(&findings[i], name)
		l.remove(k, was, 1)
		l.add(k, round(findings[i].Utilisation), 1)
	}
	for _, i := range unlisted {
		l.add(KeyOf(&findings[i], name), round(findings[i].Utilisation), 1)
	}
	return len(m.Worse) + len(unlisted)
}

// Prune takes stale entries off the list, as Match found them: an entry of
// which some are found still has its count lowered. Nothing is added. It
// returns how many findings were taken off.
func (l *List) Prune(stale []Entry) int {
	n := 0
	for _, e := range stale {
		n += l.remove(e.Key, e.Use, e.Count)
	}
	return n
}

// Verdicts gathers from the reports of a run what it came to a verdict on. It
// may be used by several goroutines at once.
type Verdicts struct {
	Whole bool // the whole tree was checked: what is not there is gone

	mu      sync.Mutex
	axes    map[Key]bool // by where and axis
	waiting map[Key]bool // by rule, where and axis: what could not be judged
}

// Add takes one report.
func (v *Verdicts) Add(rep *judge.Report) {
	a := rep.View.Axis
	k := Key{Where: a.Folder.MachineName(), Axis: a.Name}
	if k.Where == "" {
		k.Where = path.Dir(a.Place.File)
	}
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.axes == nil {
		v.axes, v.waiting = map[Key]bool{}, map[Key]bool{}
	}
	v.axes[k] = true
	for i := range rep.Results {
		if r := &rep.Results[i]; r.State == judge.Unjudged {
			k.Rule = r.Rule
			v.waiting[k] = true
		}
	}
}

// Checked is for Options. A rule that could not be judged says nothing about
// its old findings; nor does a run that did not read their axis, unless the
// whole tree was read.
func (v *Verdicts) Checked(k Key) bool {
	v.mu.Lock()
	defer v.mu.Unlock()
	k.Cause = ""
	if v.waiting[k] {
		return false
	}
	k.Rule = ""
	return v.Whole || k.Axis != "" && v.axes[k]
}

// round keeps 4 digits, so that noise changes no line.
func round(use float64) float64 {
	if use != use || math.IsInf(use, 0) {
		return use
	}
	r, _ := strconv.ParseFloat(strconv.FormatFloat(use, 'g', 4, 64), 64)
	return r + 0 // no negative zero
}

// Format writes the list as text.
func (l *List) Format() []byte {
	var b bytes.Buffer
	b.WriteString(header + "\n" + legend + "\n")
	for _, e := range l.Entries() {
		for _, s := range []string{e.Rule, e.Where, e.Axis, e.Cause} {
			b.WriteString(word(s))
			b.WriteByte(' ')
		}
		b.WriteString(useWord(e.Use))
		b.WriteByte(' ')
		b.WriteString(strconv.Itoa(e.Count))
		b.WriteByte('\n')
	}
	return b.Bytes()
}

// word writes a name so that it stands for itself between spaces.
func word(s string) string {
	plain := s != "" && utf8.ValidString(s) && s[0] != '#'
	for _, r := range s {
		plain = plain && !sanitize.Hides(r) && (unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("._-/[]", r))
	}
	if plain {
		return s
	}
	if strings.ContainsFunc(s, sanitize.Hides) {
		return strconv.QuoteToASCII(s) // Quote leaves some that are not seen
	}
	return strconv.Quote(s)
}

func useWord(use float64) string {
	switch {
	case use != use:
		return "-"
	case math.IsInf(use, 1):
		return "unlimited"
	}
	return strconv.FormatFloat(use, 'g', -1, 64)
}

// Read reads a list. An error names the line.
func Read(r io.Reader) (*List, error) {
	src, err := io.ReadAll(io.LimitReader(r, maxFile+1))
	if err != nil {
		return nil, err
	}
	if len(src) > maxFile {
		return nil, fmt.Errorf("the list of known findings is larger than %d MB", maxFile>>20)
	}
	l := &List{}
	from := map[Entry]int{}
	n := 0
	for line := range strings.Lines(string(src)) {
		n++
		line = strings.TrimSuffix(strings.TrimSuffix(line, "\n"), "\r")
		if n == 1 {
			if line != header {
				if strings.HasPrefix(line, "trammel-known ") {
					return nil, fmt.Errorf("line 1: this list is of a version this program does not read; its first line should be %q", header)
				}
				return nil, fmt.Errorf("line 1: this is no list of known findings; its first line should be %q", header)
			}
			continue
		}
		if line == "" || line[0] == '#' {
			continue
		}
		for _, mark := range []string{"<<<<<<<", "=======", ">>>>>>>", "|||||||"} {
			if strings.HasPrefix(line, mark) {
				return nil, fmt.Errorf("line %d: a merge conflict is not resolved here; keep the lines of both sides and delete the marker lines", n)
			}
		}
		e, err := parse(line)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", n, err)
		}
		same := e
		same.Count = 0
		if same.Use != same.Use {
			same.Use = math.Inf(-1) // NaN would equal nothing
		}
		if from[same] > 0 {
			return nil, fmt.Errorf("line %d says the same as line %d; keep the one with the right count", n, from[same])
		}
		from[same] = n
		l.add(e.Key, e.Use, e.Count)
	}
	if n == 0 {
		return nil, fmt.Errorf("the list of known findings is empty; its first line should be %q", header)
	}
	return l, nil
}

func parse(line string) (e Entry, err error) {
	var f [6]string
	names := [...]string{"the rule", "the machine or folder", "the axis", "the cause", "the use of the limit", "the count"}
	rest := line
	for i := range f {
		if i > 0 {
			var ok bool
			if rest, ok = strings.CutPrefix(rest, " "); !ok && rest == "" {
				return e, fmt.Errorf("it ends before %s", names[i])
			} else if !ok {
				return e, fmt.Errorf("a space should stand before %s", names[i])
			}
		}
		if strings.HasPrefix(rest, `"`) && i < 4 {
			q, err := strconv.QuotedPrefix(rest)
			if err == nil {
				f[i], err = strconv.Unquote(q)
			}
			if err != nil {
				return e, fmt.Errorf("the quotes around %s are not closed, or hold what may not stand in quotes", names[i])
			}
			rest = rest[len(q):]
			continue
		}
		f[i], rest, _ = strings.Cut(rest, " ")
		if f[i] == "" {
			return e, fmt.Errorf("%s is missing", names[i])
		}
		if i < 5 {
			rest = " " + rest
		} else if rest != "" {
			return e, fmt.Errorf("more stands behind the count: %q", rest)
		}
		if i < 4 && word(f[i]) != f[i] {
			return e, fmt.Errorf("%s is %q, which should stand in quotes", names[i], f[i])
		}
	}
	e.Key = Key{f[0], f[1], f[2], f[3]}
	if e.Use, err = parseUse(f[4]); err != nil {
		return e, err
	}
	if e.Count, err = strconv.Atoi(f[5]); err != nil || e.Count < 1 || e.Count > maxCount {
		return e, fmt.Errorf("the count is %q; it should be a whole number from 1", f[5])
	}
	return e, nil
}

func parseUse(s string) (float64, error) {
	switch s {
	case "-":
		return math.NaN(), nil
	case "unlimited":
		return math.Inf(1), nil
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil || strings.Trim(s, "0123456789.e+-") != "" || math.IsInf(x, 0) {
		return 0, fmt.Errorf("the use of the limit is %q; it should be a number such as 1.122, or - or unlimited", s)
	}
	return round(x), nil
}

// Open reads the list in a file. Where there is none, the error is
// fs.ErrNotExist. trees are as for atomicfile.Write.
func Open(name string, trees ...string) (*List, error) {
	f, err := atomicfile.Open(name, trees...)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, atomicfile.Reason(err))
	}
	defer f.Close()
	l, err := Read(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return l, nil
}

// Update changes the list in a file; a file that is not there is an empty
// list. A damaged one is left as it is, and so is one that change leaves alike.
// trees are as for atomicfile.Write.
func Update(name string, change func(*List) error, trees ...string) error {
	l, err := Open(name, trees...)
	missing := errors.Is(err, fs.ErrNotExist)
	if err != nil && !missing {
		return err
	}
	var before []byte
	if missing {
		l = &List{}
	} else {
		before = l.Format()
	}
	if err := change(l); err != nil {
		return err
	}
	if !missing && bytes.Equal(before, l.Format()) {
		return nil
	}
	return l.Write(name, trees...)
}

// Write writes the list to a file. The file is the old or the new one at any
// time, never a part of it.
func (l *List) Write(name string, trees ...string) error {
	if err := atomicfile.WriteFile(name, l.Format(), trees...); err != nil {
		return fmt.Errorf("%s is not written: %w", name, atomicfile.Reason(err))
	}
	return nil
}
