package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"trammel/cmd/internal/atomicfile"
	"trammel/spec"
	"trammel/spec/amount"
)

// A wilderness is a copy of the bakery in the current folder whose files are
// changed at random.
type wilderness struct {
	*rand.Rand
	whole map[string]string // the files as they were
}

func newWilderness(t *testing.T, seed uint64) *wilderness {
	t.Helper()
	src, err := filepath.Abs(filepath.Join("..", "..", "fixtures", "bakery"))
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	if err := os.CopyFS(".", os.DirFS(src)); err != nil {
		t.Fatal(err)
	}
	put(t, ".git/HEAD", "")
	w := &wilderness{rand.New(rand.NewPCG(seed, 1)), map[string]string{}}
	for _, name := range w.files("") {
		w.whole[name] = text(t, name)
	}
	return w
}

// files lists the spec files with an ending.
func (w *wilderness) files(suffix string) []string {
	var out []string
	_ = filepath.WalkDir(".", func(name string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && spec.IsSpec(name) && strings.HasSuffix(name, suffix) {
			out = append(out, filepath.ToSlash(name))
		}
		return nil
	})
	return out
}

func (w *wilderness) one(suffix string) string {
	if list := w.files(suffix); len(list) > 0 {
		return list[w.IntN(len(list))]
	}
	return "machines/loader/new" + spec.AxisSuffix
}

var number = regexp.MustCompile(`[0-9]+`)

// digits changes a number of a text.
func (w *wilderness) digits(s string) string {
	all := number.FindAllStringIndex(s, -1)
	if len(all) == 0 {
		return s
	}
	at := all[w.IntN(len(all))]
	return s[:at[0]] + fmt.Sprint(w.IntN(3000)) + s[at[1]:]
}

// change changes something and says what.
func (w *wilderness) change(t *testing.T) string {
	t.Helper()
	read := func(name string) string {
		src, _ := os.ReadFile(name)
		return string(src)
	}
	into := func(name, block, line string) {
		put(t, name, strings.Replace(read(name), block, block+"\n"+line+"\n", 1))
	}
	switch w.IntN(16) {
	case 0, 1:
		name := w.one(spec.AxisSuffix)
		put(t, name, w.digits(read(name)))
		return "number in " + name
	case 2:
		name := w.one(spec.PartsSuffix)
		put(t, name, w.digits(read(name)))
		return "number in " + name
	case 3:
		name := w.one(spec.PolicySuffix)
		put(t, name, w.digits(read(name)))
		return "number in " + name
	case 4:
		name := w.one(spec.MachineFile)
		put(t, name, w.digits(read(name)))
		return "number in " + name
	case 5:
		name := w.one("")
		_ = os.Remove(name)
		return "without " + name
	case 6:
		from := w.one(spec.AxisSuffix)
		to := filepath.Dir(w.one(spec.AxisSuffix)) + fmt.Sprintf("/copy%d", w.IntN(3)) + spec.AxisSuffix
		put(t, to, read(from))
		return from + " copied to " + to
	case 7:
		from := w.one("")
		_, kind, _ := strings.Cut(filepath.Base(from), ".")
		to := filepath.Dir(w.one(spec.AxisSuffix)) + fmt.Sprintf("/moved%d.", w.IntN(3)) + kind
		src := read(from)
		_ = os.Remove(from)
		put(t, to, src)
		return from + " moved to " + to
	case 8:
		name := w.one("")
		src := read(name)
		put(t, name, src[:w.IntN(len(src)+1)])
		return name + " cut off"
	case 9:
		name := w.one(spec.AxisSuffix)
		into(name, "motion {", "}\nwaive \""+[]string{"critical-speed", "life-margin", "holding-brake", "no-such"}[w.IntN(4)]+"\" {\n reason = \"a trial\"\n until = \"2026-11-"+fmt.Sprint(10+w.IntN(20))+"\"\n}\nmotion {")
		return "waiver in " + name
	case 10:
		name := w.one(spec.PolicySuffix)
		put(t, name, read(name)+"waive \""+[]string{"critical-speed", "part-contradiction", "variety"}[w.IntN(3)]+"\" {\n reason = \"a trial\"\n until = \"2026-11-"+fmt.Sprint(10+w.IntN(20))+"\"\n}\n")
		return "waiver in " + name
	case 11:
		name := w.one(spec.AxisSuffix)
		into(name, "load {", "carries = [axis."+[]string{"cross", "dip", "travel", "mast", "fork", "none"}[w.IntN(6)]+"]")
		return "carrier in " + name
	case 12:
		put(t, "machines/rule.policy.hcl", []string{
			"rule \"unused-part\" {\n severity = \"warning\"\n reason = \"tidy\"\n}\n",
			"rule \"variety\" {\n severity = \"error\"\n reason = \"tidy\"\n}\n",
			"rule \"unused-part\" {\n severity = \"error\"\n reason = \"tidy\"\n}\nrequire \"heavy\" {\n that = load.mass < 20 kg\n message = \"too heavy\"\n}\n",
		}[w.IntN(3)])
		if w.IntN(2) == 0 {
			_ = os.Rename("machines/rule.policy.hcl", "rule.policy.hcl")
		}
		return "another policy"
	case 13:
		put(t, ".gitignore", filepath.Base(w.one(spec.AxisSuffix))+"\n")
		return "something ignored"
	case 14:
		name := w.one("")
		put(t, name, "\xff\xfe\x00"+read(name))
		return name + " no text"
	}
	names := slices.Sorted(maps.Keys(w.whole))
	for range 5 {
		name := names[w.IntN(len(names))]
		put(t, name, w.whole[name])
	}
	return "some files as they were"
}

