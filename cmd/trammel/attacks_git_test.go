package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"trammel/spec/amount"
)

const (
	threatIgnore = "Ignore files that hide what is tracked"
	threatGone   = "Files that cannot be opened"
	threatGit    = "Repositories that make git work too much, or for somebody else"
)

// gitDo runs git in the repository, as its owner does.
func (f *field) gitDo(args ...string) string {
	f.Helper()
	c := exec.Command("git", append([]string{"-C", f.repo, "-c", "user.name=x", "-c", "user.email=x@example.com", "-c", "commit.gpgsign=false"}, args...)...)
	c.Env = append(os.Environ(), "GIT_CONFIG_GLOBAL=/dev/null", "GIT_CONFIG_NOSYSTEM=1")
	var errOut strings.Builder
	c.Stderr = &errOut
	out, err := c.Output()
	if err != nil {
		f.Fatalf("git %q: %v\n%s", args, err, errOut.String())
	}
	return strings.TrimSpace(string(out))
}

// usesPart is an axis with an error, which the change of a part touches.
const usesPart = "axis \"bad\" {\n  lod = 1\n  screw {\n    part = screw.a\n  }\n}\n"

// twoCommits makes a repository whose second commit changes the part of a tracked
// axis; more is done to the working tree in between.
func twoCommits(f *field, between func()) {
	f.write("repo/m/bad.axis.hcl", usesPart)
	f.write("repo/m/x.parts.hcl", "screw \"a\" {\n  lead = \"10 mm\"\n}\n")
	f.git()
	f.write("repo/m/x.parts.hcl", "screw \"a\" {\n  lead = \"20 mm\"\n}\n")
	between()
	f.gitDo("add", "-A")
	f.gitDo("commit", "-q", "--no-verify", "-m", "y")
}

// bomb makes a commit of a tree that a few objects stand for: ten folders in ten
// folders, ten times.
func bomb(f *field, file string) string {
	blob := f.gitDo("hash-object", "-w", "m/lift.axis.hcl")
	tree := mktree(f, "100644 blob "+blob+"\t"+file+"\n")
	for range 9 {
		var b strings.Builder
		for i := range 10 {
			fmt.Fprintf(&b, "040000 tree %s\td%d\n", tree, i)
		}
		tree = mktree(f, b.String())
	}
	return f.gitDo("commit-tree", "-p", "HEAD", "-m", "x", tree)
}

// gitImport hands git a stream of objects to make.
func (f *field) gitImport(stream string) {
	f.Helper()
	c := exec.Command("git", "-C", f.repo, "fast-import", "--quiet")
	c.Stdin = strings.NewReader(stream)
	if out, err := c.CombinedOutput(); err != nil {
		f.Fatalf("git fast-import: %v\n%s", err, out)
	}
}

func mktree(f *field, list string) string {
	f.Helper()
	c := exec.Command("git", "-C", f.repo, "mktree")
	c.Stdin = strings.NewReader(list)
	out, err := c.Output()
	if err != nil {
		f.Fatal(err)
	}
	return strings.TrimSpace(string(out))
}

