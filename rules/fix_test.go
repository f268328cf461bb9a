package rules_test

import (
	"flag"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

var (
	fixFindings = flag.Int("fixes", 60, "findings whose fixes are made in the text")
	fixSeed     = flag.Uint64("fixseed", 1, "seed of the axes tried")
)

// inchUnits are units with what one of them is of the metric unit it stands for.
var inchUnits = map[string]struct {
	unit string
	of   float64
}{
	"mm": {"in", 25.4}, "m": {"in", 0.0254}, "um": {"mil", 25.4}, "m/s": {"in/s", 0.0254}, "mm/s": {"in/s", 25.4}, "m/s2": {"in/s2", 0.0254},
	"N": {"lbf", 4.4482216152605}, "kN": {"lbf", 0.0044482216152605}, "kg": {"lb", 0.45359237}, "N m": {"lbf in", 0.1129848290276167},
	"N/um": {"lbf/in", 175.12683524647636e-6},
}

var (
	quotedQuantity = regexp.MustCompile(`"(-?[0-9.]+) ([a-zA-Zµ/ 0-9]+)"`)
	bareNumber     = regexp.MustCompile(`(= |, |\[)([0-9]+(?:\.[0-9]+)?)\b`)
	choiceWord     = regexp.MustCompile(`"(fixed|supported|free|ground|rolled|C3|C5|C7|C10|horizontal|vertical)"`)
)

// varied is the text of a spec file with some of its values changed by chance,
// all of them perhaps in inch units.
func varied(r *rand.Rand, text string) string {
	rate := 0.03 + 0.12*r.Float64()*r.Float64()
	factor := func() float64 { return math.Exp(r.NormFloat64() * 0.7) }
	inch := r.IntN(3) == 0
	out := quotedQuantity.ReplaceAllStringFunc(text, func(s string) string {
		m := quotedQuantity.FindStringSubmatch(s)
		x, err := strconv.ParseFloat(m[1], 64)
		u := m[2]
		changed := r.Float64() < rate
		if err != nil || !changed && !inch {
			return s
		}
		if changed {
			x *= factor()
			if strings.HasPrefix(m[1], "-") && r.IntN(4) == 0 {
				x = -x // a forgotten minus
			}
		}
		if to, ok := inchUnits[u]; ok && inch {
			x, u = x/to.of, to.unit
		}
		return `"` + strconv.FormatFloat(x, 'g', 6, 64) + " " + u + `"`
	})
	out = bareNumber.ReplaceAllStringFunc(out, func(s string) string {
		m := bareNumber.FindStringSubmatch(s)
		x, _ := strconv.ParseFloat(m[2], 64)
		if r.Float64() >= rate || x == math.Trunc(x) && x < 5 {
			return s
		}
		return m[1] + strconv.FormatFloat(x*factor(), 'g', 4, 64)
	})
	return choiceWord.ReplaceAllStringFunc(out, func(s string) string {
		if r.Float64() >= rate {
			return s
		}
		switch s {
		case `"fixed"`, `"supported"`, `"free"`:
			return []string{`"fixed"`, `"supported"`, `"free"`}[r.IntN(3)]
		case `"ground"`, `"rolled"`:
			return []string{`"ground"`, `"rolled"`}[r.IntN(2)]
		case `"horizontal"`, `"vertical"`:
			return []string{`"horizontal"`, `"vertical"`}[r.IntN(2)]
		}
		return []string{`"C3"`, `"C5"`, `"C7"`, `"C10"`}[r.IntN(4)]
	})
}

// treesOf reads the demo, the library and the trees of the rules into memory.
func treesOf(t *testing.T) (out []fstest.MapFS) {
	for _, name := range append([]string{"bakery", "library"}, ruleTrees(t)...) {
		dir := filepath.Join(fixtureRoot, filepath.FromSlash(name))
		files := fstest.MapFS{}
		err := filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !spec.IsSpec(d.Name()) {
				return err
			}
			src, err := os.ReadFile(p)
			rel, _ := filepath.Rel(dir, p)
			files[filepath.ToSlash(rel)] = &fstest.MapFile{Data: src}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, files)
	}
	return out
}

// judgedText judges the axes of one file of a tree.
func judgedText(files fstest.MapFS, name string, fixes bool) *run.Summary {
	return run.Files(rules.Book(), spec.NewTree(files), []string{name}, run.Options{Today: fixtureDay, Fixes: fixes, Workers: 1})
}