// allForms runs check, or merge, and gives everything that comes of it.
func allForms(t *testing.T, args ...string) string {
	t.Helper()
	out := t.TempDir()
	for _, f := range formNames(checkForms)[1:] {
		args = append(args, "--write", f+"="+filepath.Join(out, f))
	}
	r := called(t, args...)
	s := fmt.Sprintf("status %d\n%s%s", r.status, r.out, r.err)
	for _, f := range formNames(checkForms)[1:] {
		src, err := os.ReadFile(filepath.Join(out, f))
		if err != nil {
			s += "\n" + f + " is missing\n"
		}
		s += "\n" + f + "\n" + string(src)
	}
	return s
}

func rounds(t *testing.T, n int) int {
	if testing.Short() {
		return (n + 4) / 5
	}
	return someOf(n)
}

func sameText(t *testing.T, want, got, format string, args ...any) {
	t.Helper()
	if want != got {
		a, b := strings.Split(want, "\n"), strings.Split(got, "\n")
		i := 0
		for i < min(len(a), len(b)) && a[i] == b[i] {
			i++
		}
		t.Fatalf("%s: line %d is\n%.300s\nwant\n%.300s", fmt.Sprintf(format, args...), i+1, at(b, i), at(a, i))
	}
}

// With a memory of earlier runs every form has the same bytes as without.
func TestCachedSame(t *testing.T) {
	defer func(n int, d time.Duration) { fewFiles, atomicfile.Settling = n, d }(fewFiles, atomicfile.Settling)
	fewFiles, atomicfile.Settling = 1, 50*time.Millisecond
	for seed := range amount.Of[uint64](3, 1) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			w := newWilderness(t, seed)
			t.Setenv("TRAMMEL_CACHE", t.TempDir())
			log := ""
			for range rounds(t, 15) {
				for range w.IntN(3) {
					log += w.change(t) + "\n"
				}
				args := []string{"check", "--today", fmt.Sprintf("2026-11-%d", 10+w.IntN(20)), fmt.Sprintf("--no-fixes=%v", w.IntN(4) == 0), "--workers", fmt.Sprint(1 + w.IntN(3))}
				if w.IntN(4) == 0 {
					args = append(args, "machines/loader", "machines/palletiser")
				}
				if w.IntN(6) == 0 {
					args = append(args, "--no-quantities")
				}
				sameText(t, allForms(t, append(args, "--no-cache")...), allForms(t, args...), "seed %d, %q after\n%s", seed, args, log)
			}
		})
	}
}

