package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"trammel/spec/amount"
)

// gitAlone keeps git from what this machine and a hook around the test say.
func gitAlone(tb testing.TB) {
	tb.Helper()
	if _, err := exec.LookPath("git"); err != nil {
		tb.Skip("needs git")
	}
	for _, v := range os.Environ() {
		if name, _, _ := strings.Cut(v, "="); strings.HasPrefix(name, "GIT_") {
			tb.Setenv(name, "")
			os.Unsetenv(name)
		}
	}
	for _, name := range []string{"AUTHOR", "COMMITTER"} {
		tb.Setenv("GIT_"+name+"_NAME", "A")
		tb.Setenv("GIT_"+name+"_EMAIL", "a@example.org")
	}
	tb.Setenv("GIT_CONFIG_GLOBAL", os.DevNull)
	tb.Setenv("GIT_CONFIG_NOSYSTEM", "1")
	tb.Setenv("NO_COLOR", "1")
}

func gitTry(args ...string) (string, error) {
	out, err := exec.Command("git", append([]string{"-c", "maintenance.auto=false"}, args...)...).CombinedOutput()
	return strings.TrimSpace(string(out)), err
}

func gitDo(tb testing.TB, args ...string) string {
	tb.Helper()
	out, err := gitTry(args...)
	if err != nil {
		tb.Fatalf("git %q: %v\n%s", args, err, out)
	}
	return out
}

// commitAll commits everything and gives the id.
func commitAll(tb testing.TB, words string) string {
	tb.Helper()
	gitDo(tb, "add", "-A")
	gitDo(tb, "commit", "-q", "--no-verify", "--allow-empty", "-m", words)
	return gitDo(tb, "rev-parse", "HEAD")
}

// The repository of the bakery's files is made once and copied: git takes longer.
var (
	bakeryHistory = sync.OnceValues(makeBakery)
	bakeryFolder  string
)

func makeBakery() (string, error) {
	dir, err := os.MkdirTemp("", "trammel-bakery")
	if err != nil {
		return "", err
	}
	bakeryFolder = dir
	if err := os.CopyFS(dir, os.DirFS(filepath.Join("..", "..", "fixtures", "bakery"))); err != nil {
		return "", err
	}
	for _, args := range [][]string{{"init", "-q", "-b", "main", "--template="}, {"add", "-A"}, {"commit", "-q", "-m", "all"}} {
		if out, err := gitTry(append([]string{"-C", dir}, args...)...); err != nil {
			return "", errors.New(out)
		}
	}
	return dir, nil
}

// inBakery makes the current folder a repository that holds the bakery's files.
func inBakery(tb testing.TB) {
	tb.Helper()
	gitAlone(tb)
	src, err := bakeryHistory()
	if err != nil {
		tb.Fatal(err)
	}
	tb.Chdir(tb.TempDir())
	if err := os.CopyFS(".", os.DirFS(src)); err != nil {
		tb.Fatal(err)
	}
}

// called runs the command in the current folder.
func called(tb testing.TB, args ...string) result {
	tb.Helper()
	if args[0] == "check" {
		args = slices.Insert(slices.Clone(args), 1, bakeryDay)
	}
	var out, errOut bytes.Buffer
	status := execute(context.Background(), args, strings.NewReader(""), &out, &errOut)
	return result{status, out.String(), errOut.String()}
}

// fails wants the tool to be unable to do its job and to say why on one line.
func fails(tb testing.TB, words string, args ...string) {
	tb.Helper()
	r := called(tb, args...)
	if r.status != exitFailed || !strings.Contains(r.err, words) || r.out != "" {
		tb.Errorf("%q: status %d, said %q and wrote %q; want 2 and %q", args, r.status, r.err, r.out, words)
	}
	if !strings.HasPrefix(r.err, "trammel: ") || strings.Count(r.err, "\n") != 1 {
		tb.Errorf("%q: said %q", args, r.err)
	}
}

