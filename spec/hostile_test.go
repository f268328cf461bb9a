package spec

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"math"
	"math/big"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"trammel/spec/amount"
)

// hostile makes axis files of about size bytes that nobody writes by hand.
func hostile(size int) map[string]string {
	fill := func(before, s, after string) string {
		return before + strings.Repeat(s, max(1, (size-len(before)-len(after))/len(s))) + after
	}
	inMass := func(before, s, after string) string {
		return fill("axis \"a\" {\n load {\n mass = "+before, s, after+"\n }\n}\n")
	}
	lines := func(before, after string, line func(i int) string) string {
		var b strings.Builder
		b.WriteString(before)
		for i := 0; b.Len() < size-100; i++ {
			b.WriteString(line(i))
		}
		return b.String() + after
	}
	return map[string]string{
		"signs":                 fill("a = ", "!", "1"),
		"minuses":               fill("a = ", "-", "1"),
		"sum":                   inMass("1", "+1", ""),
		"conjunction":           inMass("true", "&&true", ""),
		"comparisons":           inMass("1", "==1", ""),
		"sum over lines":        inMass("(1", "\n-1", ")"),
		"object over lines":     inMass("{", "\n a = -1", "\n}"),
		"index":                 inMass("a", "[b]", ""),
		"fixed index":           inMass("a", "[0]", ""),
		"splat":                 inMass("a", "[*]", ""),
		"attribute splat":       inMass("a", ".*", ""),
		"conditions":            fill("a = ", "a?b:", "a"),
		"braces":                fill("", "a {\n", ""),
		"braces on a line":      fill("", "{", ""),
		"brackets":              fill("a = ", "[", ""),
		"parentheses":           inMass("", "(", ""),
		"calls":                 inMass("", "abs(", ""),
		"brackets hidden":       inMass("", `["]",`, ""),
		"brackets in comments":  inMass("", "[ # ]\n", ""),
		"templates":             inMass("", `"${`, ""),
		"template ifs":          inMass(`"`, "%{if a}", `"`),
		"template fors":         inMass(`"`, "%{for a in b}", `"`),
		"heredocs in templates": inMass("", "<<A\n${", ""),
		"heredocs":              fill("", "<<A\n", ""),
		"namespaces":            fill("a = ", "a::", "f()\n"),
		"long number":           inMass("", "1", ""),
		"long name":             fill("axis \"a\" {\n", "a", " = 1\n}\n"),
		"long label":            fill("axis \"", "a", "\" {\n}\n"),
		"long text":             inMass(`"`, "9", ` kg"`),
		"long unit":             inMass(`"20 `, "k", `"`),
		"long reference":        fill("axis \"a\" {\n screw {\n part = screw[\"", "k", "\"]\n }\n}\n"),
		"long comment":          fill("# ", "-", "\n"),
		"dots":                  inMass("b", ".c", ""),
		"same name":             fill("", "a = 1\n", ""),
		"unknown blocks":        fill("axis \"a\" {\n", "b {}\n", "}\n"),
		"empty axes":            fill("", "axis \"b\" {}\n", ""),
		"empty machines":        fill("", "machine \"b\" {}\n", ""),
		"missing parts":         fill("axis \"a\" {\n", "screw {\n part = screw.a\n }\n", "}\n"),
		"carried":               fill("axis \"a\" {\n load {\n carries = [", "axis.b,", "axis.b]\n}\n}\n"),
		"carries numbers":       fill("axis \"a\" {\n load {\n carries = [", "1,", "]\n}\n}\n"),
		"quotes":                fill("a = ", `"`, ""),
		"quotes over lines":     fill("a = ", "\"\n", ""),
		"escapes":               inMass(`"`, `\q`, `"`),
		"semicolons":            fill("", ";", ""),
		"commas":                fill("a = 1", ",", ""),
		"objects":               fill("a = {", "b = 1\n", "}\n"),
		"given texts":           fill("given { a = \""+strings.Repeat("x", 4000)+"\" }\naxis \"a\" {\n description = \"", "${given.a}", "\"\n}\n"),
		"given tree":            lines("given {\n a0 = \"x\"\n", "}\n", func(i int) string { return fmt.Sprintf("a%d = \"${given.a%d}\"\n", i+1, i/2) }),
		"given unknown":         lines("given {\n", "}\n", func(i int) string { return fmt.Sprintf("a%d = given.b%d\n", i, i) }),
		"given numbers":         lines("given {\n", "}\n", func(i int) string { return fmt.Sprintf("a%d = 1\n", i) }),
		"given chain":           lines("given {\n", "}\n", func(i int) string { return fmt.Sprintf("a%d = given.a%d\n", i, i+1) }),
		"given blocks":          lines("", "", func(i int) string { return fmt.Sprintf("given {\n a%d = given.a%d\n}\n", i, i+1) }),
		"unknown attributes":    lines("axis \"a\" {\n", "}\n", func(i int) string { return fmt.Sprintf("a%d = 1\n", i) }),
		"moves":                 lines("axis \"a\" {\n motion {\n", "}\n}\n", func(i int) string { return fmt.Sprintf("move \"a%d\" {}\n", i) }),
		"waivers":               fill("axis \"a\" {\n", "waive \"b\" {}\n", "}\n"),
		"series":                lines("", "", func(i int) string { return fmt.Sprintf("series \"a%d\" {\n of = \"screw\"\n}\n", i) }),
		"series columns":        fill("series \"a\" {\n of = \"screw\"\n sizes = []\n columns = [", "\"leaf\",", "]\n}\n"),
		"series rows":           lines("series \"a\" {\n of = \"screw\"\n columns = [\"name\"]\n sizes = [\n", "]\n}\n", func(i int) string { return fmt.Sprintf("[\"a%d\"],", i) }),
		"series same rows":      fill("series \"a\" {\n of = \"screw\"\n columns = [\"name\"]\n sizes = [\n", "[\"a\"],", "]\n}\n"),
		"series short rows":     fill("series \"a\" {\n of = \"screw\"\n columns = [\"name\", \"lead mm\"]\n sizes = [\n", "[],", "]\n}\n"),
		"series long row":       fill("series \"a\" {\n of = \"screw\"\n columns = [\"name\", \"lead mm\"]\n sizes = [[", "1,", "]]\n}\n"),
		"series cells":          fill("series \"a\" {\n of = \"screw\"\n columns = [\"name\", \"lead mm\"]\n sizes = [", "[\"a\", 1+1],", "]\n}\n"),
		"emoji":                 fill("axis \"a\" {\n description = \"", "👩‍👩‍👧", "\"\n}\n"),
		"combining marks":       fill("axis \"a\" {\n description = \"e", "\u0301", "\"\n}\n"),
	}
}

