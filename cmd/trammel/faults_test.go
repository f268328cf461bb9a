package main

import (
	"bytes"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"trammel/spec/amount"
)

// TestLongStrangeFiles gives every command that reads a tree one with something in
// it that is no file of the tree, of each kind of spec file: it ends, nothing
// outside is read, and what is wrong is said.
func TestLongStrangeFiles(t *testing.T) {
	amount.Long(t)
	needs(t, "git", "git")
	commands := []string{"check", "check --form json", "audit", "rules", "sheet . good", "size . good", "tidy", "tidy --check", "check --staged", "check --since HEAD", "compare HEAD"}
	const secret = "axis \"secret\" {\n  oops = 1\n}\n"
	sound := filepath.Join(t.TempDir(), "t")
	writeFile(t, filepath.Join(sound, "good.axis.hcl"), "axis \"good\" {\n}\n")
	for _, args := range [][]string{{"init", "-q", "--template="}, {"add", "-A"}, {"-c", "user.name=x", "-c", "user.email=x@example.com", "commit", "-q", "-m", "x"}} {
		if out, err := exec.Command("git", append([]string{"-C", sound}, args...)...).CombinedOutput(); err != nil {
			t.Fatalf("git %q: %v\n%s", args, err, out)
		}
	}
	for name, make := range map[string]func(outer, at string) error{
		"a link out":             func(outer, at string) error { return os.Symlink(filepath.Join(outer, "secret"), at) },
		"a link out, relative":   func(outer, at string) error { return os.Symlink("../secret", at) },
		"a link to itself":       func(_, at string) error { return os.Symlink(filepath.Base(at), at) },
		"a link to nothing":      func(_, at string) error { return os.Symlink("nothing", at) },
		"a link to a device":     func(_, at string) error { return os.Symlink("/dev/zero", at) },
		"a link to a file of it": func(_, at string) error { return os.Symlink("good.axis.hcl", at) },
		"a pipe":                 func(_, at string) error { return mkfifo(at) },
		"a folder":               func(_, at string) error { return os.Mkdir(at, 0o755) },
		"a file of nobody's":     func(_, at string) error { return os.WriteFile(at, []byte(secret), 0) },
		"a huge file": func(_, at string) error {
			f, err := os.Create(at)
			if err == nil {
				err = f.Truncate(100 << 20)
				f.Close()
			}
			return err
		},
		"a socket": func(outer, at string) error {
			l, err := net.ListenUnix("unix", &net.UnixAddr{Name: filepath.Join(outer, "s"), Net: "unix"})
			if err != nil {
				return err
			}
			l.SetUnlinkOnClose(false)
			defer l.Close()
			return os.Rename(filepath.Join(outer, "s"), at)
		},
	} {
		t.Run(name, func(t *testing.T) {
			places := []string{"x.axis.hcl", "x.parts.hcl", "x.policy.hcl", "machine.axis.hcl", "parts", ".gitignore"}
			for _, at := range amount.Some(places, 6, func(at string) string { return name + at }) {
				outer := t.TempDir()
				writeFile(t, filepath.Join(outer, "secret"), secret)
				root := filepath.Join(outer, "t")
				if err := os.CopyFS(root, os.DirFS(sound)); err != nil {
					t.Fatal(err)
				}
				if err := make(outer, filepath.Join(root, at)); err != nil {
					t.Skip("cannot be made here:", err)
				}
				if name != "a pipe" && name != "a socket" && name != "a huge file" {
					_ = exec.Command("git", "-C", root, "add", "-A").Run() // what can be staged is
				}
				for _, c := range commands {
					if name == "a pipe" && at == ".gitignore" && (strings.HasPrefix(c, "compare") || strings.Contains(c, "since")) {
						continue // git itself waits for the pipe, until its time is over
					}
					_, out := runQuiet(t, root, c)
					if name != "a file of nobody's" && (strings.Contains(out, "oops") || strings.Contains(out, "axis secret")) {
						t.Errorf("%s, %s: reads outside:\n%.500s", at, c, out)
					}
					if c == "check" && strings.HasPrefix(at, "x.") && name != "a link to a file of it" && name != "a folder" && !strings.Contains(out, at) {
						t.Errorf("%s, %s: does not say so:\n%.500s", at, c, out)
					}
				}
				if src, _ := os.ReadFile(filepath.Join(outer, "secret")); string(src) != secret {
					t.Errorf("%s: something outside was written", at)
				}
			}
		})
	}
}

// runQuiet is runHere for words without blanks and all that is said.
func runQuiet(t *testing.T, dir, args string) (int, string) {
	t.Helper()
	r := runHere(t, dir, "", strings.Fields(args)...)
	return r.status, r.err + r.out
}