// All shares together are the whole, whatever is found.
func TestLongSharesSame(t *testing.T) {
	amount.Long(t)
	for seed := range uint64(3) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			w := newWilderness(t, 100+seed)
			log := ""
			for round := range rounds(t, 7) {
				for range w.IntN(4) {
					log += w.change(t) + "\n"
				}
				n := 1 + round%7
				args := []string{"check", "--today", fmt.Sprintf("2026-11-%d", 10+w.IntN(20))}
				if w.IntN(5) == 0 {
					args = append(args, "machines")
				}
				if w.IntN(4) == 0 {
					args = append(args, "--no-quantities")
				}
				dir := t.TempDir()
				merge := []string{"merge"}
				for i := range n {
					file := filepath.Join(dir, fmt.Sprint(i+1, ".json"))
					r := called(t, append(args, "--form", "json", "--share", fmt.Sprintf("%d/%d", i+1, n))...)
					put(t, file, r.out)
					merge = append(merge, file)
				}
				w.Shuffle(n, func(i, k int) { merge[1+i], merge[1+k] = merge[1+k], merge[1+i] })
				for _, more := range [][]string{nil, {"--waived", "--fail-at", "note"}} {
					sameText(t, allForms(t, append(args, more...)...), allForms(t, append(merge, more...)...), "seed %d, %d shares of %q after\n%s", seed, n, args, log)
				}
			}
		})
	}
}

// Shares seen from a folder inside the tree, and from beside it.
func TestLongSharesFromElsewhere(t *testing.T) {
	amount.Long(t)
	newWilderness(t, 7)
	root, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	put(t, "machines/loader/bom.axis.hcl", "\ufeffaxis \"bom\" { # 💧\r\n}\r\n")
	for _, from := range []string{"machines/loader", t.TempDir()} {
		t.Chdir(filepath.Join(root, "machines"))
		if filepath.IsAbs(from) {
			t.Chdir(from)
		} else {
			t.Chdir(filepath.Join(root, from))
		}
		merge := []string{"merge"}
		dir := t.TempDir()
		for i := range 3 {
			file := filepath.Join(dir, fmt.Sprint(i))
			put(t, file, called(t, "check", root, "--form", "json", "--share", fmt.Sprintf("%d/3", i+1)).out)
			merge = append(merge, file)
		}
		sameText(t, allForms(t, "check", root), allForms(t, merge...), "from %s", from)
	}
}

func TestLongShareUsage(t *testing.T) {
	amount.Long(t)
	newWilderness(t, 8)
	for _, s := range []string{"0/3", "4/3", "1", "a/b", "1/0", "1/100000", "-1/2"} {
		fails(t, "is not a part of a split check", "check", "--form", "json", "--share", s)
	}
	fails(t, "--share writes only JSON", "check", "--share", "1/2")
	fails(t, "--share writes only JSON", "check", "--form", "json", "--write", "sarif=x", "--share", "1/2")
	fails(t, "cannot be combined with --since or --known", "check", "--form", "json", "--share", "1/2", "--known", "k")
	share := func(args ...string) string {
		name := filepath.Join(t.TempDir(), "share.json")
		put(t, name, called(t, append([]string{"check", "--form", "json"}, args...)...).out)
		return name
	}
	one, two := share("--share", "1/2"), share("--share", "2/2")
	fails(t, "missing parts: 2/2", "merge", one)
	fails(t, "part 1/2 is given twice", "merge", one, one, two)
	fails(t, "different dates", "merge", one, share("--share", "2/2", "--today", "2026-10-01"))
	fails(t, "--no-fixes", "merge", one, share("--share", "2/2", "--no-fixes"))
	fails(t, "computed quantities", "merge", one, share("--share", "2/2", "--no-quantities"))
	fails(t, "part of 2, another of 3", "merge", one, share("--share", "2/3"))
	fails(t, "the same paths", "merge", one, share("--share", "2/2", "machines"))
	fails(t, "not of one part", "merge", share())
	fails(t, "no such file", "merge", "nothing.json")
	fails(t, "no regular file", "merge", ".")
	put(t, "machines/loader/new.axis.hcl", "axis \"new\" {\n}\n")
	fails(t, "different files", "merge", one, share("--share", "2/2"))
	whole := text(t, one)
	for name, damaged := range map[string]string{
		"ends too early; expected one part of a split check": whole[:len(whole)/2], "object": "[]",
		"not JSON (invalid character '{'); expected one part of a split check": "{" + whole, "after its end": whole + "{}",
		"not JSON (invalid character 'a'); expected one part of a split check": "a,b\n1,2\n",
		"of versions": "", "not trammel.check/1": strings.Replace(whole, "trammel.check/1", "trammel.check/9", 1),
		"no severity": strings.Replace(whole, `"severity": "error"`, `"severity": "off"`, 1),
	} {
		if damaged == "" {
			continue
		}
		put(t, "damaged.json", damaged)
		fails(t, name, "merge", "damaged.json", two)
	}
	put(t, "damaged.json", strings.Replace(whole, `"version": "`+version(), `"version": "v0.0.1`, 1))
	fails(t, "use the same version for check and merge", "merge", "damaged.json", two)
}

