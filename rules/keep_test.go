package rules

import (
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