// ends wants a status, and words that the output holds, or does not hold behind a "!".
func ends(tb testing.TB, status int, words []string, args ...string) result {
	tb.Helper()
	r := called(tb, args...)
	if r.status != status {
		tb.Errorf("%q: status %d, want %d\n%s%s", args, r.status, status, r.out, r.err)
	}
	for _, w := range words {
		if not, is := strings.CutPrefix(w, "!"); is == strings.Contains(r.out+r.err, not) {
			tb.Errorf("%q: wants %q in\n%s%s", args, w, r.out, r.err)
		}
	}
	return r
}

func put(tb testing.TB, name, text string) {
	tb.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		tb.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		tb.Fatal(err)
	}
}

func text(tb testing.TB, name string) string {
	tb.Helper()
	src, err := os.ReadFile(name)
	if err != nil {
		tb.Fatal(err)
	}
	return string(src)
}

// edit replaces the first place of a text in a file.
func edit(tb testing.TB, name, old, new string) {
	tb.Helper()
	src := text(tb, name)
	if !strings.Contains(src, old) {
		tb.Fatalf("%s holds no %q", name, old)
	}
	put(tb, name, strings.Replace(src, old, new, 1))
}

// axesOf runs check with JSON output and gives the axes that were judged.
func axesOf(tb testing.TB, args ...string) string {
	tb.Helper()
	r := called(tb, append([]string{"check", "--form", "json", "--no-fixes"}, args...)...)
	var doc struct {
		Axes []struct{ Machine, Axis string }
	}
	if err := json.Unmarshal([]byte(r.out), &doc); err != nil {
		tb.Fatalf("%q: %v\n%s%s", args, err, r.out, r.err)
	}
	var out []string
	for _, a := range doc.Axes {
		out = append(out, a.Machine+"/"+a.Axis)
	}
	slices.Sort(out)
	return strings.Join(out, " ")
}

const (
	outfeed = "machines/slicer/outfeed.axis.hcl"
	screws  = "parts/screws.parts.hcl"
)

func TestStagedContent(t *testing.T) {
	inBakery(t)
	was := text(t, outfeed)
	edit(t, outfeed, `"1200 mm"`, `"1900 mm"`)
	gitDo(t, "add", "-A")
	put(t, outfeed, was)
	ends(t, 1, []string{"[critical-speed]", "span 1900 mm", "1 axis,"}, "check", "--staged", "--since", "HEAD")
	ends(t, 1, []string{"3 axes,"}, "check", "--staged", "machines/slicer")
	ends(t, 0, []string{"!critical-speed"}, "check", "machines/slicer")
	// What is faulty in the working tree only is not asked about.
	gitDo(t, "reset", "-q")
	edit(t, outfeed, `"1200 mm"`, `"1900 mm"`)
	put(t, "machines/slicer/more.axis.hcl", `axis "more" {`)
	ends(t, 0, []string{"3 axes,"}, "check", "--staged", "machines/slicer")
	ends(t, 0, []string{"nothing to check"}, "check", "--staged", "--since", "HEAD")
	ends(t, 1, []string{"[critical-speed]"}, "check", "machines/slicer")
	ends(t, 1, []string{"[critical-speed]", "more.axis.hcl:1:"}, "check", "--since", "HEAD")
	// Staged as gone, still in the folder.
	gitDo(t, "checkout", "-q", ".")
	os.Remove("machines/slicer/more.axis.hcl")
	gitDo(t, "rm", "-q", "--cached", screws)
	ends(t, 1, []string{"[unknown-name]", "30 axes"}, "check", "--staged", "--since", "HEAD", "--no-fixes")
	// Added with nothing but the intent to add it.
	gitDo(t, "reset", "-q", "--hard")
	put(t, "machines/slicer/more.axis.hcl", `axis "more" {`)
	gitDo(t, "add", "-N", "machines/slicer/more.axis.hcl")
	ends(t, 0, []string{"nothing to check"}, "check", "--staged", "--since", "HEAD")
}

