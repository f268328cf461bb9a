package format

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/spec"
	"trammel/spec/amount"
)

// hold asks of a tidied text what must be true of all.
func hold(t *testing.T, src []byte) {
	t.Helper()
	before := bytes.Clone(src)
	out, problems := Tidy("x.axis.hcl", src)
	if !bytes.Equal(src, before) {
		t.Fatal("the source was written to")
	}
	if len(problems) > 0 {
		if !bytes.Equal(out, src) {
			t.Errorf("changed in spite of %v\n%q", problems, out)
		}
		for _, p := range problems {
			if p.Rule == "layout" && !(pointApart(src) && strings.HasPrefix(p.Message, changes)) {
				t.Errorf("%v: %q", p, src)
			}
			if p.Place.File != "x.axis.hcl" || p.Place.Line < 1 || p.Place.Col < 1 {
				t.Errorf("place %+v", p.Place)
			}
		}
		return
	}
	if again, problems := Tidy("x.axis.hcl", out); !bytes.Equal(again, out) || len(problems) > 0 {
		t.Errorf("once:\n%q\ntwice:\n%q %v", out, again, problems)
	}
	if a, b := comments(src), comments(out); !slices.Equal(a, b) {
		t.Errorf("comments were\n%q\nare\n%q", a, b)
	}
	if a, b := meaning(src), meaning(out); a != b {
		t.Errorf("laid out as\n%q\nmeant\n%s\nmeans\n%s", out, a, b)
	}
	if len(out) > 0 && (out[len(out)-1] != '\n' || bytes.HasSuffix(out, []byte("\n\n"))) || bytes.HasPrefix(out, []byte("\n")) {
		t.Errorf("ends: %q", out)
	}
	if bytes.Contains(out, []byte("<<")) {
		return // the text of a heredoc may look like anything
	}
	for _, ugly := range []string{" \n", "\t\n", "\r\n", "\n\n\n", "\ufeff#"} {
		if i := bytes.Index(out, []byte(ugly)); i >= 0 && !bytes.Contains(src, []byte("/*")) {
			t.Errorf("%q at %d of %q", ugly, i, out)
		}
	}
}