// patience is the time one file may take. A busy machine is granted more than a user
// would be; under the race detector time says nothing.
const patience = 10 * time.Second

func TestHostileText(t *testing.T) { hostileText(t, 3) }

func TestLongHostileText(t *testing.T) {
	amount.Long(t)
	hostileText(t, 1)
}

// hostileText tries one in so many texts.
func hostileText(t *testing.T, of int) {
	t.Helper()
	size := amount.Of(32<<10, 12<<10)
	if raceEnabled {
		size = 8 << 10
	}
	texts := hostile(size)
	if !raceEnabled {
		// Where the whole size tells more than a part of it.
		large := hostile(MaxFileSize - 200)
		whole := []string{"sum", "brackets hidden", "template ifs", "namespaces", "long number", "unknown blocks", "given texts", "given unknown", "carried", "series rows", "series short rows"}
		for _, name := range amount.Some(whole, 12, func(name string) string { return name }) {
			texts[name] = large[name]
		}
	}
	// These are only long, and read as far as a file may be long.
	honest := map[string]bool{"long comment": true, "given tree": true, "given numbers": true, "empty axes": true}
	for _, name := range amount.Some(slices.Sorted(maps.Keys(texts)), of, strings.Clone) {
		src := texts[name]
		t.Run(name, func(t *testing.T) {
			start := time.Now()
			for _, file := range []string{"x.axis.hcl", "x.parts.hcl", "x.policy.hcl", "machine.axis.hcl"} {
				tree := NewTree(fstest.MapFS{file: {Data: []byte(src)}})
				problems := tree.Folder(".").Problems
				if strings.HasSuffix(file, AxisSuffix) {
					problems = append(problems, tree.ReadAxes(file).Problems...)
				}
				checkProblems(t, map[string][]byte{file: []byte(src)}, problems)
				if len(problems) > 2*maxProblems+2 {
					t.Errorf("%s: %d problems", file, len(problems))
				}
				if len(problems) == 0 && file == "x.axis.hcl" && !honest[name] {
					t.Errorf("%s: no problem", file)
				}
			}
			if d := time.Since(start); d > patience && !raceEnabled {
				t.Errorf("took %v", d)
			}
		})
	}
}