// TestAdoptStaysBelow holds that links in the folder adopt writes to lead it
// nowhere, and that no table is waited for.
func TestAdoptStaysBelow(t *testing.T) {
	outer := t.TempDir()
	root := filepath.Join(outer, "t")
	writeFile(t, filepath.Join(root, "x.csv"), "Folder,Name,Mass\nin,a,1\nlink,b,2\n../out,c,3\n/tmp,d,4\n")
	writeFile(t, filepath.Join(root, "x.map.hcl"), "folder = \"{Folder}\"\n"+boundsMap)
	writeFile(t, filepath.Join(outer, "out", "keep"), "")
	writeFile(t, filepath.Join(root, "m", "in", "readme"), "")
	if err := os.Symlink("../../out", filepath.Join(root, "m", "link")); err != nil {
		t.Skip(err)
	}
	if err := os.Symlink("../../../out/a.axis.hcl", filepath.Join(root, "m", "in", "a.axis.hcl")); err != nil {
		t.Skip(err)
	}
	_, out := runQuiet(t, root, "adopt x.csv --out m")
	if left, _ := os.ReadDir(filepath.Join(outer, "out")); len(left) != 1 {
		t.Errorf("it wrote outside: %v\n%s", left, out)
	}
	if mkfifo(filepath.Join(root, "p.csv")) != nil {
		return
	}
	for _, args := range []string{"adopt p.csv --map x.map.hcl", "check --known p.csv", "check --known p.csv --record", "check --known .", "adopt ."} {
		if status, out := runQuiet(t, root, args); status != exitFailed {
			t.Errorf("%s: status %d\n%s", args, status, out)
		}
	}
	_ = os.Rename(filepath.Join(root, "p.csv"), filepath.Join(root, "p.map.hcl"))
	if status, out := runQuiet(t, root, "adopt x.csv --map p.map.hcl"); status != exitFailed || !strings.Contains(out, "no regular file") {
		t.Errorf("status %d\n%s", status, out)
	}
}

// TestLongExtremeDays holds that no day makes it break down.
func TestLongExtremeDays(t *testing.T) {
	amount.Long(t)
	root := filepath.Join(t.TempDir(), "bakery")
	if err := os.CopyFS(root, os.DirFS(filepath.Join("..", "..", "fixtures", "bakery"))); err != nil {
		t.Fatal(err)
	}
	for _, day := range amount.Of([]string{"0001-01-01", "1582-10-10", "1969-12-31", "2100-02-28", "9999-12-31"}, []string{"0001-01-01", "9999-12-31"}) {
		for _, c := range []string{"check --today %s", "check --form json --today %s", "check --form sarif --today %s", "check --form junit --today %s", "audit --today %s", "audit --form json --today %s", "audit --form html --today %s", "size machines/slicer blade_lift --today %s", "sheet machines/slicer blade_lift --date %s"} {
			c = fmt.Sprintf(c, day)
			if status, out := runQuiet(t, root, c); status > exitFindings {
				t.Errorf("%s: status %d\n%.500s", c, status, out)
			}
		}
	}
	for _, day := range []string{"10000-01-01", "-0001-01-01", "0000-01-01", "2026-02-30", "2026-13-01", strings.Repeat("9", 1000)} {
		if status, out := runQuiet(t, root, "check --today="+day); status != exitFailed && day != "0000-01-01" || strings.Count(out, "\n") > 1 && status == exitFailed {
			t.Errorf("%.20s: status %d\n%.500s", day, status, out)
		}
	}
}