// A folder whose share is known stays there when others come and go.
func TestShareStable(t *testing.T) {
	s := &share{2, 5}
	count := 0
	for i := range 5000 {
		if s.owns(fmt.Sprintf("machines/m%d", i)) {
			count++
		}
	}
	if count < 900 || count > 1100 {
		t.Errorf("a fifth of 5000 folders are %d", count)
	}
}

// What others may write to is not trusted, and a memory that cannot be written
// keeps no run from its result.
func TestCachedTrouble(t *testing.T) {
	defer func(n int) { fewFiles = n }(fewFiles)
	fewFiles = 1
	newWilderness(t, 9)
	want := called(t, "check", "--no-cache")
	check := func(dir, words string) {
		t.Helper()
		t.Setenv("TRAMMEL_CACHE", dir)
		r := called(t, "check")
		if r.out != want.out || r.status != want.status {
			t.Errorf("%s: another result", words)
		}
		if words == "" && r.err != "" || !strings.Contains(r.err, words) || strings.Count(r.err, "\n") > 1 {
			t.Errorf("said %q, want %q", r.err, words)
		}
	}
	open := t.TempDir()
	if err := os.Chmod(open, 0o777); err != nil {
		t.Fatal(err)
	}
	check(open, "others may write to")
	check("relative", "must be an absolute path")
	put(t, filepath.Join(open, "file"), "")
	check(filepath.Join(open, "file"), "nothing is cached")
	check("/dev/null/x", "nothing is cached")
	fine := filepath.Join(t.TempDir(), "a", "b")
	check(fine, "")
	packs, _ := filepath.Glob(filepath.Join(fine, "*"))
	if len(packs) != 1 {
		t.Fatalf("%q", packs)
	}
	for _, name := range []string{fine, packs[0]} {
		if info, err := os.Stat(name); err != nil || info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s: %v %v", name, info.Mode(), err)
		}
	}
	// What it was is still right when it is gone, no pack, or another's.
	for _, content := range []string{"", "x", strings.Repeat("\x00", 5000), text(t, packs[0])[:200]} {
		put(t, packs[0], content)
		check(fine, "")
		check(fine, "")
	}
	if err := os.RemoveAll(fine); err != nil {
		t.Fatal(err)
	}
	check(fine, "")
}

// An interruption at any time leaves no file half-written, neither of the output
// nor of what is cached.
func TestCheckInterrupted(t *testing.T) {
	defer func(n int) { fewFiles = n }(fewFiles)
	fewFiles = 1
	newWilderness(t, 10)
	dir := t.TempDir()
	t.Setenv("TRAMMEL_CACHE", dir)
	want := called(t, "check", "--no-cache", "--form", "json")
	for _, after := range []time.Duration{0, 1, 5, 10, 20, 40, 80, 160} {
		_ = os.Remove("a.sarif")
		ctx, cancel := context.WithTimeout(t.Context(), after*time.Millisecond)
		o := checkOptions{pageOptions: pageOptions{outputOptions: outputOptions{form: "json", write: []string{"sarif=a.sarif"}}, failAt: "error", color: "never"}, today: strings.TrimPrefix(bakeryDay, "--today=")}
		var out bytes.Buffer
		err := o.run(ctx, nil, strings.NewReader(""), &out, &bytes.Buffer{})
		cancel()
		var code exitCode
		switch {
		case errors.Is(err, errInterrupted):
			// Standard output is a stream: it may break off, and the status says so.
			if !strings.HasPrefix(want.out, out.String()) {
				t.Errorf("after %d ms it wrote something else", after)
			}
			if _, err := os.Stat("a.sarif"); err == nil {
				t.Errorf("after %d ms there is a file", after)
			}
		case errors.As(err, &code):
			sameText(t, want.out, out.String(), "after %d ms", after)
		default:
			t.Errorf("after %d ms: %v", after, err)
		}
		if after == 0 && !errors.Is(err, errInterrupted) {
			t.Error("nothing was interrupted")
		}
		for _, d := range []string{".", dir} {
			list, _ := os.ReadDir(d)
			for _, e := range list {
				if strings.HasPrefix(e.Name(), ".a.sarif") || strings.HasSuffix(e.Name(), ".part") {
					t.Errorf("after %d ms %s is left behind", after, e.Name())
				}
			}
		}
	}
}

