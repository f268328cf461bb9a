package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
)

const (
	leadsOut  = "Outputs that a link leads elsewhere"
	intoGit   = "Outputs into git's own folder"
	notAFile  = "Outputs in the place of something else"
	tableSays = "Names that a table gives"
)

// A writing is one way to have something written.
type writing struct {
	name string
	args string
	set  func(*field)
	dir  bool // what is named is a folder
	all  bool // it is tried with every trap, others with those that are for all
}

// baked brings in what a sizing needs.
func baked(f *field) {
	f.Helper()
	for _, dir := range []string{"machines/palletiser", "parts"} {
		if err := os.CopyFS(filepath.Join(f.repo, filepath.FromSlash(dir)), os.DirFS(filepath.Join("..", "..", "fixtures", "bakery", filepath.FromSlash(dir)))); err != nil {
			f.Fatal(err)
		}
	}
}

func shared(f *field) {
	f.Helper()
	f.out = "1.json"
	if status, out := f.run("check", "--share", "1/1", "--form", "json", "--write", "json=1.json"); status == exitFailed {
		f.Fatal(out)
	}
	f.out = "report.txt"
}

func tabled(f *field) {
	f.write("repo/x.csv", "Name,Mass\na,1\nb,2\n")
	f.write("repo/x.map.hcl", boundsMap)
}

// writings are the ways to name a file or folder that is written.
func writings() []writing {
	return []writing{
		{name: "check --write text", args: "check --no-cache --write text=%OUT%", all: true},
		{name: "check --write sarif", args: "check --no-cache --write sarif=%OUT%"},
		{name: "check --known --record", args: "check --no-cache --known %OUT% --record"},
		{name: "merge --write", args: "merge 1.json --write sarif=%OUT%", set: shared},
		{name: "audit --write", args: "audit --write html=%OUT%"},
		{name: "sheet --write", args: "sheet m lift --write html=%OUT%"},
		{name: "enquiry --write", args: "enquiry m lift --write markdown=%OUT%"},
		{name: "size --write", args: "size " + bakeryDay + " machines/palletiser mast --write json=%OUT%", set: baked},
		{name: "compare --write", args: "compare HEAD --write markdown=%OUT%", set: (*field).git},
		{name: "audit --sheets", args: "audit --sheets %OUT%", dir: true, all: true},
		{name: "manual", args: "manual %OUT%", dir: true},
		{name: "adopt --out", args: "adopt x.csv --out %OUT%", set: tabled, dir: true},
	}
}

// A trap is something in the place of what is to be written.
type trap struct {
	threat, name string
	set          func(*field) // makes it, and names the output
	says         string
	files, dirs  bool // for which writings
}

// forAll are the traps that every writing is tried with.
var forAll = []string{
	"a link to a file outside", "a link to a git hook that is there", "a link to the folder of git's hooks", "a folder on the way that is a link out", "a folder on the way that is a link to the hooks",
	"a hook, by its path", "git's folder over ..", "a pipe that nobody reads",
}

func linkTrap(name, at, to string) trap {
	return trap{leadsOut, name, func(f *field) { f.link("repo/"+at, to) }, "is a link inside the tree", true, true}
}

// below is a trap in a folder on the way.
func belowTrap(name, at, to, out string) trap {
	return trap{leadsOut, name, func(f *field) { f.link("repo/"+at, to); f.out = out }, "is a link inside the tree", true, true}
}

// gitTrap names a path in .git itself.
func gitTrap(name, out string) trap {
	return trap{intoGit, name, func(f *field) { f.out = out }, "it lies in .git", true, true}
}

func traps() []trap {
	return []trap{
		linkTrap("a link to a file outside", "report.txt", "../"+victim),
		linkTrap("a link by its whole path", "report.txt", "%BASE%/"+victim),
		linkTrap("a link to a file outside that is not there yet", "report.txt", "../outside/new"),
		{leadsOut, "a link to a git hook that is there", func(f *field) { f.write(hook, "#!/bin/sh\n"); f.link("repo/report.txt", ".git/hooks/pre-commit") }, "is a link inside the tree", true, false},
		{leadsOut, "a link to the folder of git's hooks", func(f *field) { f.link("repo/report.txt", ".git/hooks") }, "is a link inside the tree", false, true},
		linkTrap("a link to a git hook that is not there yet", "report.txt", ".git/hooks/pre-commit"),
		linkTrap("a link to git's configuration", "report.txt", ".git/config"),
		linkTrap("a link to another file of the tree", "report.txt", "m/lift.axis.hcl"),
		linkTrap("a link to a folder", "report.txt", "m"),
		linkTrap("a link to itself", "report.txt", "report.txt"),
		linkTrap("a link to a device", "report.txt", "/dev/null"),
		{leadsOut, "a link to a link outside", func(f *field) { f.link("repo/a", "../"+victim); f.link("repo/report.txt", "a") }, "is a link inside the tree", true, true},
		belowTrap("a folder on the way that is a link out", "build", "../outside", "build/victim.txt"),
		belowTrap("a folder on the way that is a link to the hooks", "build", ".git/hooks", "build/pre-commit"),
		belowTrap("a folder on the way, high above, that is a link out", "a/b", "../../outside", "a/b/c/d"),
		belowTrap("a folder on the way that is a link within the tree", "build", "m", "build/x"),
		belowTrap("a link out that .. comes back from", "build", "../outside", "build/../build/x"),
		gitTrap("a hook, by its path", ".git/hooks/pre-commit"),
		gitTrap("git's configuration, by its path", ".git/config"),
		gitTrap("git's folder in capitals", ".GIT/hooks/pre-commit"),
		gitTrap("git's folder over ..", "m/../.git/hooks/pre-commit"),
		gitTrap("git's folder by its whole path", "%BASE%/repo/.git/hooks/pre-commit"),
		gitTrap("git's folder of a tree below", "m/.git/hooks/pre-commit"),
		gitTrap("git's folder by a name that some systems shorten", "git~1/hooks/pre-commit"),
		gitTrap("git's folder with a point behind it", ".git./hooks/pre-commit"),
		{intoGit, "git's folder by a link of the user's, outside", func(f *field) { f.link("home/shortcut", "../repo/.git/hooks"); f.out = "../home/shortcut/pre-commit" }, "it lies in .git", true, true},
		{notAFile, "a pipe that nobody reads", func(f *field) { f.pipe("repo/report.txt") }, "", true, true},
		{notAFile, "a folder", func(f *field) { f.write("repo/report.txt/x", "") }, "it is no regular file", true, false},
		{notAFile, "a file that is read-only", func(f *field) {
			f.write("repo/report.txt", "")
			if err := os.Chmod(filepath.Join(f.repo, "report.txt"), 0o444); err != nil {
				f.Fatal(err)
			}
		}, "", true, false},
		{notAFile, "a file on the way to it", func(f *field) { f.write("repo/build", ""); f.out = "build/report.txt" }, "it is no folder", true, true},
	}
}

func init() {
	for _, w := range writings() {
		for _, tr := range traps() {
			if w.dir && !tr.dirs || !w.dir && !tr.files {
				continue
			}
			if !w.all && !slices.Contains(forAll, tr.name) {
				continue
			}
			attacks = append(attacks, attack{
				threat: tr.threat, name: "`" + w.name + "`: " + tr.name, holds: "refused; nothing is written", status: exitFailed, says: tr.says,
				args: strings.Fields(w.args),
				set: func(f *field) {
					if w.set != nil {
						w.set(f)
					}
					tr.set(f)
				},
			})
		}
	}
}
