package run_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/run/runtest"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
)

// memoryKeep remembers in memory and counts what it finds.
type memoryKeep struct {
	mu     sync.Mutex
	files  map[spec.Digest]*run.CachedFile
	scopes map[spec.Digest]*run.CachedScope
	held   map[string][]run.FileContent
	found  int // files
	known  int // scopes
	put    int // files
}

func (k *memoryKeep) Empty() bool { return len(k.files) == 0 && len(k.scopes) == 0 }

func (k *memoryKeep) File(key spec.Digest) *run.CachedFile {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.files[key] != nil {
		k.found++
	}
	return k.files[key]
}

func (k *memoryKeep) PutFile(key spec.Digest, x *run.CachedFile) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.files[key] = x
	k.put++
}

func (k *memoryKeep) Scope(key spec.Digest) *run.CachedScope {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.scopes[key] != nil {
		k.known++
	}
	return k.scopes[key]
}

func (k *memoryKeep) PutScope(key spec.Digest, x *run.CachedScope) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.scopes[key] = x
}

func (k *memoryKeep) Contents(folder string) []run.FileContent {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.held[folder]
}

func (k *memoryKeep) PutContents(folder string, files []run.FileContent) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.held == nil {
		k.held = map[string][]run.FileContent{}
	}
	k.held[folder] = files
}

// A knownFS is a file system whose files have an identity, that of their content, and
// that counts what is opened.
type knownFS struct {
	fstest.MapFS
	opened map[string]int
}

func (f knownFS) Open(name string) (fs.File, error) {
	if file := f.MapFS[name]; file != nil {
		f.opened[name]++
	}
	return f.MapFS.Open(name)
}

func (f knownFS) Identity(name string) (id spec.Identity, ok bool) {
	file := f.MapFS[name]
	if file == nil {
		return id, false
	}
	sum := sha256.Sum256(file.Data)
	for i := range id {
		id[i] = int64(binary.BigEndian.Uint32(sum[4*i:]))
	}
	return id, true
}

func (f knownFS) Settled(file fs.File, _ fs.FileInfo) (spec.Identity, bool) {
	src, err := io.ReadAll(file)
	if err != nil {
		return spec.Identity{}, false
	}
	if _, err := file.(io.Seeker).Seek(0, io.SeekStart); err != nil {
		return spec.Identity{}, false
	}
	return knownFS{MapFS: fstest.MapFS{"x": {Data: src}}}.Identity("x")
}