func TestLongStagedBeforeFirstCommit(t *testing.T) {
	amount.Long(t)
	inBakery(t)
	os.RemoveAll(".git")
	gitDo(t, "init", "-q", "-b", "main")
	ends(t, 0, []string{"nothing to check"}, "check", "--staged", "--since", "HEAD")
	gitDo(t, "add", "machines/slicer", "parts")
	ends(t, 0, []string{"3 axes,"}, "check", "--staged", "--since", "HEAD")
	fails(t, "no commits yet", "check", "--at", "HEAD", "machines")
	fails(t, "no commits yet", "check", "--at", "HEAD")
}

func TestAtRevision(t *testing.T) {
	inBakery(t)
	first := gitDo(t, "rev-parse", "HEAD")
	edit(t, outfeed, `"1200 mm"`, `"1900 mm"`)
	commitAll(t, "longer")
	gitDo(t, "tag", "-a", "-m", "x", "v1")
	edit(t, outfeed, `"1900 mm"`, `"1200 mm"`)
	commitAll(t, "back")
	gitDo(t, "rm", "-q", "-r", "machines/slicer")
	commitAll(t, "gone")
	put(t, "notes.hcl", "")
	notes := commitAll(t, "notes")
	put(t, "draft.axis.hcl", "axis")
	before := gitDo(t, "status", "--porcelain")
	for _, rev := range []string{"v1", "HEAD~3", "main~3"} {
		ends(t, 1, []string{"span 1900 mm", "3 axes,"}, "check", "--at", rev, "machines/slicer")
	}
	ends(t, 0, []string{"3 axes,"}, "check", "--at", first[:12], "machines/slicer")
	ends(t, 0, nil, "check", "--at", "HEAD~2", outfeed)
	ends(t, 1, []string{"1 axis,"}, "check", "--at", "v1", "--since", first)
	ends(t, 0, []string{"1 axis,", "!span 1900"}, "check", "--at", "HEAD~2", "--since", "v1")
	fails(t, "machines/slicer: ", "check", "--at", "HEAD", "machines/slicer")
	fails(t, "notes.hcl: ", "check", "--at", notes, "notes.hcl")
	if now := gitDo(t, "status", "--porcelain"); now != before {
		t.Errorf("the working tree was touched:\n%s", now)
	}
	gitDo(t, "checkout", "-q", "--detach", "v1")
	ends(t, 1, []string{"span 1900 mm", "1 axis,"}, "check", "--since", "HEAD~1", "--no-fixes")
	ends(t, 0, []string{"nothing to check"}, "check", "--staged", "--since", "HEAD")
}

func TestSince(t *testing.T) { sinceEach(t, 5) }

func TestLongSince(t *testing.T) {
	amount.Long(t)
	sinceEach(t, 1)
}

