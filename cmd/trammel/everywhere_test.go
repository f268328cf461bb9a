package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"

	"trammel/spec/amount"
)

// A deed is one run of the command in the demo's repository.
type deed struct {
	args   string
	git    bool // it may start git, and nothing else
	writes bool // it writes a file: OUT stands for its path, below a folder of its own
	input  string
}

// deeds are all commands with all forms of their output.
func deeds() []deed {
	list := []deed{
		{args: "check TODAY"}, {args: "check TODAY --form json"}, {args: "check TODAY --form sarif"}, {args: "check TODAY --form junit"}, {args: "check TODAY --form annotations"},
		{args: "check TODAY --waived machines/slicer parts"},
		{args: "check TODAY --staged", git: true}, {args: "check TODAY --at HEAD", git: true}, {args: "check TODAY --since HEAD~1", git: true}, {args: "check TODAY --staged --since HEAD", git: true},
		{args: "check TODAY --write sarif=OUT", writes: true}, {args: "check TODAY --write json=OUT", writes: true}, {args: "check TODAY --known OUT --record", writes: true},
		{args: "rules"}, {args: "rules machines/decorator"}, {args: "rules --quantities"},
		{args: "sheet machines/slicer blade_lift"}, {args: "sheet machines/slicer blade_lift --form markdown"}, {args: "sheet machines/slicer --form html"}, {args: "sheet machines/slicer --write html=OUT", writes: true},
		{args: "size TODAY machines/palletiser mast"}, {args: "size TODAY machines/palletiser mast --form markdown"}, {args: "size TODAY machines/palletiser mast --form html"}, {args: "size TODAY machines/palletiser mast --form json"},
		{args: "size TODAY machines/palletiser mast --patch 1"}, {args: "size TODAY machines/palletiser mast --free"}, {args: "size TODAY machines/palletiser mast --write html=OUT", writes: true},
		{args: "compare HEAD~1", git: true}, {args: "compare HEAD~1 HEAD --form markdown", git: true}, {args: "compare HEAD~1 --staged --form json", git: true}, {args: "compare HEAD~1 --write text=OUT", git: true, writes: true},
		{args: "tidy --check"},
		{args: "audit TODAY"}, {args: "audit TODAY --form json"}, {args: "audit TODAY --form csv"}, {args: "audit TODAY --form html"}, {args: "audit TODAY --write html=OUT", writes: true}, {args: "audit TODAY --sheets OUT", writes: true},
		{args: "adopt table/fleet.csv --try"}, {args: "adopt table/fleet.csv --out OUT", writes: true},
		{args: "completion bash"}, {args: "completion zsh"}, {args: "completion fish"}, {args: "manual OUT", writes: true}, {args: "--version"}, {args: "--help"}, {args: "help check"},
	}
	return list
}

// someDeeds are deeds of each command that differ in more than the form; all of
// them where everything is tried.
func someDeeds() []deed {
	list := deeds()
	if amount.All() {
		return list
	}
	type sort struct {
		command     string
		git, writes bool
	}
	seen := map[sort]bool{}
	return slices.DeleteFunc(list, func(d deed) bool {
		s := sort{strings.Fields(d.args)[0], d.git, d.writes}
		had := seen[s]
		seen[s] = true
		return had
	})
}

// samplesOfForms are all deeds but those that take long: of the searches for parts the
// first and the one that writes.
func samplesOfForms() []deed {
	if amount.All() {
		return deeds()
	}
	some := someDeeds()
	return slices.DeleteFunc(deeds(), func(d deed) bool { return strings.HasPrefix(d.args, "size") && !slices.Contains(some, d) })
}

func (d deed) words(out string) []string {
	return strings.Fields(strings.NewReplacer("TODAY", bakeryDay, "OUT", out).Replace(d.args))
}