var table = []struct{ name, in, out string }{
	{"empty", "", ""},
	{"mark only", "\ufeff", ""},
	{"blank only", "\n \n\t\n", ""},
	{"comment only", "# a", "# a\n"},
	{"untouched", "axis \"a\" {\n  load {\n    mass = \"1 kg\"\n  }\n}\n", "axis \"a\" {\n  load {\n    mass = \"1 kg\"\n  }\n}\n"},
	{"indentation", "axis \"a\" {\nload {\n\t\tmass=\"1 kg\"\n      }\n  }\n", "axis \"a\" {\n  load {\n    mass = \"1 kg\"\n  }\n}\n"},
	{"no newline at end", "given {\n  a = 1\n}", "given {\n  a = 1\n}\n"},
	{"CRLF and mark", "\ufeff# é\r\ngiven {\r\n  a = 1 # b \r\n\r\n  /* c \r\n d */\r\n  bb = 2\r\n}\r\n",
		"# é\ngiven {\n  a = 1 # b\n\n  /* c\n d */\n  bb = 2\n}\n"},
	{"runs", "given {\n  a = 1\n  long = 2\n\n  b = 3\n  cc = 4\n}\n", "given {\n  a    = 1\n  long = 2\n\n  b  = 3\n  cc = 4\n}\n"},
	{"trailing comments", "given {\n  a = 1 # one\n  long = 22   // two\n  c = 3\n  d = 4      # four  \n}\n",
		"given {\n  a    = 1  # one\n  long = 22 // two\n  c    = 3\n  d    = 4 # four\n}\n"},
	{"blank lines", "\n\ngiven {\n\n\n  a = 1\n\n\n\n  b = 2\n\n}\n\n\n\naxis \"a\" {\n\n  load {\n  }\n  motion {\n  }\n\n\n  nut {\n  }\n\n}\n\n\n",
		"given {\n  a = 1\n\n  b = 2\n}\n\naxis \"a\" {\n  load {\n  }\n  motion {\n  }\n\n  nut {\n  }\n}\n"},
	{"blocks next to each other", "# head\ngiven {\n}\n# lead\n# of a\naxis \"a\" {\n}\naxis \"b\" {}\naxis \"c\" {\n} # after\n# end\n",
		"# head\ngiven {\n}\n\n# lead\n# of a\naxis \"a\" {\n}\n\naxis \"b\" {}\n\naxis \"c\" {\n} # after\n\n# end\n"},
	{"comments everywhere", "/* a */ axis /* b */ \"a\" /* c */ { # d\n# e\nload { /* f */\n/* g */ mass /* h */ = /* i */ \"1 kg\" /* j */ // k\n# l\n} # m\n# n\n}\n# o",
		"/* a */ axis /* b */ \"a\" /* c */ { # d\n  # e\n  load { /* f */\n    /* g */ mass /* h */ = /* i */ \"1 kg\" /* j */ // k\n    # l\n  } # m\n  # n\n}\n\n# o\n"},
	{"units and numbers as written", "given {\n  a = 1.50e+03\n}\naxis \"a\" {\n  load {\n    mass = \"1.50   kg\"\n    friction = 0.010\n  }\n}\n",
		"given {\n  a = 1.50e+03\n}\n\naxis \"a\" {\n  load {\n    mass     = \"1.50   kg\"\n    friction = 0.010\n  }\n}\n"},
	{"order kept", "axis \"z\" {\n  motion {\n  }\n  description = \"x\"\n  load {\n  }\n}\naxis \"a\" {\n}\n",
		"axis \"z\" {\n  motion {\n  }\n  description = \"x\"\n  load {\n  }\n}\n\naxis \"a\" {\n}\n"},
	{"one-line blocks", "axis \"a\" {\n  load {mass=\"1 kg\"}\n  nut   {   }\n}\n", "axis \"a\" {\n  load { mass = \"1 kg\" }\n  nut {}\n}\n"},
	{"heredoc", "axis \"a\" {\n   description = <<END\r\n  two   \n\n\n\tlines\r\nEND\r\n  orientation=\"vertical\"\n}\n",
		"axis \"a\" {\n  description = <<END\n  two   \n\n\n\tlines\r\nEND\n  orientation = \"vertical\"\n}\n"},
	{"heredoc indented", "axis \"a\" {\n   description=<<-END\n\t two   \n\n\n      lines\n      END\n  orientation=\"vertical\"\n}\n",
		"axis \"a\" {\n  description = <<-END\n\t two   \n\n\n      lines\n      END\n  orientation = \"vertical\"\n}\n"},
	{"emoji", "given {\n  a = \"👩‍👩‍👧\"    # x\n  b = \"é°\" # y\n}\n", "given {\n  a = \"👩‍👩‍👧\"  # x\n  b = \"é°\" # y\n}\n"},
	{"signs", "given {\n  a = -1\n  b = \"${-given.a} mm\" # x\n  c = \"${ - given.a - 1 } mm\" # y\n  d = 2-1\n  e = !true\n}\n",
		"given {\n  a = -1\n  b = \"${-given.a} mm\"     # x\n  c = \"${-given.a - 1} mm\" # y\n  d = 2 - 1\n  e = !true\n}\n"},
	{"lists", "axis \"a\" {\n  screw {\n    part=screw [ \"20x10\" ]\n    end_lengths = [ \"58 mm\",\n\"22 mm\" ,\n]\n  }\n}\n",
		"axis \"a\" {\n  screw {\n    part = screw[\"20x10\"]\n    end_lengths = [\"58 mm\",\n      \"22 mm\",\n    ]\n  }\n}\n"},
	{"series", "series \"a\" {\n  of=\"screw\"\n  columns = [\"name\",\"lead mm\", \"process\" , \"starts\"]\n  sizes = [ # sizes\n[\"a\",5,\"ground\",1],# one\n    # next\n  [\"é10\", 12.5 ,null,null],   // two\n\n [\"c\",-5, \"rolled\",given.x] # three\n  ]\n}\n",
		"series \"a\" {\n  of      = \"screw\"\n  columns = [\"name\", \"lead mm\", \"process\", \"starts\"]\n  sizes = [                # sizes\n    [\"a\",      5, \"ground\", 1],       # one\n    # next\n    [\"é10\", 12.5, null,     null],    // two\n\n    [\"c\",     -5, \"rolled\", given.x]  # three\n  ]\n}\n"},
	{"series not aligned", "series \"a\" {\n  sizes = [[\"a\",1], [\"bb\",2]]\n}\nseries \"b\" {\n  sizes = [\n    [\"a\", 1, /* c */ 2], [\"bb\", 10],\n    [\"a\", 1], [\"c\", 10],\n    [\"abc\",\n      1],\n    [], 7,\n    [\"a\",1,],\n  ]\n}\ngiven {\n  sizes = [\n    [1, 2],\n    [10, 20],\n  ]\n}\n",
		"series \"a\" {\n  sizes = [[\"a\", 1], [\"bb\", 2]]\n}\n\nseries \"b\" {\n  sizes = [\n    [\"a\", 1, /* c */ 2], [\"bb\", 10],\n    [\"a\", 1], [\"c\", 10],\n    [\"abc\",\n    1],\n    [], 7,\n    [\"a\", 1, ],\n  ]\n}\n\ngiven {\n  sizes = [\n    [1, 2],\n    [10, 20],\n  ]\n}\n"},
	{"long condition", "require \"a\" {\n  that = (life_hours>=\"1 h\"\n&& lead<\"5 mm\")\n  message = \"x\"\n}\n",
		"require \"a\" {\n  that = (life_hours >= \"1 h\"\n  && lead < \"5 mm\")\n  message = \"x\"\n}\n"},
}