// checkProblems checks that every problem has words, and a place in its file
// that is there.
func checkProblems(t *testing.T, files map[string][]byte, problems []Problem) {
	t.Helper()
	for _, p := range problems {
		if p.Message == "" || len(p.Message) > 1000 || len(p.Help) > 1000 || p.Rule == "" {
			t.Errorf("%v: [%s] bad words %.300q; %.300q", p.Place, p.Rule, p.Message, p.Help)
		}
		if strings.ContainsAny(p.Message+p.Help, "\n\x00\x1b") {
			t.Errorf("%v: control bytes in %q; %q", p.Place, p.Message, p.Help)
		}
		checkPlace(t, files, p.Place)
		for _, r := range p.Related {
			if r.Place.Line < 1 || r.Place.Col < 1 || r.Place.File == "" {
				t.Errorf("%v: related place %+v", p.Place, r.Place)
			}
		}
	}
}

func checkPlace(t *testing.T, files map[string][]byte, p Place) {
	t.Helper()
	src, ok := files[p.File]
	if !ok {
		t.Errorf("place in an unknown file: %+v", p)
		return
	}
	lines := int32(bytes.Count(src, []byte("\n"))) + 1
	switch {
	case p.Line < 1 || p.Col < 1 || p.EndLine < p.Line || p.EndLine == p.Line && p.EndCol < p.Col || p.EndLine > lines:
		t.Errorf("place out of the text's %d lines: %+v", lines, p)
	case p.Byte < 0 || p.EndByte < p.Byte || int(p.EndByte) > len(src):
		t.Errorf("bytes out of the text's %d: %+v", len(src), p)
	case bytes.Count(src[:p.Byte], []byte("\n")) != int(p.Line-1):
		t.Errorf("line and byte do not agree: %+v", p)
	default:
		start := bytes.LastIndexByte(src[:p.Byte], '\n') + 1
		if col := p.Col - 1; int(col) > int(p.Byte)-start {
			t.Errorf("column beyond the byte: %+v", p)
		}
	}
}

