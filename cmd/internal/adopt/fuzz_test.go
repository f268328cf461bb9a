package adopt

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"
)

// FuzzTable reads any bytes as a table, twice, as adopt does. Where there is
// nothing to interpret (no quotes, no other line ends, no bytes of other character
// sets) the cells are what splitting the text gives.
func FuzzTable(f *testing.F) {
	for _, name := range []string{"metric", "inch", "mixed"} {
		src, err := os.ReadFile(filepath.Join("testdata", name, "fleet.csv"))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	f.Add([]byte("a;b\r\n\"1\"\"\n\";2"))
	f.Add([]byte("\xff\xfea\x00;\x00b\x00\n\x00"))
	f.Add([]byte("sep=|\na|b\n"))
	f.Add([]byte("K\xfchler\t1\n\x80\x81\n"))
	f.Fuzz(func(t *testing.T, src []byte) {
		file := filepath.Join(t.TempDir(), "x.csv")
		if err := os.WriteFile(file, src, 0o600); err != nil {
			t.Fatal(err)
		}
		tab, err := openTable(file, &Mapping{})
		if err != nil {
			return
		}
		defer tab.close()
		read := func() (out []string) {
			last := 0
			err := tab.rows(context.Background(), func(r *row) error {
				if r.number <= last || len(r.cells) > maxColumns {
					t.Fatalf("row %d with %d cells behind row %d", r.number, len(r.cells), last)
				}
				last = r.number
				var words []string
				for _, c := range r.cells {
					if len(c.text) > 4*maxCell || !utf8.ValidString(c.text) {
						t.Fatalf("row %d holds a cell of %d bytes: %.40q", r.number, len(c.text), c.text)
					}
					words = append(words, fmt.Sprintf("%q%s", c.text, c.trouble))
				}
				out = append(out, fmt.Sprint(r.number, words, r.trouble))
				return nil
			})
			return append(out, fmt.Sprint(err))
		}
		first := read()
		if again := read(); strings.Join(again, "\n") != strings.Join(first, "\n") {
			t.Fatalf("first\n%s\nagain\n%s", strings.Join(first, "\n"), strings.Join(again, "\n"))
		}
		text, plain := tab.(*textTable)
		if !plain || text.lead || strings.ContainsAny(string(src), "\"\r\x00\ufeff") || !utf8.Valid(src) || len(src) > 1000 {
			return
		}
		for i, l := range strings.Split(strings.TrimSuffix(string(src), "\n"), "\n") {
			var words []string
			for _, c := range strings.Split(l, string(text.separator)) {
				words = append(words, fmt.Sprintf("%q", c))
			}
			if want := fmt.Sprint(i+1, words, ""); len(src) > 0 && (i >= len(first) || first[i] != want) {
				t.Fatalf("line %d is read as %s, want %s", i+1, first[min(i, len(first)-1)], want)
			}
		}
	})
}