// sinceEach tries one in so many changes.
func sinceEach(t *testing.T, of int) {
	t.Helper()
	inBakery(t)
	const (
		slicer    = "slicer/blade_lift slicer/outfeed slicer/pusher"
		decorator = "decorator/across decorator/along decorator/nozzle"
	)
	type since struct {
		name   string
		change func()
		want   string
	}
	for _, c := range amount.Some([]since{
		{"nothing", func() {}, ""},
		{"own file", func() { edit(t, outfeed, `"1200 mm"`, `"1210 mm"`) }, "slicer/outfeed"},
		{"one axis of a file", func() {
			edit(t, "machines/packer/seal.axis.hcl", `axis "jaw" {`, "axis \"jaw\" {\n  description = \"x\"")
		}, "packer/gate packer/jaw"},
		{"part", func() { edit(t, screws, `"8.3 kN"`, `"9 kN"`) }, decorator + " packer/gate packer/pick"}, // nozzle is carried by the others
		{"part, its comment", func() { edit(t, screws, `"8.3 kN"`, `"8.3 kN" # so`) }, ""},
		{"part nobody uses", func() { put(t, "parts/x.parts.hcl", "screw \"new1\" {\n  lead = \"10 mm\"\n}\n") }, ""},
		{"machine", func() { edit(t, "machines/slicer/machine.axis.hcl", `"8 m/s2"`, `"7 m/s2"`) }, slicer},
		{"policy of a folder", func() {
			put(t, "machines/decorator/x.policy.hcl", "rule \"ball-speed\" {\n  severity = \"note\"\n  reason = \"x\"\n}\n")
		}, decorator},
		{"carried axis", func() { edit(t, "machines/loader/dip.axis.hcl", " kg", ".5 kg") }, "loader/cross loader/dip loader/travel"},
		{"carrier", func() { edit(t, "machines/loader/travel.axis.hcl", " kg", ".5 kg") }, "loader/travel"},
		{"removed", func() { os.Remove(outfeed) }, ""},
		{"renamed", func() { gitDo(t, "mv", outfeed, "machines/slicer/out.axis.hcl") }, ""},
		{"renamed and changed", func() {
			gitDo(t, "mv", outfeed, "machines/slicer/out.axis.hcl")
			edit(t, "machines/slicer/out.axis.hcl", `"1200 mm"`, `"1210 mm"`)
		}, "slicer/outfeed"},
		{"folder renamed, with carriers and faults", func() { gitDo(t, "mv", "machines/loader", "machines/feeder") }, ""},
		{"moved to another machine", func() { gitDo(t, "mv", outfeed, "machines/packer/outfeed.axis.hcl") }, "packer/outfeed"},
	}, of, func(s since) string { return s.name }) {
		t.Run(c.name, func(t *testing.T) {
			c.change()
			gitDo(t, "add", "-A")
			defer gitDo(t, "reset", "-q", "--hard", "HEAD")
			for _, args := range [][]string{{"--since", "HEAD"}, {"--staged", "--since", "HEAD"}} {
				if got := axesOf(t, args...); got != c.want {
					t.Errorf("%q: judged %q, want %q", args, got, c.want)
				}
			}
			base := gitDo(t, "rev-parse", "HEAD")
			id := commitAll(t, c.name)
			defer gitDo(t, "reset", "-q", "--hard", base)
			if got := axesOf(t, "--since", base, "--at", id); got != c.want {
				t.Errorf("--at: judged %q, want %q", got, c.want)
			}
		})
	}
	// Each axis there is, the last one too.
	edit(t, "house.policy.hcl", `"2000 km"`, `"1000 km"`)
	all := axesOf(t)
	for _, args := range [][]string{{"--since", "HEAD"}, {"--since", "HEAD", "house.policy.hcl"}} {
		if got := axesOf(t, args...); got != all || strings.Count(all, " ") != 29 {
			t.Errorf("%q: the policy of the house touches %q, not %q", args, got, all)
		}
	}
}

// TestLongSincePaths holds that paths choose among the changes, and that a folder
// below sees what changed above it.
func TestLongSincePaths(t *testing.T) {
	amount.Long(t)
	inBakery(t)
	edit(t, screws, `"8.3 kN"`, `"9 kN"`)
	edit(t, outfeed, `"1200 mm"`, `"1210 mm"`)
	if got := axesOf(t, "--since", "HEAD", "machines"); got != "slicer/outfeed" {
		t.Errorf("judged %q", got)
	}
	all := axesOf(t, "--since", "HEAD")
	t.Chdir("machines/packer")
	if got := axesOf(t, "--since", "HEAD"); got != all || !strings.Contains(got, "packer/gate") {
		t.Errorf("from a folder below: judged %q, want %q", got, all)
	}
	if got := axesOf(t, "--since", "HEAD", "../../parts"); got != "decorator/across decorator/along decorator/nozzle packer/gate packer/pick" {
		t.Errorf("judged %q", got)
	}
	r := ends(t, 1, []string{"\npick.axis.hcl:", "../../machines/decorator/nozzle.axis.hcl:"}, "check", "--since", "HEAD", "--no-fixes")
	if strings.Contains(r.out, "/packer") {
		t.Errorf("a way round:\n%s", r.out)
	}
	fails(t, "is outside", "check", "--since", "HEAD", t.TempDir())
	fails(t, "standard input", "check", "--since", "HEAD", "-")
	// A way over a link is a way to the repository too.
	if runtime.GOOS != "windows" {
		root, err := filepath.Abs("../..")
		if err != nil {
			t.Fatal(err)
		}
		link := filepath.Join(t.TempDir(), "link")
		if err := os.Symlink(root, link); err != nil {
			t.Fatal(err)
		}
		if got := axesOf(t, "--since", "HEAD", filepath.Join(link, "machines")); got != "slicer/outfeed" {
			t.Errorf("over a link: judged %q", got)
		}
	}
}