// Text nested just below the limit goes through the real parser, in every way
// of nesting there is.
func TestDepthBelowLimit(t *testing.T) {
	deep := func(n int, open, mid, shut string) string {
		return strings.Repeat(open, n) + mid + strings.Repeat(shut, n)
	}
	const n = MaxDepth - 2 // axis and load are open
	for name, value := range map[string]string{
		"brackets":    deep(n, "[", "1", "]"),
		"objects":     deep(n, "{a=", "1", "}"),
		"parentheses": deep(n, "(", `"5 kg"`, ")"),
		"calls":       deep(n, "abs(", "1", ")"),
		"templates":   deep(n/1, `"${`, "1", `}"`),
		"signs":       strings.Repeat("-", maxOperators-1) + "1",
		"sum":         "1" + strings.Repeat("+1", maxOperators-1),
		"conditions":  strings.Repeat("true?", maxOperators/2) + "1" + strings.Repeat(":1", maxOperators/2),
		"conditions2": strings.Repeat("false?1:", maxOperators-1) + "1",
		"ifs":         `"` + deep(maxOperators/2-1, "%{if true}", "1", "%{endif}") + `"`,
		"indexes":     "given" + strings.Repeat("[a]", maxOperators-1),
	} {
		t.Run(name, func(t *testing.T) {
			src := "axis \"a\" {\n load {\n  mass = " + value + "\n }\n}\n"
			f := axisFile(src)
			checkProblems(t, map[string][]byte{"x.axis.hcl": []byte(src)}, f.Problems)
			for _, p := range f.Problems {
				if strings.Contains(p.Message, "is not read") && name != "indexes" {
					t.Errorf("refused below the limit: %v", p.Message)
				}
			}
			src = "require \"a\" {\n that = " + value + "\n}\n"
			folder := NewTree(fstest.MapFS{"x.policy.hcl": {Data: []byte(src)}}).Folder(".")
			checkProblems(t, map[string][]byte{"x.policy.hcl": []byte(src)}, folder.Problems)
		})
	}
	one := "axis \"a\" {\n load {\n  mass = " + deep(n+1, "(", `"5 kg"`, ")") + "\n }\n}\n"
	wantProblem(t, axisFile(one).Problems, 3, 10+n, "nested more than 64 deep")
}

// A missing bracket in a long file is a missing bracket, not deep nesting.
func TestForgottenBracketInLongFile(t *testing.T) {
	src := "axis \"a\" {\n load {\n  mass = (\n }\n}\n" + strings.Repeat("axis \"b\" {\n load {\n }\n}\n", 100)
	for _, p := range axisFile(src).Problems {
		if strings.Contains(p.Message, "nested") {
			t.Errorf("%v: %s", p.Place, p.Message)
		}
	}
}

func TestBytesThatAreNoText(t *testing.T) {
	for _, c := range []struct {
		name, src string
		line, col int
		want      string
	}{
		{"NUL", "axis \"a\" {\n  x\x00\n}", 2, 4, "NUL byte"},
		{"binary", "\x7fELF\x02\x01\x01\x00\x00", 1, 8, "NUL byte"},
		{"UTF-16 little", "\xff\xfea\x00", 1, 1, "UTF-16"},
		{"UTF-16 big", "\xfe\xff\x00a", 1, 1, "UTF-16"},
		{"Latin-1", "axis \"a\" {\n  description = \"K\xfchler\"\n}\n", 2, 19, "byte 0xfc is not UTF-8"},
		{"Latin-1 after an accent", "# e\u0301\xfc\n", 1, 4, "byte 0xfc is not UTF-8"},
		{"Latin-1 after a family", "# 👩‍👩‍👧\xfc\n", 1, 4, "byte 0xfc is not UTF-8"},
		{"Latin-1 after a mark", "\ufeff# \xfc\n", 1, 3, "byte 0xfc is not UTF-8"},
		{"conflict", "axis \"a\" {\n<<<<<<< HEAD\n}\n=======\n>>>>>>> b\n", 2, 1, "merge conflict"},
		{"conflict in line 1", "<<<<<<< HEAD\n", 1, 1, "merge conflict"},
		{"conflict after a mark", "\ufeff<<<<<<< HEAD\n", 1, 1, "merge conflict"},
		{"conflict, its end only", "\r\n>>>>>>> b\r\n", 2, 1, "merge conflict"},
		{"half a block", "axis \"a\" {\n  load {\n", 2, 8, "no closing brace"},
		{"half a head", "axis \"a\"", 1, 9, "opening brace"},
		{"half a text", "axis \"a\" {\n  description = \"x\n}\n", 2, 19, "closing quote"},
		{"mark in the middle", "axis \"a\" {\n  \ufeffload {\n}\n}\n", 2, 3, "byte order mark"},
		{"too large", strings.Repeat("#", MaxFileSize+1), 1, 1, "more than 1 MB large"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := axisFile(c.src)
			checkProblems(t, map[string][]byte{"x.axis.hcl": []byte(c.src)}, f.Problems)
			wantProblem(t, f.Problems, c.line, c.col, c.want)
		})
	}
	for _, src := range []string{"", "\n", "\ufeff", "# only words\n", "\r\n\r\n", "/* */"} {
		if f := axisFile(src); len(f.Problems) > 0 || len(f.Axes) > 0 {
			t.Errorf("%q: %+v", src, f)
		}
	}
}