// tree reads all files below a folder that are not hidden.
func tree(t *testing.T, root string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(root, func(p string, f os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if f.IsDir() && f.Name() == ".git" {
			return filepath.SkipDir
		}
		if f.Type().IsRegular() && !strings.HasPrefix(f.Name(), ".") {
			src, err := os.ReadFile(p)
			if err != nil {
				return err
			}
			rel, _ := filepath.Rel(root, p)
			out[rel] = string(src)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestLongKilled ends what writes at many moments, by the signal nobody can answer:
// each file is then as it was, or as it would have been, and what is left beside
// them no later run takes for a file of its own.
func TestLongKilled(t *testing.T) {
	amount.Long(t)
	tool, err := builtTool()
	if err != nil {
		t.Skip(err)
	}
	fresh := func() string {
		root := filepath.Join(t.TempDir(), "bakery")
		if err := os.CopyFS(root, os.DirFS(filepath.Join("..", "..", "fixtures", "bakery"))); err != nil {
			t.Fatal(err)
		}
		if err := os.CopyFS(filepath.Join(root, "table"), os.DirFS(filepath.Join("..", "internal", "tableimport", "testdata", "metric"))); err != nil {
			t.Fatal(err)
		}
		for i := range 200 {
			put(t, filepath.Join(root, "untidy", fmt.Sprint(i), "x.axis.hcl"), "axis   \"a\" {\n  description = \"x\"\n orientation   =   \"vertical\"\n}\n")
		}
		if err := os.Mkdir(filepath.Join(root, "out"), 0o755); err != nil {
			t.Fatal(err)
		}
		return root
	}
	for _, args := range amount.Some([]string{
		"check TODAY --no-fixes --write json=out/it --write sarif=out/that", "audit TODAY --write html=out/it machines", "audit TODAY --sheets out machines", "tidy untidy", "adopt table/fleet.csv --out out",
		"size TODAY machines/palletiser mast --take 2", "check TODAY --known out/known --record", "manual out",
	}, 3, func(args string) string { return args }) {
		words := strings.Fields(strings.ReplaceAll(args, "TODAY", bakeryDay))
		root := fresh()
		before := tree(t, root)
		start := time.Now()
		c := exec.Command(tool, words...)
		c.Dir = root
		if out, err := c.CombinedOutput(); c.ProcessState.ExitCode() > 1 {
			t.Fatalf("%s: %v\n%s", args, err, out)
		}
		took := time.Since(start)
		after := tree(t, root)
		if len(before) == len(after) && fmt.Sprint(before) == fmt.Sprint(after) {
			t.Fatalf("%s changes nothing", args)
		}
		// Where to begin again is cheaper than a new copy: what changed is put back.
		again := func() {
			for name := range after {
				if was, ok := before[name]; !ok {
					_ = os.Remove(filepath.Join(root, name))
				} else if was != after[name] {
					put(t, filepath.Join(root, name), was)
				}
			}
		}
		kills := someOf(8)
		for k := range kills {
			again()
			c := exec.Command(tool, words...)
			c.Dir = root
			if err := c.Start(); err != nil {
				t.Fatal(err)
			}
			time.Sleep(took * time.Duration(k+1) / time.Duration(kills))
			_ = c.Process.Kill()
			_ = c.Wait()
			for name, got := range tree(t, root) {
				if was, had := before[name]; !(had && got == was) && got != after[name] {
					t.Errorf("%s, killed: %s is neither the old nor the new one:\n%.200s", args, name, got)
				}
			}
			for name := range before {
				if _, err := os.Stat(filepath.Join(root, name)); err != nil {
					t.Errorf("%s, killed: %s is gone", args, name)
				}
			}
		}
		// What the kills left is taken for nothing, and the work can be done.
		again()
		c = exec.Command(tool, words...)
		c.Dir = root
		if out, _ := c.CombinedOutput(); c.ProcessState.ExitCode() > 1 {
			t.Errorf("%s, after having been killed: %s", args, out)
		}
		if got := tree(t, root); fmt.Sprint(got) != fmt.Sprint(after) {
			t.Errorf("%s, after having been killed, does not give the same files", args)
		}
	}
}

// TestLongMovingFiles changes files while they are read: each run ends with a status
// and words of its own.
func TestLongMovingFiles(t *testing.T) {
	amount.Long(t)
	root := filepath.Join(t.TempDir(), "t")
	const n = 60
	name := func(i int) string {
		return filepath.Join(root, fmt.Sprint("d", i%7), fmt.Sprintf("%d.%s.hcl", i, []string{"axis", "parts", "policy", "axis"}[i%4]))
	}
	text := []byte("axis \"a\" {\n  description = \"" + strings.Repeat("x", 3000) + "\"\n}\n")
	for i := range n {
		put(t, name(i), "")
	}
	stop := make(chan struct{})
	var wg sync.WaitGroup
	for w := range 2 {
		wg.Go(func() {
			for i := w; ; i++ {
				select {
				case <-stop:
					return
				default:
				}
				f := name(i * 31 % n)
				switch i % 7 {
				case 0:
					_ = os.RemoveAll(f)
				case 1:
					_ = os.WriteFile(f, text, 0o644)
				case 2:
					_ = os.Truncate(f, 100)
				case 3:
					_ = os.WriteFile(f, bytes.Repeat([]byte("# grows\n"), 200_000), 0o644)
				case 4:
					_ = os.RemoveAll(f)
					_ = os.Mkdir(f, 0o755)
				case 5:
					d := filepath.Dir(f)
					_ = os.Rename(d, d+"x")
					_ = os.WriteFile(d, nil, 0o644)
					_ = os.Remove(d)
					_ = os.Rename(d+"x", d)
				case 6:
					_ = os.RemoveAll(f)
					_ = os.Symlink(".", f)
				}
			}
		})
	}
	for range someOf(8) {
		for _, args := range []string{"check", "check --form json", "audit", "tidy --check", "tidy", "rules", "sheet . a", "size . a"} {
			runQuiet(t, root, args)
		}
	}
	close(stop)
	wg.Wait()
	// tidy leaves nothing of its own behind.
	_ = filepath.WalkDir(root, func(p string, f os.DirEntry, err error) error {
		if err == nil && strings.HasPrefix(f.Name(), ".") && !slices.Contains([]string{"."}, f.Name()) {
			t.Errorf("%s is left behind", p)
		}
		return nil
	})
}
