package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"net/url"
	"path/filepath"
	"strings"
	"sync"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/audit"
	"trammel/cmd/internal/document"
	"trammel/cmd/internal/sheet"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
)

// writeSheets writes the calculation sheet of every axis into a folder and tells
// the fleet where they are, as seen from page. Axes of files that could not be
// read whole get none: it would be wrong.
func (o *auditOptions) writeSheets(ctx context.Context, fleet *audit.Fleet, page string, trees []string, p *progress) error {
	dir, err := atomicfile.OpenFolder(o.sheets, 0o777, trees...)
	if err != nil {
		return notWritten(o.sheets, err)
	}
	defer dir.Close()
	from, err := filepath.Abs(filepath.Dir(page)) // the current folder for standard output
	if err != nil {
		return err
	}
	to, err := filepath.Abs(o.sheets)
	if err != nil {
		return err
	}
	rel, err := filepath.Rel(from, to)
	if err != nil {
		return err
	}
	// A link stands in a page: each part of its path is escaped for itself.
	link := ""
	for _, part := range strings.Split(filepath.ToSlash(rel), "/") {
		link += url.PathEscape(part) + "/"
	}
	// Whoever writes a sheet holds the gate for reading, so that an interruption
	// waits until it is whole.
	var gate sync.RWMutex
	var once sync.Once
	var failed error
	p.task("sheets written", fleet.Axes())
	err = until(ctx, func() error {
		fleet.EachWhole(func(t audit.Tree, tree int, files []string) {
			run.Files(rules.Book(), t.Tree, files, run.Options{
				Today: fleet.Today(), Fixes: true, Workers: o.workers, As: run.Look{Lean: true, Only: func(string, string) bool { return ctx.Err() == nil }, Each: func(rep *judge.Report) {
					gate.RLock()
					defer gate.RUnlock()
					if ctx.Err() != nil {
						return
					}
					a := rep.View.Axis
					at := t.Show(a.Place)
					s := sheet.Build(rep, sheet.Options{Sys: rep.View.Units(), Show: t.Show})
					name := sheetName(at, a.Folder.MachineName(), a.Name)
					var b bytes.Buffer
					err := document.HTML(&b, document.Page{Title: s.Title}, s)
					if err == nil {
						err = notWritten(filepath.Join(o.sheets, name), dir.WriteFile(name, b.Bytes()))
					}
					if err != nil {
						once.Do(func() { failed = fmt.Errorf("the sheet of axis %s: %w", a.Name, err) })
						return
					}
					fleet.SetSheet(tree, a, link+name)
					p.add()
				}},
			})
		})
		return nil
	})
	gate.Lock()
	defer gate.Unlock()
	if err != nil {
		return err
	}
	return failed
}

// sheetName makes a file name of a machine's axis: readable, safe everywhere, and the same
// in each run.
func sheetName(at spec.Place, machine, axis string) string {
	plain := func(s string) string {
		s = strings.Map(func(r rune) rune {
			if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '_' || r == '-' {
				return r
			}
			return '-'
		}, s)
		return s[:min(len(s), 40)]
	}
	name := plain(axis)
	if machine != "" {
		name = plain(machine) + "." + name
	}
	sum := sha256.Sum256(fmt.Appendf(nil, "%s\x00%s\x00%d", at.File, axis, at.Line))
	return fmt.Sprintf("%s-%x.html", name, sum[:4])
}