// gitInstead makes the working directory a repository that tracks nothing.
func gitInstead(t *testing.T) {
	t.Helper()
	gitAlone(t)
	if err := os.RemoveAll(".git"); err != nil {
		t.Fatal(err)
	}
	gitDo(t, "init", "-q")
}

// What is cached holds on the days on which waivers hold alike, and no
// longer than what it hangs on stays as it is.
func TestLongCachedSteps(t *testing.T) {
	amount.Long(t)
	defer func(n int) { fewFiles = n }(fewFiles)
	fewFiles = 1
	newWilderness(t, 11)
	gitInstead(t) // an ignore file concerns what git is known not to track
	t.Setenv("TRAMMEL_CACHE", t.TempDir())
	day := "2026-11-14"
	step := func(what string) string {
		t.Helper()
		want := allForms(t, "check", "--today", day, "--no-cache", "--waived")
		sameText(t, want, allForms(t, "check", "--today", day, "--waived"), "%s", what)
		sameText(t, want, allForms(t, "check", "--today", day, "--waived"), "%s, again", what)
		return want
	}
	travel := "machines/loader/travel.axis.hcl"
	edit(t, travel, "motion {", "waive \"critical-speed\" {\n reason = \"a trial\"\n until = \"2026-11-15\"\n}\nmotion {")
	put(t, "machines/loader/w.policy.hcl", "waive \"lubricant-environment\" {\n reason = \"a trial\"\n until = \"2026-11-17\"\n}\n")
	seen := map[string]bool{}
	for _, day = range []string{"2026-11-14", "2026-11-15", "2026-11-16", "2026-11-17", "2026-11-18", "2026-11-14", "2030-01-01", "2020-01-01"} {
		seen[step(day)] = true
	}
	if len(seen) < 3 {
		t.Errorf("%d different outputs; one waiver runs out, then the other", len(seen))
	}
	day = "2026-11-14"
	// cross carries dip: what dip weighs counts there, listed or not, and so does
	// which part it uses.
	dip, cross := "machines/loader/dip.axis.hcl", "machines/loader/cross.axis.hcl"
	different := func(a, b, what string) string {
		t.Helper()
		if a == b {
			t.Errorf("%s changed nothing: the step tests nothing", what)
		}
		return b
	}
	edit(t, cross, "    carries    = [axis.dip]\n", "")
	now := step("nothing")
	edit(t, cross, "load {", "load {\n    carries = [axis.dip]")
	now = different(now, step("cross carries dip"), "carrying")
	edit(t, dip, `mass       = "18 kg"`, `mass       = "180 kg"`)
	now = different(now, step("dip is heavier"), "mass")
	put(t, "own.policy.hcl", "rule \"unused-part\" {\n severity = \"warning\"\n reason = \"tidy\"\n}\n")
	put(t, "machines/loader/own.parts.hcl", "grease \"own\" {\n thickener = \"lithium\"\n base_oil = \"mineral\"\n max_temperature = \"110 °C\"\n min_temperature = \"-20 °C\"\n}\n")
	now = different(now, step("a part nobody uses"), "part")
	put(t, ".gitignore", "dip.axis.hcl\n")
	now = different(now, step("dip ignored"), "ignoring")
	edit(t, dip, `mass       = "180 kg"`, `mass       = "190 kg"`)
	now = different(now, step("dip is heavier, ignored"), "mass")
	edit(t, dip, "grease.general", "grease.own")
	different(now, step("dip uses the part, ignored"), "use")
	for _, name := range []string{".gitignore", "own.policy.hcl", "machines/loader/own.parts.hcl"} {
		if err := os.Remove(name); err != nil {
			t.Fatal(err)
		}
	}
	step("without them")
	edit(t, cross, "    carries = [axis.dip]", "")
	for _, c := range []struct{ name, old, new string }{
		{"machines/decorator/nozzle.axis.hcl", "carries = [axis.across]", "carries = [axis.nozzle]"},
		{"machines/decorator/nozzle.axis.hcl", "carries = [axis.nozzle]", "carries = [axis.along]"},
		{"machines/loader/cross.axis.hcl", "load {", "load {\n    carries = [axis.dip]"},
		{"machines/loader/dip.axis.hcl", "load {", "load {\n    carries = [axis.travel]"},
		{"machines/loader/travel.axis.hcl", "load {", "load {\n    carries = [axis.cross]"},
		{"parts/screws.parts.hcl", "screw \"", "screw \"new_"},
	} {
		edit(t, c.name, c.old, c.new)
		step(c.name + ": " + c.new)
	}
	mass := regexp.MustCompile(`mass *= "[0-9.]+ kg`)
	for _, name := range []string{"machines/loader/dip.axis.hcl", "machines/loader/travel.axis.hcl", "machines/decorator/nozzle.axis.hcl"} {
		put(t, name, mass.ReplaceAllString(text(t, name), `mass = "333 kg`))
		step("masses of " + name)
	}
	// One that is carried and not listed, since git passes over it.
	put(t, ".gitignore", "dip.axis.hcl\n")
	step("ignored")
	put(t, "machines/loader/dip.axis.hcl", mass.ReplaceAllString(text(t, "machines/loader/dip.axis.hcl"), `mass = "444 kg`))
	step("ignored and changed")
	put(t, "machines/rule.policy.hcl", "rule \"unused-part\" {\n severity = \"warning\"\n reason = \"tidy\"\n}\n")
	step("machines")
	if err := os.Rename("machines/rule.policy.hcl", "rule.policy.hcl"); err != nil {
		t.Fatal(err)
	}
	step("all")
	edit(t, "machines/loader/cross.axis.hcl", "screw {", "screw {\n    part = screw.none\n}\nscrew {")
	step("another part")
}