func init() {
	for _, by := range []struct{ name, file, text string }{
		{"a committed .gitignore", "repo/.gitignore", "bad.axis.hcl\n"},
		{"a committed .gitignore that names the folder", "repo/.gitignore", "m/\n"},
		{"a .gitignore in the folder", "repo/m/.gitignore", "*\n"},
		{"the repository's exclude file", "repo/.git/info/exclude", "*.axis.hcl\n"},
		{"the user's exclude file", "home/.config/git/ignore", "*.axis.hcl\nm/\n"},
	} {
		for _, args := range []string{"check --no-cache", "check --no-cache m", "check --staged", "check --at HEAD", "check --since HEAD~1", "compare HEAD~1", "compare HEAD~1 HEAD", "audit"} {
			if strings.Contains(by.name, "exclude") && (args == "audit" || args == "check --no-cache m" || args == "check --at HEAD") {
				continue // these do not read it
			}
			attacks = append(attacks, attack{
				threat: threatIgnore, name: "`" + args + "`: " + by.name, holds: "the tracked axis is judged, and its error shown",
				set: func(f *field) {
					f.env = append(f.env, "XDG_CONFIG_HOME="+filepath.Join(f.base, "home", ".config"))
					twoCommits(f, func() { f.write(by.file, by.text) })
				},
				args: strings.Fields(args), status: anyOf, says: "bad", after: func(f *field, out string) {
					if args != "audit" && !strings.Contains(out, "m/bad.axis.hcl:2:3") {
						f.Errorf("%s", out)
					}
					harmless(f, out)
				},
			})
		}
	}
	for _, by := range []struct {
		name string
		do   func(f *field, file string)
	}{
		{"a link that leads nowhere in its place", func(f *field, file string) { f.link(file, "nowhere") }},
		{"a link out of the tree in its place", func(f *field, file string) { f.link(file, "%BASE%/outside/victim.txt") }},
		{"a link to itself in its place", func(f *field, file string) { f.link(file, "bad.axis.hcl") }},
		{"a folder of its name in its place", func(f *field, file string) { f.write(file+"/readme.txt", "x") }},
		{"a folder of its name, with an axis in it, in its place", func(f *field, file string) { f.write(file+"/in.axis.hcl", fieldAxis) }},
		{"a link to a folder in its place", func(f *field, file string) { f.link(file, "../m") }},
		{"a pipe in its place", func(f *field, file string) {
			if err := mkfifo(filepath.Join(f.base, filepath.FromSlash(file))); err != nil {
				f.Skip(err)
			}
		}},
		{"a name that is not UTF-8 in its place", func(f *field, file string) {
			if err := os.WriteFile(filepath.Join(f.repo, "m", "b\xff.axis.hcl"), []byte(usesPart), 0o644); err != nil {
				f.Skip(err)
			}
		}},
	} {
		for _, args := range []string{"compare HEAD", "check --since HEAD", "check --no-cache", "check --no-cache m/bad.axis.hcl", "tidy --check m"} {
			link, utf8 := strings.Contains(by.name, "a link"), strings.Contains(by.name, "UTF-8")
			if args == "tidy --check m" && link || strings.HasSuffix(args, "bad.axis.hcl") && utf8 {
				continue // links found in folders are said by check; a name that is gone is none
			}
			if strings.Contains(by.name, "a pipe") && strings.Contains(args, "HEAD") {
				continue // git itself takes a pipe for a file that is gone
			}
			attacks = append(attacks, attack{
				threat: threatGone, name: "`" + args + "`: " + by.name, holds: "an error that names it; it never counts as gone",
				set: func(f *field) {
					f.write("repo/m/bad.axis.hcl", strings.Replace(usesPart, "  lod = 1\n", "", 1))
					f.write("repo/m/x.parts.hcl", "screw \"a\" {\n  lead = \"10 mm\"\n}\n")
					f.git()
					if err := os.Remove(filepath.Join(f.repo, "m/bad.axis.hcl")); err != nil {
						f.Fatal(err)
					}
					by.do(f, "repo/m/bad.axis.hcl")
				},
				args: strings.Fields(args), status: exitFailed, says: ".axis.hcl", after: harmless,
			})
		}
	}
	plain := func(f *field) { f.git() }
	for _, r := range []struct {
		name string
		args []string
	}{
		{"an empty revision for --at", []string{"check", "--at", ""}},
		{"an empty revision for --since", []string{"check", "--since", ""}},
		{"an empty revision for --since, and --staged", []string{"check", "--staged", "--since", ""}},
		{"an empty revision for compare", []string{"compare", ""}},
		{"an empty second revision for compare", []string{"compare", "HEAD", ""}},
		{"a revision that looks like an option", []string{"check", "--at=--output=x"}},
		{"a revision of two lines", []string{"check", "--at", "HEAD\nHEAD"}},
		{"a revision that is a file", []string{"check", "--at", "HEAD:m/lift.axis.hcl"}},
		{"a revision that is a range", []string{"check", "--since", "HEAD..HEAD"}},
		{"a revision with escape sequences", []string{"check", "--at", "x\x1b[2J\u202e"}},
	} {
		attacks = append(attacks, attack{
			threat: threatGit, name: r.name, holds: "refused; nothing else is checked in its place",
			set: plain, args: r.args, status: exitFailed, says: "trammel: ", not: " axis,", after: harmless,
		})
	}
	for _, file := range []string{"x.axis.hcl", "x.parts.hcl", "readme.txt"} {
		for _, args := range []string{"check --at refs/x/bomb", "compare HEAD refs/x/bomb", "check --at refs/x/bomb --since HEAD"} {
			attacks = append(attacks, attack{
				threat: threatGit, name: "`" + args + "`: ten folders in ten folders, ten times, each with " + file, holds: "refused, with little time and memory",
				set: func(f *field) {
					f.git()
					f.gitDo("update-ref", "refs/x/bomb", bomb(f, file))
				},
				args: strings.Fields(args), status: exitFailed, says: "more than", after: harmless,
			})
		}
	}
	attacks = append(attacks,
		attack{
			threat: threatGit, name: "folders a thousand deep", holds: "refused; nothing below counts as judged",
			set: func(f *field) {
				f.git()
				f.gitImport("commit refs/x/deep\ncommitter x <x@example.com> 0 +0000\ndata 0\nM 040000 " + f.gitDo("rev-parse", "HEAD:m") + " " + strings.Repeat("d/", 999) + "d\n")
			},
			args: []string{"check", "--at", "refs/x/deep"}, status: exitFailed, says: "deep", after: harmless,
		},
		attack{
			threat: threatGit, name: "an object put in the place of another", holds: "what was committed is judged",
			set: func(f *field) {
				twoCommits(f, func() {})
				bad := f.gitDo("rev-parse", "HEAD:m/bad.axis.hcl")
				f.gitDo("replace", bad, f.gitDo("rev-parse", "HEAD:m/lift.axis.hcl"))
			},
			args: []string{"check", "--at", "HEAD"}, status: exitFindings, says: "m/bad.axis.hcl:2:3", after: harmless,
		},
		attack{
			threat: threatGit, name: "a program for watching files", holds: "it is not started",
			set: func(f *field) {
				twoCommits(f, func() {})
				f.gitDo("config", "core.fsmonitor", "touch "+filepath.Join(f.base, "outside/pwned"))
			},
			args: []string{"check", "--since", "HEAD~1"}, status: exitFindings, says: "bad", after: harmless,
		},
		attack{
			threat: threatGit, name: "a program for converting files", holds: "it is not started",
			set: func(f *field) {
				twoCommits(f, func() { f.write("repo/.gitattributes", "*.hcl filter=x diff=x\n") })
				f.gitDo("config", "filter.x.clean", "touch "+filepath.Join(f.base, "outside/pwned")+"; cat")
				f.gitDo("config", "diff.x.textconv", "touch "+filepath.Join(f.base, "outside/pwned")+"; cat")
				f.gitDo("config", "diff.external", "touch "+filepath.Join(f.base, "outside/pwned"))
				f.write("repo/m/bad.axis.hcl", usesPart+"\n")
			},
			args: []string{"check", "--since", "HEAD~1"}, status: exitFindings, says: "bad", after: harmless,
		},
		attack{
			threat: threatGit, name: "a submodule in the place of an axis", holds: "an error that names it",
			set: func(f *field) {
				twoCommits(f, func() {})
				f.gitDo("rm", "-q", "--cached", "m/bad.axis.hcl")
				f.gitDo("update-index", "--add", "--cacheinfo", "160000,"+f.gitDo("rev-parse", "HEAD")+",m/bad.axis.hcl")
			},
			args: []string{"check", "--staged"}, status: exitFailed, says: "m/bad.axis.hcl", after: harmless,
		},
		attack{
			threat: threatGit, name: "a conflict in a file whose name does something", holds: "refused; the name is shown with escapes",
			set: func(f *field) {
				name := "m/x\n::error::pwned\u202e.axis.hcl"
				f.write("repo/"+name, fieldAxis)
				f.git()
				f.gitDo("checkout", "-q", "-b", "other")
				f.write("repo/"+name, fieldAxis+"# a\n")
				f.gitDo("commit", "-qam", "a")
				f.gitDo("checkout", "-q", "main")
				f.write("repo/"+name, fieldAxis+"# b\n")
				f.gitDo("commit", "-qam", "b")
				_ = exec.Command("git", "-C", f.repo, "-c", "user.name=x", "-c", "user.email=x@example.com", "merge", "-q", "other").Run()
			},
			args: []string{"check", "--staged"}, status: exitFailed, says: "a merge conflict is not resolved", after: harmless,
		})
}

