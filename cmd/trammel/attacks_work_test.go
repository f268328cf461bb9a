package main

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"trammel/spec"
)

const (
	costly    = "Files that cost too much"
	waiting   = "Files that are waited for"
	rewritten = "Files that are rewritten"
	racing    = "Files that change meanwhile"
	noGit     = "Trees without a repository"
)

// pipe makes a pipe below the base.
func (f *field) pipe(name string) {
	f.Helper()
	full := filepath.Join(f.base, filepath.FromSlash(name))
	_ = os.Remove(full)
	if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
		f.Fatal(err)
	}
	if err := mkfifo(full); err != nil {
		f.Skip(err)
	}
}

// workbook writes a table of one sheet, and perhaps texts, packed.
func (f *field) workbook(sheet, texts string) {
	f.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, part := range [][2]string{
		{"xl/workbook.xml", `<workbook xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="S" r:id="r1"/></sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships><Relationship Id="r1" Type="x/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`},
		{"xl/worksheets/sheet1.xml", sheet}, {"xl/sharedStrings.xml", texts},
	} {
		if part[1] == "" {
			continue
		}
		out, err := w.Create(part[0])
		if err == nil {
			_, err = out.Write([]byte(part[1]))
		}
		if err != nil {
			f.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		f.Fatal(err)
	}
	f.write("repo/x.xlsx", b.String())
	f.write("repo/x.map.hcl", "axis = \"{A}\"\ncolumn \"B\" { field = \"load.mass\" }\n")
}

const sheetHead = `<worksheet><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>Name</t></is></c><c r="B1" t="inlineStr"><is><t>Mass [kg]</t></is></c></row><row r="2"><c r="A2" t="inlineStr"><is><t>a</t></is></c><c r="B2"><v>1</v></c></row>`

func repeated(n int, line func(i int) string) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(line(i))
	}
	return b.String()
}

func sheetAttack(name, holds, says string, status int, rows func() string) attack {
	return attack{threat: costly, name: "a workbook " + name, holds: holds, says: says, status: status, args: []string{"adopt", "x.xlsx", "--try"}, set: func(f *field) { f.workbook(rows(), "") }}
}

// ignoreAttack is a large .gitignore above some hundred axis files with long
// names.
func ignoreAttack(name, holds, says string, status int, line func(i int) string) attack {
	return attack{threat: costly, name: "a .gitignore of 1 MB " + name, holds: holds, says: says, status: status, args: []string{"check", "--no-cache", "--no-fixes", "--form", "annotations"}, set: func(f *field) {
		text := repeated(200_000, line)
		f.write("repo/.gitignore", text[:strings.LastIndexByte(text[:min(len(text), spec.MaxFileSize)], '\n')+1])
		for i := range 60 {
			f.write(fmt.Sprintf("repo/i/%d%s.axis.hcl", i, strings.Repeat("a", 200)), fmt.Sprintf("axis \"a%d\" {\n}\n", i))
		}
	}}
}

