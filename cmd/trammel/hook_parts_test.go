package main

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"trammel/spec/amount"
)

// TestPartsChangeAtRandom holds what a hook says of a changed part against full checks: of each
// axis that it judges it says what a check of everything says, to the byte, and it judges
// each axis of which a check of everything says something else than before the change.
func TestPartsChangeAtRandom(t *testing.T) { partsChange(t, 1, 1) }

func TestLongPartsChangeAtRandom(t *testing.T) {
	amount.Long(t)
	partsChange(t, 20, 2)
}

func partsChange(t *testing.T, rounds int, seed uint64) {
	t.Helper()
	inBakery(t)
	files, err := filepath.Glob("parts/*.parts.hcl")
	if err != nil || len(files) < 5 {
		t.Fatal(files, err)
	}
	was := saidOfEach(t, "--no-cache")
	chance := rand.New(rand.NewPCG(seed, 0))
	moved := 0
	for range rounds {
		var done []string
		for range 1 + chance.IntN(3) {
			name := files[chance.IntN(len(files))]
			done = append(done, name+": "+otherDigit(t, chance, name))
		}
		gitDo(t, "add", "-A")
		now := saidOfEach(t, "--staged")
		for _, args := range [][]string{{"--staged", "--since", "HEAD"}, {"--since", "HEAD"}} {
			hook := saidOfEach(t, args...)
			for axis, said := range hook {
				if said != now[axis] {
					t.Errorf("%q, %q: of %s the hook says\n%s\nand a check of everything\n%s", done, args, axis, said, now[axis])
				}
			}
			for axis, said := range now {
				if _, judged := hook[axis]; !judged && said != was[axis] {
					t.Errorf("%q, %q: %s differs, and the hook does not judge it", done, args, axis)
				}
			}
		}
		for axis, said := range now {
			if said != was[axis] {
				moved++
			}
		}
		gitDo(t, "reset", "-q", "--hard", "HEAD")
	}
	if moved == 0 {
		t.Error("no change touched an axis")
	}
}

var digits = regexp.MustCompile(`(?m)^  \w+ += "?[\d.]*[1-9]`)

// otherDigit changes a digit of a value in a file, so that all else keeps its place.
func otherDigit(t *testing.T, chance *rand.Rand, name string) string {
	t.Helper()
	src, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	all := digits.FindAllIndex(src, -1)
	at := all[chance.IntN(len(all))]
	src[at[1]-1] = '1' + (src[at[1]-1]-'1'+byte(1+chance.IntN(8)))%9
	put(t, name, string(src))
	return strings.TrimSpace(string(src[at[0]:at[1]]))
}

// saidOfEach is what a check says, by the axis of which it says it.
func saidOfEach(t *testing.T, args ...string) map[string]string {
	t.Helper()
	r := called(t, append([]string{"check", "--form", "json", "--quantities"}, args...)...)
	var doc map[string]json.RawMessage
	if err := json.Unmarshal([]byte(r.out), &doc); err != nil {
		t.Fatalf("%q: %v\n%s%s", args, err, r.out, r.err)
	}
	out := map[string]string{}
	for _, list := range []string{"axes", "findings", "not_judged", "shortest_lists"} {
		var items []json.RawMessage
		if err := json.Unmarshal(doc[list], &items); err != nil {
			t.Fatal(list, err)
		}
		for _, item := range items {
			var of struct{ Axis, Machine string }
			if err := json.Unmarshal(item, &of); err != nil {
				t.Fatal(err)
			}
			if of.Axis != "" {
				out[of.Machine+"/"+of.Axis] += list + string(item) + "\n"
			}
		}
	}
	if !slices.Contains([]int{exitClean, exitFindings}, r.status) {
		t.Fatalf("%q: status %d\n%s", args, r.status, r.err)
	}
	return out
}
