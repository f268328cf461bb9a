package rules

import (
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"trammel/spec"
)

// memoryKeep remembers in memory and counts what it finds.
type memoryKeep struct {
	mu     sync.Mutex
	files  map[spec.Digest]*Kept
	scopes map[spec.Digest]*KeptScope
	found  int // files
	put    int // files
}

func (k *memoryKeep) Empty() bool { return len(k.files) == 0 && len(k.scopes) == 0 }

func (k *memoryKeep) File(key spec.Digest) *Kept {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.files[key] != nil {
		k.found++
	}
	return k.files[key]
}

func (k *memoryKeep) PutFile(key spec.Digest, x *Kept) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.files[key] = x
	k.put++
}

func (k *memoryKeep) Scope(key spec.Digest) *KeptScope {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.scopes[key]
}

func (k *memoryKeep) PutScope(key spec.Digest, x *KeptScope) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.scopes[key] = x
}

// TestRememberedIsTheSame: a run that remembers says what one says that does
// not: of the tree as it was, and after a change of an axis, of a carried one
// beside a carrier, of parts and of a policy. What has not changed is not
// judged again.
func TestRememberedIsTheSame(t *testing.T) {
	x, y, z := zyx()
	axisX, parts := x.text()
	axisY, _ := y.text()
	axisZ, _ := z.text()
	alone, _ := quick("").named("alone").text()
	base := map[string]string{"line/x.axis.hcl": axisX, "line/y.axis.hcl": axisY, "line/z.axis.hcl": axisZ, "other/a.axis.hcl": alone, "parts/all.parts.hcl": parts,
		"line/w.policy.hcl": "waive \"critical-speed\" {\n  reason = \"bed\"\n  until = \"2027-06-30\"\n}\n"}
	heavier, _ := z.with("load.mass", `"21 kg"`).text()
	slower, _ := quick("").named("alone").with("motion.move.speed", `"0.1 m/s"`).text()
	all := []string{"line/x.axis.hcl", "line/y.axis.hcl", "line/z.axis.hcl", "other/a.axis.hcl", "parts/all.parts.hcl"}
	judge := func(tree map[string]string, keep Keep, files []string) string {
		fsys := fstest.MapFS{}
		for name, text := range tree {
			fsys[name] = &fstest.MapFile{Data: []byte(text)}
		}
		return Run(spec.NewTree(fsys), files, Options{Workers: 1, Today: someDay, Keep: keep}).shown()
	}
	for what, change := range map[string]map[string]string{
		"nothing":      {},
		"an axis":      {"other/a.axis.hcl": slower},
		"a carried":    {"line/z.axis.hcl": heavier},
		"a new policy": {"other/p.policy.hcl": "rule \"critical-speed\" {\n  limit = \"10 %\"\n}\n"},
		"no waiver":    {"line/w.policy.hcl": "\n"},
	} {
		for _, files := range [][]string{all, all[:1], all[1:4]} {
			keep := &memoryKeep{files: map[spec.Digest]*Kept{}, scopes: map[spec.Digest]*KeptScope{}}
			if got, want := judge(base, keep, files), judge(base, nil, files); got != want {
				t.Errorf("first run: %s\nexpected %s", got, want)
			}
			if got, want := judge(base, keep, files), judge(base, nil, files); got != want {
				t.Errorf("again: %s\nexpected %s", got, want)
			}
			axes := min(len(files), 4)
			if keep.found != axes {
				t.Errorf("%q: of %d axis files %d are remembered", files, axes, keep.found)
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
			if got, want := judge(tree, keep, files), judge(tree, nil, files); got != want {
				t.Errorf("again after a change of %s: %s\nexpected %s", what, got, want)
			}
			if got, want := judge(base, keep, files), judge(base, nil, files); got != want {
				t.Errorf("after the change of %s was taken back: %s\nexpected %s", what, got, want)
			}
		}
	}
}

// TestRememberedInTurn: runs that share what they remember, one after another,
// each say what a run says that remembers nothing: of other files of the tree
// each time, on other days, with files that come and go. What was said before
// is not judged again; where a carrier has to be, its whole folder is.
func TestRememberedInTurn(t *testing.T) {
	x, y, z := zyx()
	axisX, parts := x.text()
	axisY, _ := y.text()
	axisZ, _ := z.text()
	quickX, _ := quick("").named("x", "load.mass", `"40 kg"`, "load.carries", "[axis.y]").text()
	alone, _ := quick("").named("alone").text()
	again, _ := z.named("y", "load.mass", `"33 kg"`).text()
	lighter, _ := z.with("load.mass", `"9 kg"`).text()
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
	judge := func(tree map[string]string, keep Keep, files []string, on string) string {
		fsys := fstest.MapFS{}
		for name, text := range tree {
			fsys[name] = &fstest.MapFile{Data: []byte(text)}
		}
		return Run(spec.NewTree(fsys), files, Options{Workers: 1, Today: day(on), Keep: keep}).shown()
	}
	keep := &memoryKeep{files: map[spec.Digest]*Kept{}, scopes: map[spec.Digest]*KeptScope{}}
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

// TestCarriersAllOrNone: where one carrier of a folder is no longer remembered,
// all of them are judged again, and no other axis.
func TestCarriersAllOrNone(t *testing.T) {
	x, y, z := zyx()
	a, parts := texts(x, y, z)
	files := memory("line/x.axis.hcl", a[0], "line/y.axis.hcl", a[1], "line/z.axis.hcl", a[2], "parts/all.parts.hcl", parts)
	names := []string{"line/x.axis.hcl", "line/y.axis.hcl", "line/z.axis.hcl"}
	for _, x := range []struct {
		lost string
		put  int
	}{{"x", 2}, {"y", 2}, {"z", 3}} {
		keep := &memoryKeep{files: map[spec.Digest]*Kept{}, scopes: map[spec.Digest]*KeptScope{}}
		judge := func() string {
			return Run(spec.NewTree(files), names, Options{Workers: 1, Today: someDay, Keep: keep}).shown()
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

// TestRememberedUses: a part that only an axis uses that is read for another one
// counts as used, whether that axis was listed before or not.
func TestRememberedUses(t *testing.T) {
	x, y, z := zyx()
	y.set("drive.motor", -1, "motor.own")
	a, parts := texts(x, y, z)
	files := memory("line/x.axis.hcl", a[0], "line/y.axis.hcl", a[1], "line/z.axis.hcl", a[2], "parts/all.parts.hcl", parts, "parts/own.parts.hcl", "motor \"own\" {\n  max_speed = \"4500 rpm\"\n}\n")
	keep := &memoryKeep{files: map[spec.Digest]*Kept{}, scopes: map[spec.Digest]*KeptScope{}}
	all := []string{"line/x.axis.hcl", "line/y.axis.hcl", "line/z.axis.hcl", "parts/all.parts.hcl", "parts/own.parts.hcl"}
	one := []string{"line/x.axis.hcl", "parts/all.parts.hcl", "parts/own.parts.hcl"}
	for i, names := range [][]string{all, one, all, one, one} {
		judge := func(keep Keep) string {
			return Run(spec.NewTree(files), names, Options{Workers: 1, Today: someDay, Keep: keep}).shown()
		}
		var none Keep
		if got, want := judge(keep), judge(none); got != want {
			t.Errorf("run %d: %s\nexpected %s", i, got, want)
		}
	}
}