// A byte order mark takes three bytes and no column.
func TestByteOrderMark(t *testing.T) {
	src := "\ufeffaxis \"a\" { lod {} }\naxis \"b\" {\n  lod {\n  }\n}\n"
	f := axisFile(src)
	checkProblems(t, map[string][]byte{"x.axis.hcl": []byte(src)}, f.Problems)
	src = "\ufeffaxs \"a\" {\n}\nbxis \"b\" {\n}\n"
	f = axisFile(src)
	if len(f.Problems) != 2 {
		t.Fatalf("%+v", f.Problems)
	}
	for i, want := range []string{"axs", "bxis"} {
		p := f.Problems[i].Place
		if got := src[p.Byte:p.EndByte]; got != want || p.Col != 1 {
			t.Errorf("marks %q at column %d, want %q", got, p.Col, want)
		}
	}
}

func TestNumbersOutOfBounds(t *testing.T) {
	for _, c := range []struct{ src, want string }{
		{`mass = "NaN kg"`, "plain decimal"},
		{`mass = "Inf kg"`, "plain decimal"},
		{`mass = "1e999999999 kg"`, "1e999999999 kg"},
		{`mass = "-1e999999999 kg"`, "1e999999999 kg"},
		{`mass = 1e999999999`, "too large"},
		{`mass = "${1e999999999} kg"`, "too large"},
		{`mass = "${1e-999999999} kg"`, "zero"},
		{`mass = "${1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29} kg"`, "load"},
		{`mass = "${given.big} kg"`, ""},
		{`friction = 1e999999999`, "too large"},
		{`friction = 1e-40`, "too small"},
		{`friction = 1e99999999999999999999`, "number"},
		{`friction = 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29`, "too large"},
		{`friction = 1 / 0`, "finite"},
		{`friction = 1 % 0`, "zero"},
		{`friction = -1`, "from 0 to 2"},
		{`friction = 0.1 - "a"`, "number"},
		{`friction = NaN`, `"NaN" is not a value`},
		{`friction = floor(1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29 * 1e29)`, "too large"},
	} {
		src := "given { big = 1e999999999 }\naxis \"a\" {\n load {\n  " + c.src + "\n }\n}\n"
		f := axisFile(src)
		checkProblems(t, map[string][]byte{"x.axis.hcl": []byte(src)}, f.Problems)
		found := false
		for _, p := range f.Problems {
			found = found || p.Place.Line == 4 && strings.Contains(p.Message, c.want) || c.want == "" && p.Place.Line == 1 || c.want == "load" && p.Place.Line == 4
		}
		if !found {
			t.Errorf("%s: no problem with %q in %v", c.src, c.want, f.Problems)
		}
		for _, name := range []string{"load.mass", "load.friction"} {
			if v := f.Axes[0].Get(Language().FieldAt(name)); v != nil && v.Origin == Own && !v.Bad {
				t.Errorf("%s: read as %v", c.src, v.Num)
			}
		}
	}
}

