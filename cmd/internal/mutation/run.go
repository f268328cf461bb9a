package mutation

import (
	"bytes"
	"cmp"
	"context"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"trammel/cmd/internal/mutation/mutant"
)

//go:embed mutant/mutant.go
var runtimeSource string

// A suite is the compiled tests of one package.
type suite struct {
	folder string
	binary string
	steady []string // options that make it do the same each time and write nothing
	tests  []*test
}

// A test is one test function, with the faults it comes by.
type test struct {
	name    string
	took    time.Duration
	reaches map[int]bool
}

// built is the rewritten packages and the tests compiled against them.
type built struct {
	mutants []*fault
	asks    map[string][]*suite // by package that gets faults
}

// build rewrites the packages, compiles the tests once and sees which test comes
// by which fault.
func build(o options, dir string) (*built, error) {
	root, err := os.Getwd()
	if err != nil {
		return nil, err
	}
	var folders []string
	only := map[string]string{}
	for _, p := range o.packages {
		for i, f := range p {
			f, tests, _ := strings.Cut(f, ":")
			p[i] = f
			if !slices.Contains(folders, f) {
				folders = append(folders, f)
				only[f] = tests
			}
		}
	}
	imp, files, err := load(root, folders)
	if err != nil {
		return nil, err
	}
	overlay := map[string]string{}
	put := func(path, text string) error {
		to := filepath.Join(dir, strconv.Itoa(len(overlay))+".go")
		overlay[path] = to
		return os.WriteFile(to, []byte(text), 0o600)
	}
	if err := put(filepath.Join(root, "mutant", "mutant.go"), runtimeSource); err != nil {
		return nil, err
	}
	b := &built{asks: map[string][]*suite{}}
	for _, p := range o.packages {
		out, mutants, err := rewritePackage(root, p[0], files[p[0]], imp, len(b.mutants))
		if err != nil {
			return nil, err
		}
		b.mutants = append(b.mutants, mutants...)
		for _, path := range sortedKeys(out) {
			if err := put(path, out[path]); err != nil {
				return nil, err
			}
		}
	}
	list, err := json.Marshal(map[string]any{"Replace": overlay})
	if err != nil {
		return nil, err
	}
	listFile := filepath.Join(dir, "overlay.json")
	if err := os.WriteFile(listFile, list, 0o600); err != nil {
		return nil, err
	}
	suites := map[string]*suite{}
	for i, f := range folders {
		s := &suite{folder: filepath.Join(root, f), binary: filepath.Join(dir, strconv.Itoa(i)+".test")}
		if _, _, err := command(root, nil, time.Hour, "go", "test", "-c", "-vet=off", "-overlay", listFile, "-o", s.binary, "./"+f); err != nil {
			return nil, err
		}
		if err := s.trace(only[f], o.longest, filepath.Join(dir, "trace")); err != nil {
			return nil, err
		}
		suites[f] = s
	}
	for _, p := range o.packages {
		for _, f := range p {
			b.asks[p[0]] = append(b.asks[p[0]], suites[f])
		}
	}
	slices.SortFunc(b.mutants, func(x, y *fault) int {
		return cmp.Or(cmp.Compare(x.pkg, y.pkg), cmp.Compare(x.file, y.file), cmp.Compare(x.line, y.line), cmp.Compare(x.column, y.column), cmp.Compare(x.id, y.id))
	})
	return b, nil
}

// load finds the sources of packages and an importer for all they import.
func load(root string, folders []string) (types.Importer, map[string][]string, error) {
	args := []string{"list", "-deps", "-export", "-json=Dir,ImportPath,Export,GoFiles"}
	for _, f := range folders {
		args = append(args, "./"+f)
	}
	fset := token.NewFileSet()
	runtime, err := parser.ParseFile(fset, "mutant.go", runtimeSource, 0)
	if err != nil {
		return nil, nil, err
	}
	for _, im := range runtime.Imports {
		path, _ := strconv.Unquote(im.Path.Value)
		args = append(args, path)
	}
	_, out, err := command(root, nil, time.Hour, "go", args...)
	if err != nil {
		return nil, nil, err
	}
	exports, files := map[string]string{}, map[string][]string{}
	for dec := json.NewDecoder(bytes.NewReader(out)); ; {
		var p struct {
			Dir, ImportPath, Export string
			GoFiles                 []string
		}
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, nil, err
		}
		exports[p.ImportPath] = p.Export
		if rel, err := filepath.Rel(root, p.Dir); err == nil {
			files[filepath.ToSlash(rel)] = p.GoFiles
		}
	}
	gc := importer.ForCompiler(token.NewFileSet(), "gc", func(path string) (io.ReadCloser, error) {
		if exports[path] == "" {
			return nil, fmt.Errorf("no compiled package %s", path)
		}
		return os.Open(exports[path])
	})
	pkg, err := (&types.Config{Importer: gc}).Check(runtimePath, fset, []*ast.File{runtime}, nil)
	if err != nil {
		return nil, nil, err
	}
	return withRuntime{gc, pkg}, files, nil
}

// withRuntime is an importer that knows the package mutant too.
type withRuntime struct {
	types.Importer
	runtime *types.Package
}