// TestLongSinceBranch counts from where a branch left, not from where the other is now.
func TestLongSinceBranch(t *testing.T) {
	amount.Long(t)
	inBakery(t)
	gitDo(t, "checkout", "-q", "-b", "work")
	edit(t, outfeed, `"1200 mm"`, `"1210 mm"`)
	commitAll(t, "work")
	gitDo(t, "checkout", "-q", "main")
	edit(t, screws, `"8.3 kN"`, `"9 kN"`)
	commitAll(t, "main goes on")
	gitDo(t, "checkout", "-q", "work")
	for _, args := range [][]string{{"--since", "main"}, {"--since", "main", "--at", "work"}, {"--since", "main", "--staged"}} {
		if got := axesOf(t, args...); got != "slicer/outfeed" {
			t.Errorf("%q: judged %q", args, got)
		}
	}
	gitDo(t, "checkout", "-q", "--orphan", "alone")
	commitAll(t, "alone")
	fails(t, "no commit in common", "check", "--since", "main")
}

func TestSinceShowsBrokenFiles(t *testing.T) {
	inBakery(t)
	put(t, "parts/new.parts.hcl", "screw \"a\" {\n  lead = \"10 parsec\"\n}\n")
	ends(t, 1, []string{"parts/new.parts.hcl:2:", "0 axes"}, "check", "--since", "HEAD")
	put(t, "parts/new.parts.hcl", "<<<<<<< ours\nscrew \"a\" {\n}\n=======\n>>>>>>> theirs\n")
	ends(t, 2, []string{"parts/new.parts.hcl:1:1: error: a merge conflict is not resolved here"}, "check", "--since", "HEAD")
	os.Remove("parts/new.parts.hcl")
	put(t, "machines/slicer/x.policy.hcl", "rule \"nonsense\" {\n")
	ends(t, 2, []string{"machines/slicer/x.policy.hcl:"}, "check", "--since", "HEAD")
}

func TestLongUnmergedIndex(t *testing.T) {
	amount.Long(t)
	inBakery(t)
	gitDo(t, "checkout", "-q", "-b", "b")
	edit(t, outfeed, `"1200 mm"`, `"1210 mm"`)
	commitAll(t, "b")
	gitDo(t, "checkout", "-q", "main")
	edit(t, outfeed, `"1200 mm"`, `"1220 mm"`)
	commitAll(t, "a")
	if out, err := gitTry("merge", "-q", "b"); err == nil {
		t.Fatalf("no conflict: %s", out)
	}
	fails(t, "a merge conflict is not resolved in \""+outfeed+`"`, "check", "--staged")
	fails(t, "a merge conflict is not resolved in \""+outfeed+`"`, "check", "--staged", "--since", "HEAD")
	fails(t, "a merge conflict is not resolved in \""+outfeed+`"`, "compare", "--staged", "HEAD")
	ends(t, 2, []string{outfeed + ":", "a merge conflict is not resolved here"}, "check", "--since", "HEAD")
	ends(t, 0, []string{"3 axes"}, "check", "--at", "b", "machines/slicer")
	edit(t, outfeed, "<<<<<<<", "# ")
	ends(t, 2, []string{outfeed}, "check", "--since", "HEAD")
	gitDo(t, "checkout", "-q", "--theirs", outfeed)
	gitDo(t, "add", outfeed)
	ends(t, 0, []string{"1 axis"}, "check", "--staged", "--since", "HEAD")
}

