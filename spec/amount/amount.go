// Package amount says how much the tests try of what is long. `go test ./...` is quick: it
// leaves out the tests named TestLong… and tries a sample in the others. TRAMMEL_TESTS=long,
// which CI sets, runs TestLong… too; TRAMMEL_TESTS=all, as `make long` has it, tries
// everything. It is for tests only.
package amount

import (
	"cmp"
	"hash/fnv"
	"os"
	"slices"
	"testing"
)

// All tells whether everything is tried. It is called while tests run, never before: go
// test keeps results by what a test reads of the environment.
func All() bool { return os.Getenv("TRAMMEL_TESTS") == "all" }

// Long skips a test that `go test ./...` has no time for. Such tests are named TestLong…,
// so that CI can run them alone: go test -run '^TestLong'.
func Long(t testing.TB) {
	t.Helper()
	if os.Getenv("TRAMMEL_TESTS") == "" {
		t.Skip("long: runs where TRAMMEL_TESTS is long or all")
	}
}

// Of is all where everything is tried, else the sample.
func Of[T any](all, sample T) T {
	if All() {
		return all
	}
	return sample
}

// Some is the list where everything is tried, else one in n of it, at least one. The
// names decide which, so that neighbours, which are often of one kind, do not go together.
func Some[T any](list []T, n int, name func(T) string) []T {
	if All() || len(list) == 0 {
		return list
	}
	sum := func(x T) uint64 {
		h := fnv.New64a()
		_, _ = h.Write([]byte(name(x)))
		return h.Sum64() * 0x9e3779b97f4a7c15 >> 1 // stirred: names that differ at the end alone lie near each other
	}
	sorted := slices.SortedStableFunc(slices.Values(list), func(a, b T) int { return cmp.Compare(sum(a), sum(b)) })
	return sorted[:(len(list)+n-1)/n]
}