func TestTable(t *testing.T) {
	for _, c := range table {
		t.Run(c.name, func(t *testing.T) {
			got, problems := Tidy("x.axis.hcl", []byte(c.in))
			if len(problems) > 0 {
				t.Fatal(problems)
			}
			if string(got) != c.out {
				t.Errorf("got\n%s\nwant\n%s\n%q", got, c.out, got)
			}
			hold(t, []byte(c.in))
		})
	}
}

var left = []struct {
	name, in  string
	rule      string
	line, col int32
	says      string
}{
	{name: "open brace", in: "axis \"a\" {\n  load {\n", rule: "syntax", line: 2, col: 8, says: "no closing brace"},
	{name: "behind a mark", in: "\ufeffgiven {\r\n  a = = 1\r\n}\r\n", rule: "syntax", line: 2, col: 7, says: "a value is expected"},
	{name: "merge conflict", in: "given {\n<<<<<<< ours\n}\n", rule: "file", line: 2, col: 1, says: "merge conflict"},
	{name: "NUL", in: "# a\x00\n", rule: "syntax", line: 1, col: 4, says: "NUL"},
	{name: "not UTF-8", in: "# \xff\n", rule: "syntax", line: 1, col: 3, says: "UTF-8"},
	{name: "deep", in: "a = " + strings.Repeat("[", 200) + strings.Repeat("]", 200), rule: "syntax", line: 1, says: "deep"},
	{name: "large", in: strings.Repeat("# a\n", spec.MaxFileSize/4+1), rule: "file", line: 1, col: 1, says: "large"},
}

func TestLeftAlone(t *testing.T) {
	for _, c := range left {
		t.Run(c.name, func(t *testing.T) {
			got, problems := Tidy("d/x.axis.hcl", []byte(c.in))
			if string(got) != c.in {
				t.Error("the text was changed")
			}
			if len(problems) == 0 {
				t.Fatal("no problem")
			}
			p := problems[0]
			if p.Rule != c.rule || !strings.Contains(p.Message, c.says) || p.Place.File != "d/x.axis.hcl" || p.Place.Line != c.line || c.col > 0 && p.Place.Col != c.col {
				t.Errorf("%+v", p)
			}
		})
	}
}

// TestPadding holds that a few long lines cannot ask for gigabytes.
func TestPadding(t *testing.T) {
	var many strings.Builder
	for i := range 1900 {
		fmt.Fprintf(&many, "  a%d = 1 # x\n", i)
	}
	short := many.String()
	for name, src := range map[string]string{
		"before equals":   "given {\n  /*" + strings.Repeat("x", 400000) + "*/ a = 1\n" + short + "}\n",
		"before comments": "given {\n  a = [/*" + strings.Repeat("x", 400000) + "*/ 1] # x\n" + short + "}\n",
	} {
		got, problems := Tidy("x.axis.hcl", []byte(src))
		if string(got) != src || len(problems) == 0 || problems[0].Rule != "layout" {
			t.Errorf("%s: %d bytes, %v", name, len(got), problems)
		}
	}
	// Small enough to align, too large to read once aligned.
	src := "given {\n  a = \"" + strings.Repeat("x", 900) + "\" # x\n" + short + "}\n"
	if got, problems := Tidy("x.axis.hcl", []byte(src)); string(got) != src || len(problems) == 0 {
		t.Errorf("%d bytes, %v", len(got), problems)
	}
}

// TestWhatOthersSay: what is wrong with values or names is not for tidy to
// judge, nor are parts that stand in other files.
func TestWhatOthersSay(t *testing.T) {
	var b strings.Builder
	for range 300 {
		b.WriteString("axis \"a\" {\nscrew {\npart=screw.nowhere\nfoo=1\n}\n}\n")
	}
	for _, src := range []string{b.String(), "axis \"a\" {\nload {\nmass=\"x\"\nmass=1\n}\n}\n", "machine \"m\" {\nload {\ndrag=\"1 parsec\"\n}\n}\n", "given {\na=b\n}\n"} {
		got, problems := Tidy("x.axis.hcl", []byte(src))
		if len(problems) > 0 || string(got) == src {
			t.Errorf("%v", problems)
		}
	}
}