func TestGivenDoubling(t *testing.T) {
	var b strings.Builder
	b.WriteString("given {\n  a0 = \"xx\"\n")
	for i := range 100 {
		fmt.Fprintf(&b, "  a%d = \"${given.a%d}${given.a%d}\"\n", i+1, i, i)
	}
	b.WriteString("}\n")
	wantProblem(t, axisFile(b.String()).Problems, 14, 9, "given.a12 is longer than 4096 bytes")
}

// stubFS serves one file whose opening, size or reading goes wrong.
type stubFS struct {
	name    string
	openErr error
	statErr error
	mode    fs.FileMode
	size    int64
	read    func(p []byte) (int, error)
}

func (s stubFS) Open(name string) (fs.File, error) {
	if name != s.name {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	if s.openErr != nil {
		return nil, &fs.PathError{Op: "open", Path: name, Err: s.openErr}
	}
	return s, nil
}

func (s stubFS) Stat() (fs.FileInfo, error) { return s, s.statErr }
func (s stubFS) Read(p []byte) (int, error) { return s.read(p) }
func (s stubFS) Close() error               { return nil }
func (s stubFS) Name() string               { return s.name }
func (s stubFS) Size() int64                { return s.size }
func (s stubFS) Mode() fs.FileMode          { return s.mode }
func (s stubFS) ModTime() time.Time         { return time.Time{} }
func (s stubFS) IsDir() bool                { return s.mode.IsDir() }
func (s stubFS) Sys() any                   { return nil }
func (s stubFS) ReadDir(dir string) ([]fs.DirEntry, error) {
	return []fs.DirEntry{fs.FileInfoToDirEntry(s)}, nil
}

// statFS answers Stat although opening fails: the file vanished in between.
type statFS struct{ stubFS }

func (s statFS) Stat(name string) (fs.FileInfo, error) { return s.stubFS, nil }

func TestFilesThatGoWrong(t *testing.T) {
	endless := func(p []byte) (int, error) { return copy(p, bytes.Repeat([]byte("#"), len(p))), nil }
	empty := func([]byte) (int, error) { return 0, io.EOF }
	const name = "x.axis.hcl"
	for _, c := range []struct {
		what string
		fsys fs.FS
		want string
	}{
		{"vanishes", statFS{stubFS{name: name, openErr: fs.ErrNotExist}}, "no such file"},
		{"denied", stubFS{name: name, openErr: fs.ErrPermission}, "permission"},
		{"breaks", stubFS{name: name, read: func([]byte) (int, error) { return 0, errors.New("disk on fire") }}, "disk on fire"},
		{"grows", stubFS{name: name, read: endless}, "grew beyond 1 MB"},
		{"shrinks", stubFS{name: name, size: 1000, read: empty}, ""},
		{"large", stubFS{name: name, size: 200 << 20, read: empty}, "200 MB large"},
		{"a little large", stubFS{name: name, size: MaxFileSize + 1, read: empty}, "more than 1 MB large"},
		{"pipe", stubFS{name: name, mode: fs.ModeNamedPipe, read: nil}, "a pipe"},
		{"device", stubFS{name: name, mode: fs.ModeDevice, read: nil}, "a device"},
		{"terminal", stubFS{name: name, mode: fs.ModeDevice | fs.ModeCharDevice, read: nil}, "a device"},
		{"socket", stubFS{name: name, mode: fs.ModeSocket, read: nil}, "a socket"},
		{"folder", stubFS{name: name, mode: fs.ModeDir, read: nil}, "a folder"},
		{"no answer", stubFS{name: name, statErr: errors.New("stale handle")}, "stale handle"},
		{"reads nothing", stubFS{name: name, read: func([]byte) (int, error) { return 0, nil }}, "cannot be read"},
	} {
		t.Run(c.what, func(t *testing.T) {
			f := NewTree(c.fsys).ReadAxes(name)
			if c.want == "" {
				if len(f.Problems) > 0 {
					t.Errorf("%+v", f.Problems)
				}
				return
			}
			wantProblem(t, f.Problems, 1, 1, c.want)
			if len(f.Problems) == 1 && f.Problems[0].Rule != "file" {
				t.Errorf("rule %s", f.Problems[0].Rule)
			}
		})
	}
	// A folder that cannot be listed is reported, by its scope and by a walk.
	denied := deniedFS{}
	wantProblem(t, NewTree(denied).Folder("sub").Problems, 1, 1, "permission")
	wantProblem(t, NewTree(denied).Walk(".", func(string) {}), 1, 1, "permission")
	// Of a folder that is not there nothing is said: standard input may stand in one.
	if p := NewTree(fstest.MapFS{}).Folder("not/there").Problems; len(p) > 0 {
		t.Errorf("%+v", p)
	}
}

type deniedFS struct{}

func (deniedFS) Open(name string) (fs.File, error) {
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrPermission}
}

