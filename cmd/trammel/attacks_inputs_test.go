package main

import (
	"os"
	"path/filepath"
	"strings"
)

const readsOut = "Inputs that a link leads elsewhere"

// A reading is one way to have something read.
type reading struct {
	name, at, args string
	set            func(*field) // makes what is read, as repo/in; nil for a spec file, which nothing names
}

func readings() []reading {
	return []reading{
		{"the list of known findings", "m/x.known", "check --no-cache m --known %OUT%", func(f *field) { f.write("repo/in", "trammel-known 1\n") }},
		{"a part of a split check", "m/x.json", "merge %OUT%", func(f *field) { shared(f); f.move("repo/1.json", "repo/in") }},
		{"a table", "m/x.csv", "adopt %OUT% --map x.map.hcl --try", func(f *field) { tabled(f); f.move("repo/x.csv", "repo/in") }},
		{"a mapping", "m/x.map.hcl", "adopt x.csv --map %OUT% --try", func(f *field) { tabled(f); f.move("repo/x.map.hcl", "repo/in") }},
		{"words for a mapping", "m/x.csv", "adopt y.csv --draft-map --words %OUT% --try", func(f *field) {
			f.write("repo/y.csv", "Axis,Mass [kg]\na,1\nb,2\n")
			f.write("repo/in", "slag,motion.stroke\n")
		}},
		{"an axis file", "m/x.axis.hcl", "check --no-cache m", nil},
		{"a parts file", "m/x.parts.hcl", "check --no-cache m", nil},
		{"a policy", "m/x.policy.hcl", "check --no-cache m", nil},
	}
}

// A lure is a link on the way to what is read, which is moved to real.
type lure struct {
	name, real string
	set        func(f *field, at string)
	folder     bool // a folder on the way is the link
}

// named puts the name of the file at a path into another path.
func named(at, to string) string {
	return strings.ReplaceAll(to, "%NAME%", at[strings.LastIndexByte(at, '/')+1:])
}

func lures() []lure {
	at := func(to string) func(*field, string) {
		return func(f *field, at string) { f.link("repo/"+at, named(at, to)) }
	}
	folder := func(to string) func(*field, string) {
		return func(f *field, at string) {
			f.out = named(at, "l/%NAME%")
			f.link("repo/l", to)
		}
	}
	return []lure{
		{"a link out", "outside/%NAME%", at("../../outside/%NAME%"), false},
		{"a link out by its whole path", "outside/%NAME%", at("%BASE%/outside/%NAME%"), false},
		{"a link to a link out", "outside/%NAME%", func(f *field, at string) {
			f.link("repo/k", named(at, "../outside/%NAME%"))
			f.link("repo/"+at, "../k")
		}, false},
		{"a link into git's folder", "repo/.git/%NAME%", at("../.git/%NAME%"), false},
		{"a link to a link into git's folder", "repo/.git/%NAME%", func(f *field, at string) { f.link("repo/k", ".git"); f.link("repo/"+at, named(at, "../k/%NAME%")) }, false},
		{"in a folder that is a link out", "outside/%NAME%", folder("../outside"), true},
		{"in a folder that is a link to git's", "repo/.git/%NAME%", folder(".git"), true},
	}
}

func init() {
	for _, r := range readings() {
		for _, l := range lures() {
			if l.folder && r.set == nil {
				continue
			}
			attacks = append(attacks, attack{
				threat: readsOut, name: r.name + " is " + l.name, holds: "refused; nothing of it is read", status: exitFailed, says: "it is a link that leads", not: "SECRET",
				args: strings.Fields(r.args), set: func(f *field) {
					if r.set != nil {
						r.set(f)
					} else {
						f.write("repo/in", "SECRET = 1\n")
					}
					f.out = r.at
					f.move("repo/in", named(r.at, l.real))
					l.set(f, r.at)
				},
			})
		}
	}
	afar := func(name, file, args string, set func(*field)) {
		attacks = append(attacks, attack{threat: noGit, name: name + " is a link out, in the tree that is named from elsewhere", holds: "refused; nothing of it is read", status: exitFailed, says: "it is a link that leads", args: strings.Fields(args), set: func(f *field) {
			set(f)
			if err := os.RemoveAll(filepath.Join(f.repo, ".git")); err != nil {
				f.Fatal(err)
			}
			f.move("repo/"+file, "outside/"+file)
			f.link("repo/"+file, "../outside/"+file)
			f.dir = filepath.Join(f.base, "home")
		}})
	}
	afar("the list of known findings", "x.known", "check --no-cache ../repo --known ../repo/x.known", func(f *field) { f.write("repo/x.known", "trammel-known 1\n") })
	afar("a table", "x.csv", "adopt ../repo/x.csv --try", tabled)
	afar("a mapping", "x.map.hcl", "adopt ../repo/x.csv --try", tabled)
}
