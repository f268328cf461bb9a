package mutation

import (
	"bytes"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"trammel/spec/amount"
)

// sample is a module of one package. Its tests notice some faults and not
// others; which, is worked out by hand below.
var sample = map[string]string{
	"go.mod": "module trammel\n\ngo 1.26\n",
	"a/a.go": `package a

import "math"

type word uint8

const (
	none word = iota
	one
	size = 3
)

var table = [size]float64{1: 2.5}

// Twice is read when the package starts.
var Twice = twice(2)

func twice(x float64) float64 { return x * 2 }

func below(a, b int) bool { return a < b }

func both(a, b bool) bool {
	return a && b
}

func total(list []float64) float64 {
	t := 0.0
	for _, v := range list {
		if v < 0 {
			continue
		}
		t += v
	}
	return t
}

func most(a, b float64) float64 { return math.Max(a, b) }

func is(w word) bool { return w == one }

func unused(list []int) []int {
	return append(make([]int, 0, 8), list...)
}
`,
	"a/a_test.go": `package a

import "testing"

func TestTwice(t *testing.T) {
	if Twice != 4 || twice(3) != 6 {
		t.Fail()
	}
}

func TestBelow(t *testing.T) {
	if !below(1, 2) || below(2, 1) {
		t.Fail()
	}
}

func TestBoth(t *testing.T) {
	if !both(true, true) || both(false, false) {
		t.Fail()
	}
}

func TestTotal(t *testing.T) {
	if total([]float64{1, 2}) != 3 {
		t.Fail()
	}
}

func TestMost(t *testing.T) {
	if most(1, 2) != 2 || most(2, 1) != 2 {
		t.Fail()
	}
}

func TestIs(t *testing.T) {
	if !is(one) || is(none) {
		t.Fail()
	}
}
`,
	"equal.csv": `file,function,before,after,reason
a/a.go,both,return a && b,return a || b,for the test
a/a.go,twice,"func twice(x float64) float64 { return x * 2 }","func twice(x float64) float64 { return x / 2 }",for the test
a/a.go,gone,return 1,return 2,for the test
`,
}

func measure(t *testing.T, o options) (string, bool) {
	t.Helper()
	dir := t.TempDir()
	for name, text := range sample {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(dir)
	o.packages, o.longest = [][]string{{"a"}}, time.Minute
	var out bytes.Buffer
	ok, err := run(o, &out)
	if err != nil {
		t.Fatal(err)
	}
	return out.String(), ok
}

// TestLongSample holds the report on the sample against what was worked out by hand.
func TestLongSample(t *testing.T) {
	amount.Long(t)
	out, ok := measure(t, options{atLeast: 99})
	if ok {
		t.Error("more than 99 % was noticed, though much is not tested")
	}
	// Not noticed: that 2 is not below 2, that one of both is not enough, most
	// about numbers below 0; and the table and the function that nothing reads.
	for _, want := range []string{
		"a/a.go:13:30: constant not noticed by 6 tests: table\n\t- var table = [size]float64{1: 2.5}\n\t+ var table = [size]float64{1: (2*2.5)}\n",
		"a/a.go:20:38: boundary not noticed by the one test that reaches it: below\n\t- func below(a, b int) bool { return a < b }\n\t+ func below(a, b int) bool { return a <= b }\n",
		"a/a.go:23:11: and/or not noticed by the one test that reaches it: both\n\t- return a && b\n\t+ return a || b\n",
		"a/a.go:29:8: boundary not noticed by the one test that reaches it: total\n\t- if v < 0 {\n\t+ if v <= 0 {\n",
		"a/a.go:29:10: constant not noticed by the one test that reaches it: total\n\t- if v < 0 {\n\t+ if v < 1 {\n",
		"a/a.go:30:4: deleted statement not reached: total\n\t- continue\n\t+ \n",
		"a/a.go:42:28: constant not reached: unused\n\t- return append(make([]int, 0, 8), list...)\n\t+ return append(make([]int, 1, 8), list...)\n",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("the report lacks\n%s\nit is\n%s", want, out)
		}
	}
	// Noticed: all else. The room made ready for a slice is no fault at all.
	for _, not := range []string{": twice\n", ": Twice\n", ": most\n", ": is\n", "v >= 0", "t -= v"} {
		if strings.Contains(out, not) {
			t.Errorf("the report names %q:\n%s", not, out)
		}
	}
	if got := strings.Count(out, "\n\t- "); got != 7 {
		t.Errorf("%d faults are reported, expected 7:\n%s", got, out)
	}
}

// TestLongEqual: a listed fault does not count, and one that is listed but noticed
// or not there is reported.
func TestLongEqual(t *testing.T) {
	amount.Long(t)
	out, _ := measure(t, options{equal: "equal.csv"})
	if strings.Contains(out, "a || b") {
		t.Errorf("a listed fault is reported:\n%s", out)
	}
	if !strings.Contains(out, "and/or                                          0 faults,     0 noticed, 100.0 %; 0 not reached, 1 change nothing") {
		t.Errorf("a listed fault is not counted apart:\n%s", out)
	}
	for _, want := range []string{
		"equal.csv: a/a.go: listed as changing nothing, but TestTwice notices it: func twice(x float64) float64 { return x / 2 }\n",
		"equal.csv: a/a.go: listed as changing nothing, but there is no such fault: return 2\n",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("the report lacks\n%s\nit is\n%s", want, out)
		}
	}
}

// TestLongAgain: only what an earlier report names is tried.
func TestLongAgain(t *testing.T) {
	amount.Long(t)
	first, _ := measure(t, options{})
	report := filepath.Join(t.TempDir(), "report")
	if err := os.WriteFile(report, []byte(first), 0o600); err != nil {
		t.Fatal(err)
	}
	again, _ := measure(t, options{again: report})
	if _, list, _ := strings.Cut(first, "\n"); !strings.Contains(again, list[:strings.Index(list, "\n\n")]) {
		t.Errorf("the report was\n%s\nagain it is\n%s", first, again)
	}
	if !strings.Contains(again, " 7 faults,     0 noticed") {
		t.Errorf("more was tried than the 7 faults left:\n%s", again)
	}
}

// TestLongListed: each row of the list is of a fault there is, so that none outlives the
// line it was about.
func TestLongListed(t *testing.T) {
	amount.Long(t)
	t.Chdir(filepath.Join("..", "..", "..")) // the root of the module
	equal, err := readEqual(filepath.Join("testdata", "mutation", "equal.csv"))
	if err != nil || len(equal) == 0 {
		t.Fatalf("%d rows: %v", len(equal), err)
	}
	var folders []string
	for k := range equal {
		if folder := path.Dir(k[0]); !slices.Contains(folders, folder) {
			folders = append(folders, folder)
		}
	}
	root, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	imp, files, err := load(root, folders)
	if err != nil {
		t.Fatal(err)
	}
	for _, folder := range folders {
		_, faults, err := rewritePackage(root, folder, files[folder], imp, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range faults {
			delete(equal, f.key())
		}
	}
	for k := range equal {
		t.Errorf("%s: %s: no such fault: %s", k[0], k[1], k[3])
	}
}