// The same on a real disk, through a root that cannot be left.
func TestFilesOnDisk(t *testing.T) {
	outer := t.TempDir()
	dir := filepath.Join(outer, "tree")
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(os.MkdirAll(filepath.Join(dir, "sub"), 0o755))
	must(os.WriteFile(filepath.Join(outer, "out.axis.hcl"), []byte("axis \"secret\" {}\n"), 0o644))
	must(os.WriteFile(filepath.Join(dir, "good.axis.hcl"), []byte("axis \"good\" {}\n"), 0o644))
	link := func(to, name string) {
		t.Helper()
		if err := os.Symlink(to, filepath.Join(dir, name)); err != nil {
			t.Skip("no links here:", err)
		}
	}
	link("../out.axis.hcl", "escape.axis.hcl")
	link(filepath.Join(outer, "out.axis.hcl"), "absolute.axis.hcl")
	link("loop.axis.hcl", "loop.axis.hcl")
	link("ping.axis.hcl", "pong.axis.hcl")
	link("pong.axis.hcl", "ping.axis.hcl")
	link("nowhere", "dangling.axis.hcl")
	link("good.axis.hcl", "link.axis.hcl")
	link("../", "sub/parent")
	link(".", "self.axis.hcl")
	link("..", "up")
	must(os.Mkdir(filepath.Join(dir, "folder.axis.hcl"), 0o755))
	must(os.WriteFile(filepath.Join(dir, "folder.axis.hcl", "in.axis.hcl"), nil, 0o644))
	big, err := os.Create(filepath.Join(dir, "big.axis.hcl"))
	must(err)
	must(big.Truncate(200 << 20))
	must(big.Close())
	names := []string{"with space.axis.hcl", "with\"quote.axis.hcl", "with\nline.axis.hcl", "ünïcödé→👩.axis.hcl", "-dash.axis.hcl"}
	for _, n := range names {
		must(os.WriteFile(filepath.Join(dir, n), []byte("axis \"n\" {}\n"), 0o644))
	}
	hasPipe := exec.Command("mkfifo", filepath.Join(dir, "pipe.axis.hcl")).Run() == nil
	if hasPipe {
		link("pipe.axis.hcl", "pipelink.axis.hcl")
	}
	badName := os.WriteFile(filepath.Join(dir, "bad\xff.axis.hcl"), nil, 0o644) == nil

	root, err := os.OpenRoot(dir)
	must(err)
	defer root.Close()
	tree := NewTree(root.FS())
	found := map[string]bool{}
	for _, p := range tree.Walk(".", func(n string) { found[n] = true }) {
		t.Errorf("walk: %v %s", p.Place, p.Message)
	}
	for _, n := range append(names, "good.axis.hcl", "link.axis.hcl", "folder.axis.hcl/in.axis.hcl", "escape.axis.hcl", "loop.axis.hcl",
		"folder.axis.hcl", "self.axis.hcl") { // reading them says what they are
		if !found[n] {
			t.Errorf("walk did not find %q", n)
		}
	}
	for _, n := range []string{"sub/parent/good.axis.hcl", "self.axis.hcl/good.axis.hcl", "up/out.axis.hcl"} {
		if found[n] {
			t.Errorf("walk found %q", n)
		}
	}
	want := map[string]string{
		"escape.axis.hcl":   "out of the tree",
		"absolute.axis.hcl": "out of the tree",
		"loop.axis.hcl":     "round in a circle",
		"ping.axis.hcl":     "round in a circle",
		"dangling.axis.hcl": "no such file",
		"folder.axis.hcl":   "a folder",
		"self.axis.hcl":     "a folder",
		"big.axis.hcl":      "200 MB large",
		"missing.axis.hcl":  "no such file",
	}
	if hasPipe {
		want["pipe.axis.hcl"], want["pipelink.axis.hcl"] = "a pipe", "a pipe"
	}
	if badName {
		want["bad\xff.axis.hcl"] = "not UTF-8"
	}
	for n, text := range want {
		start := time.Now()
		f := tree.ReadAxes(n)
		wantProblem(t, f.Problems, 1, 1, text)
		if len(f.Problems) > 0 && f.Problems[0].Rule != "file" {
			t.Errorf("%s: rule %s", n, f.Problems[0].Rule)
		}
		if d := time.Since(start); d > patience {
			t.Errorf("%s took %v", n, d)
		}
	}
	for _, n := range append(names, "good.axis.hcl", "link.axis.hcl") {
		if f := tree.ReadAxes(n); len(f.Problems) > 0 || len(f.Axes) != 1 {
			t.Errorf("%q: %+v", n, f)
		}
	}
}