func (w withRuntime) Import(path string) (*types.Package, error) {
	if path == runtimePath {
		return w.runtime, nil
	}
	return w.Importer.Import(path)
}

// trace runs each test whose name fits the pattern only, or each, alone and
// without a fault in force. It notes which faults the test comes by and how long
// it takes. A test that fails because the sources were
// rewritten (one that counts allocations) is left out.
func (s *suite) trace(only string, longest time.Duration, file string) error {
	// Properties draw the same numbers each time, and are not made smaller.
	if help, _ := exec.Command(s.binary, "-help").CombinedOutput(); bytes.Contains(help, []byte("-rapid.seed")) {
		s.steady = []string{"-rapid.seed=1", "-rapid.shrinktime=0s", "-rapid.nofailfile"}
	}
	_, out, err := command(s.folder, nil, time.Minute, s.binary, "-test.list", cmp.Or(only, "^(Test|Fuzz|Example)"))
	if err != nil {
		return err
	}
	for _, name := range strings.Fields(string(out)) {
		t := &test{name: name, reaches: map[int]bool{}}
		took, _, err := s.run(time.Minute, nil, name)
		t.took = took
		if err != nil {
			fmt.Fprintf(os.Stderr, "mutation: %s is left out: it fails in the rewritten package\n", name)
			continue
		}
		if t.took > longest {
			fmt.Fprintf(os.Stderr, "mutation: %s is left out: it takes %v\n", name, t.took.Round(time.Millisecond))
			continue
		}
		if _, _, err := s.run(10*time.Minute, []string{mutant.TraceEnv + "=" + file}, name); err != nil {
			return err
		}
		text, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		for _, n := range strings.Fields(string(text)) {
			id, err := strconv.Atoi(n)
			if err != nil {
				return err
			}
			t.reaches[id] = true
		}
		s.tests = append(s.tests, t)
	}
	slices.SortStableFunc(s.tests, func(a, b *test) int { return cmp.Compare(a.took, b.took) })
	return nil
}

// run runs some tests of a suite until one fails, and says how much processor
// time it took. A limit on that, and not on the time that passes, gives the same
// on a busy machine.
func (s *suite) run(limit time.Duration, env []string, names ...string) (took time.Duration, out []byte, err error) {
	// A fault may also ask for memory without end, or wait for ever.
	script := fmt.Sprintf(`ulimit -v 4194304; ulimit -t %d; exec "$@"`, int(math.Ceil(limit.Seconds())))
	args := []string{"-c", script, "sh", s.binary, "-test.failfast", "-test.run", "^(" + strings.Join(names, "|") + ")$"}
	return command(s.folder, env, 20*limit, "sh", append(args, s.steady...)...)
}

// command runs a program and returns the processor time it took and its output.
func command(dir string, env []string, limit time.Duration, name string, args ...string) (took time.Duration, out []byte, err error) {
	ctx, cancel := context.WithTimeout(context.Background(), limit)
	defer cancel()
	c := exec.CommandContext(ctx, name, args...)
	c.Dir, c.WaitDelay = dir, time.Second
	c.Env = append(os.Environ(), env...)
	var good, bad bytes.Buffer
	c.Stdout, c.Stderr = &good, &bad
	err = c.Run()
	if c.ProcessState != nil {
		took = c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	}
	if err != nil {
		err = fmt.Errorf("%s: %w\n%s%s", name, err, good.Bytes(), bad.Bytes())
	}
	return took, good.Bytes(), err
}

// together is how long tests may take that are run in one go.
const together = 100 * time.Millisecond

// A batch is tests of one suite that are run in one go.
type batch struct {
	suite *suite
	names []string
	took  time.Duration
}

// batches gathers the tests that come by a fault, the quick ones first.
func (b *built) batches(f *fault) (list []*batch, tests int) {
	for _, s := range b.asks[f.pkg] {
		var last *batch
		for _, t := range s.tests {
			if !t.reaches[f.id] {
				continue
			}
			if last == nil || last.took+t.took > together {
				last = &batch{suite: s}
				list = append(list, last)
			}
			last.names = append(last.names, t.name)
			last.took += t.took
			tests++
		}
	}
	slices.SortStableFunc(list, func(x, y *batch) int { return cmp.Compare(x.took, y.took) })
	return list, tests
}

// try runs the tests that come by a fault, until one fails or does not end.
func (b *built) try(f *fault) result {
	list, tests := b.batches(f)
	for _, t := range list {
		_, out, err := t.suite.run(2*time.Second+10*t.took, []string{mutant.ChooseEnv + "=" + strconv.Itoa(f.id)}, t.names...)
		if err != nil {
			return result{f: f, asked: tests, killedBy: failed(out)}
		}
	}
	return result{f: f, asked: tests}
}

var failedLine = regexp.MustCompile(`(?m)^--- FAIL: (\S+)`)

// failed names the test that failed.
func failed(out []byte) string {
	if m := failedLine.FindSubmatch(out); m != nil {
		return string(m[1])
	}
	return "a test that broke off or did not end"
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

func sortedFunc[K comparable, V any](m map[K]V, less func(a, b K) int) []K {
	return slices.SortedFunc(maps.Keys(m), less)
}