func TestHistoryUsage(t *testing.T) {
	inBakery(t)
	fails(t, "--staged and --at name two different states", "check", "--staged", "--at", "HEAD")
	fails(t, `there is no revision "nowhere"`, "check", "--at", "nowhere")
	fails(t, `there is no revision "nowhere"`, "check", "--since", "nowhere")
	fails(t, `cannot be a revision`, "check", "--since=--output=x")
	fails(t, `cannot be a revision`, "check", "--at", "a\nb")
	fails(t, "unknown output form", "check", "--form", "xml")
	fails(t, "unknown output form", "check", "--write", "xml=a")
	fails(t, "names no form and file", "check", "--write", "json")
	fails(t, "names no form and file", "check", "--write", "json=")
	fails(t, "twice", "check", "--write", "json=a", "--write", "sarif=a")
	fails(t, "name it with --known", "check", "--record")
	fails(t, "name it with --known", "check", "--prune")
	fails(t, "does not exist; trammel check --known nowhere --record creates it", "check", "--known", "nowhere")
	fails(t, "does not exist; trammel check --known nowhere --record creates it", "check", "--known", "nowhere", "--prune")
	fails(t, "unknown flag", "check", "--stage")
	fails(t, "there is no revision", "compare", "nowhere")
	fails(t, "--staged replaces", "compare", "--staged", "HEAD", "HEAD")
	fails(t, "nowhere: no such file or directory, before or after the change", "compare", "HEAD", "--", "nowhere")
	fails(t, "nowhere: no such file or directory, before or after the change", "check", "--since", "HEAD", "nowhere")
	fails(t, `unknown command "chek"; did you mean check?`, "chek")
	fails(t, `unknown command "zzz"; trammel --help lists the commands`, "zzz")
	fails(t, `unknown command "chek"; did you mean check?`, "help", "chek")
	fails(t, `unknown command "zzz"; trammel --help lists the commands`, "help", "zzz")
	if a, b := called(t, "help", "check"), called(t, "check", "--help"); a.out != b.out || a.status != exitClean {
		t.Error("help check is not check --help")
	}
	fails(t, "--form needs a value: output form: text", "check", "--form")
	fails(t, "critical-speeed is no rule and no path; did you mean critical-speed?", "rules", "critical-speeed")
	fails(t, "it is a block, whose fields are named like screw.part", "explain", "screw")
	fails(t, "no argument given, 1 or 2 needed; write trammel sheet path [axis]", "sheet")
	fails(t, "1 argument given, none needed", "editor", "x")
	fails(t, "1 or 2 needed", "compare")
	fails(t, "1 or 2 needed", "compare", "a", "b", "c")
	fails(t, "1 or 2 needed", "compare", "--", "machines")
	fails(t, "unknown output form", "compare", "HEAD", "--form", "html")
	fails(t, "is outside", "compare", "HEAD", "--", "..")
	for _, name := range []string{"a", "nowhere", "x"} {
		if _, err := os.Stat(name); err == nil {
			t.Errorf("a file %s was written", name)
		}
	}
	t.Chdir(t.TempDir())
	put(t, "a.axis.hcl", "axis \"a\" {\n}\n")
	for _, args := range [][]string{{"check", "--staged"}, {"check", "--since", "HEAD"}, {"check", "--at", "HEAD"}, {"compare", "HEAD"}} {
		fails(t, "is not in a git repository", args...)
	}
}

func TestLongShallowClone(t *testing.T) {
	amount.Long(t)
	inBakery(t)
	first := gitDo(t, "rev-parse", "HEAD")
	edit(t, outfeed, `"1200 mm"`, `"1210 mm"`)
	commitAll(t, "more")
	from, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	gitDo(t, "clone", "-q", "--depth", "1", "file://"+filepath.ToSlash(from), "clone")
	t.Chdir("clone")
	fails(t, "the clone is shallow", "check", "--since", first)
	fails(t, "the clone is shallow", "check", "--since", "HEAD~1")
	fails(t, "the clone is shallow", "compare", "HEAD~1")
	ends(t, 0, []string{"3 axes"}, "check", "--at", "HEAD", "machines/slicer")
	edit(t, outfeed, `"1210 mm"`, `"1900 mm"`)
	ends(t, 1, []string{"1 axis"}, "check", "--since", "HEAD")
}

