// Package mutation measures what the tests notice; it is a tool for developers, driven by
// its own test, and no program of its own. It puts small faults into packages,
// one at a time (another operator, another number, a statement left out), runs
// the tests that come by the fault, and reports the faults that no test noticed.
//
// All faults of all packages are compiled into one test binary for each package,
// as choices; a number in the environment puts one of them into force. The
// rewritten sources are given to the compiler as an overlay: nothing in the tree
// is changed.
//
//	go test ./cmd/internal/mutation -count=1 -timeout 0 -v -run TestMeasure -args [options] PACKAGE[,PACKAGE[:TESTS]...]...
//
// Each argument is a package that gets faults, followed by further packages
// whose tests are run too; TESTS is a pattern of the names of those that are.
package mutation

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"regexp"
	"slices"
	"strings"
	"time"
)

// runtimePath is where rewritten files find the package mutant. It is a folder
// of the overlay alone.
const runtimePath = "trammel/mutant"

type options struct {
	packages [][]string // a package that gets faults, then others whose tests are run
	file     string
	line     int
	longest  time.Duration
	oneIn    int
	again    string
	equal    string
	atLeast  float64
}

// run measures and reports; ok is false where too little was noticed.
func run(o options, w io.Writer) (ok bool, err error) {
	equal, err := readEqual(o.equal)
	if err != nil {
		return false, err
	}
	dir, err := os.MkdirTemp("", "mutation")
	if err != nil {
		return false, err
	}
	defer os.RemoveAll(dir)
	b, err := build(o, dir)
	if err != nil {
		return false, err
	}
	fmt.Fprintf(w, "%d faults\n", len(b.mutants))
	again, err := readReport(o.again)
	if err != nil {
		return false, err
	}
	left, noticed := map[[4]string]bool{}, map[[4]string]string{} // lines that stand twice share a key
	var results []result
	for _, m := range b.mutants {
		if o.file != "" && !slices.Contains(strings.Split(o.file, ","), m.file) || o.line != 0 && m.line != o.line {
			continue
		}
		if again != nil && !again[m.key()] || !m.picked(o.oneIn) {
			continue
		}
		res := b.try(m)
		_, listed := equal[m.key()]
		res.equal = listed && res.killedBy == ""
		results = append(results, res)
		if res.killedBy != "" {
			noticed[m.key()] = res.killedBy
			continue
		}
		left[m.key()] = true
		if !listed {
			fmt.Fprintf(w, "%s/%s:%d:%d: %s %s: %s\n\t- %s\n\t+ %s\n", m.pkg, m.file, m.line, m.column, m.kind, res.how(), m.function, m.before, m.after)
		}
	}
	if o.file == "" && o.line == 0 && o.oneIn <= 1 && o.again == "" {
		for _, k := range sortedFunc(equal, func(a, b [4]string) int { return slices.Compare(a[:], b[:]) }) {
			switch mine := func(p []string) bool { return p[0] == path.Dir(k[0]) }; {
			case left[k] || !slices.ContainsFunc(o.packages, mine):
			case noticed[k] != "":
				fmt.Fprintf(w, "%s: %s: listed as changing nothing, but %s notices it: %s\n", o.equal, k[0], noticed[k], k[3])
			default:
				fmt.Fprintf(w, "%s: %s: listed as changing nothing, but there is no such fault: %s\n", o.equal, k[0], k[3])
			}
		}
	}
	return summary(w, results) >= o.atLeast, nil
}

// A result is what became of a fault.
type result struct {
	f        *fault
	killedBy string // a test; empty where none noticed
	asked    int    // tests that came by it
	equal    bool
}

func (r result) how() string {
	switch r.asked {
	case 0:
		return "not reached"
	case 1:
		return "not noticed by the one test that reaches it"
	}
	return fmt.Sprintf("not noticed by %d tests", r.asked)
}

// summary writes what share was noticed, by package and by kind, and returns the
// percentage over all. Faults that change nothing do not count.
func summary(w io.Writer, results []result) float64 {
	type tally struct{ all, killed, unreached, equal int }
	var total tally
	groups := map[string]*tally{}
	for _, r := range results {
		for _, name := range []string{r.f.pkg, "  " + r.f.pkg + ", " + r.f.kind} {
			if groups[name] == nil {
				groups[name] = &tally{}
			}
		}
		for _, t := range []*tally{&total, groups[r.f.pkg], groups["  "+r.f.pkg+", "+r.f.kind]} {
			switch {
			case r.equal:
				t.equal++
				continue
			case r.killedBy != "":
				t.killed++
			case r.asked == 0:
				t.unreached++
			}
			t.all++
		}
	}
	share := func(t tally) float64 {
		if t.all == 0 {
			return 100
		}
		return 100 * float64(t.killed) / float64(t.all)
	}
	line := func(name string, t tally) {
		fmt.Fprintf(w, "%-45s %5d faults, %5d noticed, %5.1f %%; %d not reached, %d change nothing\n", name, t.all, t.killed, share(t), t.unreached, t.equal)
	}
	names := sortedKeys(groups)
	slices.SortStableFunc(names, func(a, b string) int {
		pkg := func(s string) string { p, _, _ := strings.Cut(strings.TrimSpace(s), ","); return p }
		return strings.Compare(pkg(a), pkg(b))
	})
	fmt.Fprintln(w)
	for _, pkg := range names {
		if strings.HasPrefix(pkg, " ") {
			continue
		}
		line(pkg, *groups[pkg])
		for _, kind := range names {
			if strings.HasPrefix(kind, "  "+pkg+", ") {
				line("  "+strings.TrimPrefix(kind, "  "+pkg+", "), *groups[kind])
			}
		}
	}
	line("all", total)
	return share(total)
}

var reported = regexp.MustCompile(`(?m)^([^\s:]+):\d+:\d+: [^:]*: (.+)\n\t- (.*)\n\t\+ (.*)$`)

// readReport reads the faults that a report names as not noticed; nil without a
// report.
func readReport(name string) (map[[4]string]bool, error) {
	if name == "" {
		return nil, nil
	}
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	out := map[[4]string]bool{}
	for _, m := range reported.FindAllStringSubmatch(string(text), -1) {
		out[[4]string(m[1:])] = true
	}
	return out, nil
}

// readEqual reads the faults that change nothing, with the reason of each.
func readEqual(name string) (map[[4]string]string, error) {
	out := map[[4]string]string{}
	f, err := os.Open(name)
	if errors.Is(err, os.ErrNotExist) {
		return out, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	for i, r := range rows {
		if len(r) != 5 {
			return nil, fmt.Errorf("%s: a line needs file, function, before, after and reason", name)
		}
		if i > 0 {
			out[[4]string(r[:4])] = r[4]
		}
	}
	return out, nil
}