func init() {
	attacks = append(attacks,
		sheetAttack("with 30,000 cells in the last column there is", "read in the time that its cells take", "1 axis", anyOf, func() string {
			return sheetHead + repeated(30_000, func(i int) string { return fmt.Sprintf(`<row r="%d"><c r="XFD%d"><v>1</v></c></row>`, i+3, i+3) }) + "</sheetData></worksheet>"
		}),
		sheetAttack("of empty rows without end, packed small", "refused", "unpacks to", exitFailed, func() string { return sheetHead + strings.Repeat("<row/>", 3<<20) }),
		sheetAttack("whose row stands behind the last one there is", "refused", "more rows than any spreadsheet", exitFailed, func() string { return sheetHead + `<row r="1048577"><c><v>1</v></c></row>` }),
		sheetAttack("of empty cells without end in one row", "read or refused in time", "", anyOf, func() string { return sheetHead + "<row>" + strings.Repeat("<c/>", 1<<20) }),
		sheetAttack("that unpacks to a thousand times its size", "refused", "unpacks to", exitFailed, func() string { return sheetHead + strings.Repeat(" ", 40<<20) }),
		sheetAttack("nested a hundred thousand deep", "refused or read in time", "", anyOf, func() string { return sheetHead + "<row><c>" + strings.Repeat("<x>", 100_000) }),
		sheetAttack("that breaks off", "refused: nothing of it passes for all", "damaged", exitFailed, func() string { return sheetHead + "<row" }),
		attack{threat: costly, name: "a workbook whose texts unpack to a thousand times their size", holds: "refused", says: "unpacks to", status: exitFailed, args: []string{"adopt", "x.xlsx", "--try"}, set: func(f *field) {
			f.workbook(sheetHead, "<sst>"+strings.Repeat(" ", 40<<20))
		}},
		ignoreAttack("of names", "looked up: costs nothing per file", "notice", anyOf, func(i int) string { return fmt.Sprintf("n%d\n", i) }),
		ignoreAttack("of paths", "looked up: costs nothing per file", "notice", anyOf, func(i int) string { return fmt.Sprintf("/p/%d\n", i) }),
		ignoreAttack("of patterns", "within the bound on the work of patterns", "notice", anyOf, func(i int) string { return fmt.Sprintf("*n%d\n", i) }),
		ignoreAttack("of patterns made to take long", "said, status 2; nothing is passed over", "take too much work", exitFailed, func(int) string { return "*" + strings.Repeat("a", 190) + "b*\n" }),
		ignoreAttack("of patterns over many folders made to take long", "said or done in time", "", anyOf, func(int) string { return "**/a*a*a*a*a*b/**/c*\n" }),
		ignoreAttack("of patterns that cannot be", "passed over", "notice", anyOf, func(int) string { return "[a-\n" }),
	)
	for name, args := range map[string]string{
		"the list of known findings": "check --known x", "a part of a split check": "merge x", "a table": "adopt x --map x.map.hcl", "a mapping": "adopt x.csv --map x.map.hcl",
	} {
		for what, set := range map[string]func(*field, string){
			"a pipe":                    func(f *field, at string) { f.pipe("repo/" + at) },
			"a link to an endless file": func(f *field, at string) { f.link("repo/"+at, "/dev/zero") },
			"a folder":                  func(f *field, at string) { f.write("repo/"+at+"/x", "") },
			"a file of 3 GB that holds nothing": func(f *field, at string) {
				f.write("repo/"+at, "")
				if err := os.Truncate(filepath.Join(f.repo, at), 3<<30); err != nil {
					f.Skip(err)
				}
			},
		} {
			if name == "a table" && strings.Contains(what, "GB") {
				continue // it is read row by row, however long it is
			}
			attacks = append(attacks, attack{threat: waiting, name: name + " is " + what, holds: "refused at once", status: exitFailed, args: strings.Fields(args), set: func(f *field) {
				at := "x"
				if name == "a mapping" {
					f.write("repo/x.csv", "Name,Mass\na,1\n")
					at = "x.map.hcl"
				} else {
					f.write("repo/x.map.hcl", boundsMap)
				}
				set(f, at)
			}})
		}
	}
	for _, at := range []string{"x.axis.hcl", "x.parts.hcl", "x.policy.hcl", "machine.axis.hcl"} {
		attacks = append(attacks,
			attack{threat: waiting, name: "`" + at + "` is a pipe", holds: "a finding, status 2", says: "it is no regular file (a pipe)", status: exitFailed, args: []string{"check", "m"}, set: func(f *field) { f.pipe("repo/m/" + at) }},
			attack{threat: racing, name: "`" + at + "` becomes a pipe and a file again, over and over, while it is read", holds: "read, or a finding; never waited for", status: anyOf, args: []string{"check", "m"}, set: func(f *field) {
				f.write("repo/m/"+at, "")
				f.pipe("repo/pipe")
				f.swap("repo/m/"+at, "repo/pipe")
			}, after: func(f *field, _ string) {
				for range 10 {
					f.run("check", "m")
				}
			}})
	}
	attacks = append(attacks, attack{threat: racing, name: "a folder on the way to the output becomes a link out and a folder again, over and over", holds: "nothing outside changes", status: anyOf, args: []string{"check", "m", "--write", "text=build/victim.txt"}, set: func(f *field) {
		f.write("repo/build/x", "")
		f.link("repo/away", "../outside")
		f.swap("repo/build", "repo/away")
	}, after: func(f *field, _ string) {
		for range 20 {
			f.run("check", "m", "--write", "text=build/victim.txt")
			if got := f.read(victim); got != "the user's own\n" {
				f.Fatalf("it became %.100q", got)
			}
		}
	}})
}

// swap exchanges two names over and over until the test ends.
func (f *field) swap(a, b string) {
	a, b = filepath.Join(f.base, filepath.FromSlash(a)), filepath.Join(f.base, filepath.FromSlash(b))
	stop, done := make(chan bool), make(chan bool)
	go func() {
		defer close(done)
		for {
			select {
			case <-stop:
				return
			default:
				_ = os.Rename(a, a+".s")
				_ = os.Rename(b, a)
				_ = os.Rename(a+".s", b)
			}
		}
	}()
	f.Cleanup(func() { close(stop); <-done })
}

const untidy = "axis   \"a\" {\n orientation   =   \"vertical\"\n}\n"