// bakeryRepository makes a repository of the demo with two commits and a change
// that is staged. Its files look the same wherever it stands.
func bakeryRepository(t *testing.T, root string) {
	t.Helper()
	if err := os.CopyFS(root, os.DirFS(filepath.Join("..", "..", "fixtures", "bakery"))); err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(filepath.Join(root, "table"), os.DirFS(filepath.Join("..", "internal", "tableimport", "testdata", "metric"))); err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(root, "machines", "untidy", "untidy.axis.hcl"), "axis   \"untidy\" {\n}\n")
	git := func(args ...string) {
		t.Helper()
		c := exec.Command("git", append([]string{"-C", root, "-c", "user.name=x", "-c", "user.email=x@example.com", "-c", "commit.gpgsign=false", "-c", "core.autocrlf=false"}, args...)...)
		c.Env = append(os.Environ(), "GIT_AUTHOR_DATE=2026-01-01T00:00:00Z", "GIT_COMMITTER_DATE=2026-01-01T00:00:00Z", "GIT_CONFIG_GLOBAL=/dev/null", "GIT_CONFIG_NOSYSTEM=1")
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("git %q: %v\n%s", args, err, out)
		}
	}
	change := func(name, old, text string) {
		t.Helper()
		edit(t, filepath.Join(root, filepath.FromSlash(name)), old, text)
	}
	git("init", "-q", "-b", "main")
	git("add", "-A")
	git("commit", "-q", "-m", "one")
	change("parts/screws.parts.hcl", `"12.7 kN"`, `"9.4 kN"`)
	git("add", "-A")
	git("commit", "-q", "-m", "two")
	change("machines/slicer/outfeed.axis.hcl", `"12 kg"`, `"13 kg"`)
	git("add", "-A")
	change("machines/slicer/outfeed.axis.hcl", `"13 kg"`, `"14 kg"`)
}

// outcomes runs each deed of a list, by runHere or something like it, and tells how it
// ended and what it wrote, in files too.
func outcomes(t *testing.T, root string, list []deed, run func(args []string) result, more ...string) map[string]string {
	t.Helper()
	out := map[string]string{}
	for _, d := range list {
		// The same path below the root for all, since output may name it.
		to := filepath.Join(root, "out")
		_ = os.RemoveAll(to)
		if err := os.Mkdir(to, 0o755); err != nil {
			t.Fatal(err)
		}
		args := d.words("out/it")
		if slices.Contains([]string{"check", "audit", "size", "adopt"}, args[0]) {
			args = append(args, more...)
		}
		r := run(args)
		text := fmt.Sprintf("status %d\n%s\n-- errors\n%s", r.status, r.out, r.err)
		_ = filepath.WalkDir(to, func(p string, f os.DirEntry, err error) error {
			if err == nil && f.Type().IsRegular() {
				src, err := os.ReadFile(p)
				rel, _ := filepath.Rel(to, p)
				text += fmt.Sprintf("\n-- %s %v\n%s", rel, err, src)
			}
			return err
		})
		if r.status > 1 || r.status < 0 {
			t.Errorf("%s: %.1000s", d.args, text)
		}
		if d.writes && !strings.Contains(text, "\n-- it") {
			t.Errorf("%s wrote no file:\n%.1000s", d.args, text)
		}
		out[d.args] = text
	}
	_ = os.RemoveAll(filepath.Join(root, "out"))
	return out
}

// TestLongSameEverywhere holds that what every command writes depends on the files
// alone: not on the number of workers, the place of the tree, the language, the
// time zone or the home of who runs it.
func TestLongSameEverywhere(t *testing.T) {
	amount.Long(t)
	needs(t, "git", "git")
	first := filepath.Join(t.TempDir(), "bakery")
	bakeryRepository(t, first)
	here := func(args []string) result { return runHere(t, first, "", args...) }
	list := samplesOfForms()
	if raceEnabled { // no search for parts, which rules tests under the race detector
		list = slices.DeleteFunc(someDeeds(), func(d deed) bool { return strings.HasPrefix(d.args, "size") })
	}
	want := outcomes(t, first, list, here)
	again := func(name, root string, run func(args []string) result, more ...string) {
		t.Run(name, func(t *testing.T) {
			for args, text := range outcomes(t, root, list, run, more...) {
				if text != want[args] {
					t.Errorf("%s: not the same bytes:\n%s", args, firstDifference(text, want[args]))
				}
			}
		})
	}
	if amount.All() {
		again("one worker", first, here, "--workers", "1")
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(16))
	again("sixteen workers", first, here, "--workers", "16")
	if raceEnabled {
		return // the rest has nothing to do with races
	}
	tool, err := builtTool()
	if err != nil {
		t.Skip(err)
	}
	elsewhere := filepath.Join(t.TempDir(), "a longer way", "to", "the ünïque", "place")
	bakeryRepository(t, elsewhere)
	if !amount.All() {
		list = someDeeds()
	}
	env := append(os.Environ(), "GOMAXPROCS=1", "LC_ALL=tr_TR.UTF-8", "LANG=de_DE.UTF-8", "LANGUAGE=ja", "TZ=Pacific/Kiritimati", "HOME="+t.TempDir())
	again("as a process on one processor, in another folder, language and time zone", elsewhere, func(args []string) result {
		c := exec.Command(tool, args...)
		c.Dir, c.Env = elsewhere, env
		var out, errOut bytes.Buffer
		c.Stdout, c.Stderr = &out, &errOut
		_ = c.Run()
		return result{c.ProcessState.ExitCode(), out.String(), errOut.String()}
	})
}

