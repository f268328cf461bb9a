package gitfs

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"testing"

	"trammel/cmd/internal/impact"
	"trammel/spec"
)

func onDisk(dir string) fs.FS { return os.DirFS(dir) }

func must(b *testing.B, err error) {
	if err != nil {
		b.Helper()
		b.Fatal(err)
	}
}

// BenchmarkHook is what a hook needs for one changed axis, from opening the
// repository to having read the axis with its scope.
func BenchmarkHook(b *testing.B) {
	for _, n := range []int{10, 10000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			dir := bigRepository(b, n)
			const name = "plants/p00/m0000/a00005.axis.hcl"
			write(b, dir, name, use("a5", "screw.rare"))
			git(b, dir, "add", "-A")
			for b.Loop() {
				r, err := Open(context.Background(), dir)
				must(b, err)
				list, err := r.Changed("HEAD", Index)
				must(b, err)
				now, err := r.Staged()
				must(b, err)
				old, _, err := r.At("HEAD")
				must(b, err)
				find, err := r.Find(Index)
				must(b, err)
				i, err := impact.Of(impact.NewState(old), impact.NewState(now), list, find)
				must(b, err)
				if len(i.Files) != 1 || len(spec.NewTree(now).ReadAxes(name).Axes) != 1 {
					b.Fatal(i)
				}
				r.Close()
			}
		})
	}
}

func BenchmarkRepository(b *testing.B) {
	dir := bigRepository(b, 10000)
	git(b, dir, "gc", "-q")
	r := open(b, dir)
	base, _, err := r.At("HEAD")
	must(b, err)
	impact := func(b *testing.B, to string, want int) {
		for b.Loop() {
			list, err := r.Changed("HEAD", to)
			must(b, err)
			var now fs.FS
			switch to {
			case Worktree:
				now = onDisk(dir)
			case Index:
				now, err = r.Staged()
			default:
				now, _, err = r.At(to)
			}
			must(b, err)
			find, err := r.Find(to)
			must(b, err)
			i, err := impact.Of(impact.NewState(base), impact.NewState(now), list, find)
			must(b, err)
			if len(i.Files) != want {
				b.Fatal(len(i.Files))
			}
		}
	}
	b.Run("Open", func(b *testing.B) {
		for b.Loop() {
			_, err := Open(context.Background(), dir)
			must(b, err)
		}
	})
	b.Run("Staged", func(b *testing.B) {
		for b.Loop() {
			_, err := r.Staged()
			must(b, err)
		}
	})
	b.Run("ChangedWorktree", func(b *testing.B) {
		for b.Loop() {
			_, err := r.Changed("HEAD", Worktree)
			must(b, err)
		}
	})
	b.Run("WalkRevision", func(b *testing.B) {
		for b.Loop() {
			r.objects.trees = map[string][]entry{}
			f, _, err := r.At("HEAD")
			must(b, err)
			n := 0
			spec.NewTree(f).Walk(".", func(string) { n++ })
			if n != 11002 {
				b.Fatal(n)
			}
		}
	})
	b.Run("ReadRevision", func(b *testing.B) {
		for b.Loop() {
			r.objects.trees, r.objects.blobs, r.objects.kept = map[string][]entry{}, map[string]object{}, 0
			f, _, err := r.At("HEAD")
			must(b, err)
			tree := spec.NewTree(f)
			tree.Walk(".", func(n string) { tree.Read(n) })
		}
	})
	for _, where := range []string{"HEAD", Index, Worktree} {
		find, err := r.Find(where)
		must(b, err)
		b.Run("List"+where, func(b *testing.B) {
			for b.Loop() {
				list, err := find(".", true)
				must(b, err)
				if len(list) != 11000 {
					b.Fatal(len(list))
				}
			}
		})
	}
	write(b, dir, "parts/s.parts.hcl", screw("rare", "11 mm")+screw("usual", "20 mm"))
	b.Run("PartWorktree", func(b *testing.B) { impact(b, Worktree, 100) })
	git(b, dir, "add", "-A")
	b.Run("PartIndex", func(b *testing.B) { impact(b, Index, 100) })
	commit(b, dir)
	id := head(b, dir)
	git(b, dir, "reset", "-q", "--hard", "HEAD~1")
	b.Run("PartRevision", func(b *testing.B) { impact(b, id, 100) })
	write(b, dir, "parts/s.parts.hcl", screw("rare", "11 mm")+screw("usual", "21 mm"))
	b.Run("PartOfAll", func(b *testing.B) { impact(b, Worktree, 10000) })
	git(b, dir, "checkout", "-q", ".")
	write(b, dir, "machine.axis.hcl", "machine \"whole\" {\n}\n")
	b.Run("MachineAboveAll", func(b *testing.B) { impact(b, Worktree, 1) })
	os.Remove(dir + "/machine.axis.hcl")
	write(b, dir, "house.policy.hcl", "")
	b.Run("PolicyOfAll", func(b *testing.B) { impact(b, Worktree, 11000) })
}