func fixtures(t testing.TB) map[string][]byte {
	var paths []string
	out := map[string][]byte{}
	_ = filepath.WalkDir("../../../fixtures", func(p string, d fs.DirEntry, err error) error {
		if err == nil && spec.IsSpec(p) && d.Type().IsRegular() {
			paths = append(paths, p)
		}
		return nil
	})
	for _, p := range amount.Some(paths, 8, func(p string) string { return p }) {
		src, err := os.ReadFile(p)
		if err != nil {
			t.Fatal(err)
		}
		out[p] = src
	}
	return out
}

// TestFixtures tidies whatever spec files the repository has, also after their
// layout was spoilt.
func TestFixtures(t *testing.T) {
	for p, src := range fixtures(t) {
		if bytes.Contains(src, []byte("<<")) {
			hold(t, src)
			continue
		}
		var b strings.Builder
		for l := range strings.Lines(string(src)) {
			b.WriteString("\t  " + strings.TrimLeft(strings.TrimSuffix(l, "\n"), " ") + "  \r\n")
		}
		spoilt := []byte(b.String())
		hold(t, spoilt)
		one, problems := Tidy("x.axis.hcl", src)
		if len(problems) > 0 {
			continue
		}
		if other, _ := Tidy("x.axis.hcl", spoilt); !bytes.Equal(one, other) && !bytes.Contains(src, []byte("/*")) {
			t.Errorf("%s: one layout for\n%s\nanother for the same spoilt\n%s", p, one, other)
		}
	}
}

// changes is how Tidy begins where a layout would change what a text says.
const changes = "it could not be laid out without changing what it says"

// pointApart reports whether a number is followed by a point and another one with
// room between them: an index in the old style, as in x.0 .1. Without the room they
// are one number, so the formatter would change what they say, and the text is left
// as it is.
func pointApart(src []byte) bool {
	tokens := lex(src)
	for i := 2; i < len(tokens); i++ {
		if tokens[i-2].Type == hclsyntax.TokenNumberLit && tokens[i-1].Type == hclsyntax.TokenDot && tokens[i].Type == hclsyntax.TokenNumberLit {
			return true
		}
	}
	return false
}

func TestPointApart(t *testing.T) {
	src := []byte("a = x.0 .1\nlonger =  1\n")
	if out, problems := Tidy("x.axis.hcl", src); !bytes.Equal(out, src) || len(problems) != 1 || problems[0].Rule != "layout" || !strings.HasPrefix(problems[0].Message, changes) {
		t.Errorf("%q %v", out, problems)
	}
	hold(t, src)
}

func FuzzTidy(f *testing.F) {
	for _, c := range table {
		f.Add([]byte(c.in))
	}
	for _, c := range left {
		if len(c.in) < 1000 {
			f.Add([]byte(c.in))
		}
	}
	for _, src := range fixtures(f) {
		if len(src) < 3000 {
			f.Add(src)
		}
	}
	for _, s := range []string{
		"a = <<-E\n    a ${ 1+\n 2 } b\n    E\nb=1\n",
		"a {\n  x = <<-E\n    a ${ 1+\n 2 } b\n    E\n}\nb {\n}\n",
		"a = \"${\n1\n}\" # x\n", "a = \"%{ if true }-%{ else }${~ -1 ~}%{ endif }\"\n",
		"a = {\n\n b = 1,\n\n\n c : 2 }\n", "a = [for x in [-1] : -x...]\n", "a = f(-1, b...)[*].c.0\n", "a = x::y(1)\n",
		"a = b ? -1 : - 2 # x\n", "a = (\n# c\n1\n-1)\n", "/* a\n b */ x = 1 # y\nzz = 2 /* z */\n", "a = [ # x\n]\n", "a {\n\n\n# x\n\n\n}\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, src []byte) { hold(t, src) })
}

func TestGolden(t *testing.T) {
	src, err := os.ReadFile("testdata/untidy.axis.hcl")
	if err != nil {
		t.Fatal(err)
	}
	want, err := os.ReadFile("testdata/tidy.axis.hcl")
	if err != nil {
		t.Fatal(err)
	}
	got, problems := Tidy("untidy.axis.hcl", src)
	if !bytes.Equal(got, want) || len(problems) > 0 {
		t.Errorf("got\n%s%v", got, problems)
	}
	hold(t, src)
}
