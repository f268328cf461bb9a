package sheet

import (
	"bytes"
	"testing"

	"trammel/cmd/internal/document"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// benchSheets judges and writes the axes of a machine of the bakery as HTML,
// reading of the files included.
func benchSheets(b *testing.B, dir, axis string, times int) {
	fsys := fixtureTree("bakery")
	for b.Loop() {
		tree := spec.NewTree(fsys)
		var files []string
		tree.Walk(dir, func(f string) { files = append(files, f) })
		var list []axisSheet
		run.Files(rules.Book(), tree, files, run.Options{Today: testDay, Fixes: true, Workers: 1, As: run.Look{Each: func(rep *judge.Report) {
			if axis != "" && rep.View.Axis.Name != axis {
				return
			}
			o := Options{Sys: rep.View.Units(), Show: show}
			for range times {
				list = append(list, axisSheet{sheet: Build(rep, o), row: RowOf(rep, o), sys: o.Sys})
			}
		}}})
		sheets := machineOf(list)
		if axis != "" {
			sheets = sheets[1:]
		}
		var out bytes.Buffer
		if err := document.HTML(&out, document.Page{Title: "x"}, sheets...); err != nil {
			b.Fatal(err)
		}
		b.SetBytes(int64(out.Len()))
	}
}

// BenchmarkAxisHTML makes the page of one axis: at most 150 ms.
func BenchmarkAxisHTML(b *testing.B) { benchSheets(b, "machines/loader", "travel", 1) }

// BenchmarkMachineHTML makes the page of a machine of six axes: at most 1 s.
func BenchmarkMachineHTML(b *testing.B) { benchSheets(b, "machines/loader", "", 2) }