// TestCachedIsTheSame: a run that takes what is cached says what one says that does
// not: of the tree as it was, and after a change of an axis, of a carried one
// beside a carrier, of parts and of a policy. What has not changed is not
// judged again.
func TestCachedIsTheSame(t *testing.T) {
	x, y, z := testaxis.Zyx()
	x.Set("screw.dynamic_rating", -1, `"1 kN"`) // the finding names what it carries
	axisX, parts := x.Text()
	axisY, _ := y.Text()
	axisZ, _ := z.Text()
	alone, _ := testaxis.Quick("").Named("alone").Text()
	beside, _ := testaxis.Quick("").Named("beside").Text()
	base := map[string]string{"line/x.axis.hcl": axisX, "line/y.axis.hcl": axisY, "line/z.axis.hcl": axisZ, "other/a.axis.hcl": alone, "other/b.axis.hcl": beside, "parts/all.parts.hcl": parts,
		"line/w.policy.hcl": "waive \"critical-speed\" {\n  reason = \"bed\"\n  until = \"2027-06-30\"\n}\n"}
	heavier, _ := z.With("load.mass", `"21 kg"`).Text()
	slower, _ := testaxis.Quick("").Named("alone").With("motion.move.speed", `"0.1 m/s"`).Text()
	all := []string{"line/x.axis.hcl", "line/y.axis.hcl", "line/z.axis.hcl", "other/a.axis.hcl", "other/b.axis.hcl", "parts/all.parts.hcl"}
	judged := 0               // in the last run that remembers
	var opened map[string]int // in the last run that remembers
	judge := func(tree map[string]string, keep run.Cache, files []string) string {
		fsys := knownFS{fstest.MapFS{}, map[string]int{}}
		for name, text := range tree {
			fsys.MapFS[name] = &fstest.MapFile{Data: []byte(text)}
		}
		var noted []string
		done, fresh := 0, 0
		sum := run.Files(rules.Book(), spec.NewTree(fsys), files, run.Options{Workers: 1, Today: testaxis.SomeDay, Note: func(r *judge.Report) any { fresh++; return r.View.Axis.Name }, Noted: func(n any) { noted = append(noted, n.(string)) }, Done: func(axes int) { done += axes }, As: run.Remember{Cache: keep}})
		if slices.Sort(noted); done != sum.Axes || len(noted) != sum.Axes || len(slices.Compact(noted)) != sum.Axes {
			t.Errorf("%d axes, %d are done, of %q there are notes", sum.Axes, done, noted)
		}
		if keep != nil {
			judged, opened = fresh, fsys.opened
		}
		return runtest.Shown(sum)
	}
	for what, change := range map[string]map[string]string{
		"nothing":      {},
		"an axis":      {"other/a.axis.hcl": slower},
		"a carried":    {"line/z.axis.hcl": heavier},
		"a new policy": {"other/p.policy.hcl": "rule \"critical-speed\" {\n  limit = \"10 %\"\n}\n"},
		"no waiver":    {"line/w.policy.hcl": "\n"},
	} {
		for i, files := range [][]string{all, all[:1], all[1:4]} {
			again := map[string][]int{"nothing": {0, 0, 0}, "an axis": {1, 0, 1}, "a carried": {3, 1, 2}, "a new policy": {2, 0, 1}, "no waiver": {3, 1, 2}}[what][i]
			keep := &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}
			if got, want := judge(base, keep, files), judge(base, nil, files); got != want {
				t.Errorf("first run: %s\nexpected %s", got, want)
			}
			if got, want := judge(base, keep, files), judge(base, nil, files); got != want {
				t.Errorf("again: %s\nexpected %s", got, want)
			}
			if judged > 0 {
				t.Errorf("%q: %d axes are judged again", files, judged)
			}
			axes := min(len(files), 5)
			if keep.found != axes {
				t.Errorf("%q: of %d axis files %d are cached", files, axes, keep.found)
			}
			if keep.known != len(keep.scopes) || keep.known < 2 {
				t.Errorf("%q: of %d folders %d are cached", files, len(keep.scopes), keep.known)
			}
			judge(base, keep, files) // what lies beside the listed files is known only now
			if judge(base, keep, files); len(opened) > 0 {
				t.Errorf("%q: nothing has changed, and %v are opened", files, opened)
			}
			tree := map[string]string{}
			for name, text := range base {
				tree[name] = text
			}
			for name, text := range change {
				tree[name] = text
			}
			if got, want := judge(tree, keep, files), judge(tree, nil, files); got != want {
				t.Errorf("after a change of %s: %s\nexpected %s", what, got, want)
			}
			if judged != again {
				t.Errorf("%q: after a change of %s %d axes are judged again, expected %d", files, what, judged, again)
			}
			if got, want := judge(tree, keep, files), judge(tree, nil, files); got != want {
				t.Errorf("again after a change of %s: %s\nexpected %s", what, got, want)
			}
			if got, want := judge(base, keep, files), judge(base, nil, files); got != want {
				t.Errorf("after the change of %s was taken back: %s\nexpected %s", what, got, want)
			}
		}
	}
}