// firstDifference shows the first line that differs.
func firstDifference(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range max(len(x), len(y)) {
		if at(x, i) != at(y, i) {
			return fmt.Sprintf("line %d:\n%.300s\n%.300s", i+1, at(x, i), at(y, i))
		}
	}
	return "none"
}

// TestLongClosedPipes lets whoever reads go after the first line of what each
// command writes: it ends without a word.
func TestLongClosedPipes(t *testing.T) {
	amount.Long(t)
	needs(t, "git", "git")
	tool, err := builtTool()
	if err != nil {
		t.Skip(err)
	}
	root := filepath.Join(t.TempDir(), "bakery")
	bakeryRepository(t, root)
	for _, d := range someDeeds() {
		if d.writes {
			continue
		}
		for _, lines := range []int{0, 1} {
			r, w, err := os.Pipe()
			if err != nil {
				t.Fatal(err)
			}
			if lines == 0 {
				r.Close()
			}
			c := exec.Command(tool, d.words("")...)
			c.Dir = root
			var errOut bytes.Buffer
			c.Stdout, c.Stderr = w, &errOut
			if err := c.Start(); err != nil {
				t.Fatal(err)
			}
			w.Close()
			if lines > 0 {
				_, _ = bufio.NewReaderSize(r, 16).ReadString('\n')
				r.Close()
			}
			_ = c.Wait()
			// Ended by the signal that says so, it is as quiet as any other tool.
			status, _ := c.ProcessState.Sys().(syscall.WaitStatus)
			ended := status.Signaled() && status.Signal() == syscall.SIGPIPE
			if s := c.ProcessState.ExitCode(); !ended && (s < 0 || s > 2 || lines == 0 && s == 0) {
				t.Errorf("%s: status %v when nobody reads behind line %d", d.args, c.ProcessState, lines)
			}
			if errOut.Len() > 0 {
				t.Errorf("%s: not quiet: %.300s", d.args, errOut.String())
			}
		}
	}
}

// TestLongFullDisk gives each command a full device as standard output, and as the
// place of the files it writes one that takes no more than some kilobytes.
func TestLongFullDisk(t *testing.T) {
	amount.Long(t)
	if _, err := os.Stat("/dev/full"); err != nil {
		t.Skip("no full device here")
	}
	needs(t, "git", "git")
	tool, err := builtTool()
	if err != nil {
		t.Skip(err)
	}
	root := filepath.Join(t.TempDir(), "bakery")
	bakeryRepository(t, root)
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer full.Close()
	for _, d := range someDeeds() {
		_ = os.RemoveAll(filepath.Join(root, "out"))
		if err := os.Mkdir(filepath.Join(root, "out"), 0o755); err != nil {
			t.Fatal(err)
		}
		var errOut bytes.Buffer
		c := exec.Command(tool, d.words("out/it")...)
		c.Stdout, c.Stderr = full, &errOut
		if d.writes {
			// A kilobyte, by the block size of the shell; the signal that comes
			// with it is Go's to ignore.
			c = exec.Command("sh", append([]string{"-c", `ulimit -f 1; trap "" XFSZ; exec "$0" "$@"`, tool}, d.words("out/it")...)...)
			c.Stdout, c.Stderr = io.Discard, &errOut
			c.Env = append(os.Environ(), "GIT_OPTIONAL_LOCKS=0")
		}
		c.Dir = root
		_ = c.Run()
		said := errOut.String()
		// What is shorter than the disk fits; help knows no error.
		small := strings.Contains(d.args, "compare") && d.writes || strings.Contains(d.args, "--out OUT") && d.args[:5] == "adopt" || strings.Contains(d.args, "help")
		if s := c.ProcessState.ExitCode(); s != exitFailed && !small || s < 0 {
			t.Errorf("%s: status %v on a full disk\n%.500s", d.args, c.ProcessState, said)
		}
		if said == "" && !small || strings.Contains(said, "goroutine ") || strings.Count(said, "\n") > 1 {
			t.Errorf("%s: on a full disk it says %.500q", d.args, said)
		}
		if d.writes && c.ProcessState.ExitCode() == exitFailed {
			_ = filepath.WalkDir(filepath.Join(root, "out"), func(p string, f os.DirEntry, err error) error {
				// Sheets, pages and axis files that are whole may stay; none is cut.
				if err == nil && f.Type().IsRegular() {
					if info, _ := f.Info(); info.Size() == 1024 || info.Size() == 512 || strings.HasPrefix(f.Name(), ".") {
						t.Errorf("%s: leaves %s behind, %d bytes", d.args, f.Name(), info.Size())
					}
				}
				return err
			})
		}
	}
}