// tally counts the findings that stand, errors by themselves, for each rule and
// axis; those of the text and of parts for their rule.
func tally(s *run.Summary) (all, errors map[string]int) {
	all, errors = map[string]int{}, map[string]int{}
	for i := range s.Findings {
		f := &s.Findings[i]
		if f.Waiver != nil {
			continue
		}
		key := f.Rule + " of " + f.Axis
		all[key]++
		if f.Severity == judge.Error {
			errors[key]++
		}
	}
	return all, errors
}

// TestFixesAreTrue makes the fixes of many findings in the text of their files and
// judges the text: the finding goes, no error comes and no warning becomes one.
// The axes are those of all fixtures with values changed by chance, a third of
// them in inch. Of other axes that use an edited part it asks nothing: the fix is
// said to be of the axis it is offered for.
func TestFixesAreTrue(t *testing.T) {
	r := rand.New(rand.NewPCG(*fixSeed, 7))
	trees := treesOf(t)
	findings, made, remarks, others := 0, 0, 0, 0
	byRule := map[string]int{}
	for tries := 0; findings < *fixFindings; tries++ {
		if tries > 100*(*fixFindings) {
			t.Fatalf("only %d findings with fixes in %d trees", findings, tries)
		}
		files := fstest.MapFS{}
		var axes []string
		for name, file := range trees[r.IntN(len(trees))] {
			files[name] = file
			if strings.HasSuffix(name, spec.AxisSuffix) && path.Base(name) != spec.MachineFile {
				axes = append(axes, name)
			}
		}
		if len(axes) == 0 {
			continue
		}
		slices.Sort(axes)
		name := axes[r.IntN(len(axes))]
		for _, n := range slices.Sorted(func(yield func(string) bool) {
			for n := range files {
				if !yield(n) {
					return
				}
			}
		}) {
			if !strings.HasSuffix(n, spec.PolicySuffix) {
				files[n] = &fstest.MapFile{Data: []byte(varied(r, string(files[n].Data)))}
			}
		}
		before := judgedText(files, name, true)
		all, errors := tally(before)
		for _, k := range r.Perm(len(before.Findings))[:min(3, len(before.Findings))] {
			f := &before.Findings[k]
			if len(f.Fixes) == 0 {
				continue
			}
			findings++
			byRule[f.Rule]++
			for _, fix := range f.Fixes {
				if len(fix.Edits) == 0 {
					remarks++
					continue
				}
				made++
				edited := fstest.MapFS{}
				for n, file := range files {
					own := slices.DeleteFunc(slices.Clone(fix.Edits), func(e spec.Edit) bool { return e.Place.File != n })
					edited[n] = &fstest.MapFile{Data: spec.Apply(file.Data, own)}
				}
				after := judgedText(edited, name, false)
				allThen, errorsThen := tally(after)
				fail := func(format string, args ...any) {
					t.Errorf("%s\n%s: %s\nfixed with %s: %+v", fmt.Sprintf(format, args...), f.Place, f.Message, fix.Words, fix.Edits)
					if dir := os.Getenv("FIXES_KEEP"); dir != "" {
						for n, file := range files {
							p := filepath.Join(dir, strconv.Itoa(made), filepath.FromSlash(n))
							_ = os.MkdirAll(filepath.Dir(p), 0o755)
							_ = os.WriteFile(p, file.Data, 0o644)
						}
					}
				}
				key := f.Rule + " of " + f.Axis
				if allThen[key] >= all[key] {
					fail("%s remains: %d, then %d", key, all[key], allThen[key])
				}
				for k, n := range errorsThen {
					if n <= errors[k] {
						continue
					}
					if !strings.HasSuffix(k, " of "+f.Axis) && !strings.HasSuffix(k, " of ") {
						others++
						continue
					}
					fail("%s: %d errors, then %d", k, errors[k], n)
				}
			}
			if t.Failed() && *fixFindings <= 100 {
				return
			}
		}
	}
	t.Logf("%d findings of %d rules, %d fixes made, %d remarks; %d made another axis of the file fail", findings, len(byRule), made, remarks, others)
	if len(byRule) < min(15, *fixFindings/8) || made < findings/2 {
		t.Errorf("%d fixes of %d findings of the rules %v", made, findings, byRule)
	}
}