// A link named parts may lead to a folder of the tree, but not round in a
// circle without end.
func TestPartsFolderLinks(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		t.Helper()
		name = filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("library/a.parts.hcl", "screw \"k1\" {}\n")
	write("m/x.axis.hcl", "axis \"x\" {\n screw {\n part = screw.k1\n }\n}\n")
	if err := os.Symlink("../library", filepath.Join(dir, "m/parts")); err != nil {
		t.Skip(err)
	}
	write("circle/b.parts.hcl", "screw \"k2\" {}\n")
	_ = os.Symlink(".", filepath.Join(dir, "circle/parts"))
	write("out/x.axis.hcl", "")
	_ = os.Symlink("../..", filepath.Join(dir, "out/parts"))
	write("file/parts", "a list of parts, in words\n")
	root, err := os.OpenRoot(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close()
	tree := NewTree(root.FS())
	f := tree.ReadAxes("m/x.axis.hcl")
	if p := append(f.Problems, tree.Folder("m").Problems...); len(p) > 0 {
		t.Errorf("%+v", p)
	}
	wantProblem(t, tree.Folder("circle").Problems, 1, 7, "declared twice")
	wantProblem(t, tree.Folder("out").Problems, 1, 1, "out of the tree")
	if p := tree.Folder("file").Problems; len(p) > 0 {
		t.Errorf("a file named parts: %+v", p)
	}
}

// TestNumberFits: the bounds themselves, and zero.
func TestNumberFits(t *testing.T) {
	for _, c := range []struct {
		exp  int // of two
		fits bool
	}{{-102, false}, {-101, false}, {-100, true}, {0, true}, {98, true}, {99, false}, {1000, false}} {
		x := math.Ldexp(1, c.exp)
		if NumberFits(big.NewFloat(x)) != c.fits || NumberFits(big.NewFloat(-x)) != c.fits {
			t.Errorf("2^%d: expected %v", c.exp, c.fits)
		}
	}
	if !NumberFits(new(big.Float)) || NumberFits(big.NewFloat(math.Inf(1))) {
		t.Error("zero fits and infinity does not")
	}
}