var (
	straceLine  = regexp.MustCompile(`^\d+ +(?:<\.\.\. )?(\w+)`)
	straceOpen  = regexp.MustCompile(`^\d+ +open(?:at2?)?\((?:AT_FDCWD(?:<([^>]*)>)?, |\d+<([^>]*)>, )?"((?:[^"\\]|\\.)*)"`)
	straceExec  = regexp.MustCompile(`^\d+ +execve\("([^"]*)"`)
	straceNames = map[string]bool{"socket": true, "connect": true, "bind": true, "listen": true, "accept": true, "accept4": true, "sendto": true, "sendmsg": true, "recvfrom": true, "socketpair": true}
)

// ownFiles are what a Go program opens of the system by itself.
var ownFiles = []string{"/proc/self/", "/proc/sys/", "/proc/stat", "/sys/kernel/mm/", "/sys/fs/cgroup/", "/sys/devices/system/cpu/", "/usr/share/zoneinfo", "/etc/localtime", "/dev/null"}

// TestLongNothingElse looks at the system calls made while each command
// works: no network, no program but git where content comes out of git, no file
// but those of the tree and what was named.
func TestLongNothingElse(t *testing.T) {
	amount.Long(t)
	if runtime.GOOS != "linux" {
		t.Skip("strace is a tool of Linux")
	}
	needs(t, "git", "git")
	needs(t, "strace", "strace")
	tool, err := builtTool()
	if err != nil {
		t.Skip(err)
	}
	base, err := filepath.EvalSymlinks(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	root := filepath.Join(base, "bakery")
	bakeryRepository(t, root)
	log := filepath.Join(base, "log")
	trace := []string{"strace", "-f", "-y", "-qq", "-s", "4096", "-e", "trace=%network,execve,execveat,open,openat,openat2", "-o", log}
	if err := exec.Command("strace", "-o", log, "true").Run(); err != nil {
		t.Skip("processes cannot be traced here:", err)
	}
	// Without a network there is nothing to reach, whatever is tried.
	if err := exec.Command("unshare", "-rn", "strace", "-o", log, "true").Run(); err == nil {
		trace = append([]string{"unshare", "-rn"}, trace...)
	} else {
		t.Log("a name space without network cannot be had here; the calls are looked at all the same")
	}
	for _, d := range append(someDeeds(), deed{args: "editor TODAY"}) {
		if strings.HasPrefix(d.args, "editor") {
			d.input = editorSession(t, root) // it puts links into the tree that others are not to meet
		}
		_ = os.RemoveAll(filepath.Join(root, "out"))
		if err := os.Mkdir(filepath.Join(root, "out"), 0o755); err != nil {
			t.Fatal(err)
		}
		c := exec.Command(trace[0], append(append(trace[1:len(trace):len(trace)], tool), d.words("out/it")...)...)
		c.Dir, c.Stdin = root, strings.NewReader(d.input)
		text, err := c.CombinedOutput()
		var exit *exec.ExitError
		if err != nil && !errors.As(err, &exit) || c.ProcessState.ExitCode() > 1 {
			t.Errorf("%s: %v\n%.1000s", d.args, err, text)
			continue
		}
		src, err := os.ReadFile(log)
		if err != nil {
			t.Fatal(err)
		}
		git := map[string]bool{} // processes that are git
		opened, started := 0, 0
		for line := range strings.Lines(string(src)) {
			pid, _, _ := strings.Cut(line, " ")
			call := straceLine.FindStringSubmatch(line)
			if call == nil {
				continue
			}
			if straceNames[call[1]] {
				t.Errorf("%s: uses the network: %s", d.args, line)
			}
			if m := straceExec.FindStringSubmatch(line); m != nil {
				started++
				if m[1] == tool {
					continue
				}
				if git[pid] = true; !d.git || filepath.Base(m[1]) != "git" {
					t.Errorf("%s: starts %s", d.args, m[1])
				}
			}
			m := straceOpen.FindStringSubmatch(line)
			if m == nil || git[pid] || strings.Contains(line, "ENOENT") {
				continue
			}
			opened++
			name := m[3]
			if !filepath.IsAbs(name) {
				from := m[1] + m[2]
				if from == "" {
					from = root
				}
				name = filepath.Join(from, name)
			}
			name = filepath.Clean(name)
			if name == root || strings.HasPrefix(name, root+"/") || slices.ContainsFunc(ownFiles, func(p string) bool { return strings.HasPrefix(name, p) }) {
				continue
			}
			if d.git && name == "/proc/self" {
				continue
			}
			t.Errorf("%s: opens %s: %s", d.args, name, line)
		}
		if started == 0 || opened == 0 && !strings.Contains(d.args, "completion") && !strings.Contains(d.args, "help") && !strings.Contains(d.args, "version") && !strings.Contains(d.args, "quantities") {
			t.Errorf("%s: the trace shows %d programs and %d files, so it shows nothing", d.args, started, opened)
		}
	}
}

// editorSession is what an editor says that asks for everything, of files in the tree and
// of some that lie outside or lead there.
func editorSession(t *testing.T, root string) string {
	t.Helper()
	outside := filepath.Join(filepath.Dir(root), "outside")
	secret := "axis \"secret\" {\n}\n"
	put(t, filepath.Join(outside, "secret.axis.hcl"), secret)
	put(t, filepath.Join(outside, "parts", "secret.parts.hcl"), "screw \"secret\" {\n}\n")
	models := "axis \"a\" {\n  screw {\n    model = \"../../outside/shaft.step\"\n  }\n}\naxis \"b\" {\n  screw {\n    model = \"/etc/passwd.step\"\n  }\n}\n"
	put(t, filepath.Join(root, "links", "models.axis.hcl"), models)
	for from, to := range map[string]string{"links/out.axis.hcl": "../../outside/secret.axis.hcl", "links/parts": "../../outside/parts", "links/dir": "../../outside"} {
		if err := os.Symlink(to, filepath.Join(root, from)); err != nil {
			t.Fatal(err)
		}
	}
	var b strings.Builder
	id := 0
	say := func(method string, request bool, params any) {
		m := map[string]any{"jsonrpc": "2.0", "method": method, "params": params}
		if id++; request {
			m["id"] = id
		}
		body, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "Content-Length: %d\r\n\r\n%s", len(body), body)
	}
	say("initialize", true, map[string]any{"rootUri": "file://" + root, "capabilities": map[string]any{}})
	say("initialized", false, map[string]any{})
	type a = map[string]any
	for _, name := range []string{"machines/slicer/pusher.axis.hcl", "parts/screws.parts.hcl", "house.policy.hcl", "machines/slicer/machine.axis.hcl", "links/models.axis.hcl",
		"links/out.axis.hcl", "links/dir/secret.axis.hcl", "links/parts/secret.parts.hcl", "../outside/secret.axis.hcl", "links/../../outside/secret.axis.hcl"} {
		src, err := os.ReadFile(filepath.Join(root, name))
		if err != nil {
			t.Fatal(err)
		}
		doc := a{"uri": "file://" + root + "/" + name}
		say("textDocument/didOpen", false, a{"textDocument": a{"uri": doc["uri"], "languageId": "hcl", "version": 1, "text": string(src)}})
		at, all := a{"line": 3, "character": 7}, a{"start": a{"line": 0, "character": 0}, "end": a{"line": 900, "character": 0}}
		for _, method := range []string{"diagnostic", "hover", "codeAction", "completion", "definition", "references", "prepareRename", "rename", "documentSymbol", "formatting",
			"foldingRange", "inlayHint", "codeLens", "documentLink", "semanticTokens/full", "semanticTokens/range"} {
			say("textDocument/"+method, true, a{"textDocument": doc, "position": at, "range": all, "newName": "other", "context": a{"diagnostics": []any{}, "includeDeclaration": true}, "options": a{}})
		}
		say("textDocument/didChange", false, a{"textDocument": a{"uri": doc["uri"], "version": 2}, "contentChanges": []any{a{"text": string(src) + "\n"}}})
	}
	say("workspace/symbol", true, a{"query": ""})
	say("workspace/diagnostic", true, a{"previousResultIds": []any{}})
	say("workspace/executeCommand", true, a{"command": "trammel.openSheet", "arguments": []any{a{"uri": "file://" + root + "/machines/slicer/pusher.axis.hcl", "axis": "pusher"}}})
	say("workspace/didChangeWatchedFiles", false, a{"changes": []any{a{"uri": "file://" + outside + "/secret.axis.hcl", "type": 2}, a{"uri": "file:///etc/passwd", "type": 2}}})
	say("shutdown", true, nil)
	say("exit", false, nil)
	return b.String()
}
