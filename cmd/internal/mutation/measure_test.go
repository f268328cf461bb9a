package mutation

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// What `make mutation` gives to TestMeasure.
var asked = func() *options {
	o := new(options)
	flag.StringVar(&o.file, "file", "", "put faults into these `files` only, with commas between")
	flag.IntVar(&o.line, "line", 0, "put faults into this `line` only")
	flag.DurationVar(&o.longest, "longest", time.Minute, "leave out tests that take more processor `time`")
	flag.IntVar(&o.oneIn, "one-in", 1, "try one fault in `N` only, picked by chance, but the same each time")
	flag.StringVar(&o.again, "again", "", "try those faults only that this `file`, an earlier report, names as not noticed")
	flag.StringVar(&o.equal, "equal", "testdata/mutation/equal.csv", "`file` of faults that change nothing")
	flag.Float64Var(&o.atLeast, "least", 0, "fail where less than this `percentage` was noticed")
	return o
}()

// TestMeasure puts faults into the packages named behind the options and reports those
// that no test notices. Without any it does nothing: it takes an hour.
func TestMeasure(t *testing.T) {
	for _, arg := range flag.Args() {
		asked.packages = append(asked.packages, strings.Split(arg, ","))
	}
	if len(asked.packages) == 0 {
		t.Skip("no packages were named; see make mutation")
	}
	t.Chdir(filepath.Join("..", "..", "..")) // the root of the module
	ok, err := run(*asked, os.Stdout)
	if err != nil {
		t.Fatal(err)
	}
	if !ok {
		t.Error("less was noticed than asked")
	}
}