// hall writes a fleet in which one file in a hundred cannot be read, and gives
// the number of axes in the others and in those broken by syntax inside a block
// only, whose axis is known by name and not judged.
func hall(t *testing.T, files int) int {
	t.Helper()
	axis := text(t, "../../fixtures/bakery/machines/loader/travel.axis.hcl")
	parts := map[string]string{}
	list, _ := filepath.Glob("../../fixtures/bakery/parts/*")
	for _, name := range list {
		parts[filepath.Base(name)] = text(t, name)
	}
	t.Chdir(t.TempDir())
	put(t, ".git/HEAD", "")
	for name, src := range parts {
		put(t, "parts/"+name, src)
	}
	for i := range files {
		src := strings.Replace(axis, `axis "travel"`, fmt.Sprintf("axis \"a%d\"", i), 1)
		if i%100 == 99 {
			src = []string{"axis {\n" + src[:100], "\x00" + src, "<<<<<<< \n" + src, strings.Repeat("[", 5000)}[i/100%4]
		}
		put(t, fmt.Sprintf("line%d/a%d.axis.hcl", i/5, i), src)
	}
	return files - files/100 + (files+300)/400
}

// A fleet with a few files that cannot be read has its report all the same,
// from every sort of run.
func TestLongFleetWithBrokenFiles(t *testing.T) {
	amount.Long(t)
	axes := hall(t, 400)
	t.Setenv("TRAMMEL_CACHE", t.TempDir())
	want := ends(t, exitFailed, []string{fmt.Sprintf("%d axes", axes), "line19/a99.axis.hcl", "line39/a199.axis.hcl", "line59/a299.axis.hcl", "line79/a399.axis.hcl"}, "check", "--no-cache")
	for range 2 {
		if got := called(t, "check"); got != want {
			t.Errorf("status %d, %s", got.status, got.err)
		}
	}
	merge := []string{"merge"}
	for i := range 4 {
		name := fmt.Sprint(i)
		r := called(t, "check", "--form", "json", "--no-quantities", "--share", fmt.Sprintf("%d/4", i+1))
		put(t, name, r.out)
		merge = append(merge, name)
	}
	if got := called(t, merge...); got != want {
		t.Errorf("merged: status %d, %s", got.status, got.err)
	}
}