// TestLongHostileNames goes through all that names files, with names as git permits them.
func TestLongHostileNames(t *testing.T) {
	amount.Long(t)
	if runtime.GOOS == "windows" {
		t.Skip("such names cannot be there")
	}
	inBakery(t)
	names := []string{"a b", `a"b`, "a'b", "a\nb", "größe 軸", "-rf", ":(top)x", "a\\b", "a%20b", "$(x)", "*", "a,b:c"}
	axis := text(t, outfeed)
	for i, n := range names {
		put(t, "machines/slicer/"+n+"/"+n+".axis.hcl", strings.Replace(axis, `axis "outfeed"`, "axis \"x"+string(rune('a'+i))+`"`, 1))
	}
	const want = "slicer/xa slicer/xb slicer/xc slicer/xd slicer/xe slicer/xf slicer/xg slicer/xh slicer/xi slicer/xj slicer/xk slicer/xl"
	if got := axesOf(t, "--since", "HEAD"); got != want {
		t.Errorf("new: judged %q", got)
	}
	gitDo(t, "add", "-A")
	if got := axesOf(t, "--since", "HEAD", "--staged"); got != want {
		t.Errorf("staged: judged %q", got)
	}
	base := gitDo(t, "rev-parse", "HEAD")
	commitAll(t, "names")
	if got := axesOf(t, "--since", base, "--at", "HEAD"); got != want {
		t.Errorf("at: judged %q", got)
	}
	for i, n := range names {
		p := "./machines/slicer/" + n
		if got := axesOf(t, "--at", "HEAD", "--", p); got != "slicer/x"+string(rune('a'+i)) {
			t.Errorf("%q: judged %q", p, got)
		}
		edit(t, p+"/"+n+".axis.hcl", `"1200 mm"`, `"1900 mm"`)
		if got := axesOf(t, "--since", "HEAD", "--", p); got != "slicer/x"+string(rune('a'+i)) {
			t.Errorf("%q: judged %q", p, got)
		}
	}
	for _, form := range formNames(checkForms) {
		r := ends(t, 1, nil, "check", "--since", "HEAD", "--form", form, "--no-fixes")
		if form == "text" || form == "annotations" {
			for _, l := range strings.Split(r.out, "\n") {
				if strings.HasPrefix(l, "b.axis.hcl") || strings.HasPrefix(l, "b/a") {
					t.Errorf("%s: a name goes over two lines: %s", form, l)
				}
			}
		}
	}
	for _, form := range formNames(compareForms) {
		r := ends(t, 1, nil, "compare", "HEAD", "--form", form)
		if form != "json" && strings.Contains(r.out, "\nb.axis") {
			t.Errorf("%s: a name goes over two lines", form)
		}
	}
	// The list of known findings takes all of them.
	ends(t, 0, nil, "check", "--since", "HEAD", "--known", "list", "--record", "--no-fixes")
	ends(t, 0, []string{"!no longer found"}, "check", "--since", "HEAD", "--known", "list", "--no-fixes")
}

// TestLongSubmodule: what lies in another repository is not this one's.
func TestLongSubmodule(t *testing.T) {
	amount.Long(t)
	inBakery(t)
	from, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	t.Chdir(t.TempDir())
	gitDo(t, "init", "-q", "-b", "main")
	gitDo(t, "-c", "protocol.file.allow=always", "submodule", "add", "-q", from, "sub")
	put(t, "own.axis.hcl", "axis \"own\" {\n}\n")
	gitDo(t, "add", "-A")
	if got := axesOf(t, "--staged", "--since", "HEAD"); got != "/own" {
		t.Errorf("judged %q", got)
	}
	commitAll(t, "a")
	edit(t, "sub/"+outfeed, `"1200 mm"`, `"1210 mm"`)
	for _, args := range [][]string{{"--since", "HEAD"}, {"--staged", "--since", "HEAD"}} {
		if got := axesOf(t, args...); got != "" {
			t.Errorf("judged %q", got)
		}
	}
	if got := axesOf(t, "--at", "HEAD"); got != "/own" {
		t.Errorf("judged %q", got)
	}
	t.Chdir("sub/machines")
	if got := axesOf(t, "--since", "HEAD"); got != "slicer/outfeed" {
		t.Errorf("within: judged %q", got)
	}
}