// TestCachedByDay: what is cached holds as long as the waivers do, of the
// axis, of policies beside and above it, and of parts; on each day a run that
// remembers says what one says that does not.
func TestCachedByDay(t *testing.T) {
	own, parts := testaxis.Quick(waiving("critical-speed", "2027-01-31")).Text()
	plain, _ := testaxis.Quick("").Named("plain").Text()
	policy := func(rule, until string) string {
		return "waive \"" + rule + "\" {\n  reason = \"r\"\n  until = \"" + until + "\"\n}\n"
	}
	fsys := testaxis.Memory("line/own.axis.hcl", own, "line/plain.axis.hcl", plain, "parts/all.parts.hcl", parts+"screw \"steep\" {\n  nominal_diameter = \"20 mm\"\n  root_diameter = \"21 mm\"\n}\n",
		"line/w.policy.hcl", policy("critical-speed", "2027-03-31"), "top.policy.hcl", policy("part-contradiction", "2027-02-28"))
	files := []string{"line/own.axis.hcl", "line/plain.axis.hcl", "parts/all.parts.hcl"}
	judge := func(on string, keep run.Cache) string {
		return runtest.Shown(run.Files(rules.Book(), spec.NewTree(fsys), files, run.Options{Workers: 1, Today: testaxis.Day(on), Whole: true, As: run.Remember{Cache: keep}}))
	}
	different := map[string]bool{}
	keep := &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}
	for _, on := range []string{"2026-11-25", "2026-11-26", "2027-01-31", "2027-02-01", "2027-02-28", "2027-03-01", "2027-03-31", "2027-04-01", "2027-01-31", "2026-11-25", "2027-03-01", "2029-01-01"} {
		want := judge(on, nil)
		if got := judge(on, keep); got != want {
			t.Errorf("on %s: %s\nexpected %s", on, got, want)
		}
		different[want] = true
	}
	if len(different) != 4 {
		t.Errorf("the days make %d differences, expected four", len(different))
	}
}

// TestUsesBeside: a part that only an axis beside the listed ones uses, which is
// read for what a carrier must know of it, is used, of a whole tree; now and when
// it is cached.
func TestUsesBeside(t *testing.T) {
	fsys := testaxis.Memory("line/x.axis.hcl", "axis \"x\" {\n  load {\n    mass = \"1 kg\"\n    carries = [axis.y]\n  }\n}\n",
		"line/y.axis.hcl", "axis \"y\" {\n  load {\n    mass = \"2 kg\"\n  }\n  screw {\n    part = screw.k\n  }\n}\n",
		"k.parts.hcl", "screw \"k\" {\n  lead = \"5 mm\"\n}\nscrew \"idle\" {\n  lead = \"5 mm\"\n}\n", "p.policy.hcl", "rule \"unused-part\" {\n  severity = \"warning\"\n}\n")
	keep := &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}
	for _, keep := range []run.Cache{nil, keep, keep} {
		sum := run.Files(rules.Book(), spec.NewTree(fsys), []string{"line/x.axis.hcl"}, run.Options{Workers: 1, Today: testaxis.SomeDay, Whole: true, As: run.Remember{Cache: keep}})
		if len(sum.Findings) != 1 || sum.Findings[0].Cause != "screw.idle" {
			t.Errorf("%s", runtest.Shown(sum))
		}
	}
	if keep.found != 1 {
		t.Errorf("%d files are cached", keep.found)
	}
}

// TestUnreadableNotCached: a file that cannot be read is not cached.
func TestUnreadableNotCached(t *testing.T) {
	keep := &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}
	for range 2 {
		sum := run.Files(rules.Book(), spec.NewTree(testaxis.Memory("line/x.axis.hcl", "axis \"x\" {\n}\n")), []string{"line/none.axis.hcl", "line/x.axis.hcl"}, run.Options{Workers: 1, Today: testaxis.SomeDay, As: run.Remember{Cache: keep}})
		runtest.WantFinding(t, sum.Findings, "file")
	}
	if len(keep.files) != 1 || keep.found != 1 {
		t.Errorf("%d files are cached, %d were found", len(keep.files), keep.found)
	}
}

