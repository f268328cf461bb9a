package plain

import (
	"bytes"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/spec/amount"
)

// used is memory in which other trees have been before.
var used = sync.Pool{New: func() any { return new(Memory) }}

// same reports whether a text is plain, and holds its tree against the library's.
func same(t testing.TB, src []byte) bool {
	t.Helper()
	m := used.Get().(*Memory)
	defer used.Put(m)
	body, ok := m.Read("a/b.axis.hcl", src)
	if !ok {
		return false
	}
	f, diags := hclsyntax.ParseConfig(src, "a/b.axis.hcl", hcl.InitialPos)
	if len(diags) > 0 {
		t.Fatalf("the library refuses it: %v\n%q", diags, src)
	}
	if !reflect.DeepEqual(f.Body, hcl.Body(body)) {
		t.Fatalf("another tree:\n%s\n%q", src, src)
	}
	return true
}

// corpus is all HCL text of the fixtures.
func corpus(t testing.TB) (texts [][]byte) {
	t.Helper()
	err := filepath.WalkDir("../../fixtures", func(name string, e fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(name, ".hcl") {
			return err
		}
		src, err := os.ReadFile(name)
		texts = append(texts, src)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return texts
}

func TestFixtures(t *testing.T) {
	plain, all := 0, corpus(t)
	for _, src := range all {
		if same(t, src) {
			plain++
		}
		same(t, bytes.ReplaceAll(src, []byte("\n"), []byte("\r\n")))
		same(t, bytes.ReplaceAll(src, []byte("  "), []byte("\t")))
	}
	if plain < len(all)*4/5 {
		t.Errorf("only %d of %d files are plain", plain, len(all))
	}
	t.Logf("%d of %d files are plain", plain, len(all))
}

// TestPlain says what is plain and what is left to the library.
func TestPlain(t *testing.T) {
	for text, want := range map[string]bool{
		"":                              false,
		"\n":                            true,
		"# only a comment\n":            true,
		"# no end of the line":          false,
		"a = 1\n":                       true,
		"a = 1":                         false,
		"a = 1.50\n":                    true,
		"a = 1.\n":                      false,
		"a = 1.5.2\n":                   false,
		"a = 1e5\n":                     false,
		"a = 1m\n":                      false,
		"a = -1\n":                      false,
		"a = 1 + 2\n":                   false,
		"a = (1)\n":                     false,
		"a = true # yes\n":              true,
		"a = truer\n":                   false,
		"a = null\n":                    false,
		"a = word\n":                    false,
		"a = b.c\n":                     true,
		"a = b.c.d\n":                   false,
		"a = true.b\n":                  false,
		"a = b.0\n":                     false,
		"a = b[\"c\"]\n":                false,
		"a = b .c\n":                    false,
		"a = f(1)\n":                    false,
		"a = [1, \"b\", [c.d],\n#\n]\n": true,
		"a = []\n":                      true,
		"a = [1 2]\n":                   false,
		"a = [,]\n":                     false,
		"a = [for x in y : x]\n":        false,
		"a = \"b\"\n":                   true,
		"a = \"\"\n":                    true,
		"a = \"b\" c\n":                 false,
		"a = \"±5 °C µ\"\n":             true,
		"a = \"→ e\u0301 👩‍👩‍👧\" # b\n":   true,
		"a = \"\\u00e9 \\\" $${ 5 %\"\n":  true,
		"a = \"${b.c + 1} kg\"\n":         true,
		"a = \"${b[\"c\"]}\"\n":           false,
		"a = \"open\nb = 1\n":             false,
		"a = \"\\q\"\n":                   false,
		"a == 1\n":                        false,
		"a => 1\n":                        false,
		"a = 1\na = 2\n":                  false,
		"a = 1 // b\n":                    false,
		"a = 1 /* b */\n":                 false,
		"a = <<E\nE\n":                    false,
		"é = 1\n":                         false,
		"aé = 1\n":                        false,
		"a \"b\" {\n}\n":                  true,
		"a \"b\" \"c\" {\n}\n":            false,
		"a b {\n}\n":                      false,
		"a \"é\" {\n}\n":                  false,
		"a {}\n":                          true,
		"a { }\n\tb = 1\r\n":              true,
		"a { b = 1 }\n":                   false,
		"a {\n} b {\n}\n":                 false,
		"a {\n":                           false,
		"}\n":                             false,
		"a {\n  b = 1\n}\na {\n}\n":       true,
		"a\n":                             false,
		"a = \n":                          false,
		"\ufeffa = 1\n":                   false,
		"a = 1\rb = 2\n":                  false,
		"a = 1\r":                         false,
		"a = '1'\n":                       false,
		"a = {\n}\n":                      false,
		"a = 00012345678901234567890.5\n": true,
	} {
		if got := same(t, []byte(text)); got != want {
			t.Errorf("%q is plain: %v", text, got)
		}
	}
}

func TestSwitchedOff(t *testing.T) {
	defer func(was bool) { off = was }(off)
	off = true
	if _, ok := Read("x", []byte("a = 1\n")); ok {
		t.Error("it reads all the same")
	}
}

// Bits are put into texts to make others of them.
var bits = strings.Split(`"|{|}|[|]|=|==|=>|#|//|/*|*/|${|%{|$|%|$$|%%|\|\n|\u00e9|é|e`+"\u0301|\u0301"+`|±|°|µ|μ|🇩🇪|👨‍👩‍👧|`+"\r|\r\n|\t|\n"+
	`|.|..|...|,|-|1e5|1.|1.5.2|.5|for|null|true|a.b|a.0|a[0]|a["x"]|f(1)|::|?|:|`+"\u00ad|\u200d|\u00a0|\u0085|\xff|\x00|\x7f| |  |"+
	`""|'|;|!|&&|a-b|_x|x = 1|x {}|x { y = 1 }|`+"<<E\nx\nE\n|x \"l\" {\n}\n|x l {\n}\n|\ufeff|`", "|")

// varied makes another text of one: a window of it, a few bytes left out, a few bits put in.
func varied(r *rand.Rand, src []byte) []byte {
	src = bytes.Clone(src)
	if len(src) > 600 && r.IntN(4) > 0 {
		from := r.IntN(len(src) - 300)
		src = balanced(src[from : from+300])
	}
	for range r.IntN(4) {
		at := r.IntN(len(src) + 1)
		if r.IntN(4) == 0 && at < len(src) {
			src = append(src[:at:at], src[at+1:]...)
			continue
		}
		src = append(src[:at:at], append([]byte(bits[r.IntN(len(bits))]), src[at:]...)...)
	}
	return src
}

// balanced is a window of whole lines, with the blocks closed that open in it.
func balanced(src []byte) []byte {
	src = src[bytes.IndexByte(src, '\n')+1:]
	src = bytes.Clone(src[:bytes.LastIndexByte(src, '\n')+1])
	open := bytes.Count(src, []byte("{")) - bytes.Count(src, []byte("}"))
	for ; open < 0; open++ {
		src = append([]byte("a {\n"), src...)
	}
	return append(src, strings.Repeat("}\n", open)...)
}

// TestVaried holds a few thousand texts made by chance against the library; a few hundred
// thousand were, by hand, when the reader was written.
func TestVaried(t *testing.T) {
	all, r, plain := corpus(t), rand.New(rand.NewPCG(1, 2)), 0
	n := amount.Of(300000, 3000)
	for range n {
		if same(t, varied(r, all[r.IntN(len(all))])) {
			plain++
		}
	}
	if plain < n/10 {
		t.Errorf("only %d of %d texts are plain", plain, n)
	}
	t.Logf("%d of %d texts are plain", plain, n)
}

func FuzzRead(f *testing.F) {
	for _, src := range corpus(f) {
		f.Add(src)
	}
	f.Fuzz(func(t *testing.T, src []byte) { same(t, src) })
}

// BenchmarkRead reads the fixtures without the library and with it: the
// metric "times-library" is the ratio that counts.
func BenchmarkRead(b *testing.B) {
	texts := corpus(b)
	b.ReportAllocs()
	var times [2]time.Duration
	m := new(Memory)
	for b.Loop() {
		start := time.Now()
		for _, s := range texts {
			m.Read("a/b.axis.hcl", s)
		}
		half := time.Now()
		for _, s := range texts {
			hclsyntax.ParseConfig(s, "a/b.axis.hcl", hcl.InitialPos)
		}
		times[0] += half.Sub(start)
		times[1] += time.Since(half)
	}
	b.ReportMetric(float64(times[0])/float64(times[1]), "times-library")
}
