package main

import (
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"trammel/cmd/internal/compare"
	"trammel/cmd/internal/gitfs"
	"trammel/rules"
	"trammel/rules/judge/run"
	"trammel/spec/amount"
)

// TestCompareAtRandom holds a comparison of the axes that a change touches against one of
// all axes of both states.
func TestCompareAtRandom(t *testing.T) { compareAtRandom(t, 3, 3) }

func TestLongCompareAtRandom(t *testing.T) {
	amount.Long(t)
	compareAtRandom(t, 40, 4)
}

func compareAtRandom(t *testing.T, rounds int, seed uint64) {
	t.Helper()
	inBakery(t)
	chance := rand.New(rand.NewPCG(seed, 0))
	differ := 0
	for range rounds {
		var done []string
		for range 1 + chance.IntN(3) {
			name := anyFile(t, chance)
			done = append(done, name+": "+otherDigit(t, chance, name))
		}
		if chance.IntN(3) == 0 {
			name := anyFile(t, chance)
			gitDo(t, "mv", "-f", name, filepath.Dir(name)+"/x-"+filepath.Base(name))
			done = append(done, name+" renamed")
		}
		gitDo(t, "add", "-A")
		if differsAsInFull(t, done) {
			differ++
		}
		gitDo(t, "reset", "-q", "--hard", "HEAD")
	}
	if differ == 0 {
		t.Error("no change moved an axis")
	}
}

// differsAsInFull reports whether the staged change makes a difference, which is held against
// that of all axes.
func differsAsInFull(t *testing.T, done []string) bool {
	t.Helper()
	c, _, err := compareStates(context.Background(), "HEAD", gitfs.Index, nil, newProgress(io.Discard))
	full, broken := inFull(t)
	switch {
	case err != nil && broken == "":
		t.Errorf("%q: %v, and a comparison of all axes works", done, err)
	case err == nil && fmt.Sprintf("%+v", c) != fmt.Sprintf("%+v", full):
		t.Errorf("%q: of the axes touched\n%+v\nof all\n%+v", done, c, full)
	}
	return err == nil && len(c.Axes) > 0
}

// TestCompareTouched: of a file of which a part touches some axes, all of those are compared,
// and what keeps one of the others from being read is said.
func TestCompareTouched(t *testing.T) {
	inBakery(t)
	const seal = "machines/packer/seal.axis.hcl"
	for _, part := range []string{"g16x5", "g20x10"} {
		at := strings.Index(text(t, screws), `screw "`+part+`"`)
		lines := text(t, screws)[at:]
		edit(t, screws, lines, strings.Replace(lines, "static_rating        = \"", "static_rating        = \"1", 1))
	}
	gitDo(t, "add", "-A")
	if !differsAsInFull(t, []string{"two screws"}) {
		t.Error("two screws change no axis")
	}
	gitDo(t, "reset", "-q", "--hard", "HEAD")
	edit(t, seal, "axis \"gate\" {\n", "axis \"gate\" {\n  waive \"no-such-rule\" {\n    until  = \"2099-01-01\"\n    reason = \"none\"\n  }\n")
	commitAll(t, "a waiver of no rule")
	edit(t, screws, `"12.7 kN"`, `"12.8 kN"`)
	fails(t, "no-such-rule", "compare", "HEAD")
}

// anyFile is one of the spec files.
func anyFile(t *testing.T, chance *rand.Rand) string {
	t.Helper()
	var files []string
	for _, name := range strings.Fields(gitDo(t, "ls-files", "*.hcl")) {
		if digits.MatchString(text(t, name)) {
			files = append(files, name)
		}
	}
	return files[chance.IntN(len(files))]
}

// inFull compares all axes of HEAD and of what is staged; broken is what cannot be read.
func inFull(t *testing.T) (full *compare.Comparison, broken string) {
	t.Helper()
	repo, err := openHere(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	defer repo.Close()
	var sides []*compare.Side
	for _, name := range []string{"HEAD", gitfs.Index} {
		s, err := openState(repo, name)
		if err != nil {
			t.Fatal(err)
		}
		var files []string
		s.read.Tree().Walk(".", func(f string) { files = append(files, f) })
		side := compare.NewSide()
		sum := run.Files(rules.Book(), s.read.Tree(), files, run.Options{Today: midnight(time.Now()), As: run.Look{Each: side.Add}})
		for i := range sum.Findings {
			if f := &sum.Findings[i]; f.OfText() {
				broken += f.Message + "\n"
			}
		}
		sides = append(sides, side)
	}
	changes, err := repo.Changed("HEAD", gitfs.Index)
	if err != nil {
		t.Fatal(err)
	}
	names := map[string]string{}
	for _, c := range changes {
		if c.Old != "" {
			names[c.Path] = c.Old
		}
	}
	return compare.Sides(sides[0], sides[1], names), broken
}