// TestCachedInTurn: runs that share what they remember, one after another,
// each say what a run says that remembers nothing: of other files of the tree
// each time, on other days, with files that come and go. What was said before
// is not judged again; where a carrier has to be, its whole folder is.
func TestCachedInTurn(t *testing.T) {
	x, y, z := testaxis.Zyx()
	axisX, parts := x.Text()
	axisY, _ := y.Text()
	axisZ, _ := z.Text()
	quickX, _ := testaxis.Quick("").Named("x", "load.mass", `"40 kg"`, "load.carries", "[axis.y]").Text()
	alone, _ := testaxis.Quick("").Named("alone").Text()
	again, _ := z.Named("y", "load.mass", `"33 kg"`).Text()
	lighter, _ := z.With("load.mass", `"9 kg"`).Text()
	const waiver = "waive \"critical-speed\" {\n  reason = \"bed\"\n  until = \"2027-06-30\"\n}\n"
	base := map[string]string{"line/x.axis.hcl": axisX, "line/y.axis.hcl": axisY, "line/z.axis.hcl": axisZ, "line/q.axis.hcl": alone, "parts/all.parts.hcl": parts, "line/w.policy.hcl": waiver}
	with := func(pairs ...string) map[string]string {
		tree := map[string]string{}
		for name, text := range base {
			tree[name] = text
		}
		for i := 0; i < len(pairs); i += 2 {
			if tree[pairs[i]] = pairs[i+1]; pairs[i+1] == "" {
				delete(tree, pairs[i])
			}
		}
		return tree
	}
	all := []string{"line/q.axis.hcl", "line/x.axis.hcl", "line/y.axis.hcl", "line/z.axis.hcl", "parts/all.parts.hcl"}
	carrier := []string{"line/x.axis.hcl"}
	twice := with("line/v.axis.hcl", again)
	judge := func(tree map[string]string, keep run.Cache, files []string, on string) string {
		fsys := fstest.MapFS{}
		for name, text := range tree {
			fsys[name] = &fstest.MapFile{Data: []byte(text)}
		}
		return runtest.Shown(run.Files(rules.Book(), spec.NewTree(fsys), files, run.Options{Workers: 1, Today: testaxis.Day(on), As: run.Remember{Cache: keep}}))
	}
	keep := &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}
	for i, run := range []struct {
		tree  map[string]string
		files []string
		day   string
		put   int // files that are judged; -1 where it does not matter
	}{
		{base, carrier, "2026-11-25", 1},
		{base, carrier, "2026-11-26", 0},
		{base, all, "2026-11-25", -1}, // the others are listed now
		{base, all, "2026-11-25", 0},
		{base, all, "2027-06-30", 0}, // the last day of the waiver
		{base, all, "2027-07-01", 4}, // it might have accepted something of any
		{base, all, "2027-07-01", 0},
		{base, all, "2026-11-25", 4},
		{base, carrier, "2026-11-25", -1},
		{with("line/z.axis.hcl", lighter), carrier, "2026-11-25", 1},
		{with("line/z.axis.hcl", lighter), carrier, "2026-11-25", 0},
		{twice, carrier, "2026-11-25", -1}, // a second axis of the name of what it carries
		{twice, carrier, "2026-11-25", 0},
		{twice, append([]string{"line/v.axis.hcl"}, all...), "2026-11-25", -1},
		{twice, append([]string{"line/v.axis.hcl"}, all...), "2026-11-25", 0},
		{with("line/y.axis.hcl", ""), all, "2026-11-25", -1}, // a listed file is not there
		{with("line/y.axis.hcl", ""), all, "2026-11-25", -1},
		{with("line/x.axis.hcl", quickX), all, "2026-11-25", -1},
		{with("line/x.axis.hcl", quickX), all, "2026-11-25", 0},
		{with("line/x.axis.hcl", strings.Replace(quickX, "[axis.y]", "[axis.none]", 1)), all, "2026-11-25", -1}, // all files are looked through for an axis that there is not
		{with("line/x.axis.hcl", strings.Replace(quickX, "[axis.y]", "[axis.none]", 1)), carrier, "2026-11-25", -1},
		{with("line/q.axis.hcl", "axis \"alone\" {\n"), all, "2026-11-25", -1}, // in the middle of being written
		{base, all, "2026-11-25", -1},
		{base, all, "2026-11-25", 0},
	} {
		keep.put = 0
		got := judge(run.tree, keep, run.files, run.day)
		if want := judge(run.tree, nil, run.files, run.day); got != want {
			t.Errorf("run %d: %s\nexpected %s", i, got, want)
		}
		if run.put >= 0 && keep.put != run.put {
			t.Errorf("run %d: %d files are judged, expected %d", i, keep.put, run.put)
		}
	}
}

