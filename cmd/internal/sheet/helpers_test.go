package sheet

import (
	"bytes"
	"io/fs"
	"os"
	"path"
	"slices"
	"sort"
	"sync"
	"testing"
	"time"

	"trammel/cmd/internal/document"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
	"trammel/spec/unit"
)

// testDay is the day on which waivers are judged in the fixtures.
var testDay = time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)

func fixtureTree(parts ...string) fs.FS {
	return os.DirFS(path.Join(append([]string{"../../../fixtures"}, parts...)...))
}

func show(p spec.Place) spec.Place { return p }

// An axisSheet is one axis of a tree, made into a sheet.
type axisSheet struct {
	name  string
	sheet *document.Document
	row   Row
	sys   unit.System
	rep   *judge.Report // its View is gone
}

type buildOptions struct {
	sys     *unit.System
	workers int
	under   string // folder below which axes are taken; "" for all
	each    func(*judge.Report)
}

// build makes the sheet of every axis of a tree, in the order of their places.
func build(tb testing.TB, fsys fs.FS, o buildOptions) []axisSheet {
	tb.Helper()
	tree := spec.NewTree(fsys)
	var files []string
	dir := o.under
	if dir == "" {
		dir = "."
	}
	tree.Walk(dir, func(f string) { files = append(files, f) })
	type placed struct {
		axisSheet
		place spec.Place
	}
	var mu sync.Mutex
	var list []placed
	run.Files(rules.Book(), tree, files, run.Options{Today: testDay, Fixes: true, Workers: o.workers, As: run.Look{Units: o.sys, Each: func(rep *judge.Report) {
		so := Options{Sys: rep.View.Units(), Show: show}
		a := axisSheet{name: rep.View.Axis.Name, sheet: Build(rep, so), row: RowOf(rep, so), sys: so.Sys, rep: rep}
		mu.Lock()
		defer mu.Unlock()
		if o.each != nil {
			o.each(rep)
		}
		list = append(list, placed{a, rep.View.Axis.Place})
	}}})
	sort.Slice(list, func(i, k int) bool { return spec.ComparePlaces(list[i].place, list[k].place) < 0 })
	var out []axisSheet
	for _, p := range list {
		out = append(out, p.axisSheet)
	}
	return out
}

// bakerySheets are those of the bakery, made once for all who only read them.
func bakerySheets(tb testing.TB) []axisSheet {
	tb.Helper()
	bakeryOnce.Do(func() { bakeryAxes = build(tb, fixtureTree("bakery"), buildOptions{}) })
	return bakeryAxes
}

var (
	bakeryOnce sync.Once
	bakeryAxes []axisSheet
)

// machineOf makes the sheets of a machine: its own, then those of its axes.
func machineOf(axes []axisSheet) []*document.Document {
	var rows []Row
	for _, a := range axes {
		rows = append(rows, a.row)
	}
	out := []*document.Document{Machine("the machine", rows, Options{Sys: axes[0].sys, Show: show})}
	for _, a := range axes {
		out = append(out, a.sheet)
	}
	return out
}

// forms are the ways to write sheets.
var forms = []struct {
	name  string
	write func(testing.TB, ...*document.Document) string
}{
	{"text", func(tb testing.TB, s ...*document.Document) string {
		var b bytes.Buffer
		if err := document.Text(&b, s...); err != nil {
			tb.Fatal(err)
		}
		return b.String()
	}},
	{"markdown", func(tb testing.TB, s ...*document.Document) string {
		var b bytes.Buffer
		if err := document.Markdown(&b, s...); err != nil {
			tb.Fatal(err)
		}
		return b.String()
	}},
	{"html", func(tb testing.TB, s ...*document.Document) string {
		var b bytes.Buffer
		if err := document.HTML(&b, document.Page{Title: "Calculation sheet"}, s...); err != nil {
			tb.Fatal(err)
		}
		return b.String()
	}},
}

// blocks are those of one kind of a section.
func blocks[T document.Block](s *document.Section) []T {
	var out []T
	for _, b := range s.Blocks {
		if x, ok := b.(T); ok {
			out = append(out, x)
		}
	}
	return out
}

func steps(s *document.Section) document.Steps { return slices.Concat(blocks[document.Steps](s)...) }

func items(s *document.Section) document.List { return slices.Concat(blocks[document.List](s)...) }

// fixtureTrees names the trees below fixtures.
func fixtureTrees(tb testing.TB) []string {
	tb.Helper()
	list, err := os.ReadDir("../../../fixtures/rules")
	if err != nil {
		tb.Fatal(err)
	}
	out := []string{"bakery"}
	for _, e := range list {
		out = append(out, "rules/"+e.Name())
	}
	return out
}