// A git command ends when the program does, however that ends.
func TestLongGitEndsWithProgram(t *testing.T) {
	amount.Long(t)
	if _, err := os.Stat("/proc/self/stat"); err != nil {
		t.Skip("a system that tells of processes in files is needed")
	}
	f := newField(t)
	pid := filepath.Join(f.base, "pid")
	f.write("bin/git", "#!/bin/sh\necho $$ > "+pid+".new && mv "+pid+".new "+pid+"\nexec sleep 300\n")
	if err := os.Chmod(filepath.Join(f.base, "bin/git"), 0o755); err != nil {
		t.Fatal(err)
	}
	tool, err := builtTool()
	if err != nil {
		t.Skip(err)
	}
	for _, signal := range []os.Signal{syscall.SIGKILL, syscall.SIGTERM, os.Interrupt} {
		_ = os.Remove(pid)
		c := exec.Command(tool, "check", "--staged")
		c.Dir, c.Env = f.repo, append(os.Environ(), "PATH="+filepath.Join(f.base, "bin")+":"+os.Getenv("PATH"))
		if err := c.Start(); err != nil {
			t.Fatal(err)
		}
		child := 0
		for i := 0; i < 3000 && child == 0; i++ {
			time.Sleep(10 * time.Millisecond)
			child, _ = strconv.Atoi(strings.TrimSpace(f.read("pid")))
		}
		if child == 0 {
			t.Fatal("git was not started")
		}
		if err := c.Process.Signal(signal); err != nil {
			t.Fatal(err)
		}
		_ = c.Wait()
		gone := false
		for i := 0; i < 1000 && !gone; i++ {
			stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", child))
			gone = err != nil || strings.Contains(string(stat), ") Z ")
			time.Sleep(10 * time.Millisecond)
		}
		if !gone {
			if p, err := os.FindProcess(child); err == nil {
				_ = p.Kill()
			}
			t.Errorf("%v: git goes on without the program", signal)
		}
	}
}