// TestCarriersAllOrNone: where one carrier of a folder is no longer cached,
// all of them are judged again, and no other axis.
func TestCarriersAllOrNone(t *testing.T) {
	x, y, z := testaxis.Zyx()
	a, parts := testaxis.Texts(x, y, z)
	files := testaxis.Memory("line/x.axis.hcl", a[0], "line/y.axis.hcl", a[1], "line/z.axis.hcl", a[2], "parts/all.parts.hcl", parts)
	names := []string{"line/x.axis.hcl", "line/y.axis.hcl", "line/z.axis.hcl"}
	for _, x := range []struct {
		lost string
		put  int
	}{{"x", 2}, {"y", 2}, {"z", 3}} {
		keep := &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}
		judge := func() string {
			return runtest.Shown(run.Files(rules.Book(), spec.NewTree(files), names, run.Options{Workers: 1, Today: testaxis.SomeDay, As: run.Remember{Cache: keep}}))
		}
		want := judge()
		for key, k := range keep.files {
			if k.Members[0].Name == x.lost {
				delete(keep.files, key)
			}
		}
		keep.put = 0
		if got := judge(); got != want || keep.put != x.put {
			t.Errorf("without what was found of %s: %d files are judged, expected %d; %s\nexpected %s", x.lost, keep.put, x.put, got, want)
		}
	}
}

// TestCachedUses: a part that only an axis uses that is read for another one
// counts as used, whether that axis was listed before or not.
func TestCachedUses(t *testing.T) {
	x, y, z := testaxis.Zyx()
	y.Set("drive.motor", -1, "motor.own")
	a, parts := testaxis.Texts(x, y, z)
	files := testaxis.Memory("line/x.axis.hcl", a[0], "line/y.axis.hcl", a[1], "line/z.axis.hcl", a[2], "parts/all.parts.hcl", parts, "parts/own.parts.hcl", "motor \"own\" {\n  max_speed = \"4500 rpm\"\n}\n")
	keep := &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}
	all := []string{"line/x.axis.hcl", "line/y.axis.hcl", "line/z.axis.hcl", "parts/all.parts.hcl", "parts/own.parts.hcl"}
	one := []string{"line/x.axis.hcl", "parts/all.parts.hcl", "parts/own.parts.hcl"}
	for i, names := range [][]string{all, one, all, one, one} {
		judge := func(keep run.Cache) string {
			return runtest.Shown(run.Files(rules.Book(), spec.NewTree(files), names, run.Options{Workers: 1, Today: testaxis.SomeDay, As: run.Remember{Cache: keep}}))
		}
		var none run.Cache
		if got, want := judge(keep), judge(none); got != want {
			t.Errorf("run %d: %s\nexpected %s", i, got, want)
		}
	}
}

// A model is part of what an axis was judged by: when it changes, goes or comes, the axis
// is judged again, and else not.
func TestModelIsPartOfWhatIsCached(t *testing.T) {
	t.Parallel()
	axis := "axis \"a\" {\n  screw {\n    model = \"a.step\"\n    length = \"80 mm\"\n  }\n}\n"
	pin, err := os.ReadFile("../../../spec/step/testdata/pin.step")
	if err != nil {
		t.Fatal(err)
	}
	longer := bytes.ReplaceAll(pin, []byte("80.)"), []byte("90.)"))
	keep := &memoryKeep{files: map[spec.Digest]*run.CachedFile{}, scopes: map[spec.Digest]*run.CachedScope{}}
	for i, c := range []struct {
		model   []byte
		judged  int
		finding string
	}{
		{pin, 1, ""}, {pin, 0, ""}, {longer, 1, "in the model it is 90 mm"}, {longer, 0, "in the model it is 90 mm"},
		{nil, 1, "there is no such file"}, {nil, 0, "there is no such file"}, {pin, 1, ""}, {pin, 0, ""},
	} {
		fsys := fstest.MapFS{"a.axis.hcl": {Data: []byte(axis)}}
		if c.model != nil {
			fsys["a.step"] = &fstest.MapFile{Data: c.model}
		}
		judged, found := 0, ""
		sum := run.Files(rules.Book(), spec.NewTree(fsys), []string{"a.axis.hcl"}, run.Options{Workers: 1, Today: testaxis.SomeDay, Note: func(*judge.Report) any { judged++; return "" }, As: run.Remember{Cache: keep}})
		for _, f := range sum.Findings {
			if f.Rule == "model-agrees" {
				found += f.Message
			}
		}
		if judged != c.judged || !strings.Contains(found, c.finding) || c.finding == "" && found != "" {
			t.Errorf("run %d: judged %d times, want %d; found %q, want %q", i, judged, c.judged, found, c.finding)
		}
	}
}