func rewriting(name, holds, says string, status int, args string, set func(*field), after func(*field, string)) attack {
	return attack{threat: rewritten, name: name, holds: holds, says: says, status: status, args: strings.Fields(args), set: set, after: after}
}

func init() {
	outside := func(f *field) { f.write("outside/a.axis.hcl", untidy) }
	const refused, link = "refused; nothing is written", "is a link inside the tree"
	attacks = append(attacks,
		rewriting("`tidy` is given a link to a file outside", refused, "it is a link", exitFailed, "tidy a.axis.hcl", func(f *field) { outside(f); f.link("repo/a.axis.hcl", "../outside/a.axis.hcl") }, nil),
		rewriting("`tidy` finds a link to a file outside", "passed over", "", anyOf, "tidy", func(f *field) { outside(f); f.link("repo/a.axis.hcl", "../outside/a.axis.hcl") }, nil),
		rewriting("`tidy` is given a link to a folder outside", refused, link, exitFailed, "tidy l", func(f *field) { outside(f); f.link("repo/l", "../outside") }, nil),
		rewriting("`tidy` is given a link to a link to a folder outside", refused, link, exitFailed, "tidy l", func(f *field) { outside(f); f.link("repo/k", "../outside"); f.link("repo/l", "k") }, nil),
		rewriting("`tidy` is given a file in a folder that is a link out", refused, link, exitFailed, "tidy l/a.axis.hcl", func(f *field) { outside(f); f.link("repo/l", "../outside") }, nil),
		rewriting("`tidy` finds a link to a folder outside", "passed over", "", exitClean, "tidy", func(f *field) { outside(f); f.link("repo/l", "../outside") }, nil),
		rewriting("`tidy` is given a spec file in git's folder", refused, "it lies in .git", exitFailed, "tidy .git/a.axis.hcl", func(f *field) { f.write("repo/.git/a.axis.hcl", untidy) }, nil),
		rewriting("`tidy` is given git's folder", refused, "it lies in .git", exitFailed, "tidy .git", func(f *field) { f.write("repo/.git/a.axis.hcl", untidy) }, nil),
		rewriting("`tidy` finds a file that has a second name outside", "the name in the tree gets a new file; the earlier part stays", "a.axis.hcl", exitClean, "tidy", func(f *field) {
			outside(f)
			if err := os.Link(filepath.Join(f.base, "outside", "a.axis.hcl"), filepath.Join(f.repo, "a.axis.hcl")); err != nil {
				f.Skip(err)
			}
		}, nil),
		rewriting("`tidy` is given a pipe", refused, "no regular file", exitFailed, "tidy a.axis.hcl", func(f *field) { f.pipe("repo/a.axis.hcl") }, nil),
		rewriting("`size --take` is given a link to a file outside", refused, "it is a link", exitFailed, "size "+bakeryDay+" machines/palletiser/mast.axis.hcl mast --take 2", func(f *field) {
			baked(f)
			f.move("repo/machines/palletiser/mast.axis.hcl", "outside/mast.axis.hcl")
			f.link("repo/machines/palletiser/mast.axis.hcl", "../../../outside/mast.axis.hcl")
		}, nil),
		rewriting("`size --take` is given a folder that is a link out", refused, link, exitFailed, "size "+bakeryDay+" l/palletiser mast --take 2", func(f *field) {
			baked(f)
			f.move("repo/machines", "outside/machines")
			f.move("repo/parts", "outside/parts")
			f.link("repo/l", "../outside/machines")
		}, nil),
		rewriting("`size --take` finds its axis in a link to another file of the tree", refused, link, exitFailed, "size "+bakeryDay+" machines/palletiser mast --take 2", func(f *field) {
			baked(f)
			f.move("repo/machines/palletiser/mast.axis.hcl", "repo/precious")
			f.link("repo/machines/palletiser/mast.axis.hcl", "../../precious")
		}, nil),
		rewriting("`audit --sheets` finds a link in the place of a sheet", refused, link, exitFailed, "audit --sheets out", func(f *field) {
			f.run("audit", "--sheets", "out")
			list, _ := filepath.Glob(filepath.Join(f.repo, "out", "*.html"))
			if len(list) != 1 {
				f.Fatal(list)
			}
			_ = os.Remove(list[0])
			f.link("repo/out/"+filepath.Base(list[0]), "../../"+victim)
		}, nil),
		rewriting("`manual` finds a link in the place of a page", refused, link, exitFailed, "manual out", func(f *field) { f.link("repo/out/trammel.1", "../../"+victim) }, nil),
	)
	table := func(name, cells, says string, set func(*field)) {
		attacks = append(attacks, attack{threat: tableSays, name: name, holds: "files only below the folder that was named, none over a link", says: says, status: anyOf, args: []string{"adopt", "x.csv", "--out", "m"}, set: func(f *field) {
			f.write("repo/x.csv", "Folder,Name,Mass\n"+cells+"\n")
			f.write("repo/x.map.hcl", "folder = \"{Folder}\"\n"+boundsMap)
			if set != nil {
				set(f)
			}
		}, after: onlyBelow})
	}
	for _, c := range []string{"../../outside", "/tmp", ".git/hooks", "../.git", "..", ".", "a/../../../outside", "~", "C:\\Windows", "\\\\host\\share", ".GIT", "con"} {
		table("a folder named `"+c+"`", c+",a,1", "", nil)
	}
	for _, c := range []string{"../../outside/victim", "/etc/passwd", ".git/hooks/pre-commit", "..", "-rf", "nul", ".gitignore", "$(id)"} {
		table("an axis named `"+c+"`", "in,"+c+",1", "", nil)
	}
	table("a name that closes its quotes and goes on as another block", "in,\"x\"\"{}\n}\naxis \"\"evil\"\" {\",1", "", nil)
	table("a folder that is a link out", "l,a,1", "is a link inside the tree", func(f *field) { f.link("repo/m/l", "../../outside") })
	table("a folder that is a link to git's hooks", "l,a,1", "is a link inside the tree", func(f *field) { f.link("repo/m/l", "../.git/hooks") })
	table("a folder that is a link within the tree", "l,a,1", "is a link inside the tree", func(f *field) { f.link("repo/m/l", "..") })
	table("a folder that is a file", "l,a,1", "it is no folder", func(f *field) { f.write("repo/m/l", "") })
	table("a file that is a link out", "in,a,1", "it is a link", func(f *field) { f.link("repo/m/in/a.axis.hcl", "../../../"+victim) })
	table("a file that is a pipe", "in,a,1", "it is not a regular file", func(f *field) { f.pipe("repo/m/in/a.axis.hcl") })
	table("a file that adopt did not write", "in,a,1", "it was not written by adopt", func(f *field) { f.write("repo/m/in/a.axis.hcl", "axis \"mine\" {\n}\n") })

	bare := func(name, args string, set func(*field)) {
		attacks = append(attacks, attack{threat: noGit, name: name, holds: refused, says: link, status: exitFailed, args: strings.Fields(args), set: func(f *field) {
			if err := os.RemoveAll(filepath.Join(f.repo, ".git")); err != nil {
				f.Fatal(err)
			}
			f.link("repo/report.txt", "../"+victim)
			f.link("repo/l", "../outside")
			if set != nil {
				set(f)
			}
		}})
	}
	fromAfar := func(f *field) { f.dir = filepath.Join(f.base, "home") }
	bare("a link out in the current folder", "check --write text=report.txt", nil)
	bare("a link out in the tree that is checked, from elsewhere", "check ../repo --write text=../repo/report.txt", fromAfar)
	bare("the same for a sheet", "sheet ../repo lift --write text=../repo/l/victim.txt", fromAfar)
	bare("the same for sheets of a fleet", "audit ../repo --sheets ../repo/l", fromAfar)
	bare("the same for the list of known findings", "check ../repo --known ../repo/l/known --record", fromAfar)
	bare("the same beside a table", "adopt ../repo/x.csv --out ../repo/l", func(f *field) { tabled(f); fromAfar(f) })
}

// move gives something below the base another name.
func (f *field) move(from, to string) {
	f.Helper()
	full := filepath.Join(f.base, filepath.FromSlash(to))
	if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
		f.Fatal(err)
	}
	if err := os.Rename(filepath.Join(f.base, filepath.FromSlash(from)), full); err != nil {
		f.Fatal(err)
	}
}

// onlyBelow holds that what adopt wrote lies below its folder, in files that
// each declare one axis.
func onlyBelow(f *field, _ string) {
	err := filepath.WalkDir(f.repo, func(name string, e fs.DirEntry, err error) error {
		if err != nil || !e.Type().IsRegular() {
			return err
		}
		src, err := os.ReadFile(name)
		if err == nil && bytes.HasPrefix(src, []byte("# adopted")) {
			if rel, _ := filepath.Rel(filepath.Join(f.repo, "m"), name); !filepath.IsLocal(rel) || !strings.HasSuffix(name, ".axis.hcl") {
				f.Errorf("adopt wrote %s", name)
			}
			if bytes.Count(src, []byte("\naxis ")) != 1 {
				f.Errorf("%s declares more than an axis:\n%s", name, src)
			}
		}
		return err
	})
	if err != nil {
		f.Fatal(err)
	}
}
