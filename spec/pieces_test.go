package spec

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"

	"trammel/spec/amount"
)

const inPieces = `# a library

screw "a" {
  lead             = "10 mm"
  nominal_diameter = "20 mm"
}

nut "n" {
  length = "40 mm"
}
# between
series "s" {
  of      = "screw"
  process = "ground"
  columns = ["name", "lead mm", "nominal_diameter mm"]
  sizes = [
    ["s1", 5, 16],
    ["s2", 10, 16],
  ]
}

grease "g" {
  description = "50 µm … ±3"
  thickener   = "lithium"
}

screw "b" { lead = "5 mm" }
motor "m" {
  rated_torque = "3 N m" # of its plate
}
`

// pieceEdits are what the test writes.
var pieceEdits = []string{"", "", "x", "7", "\"", "}\n", "\n}\n", "{", "\n", "\r\n", "}\r\n", "/*", "*/\n", "/* }\n}\n */\n", "<<X\n}\nX\n", "µ", "𝒙é", "\ufeff", "\u202e", "given {\n  q = \"3 mm\"\n}\n",
	"screw \"a\" {\n  lead = \"4 mm\"\n}\n", "screw \"c\" { lead = \"4 mm\" }\n", "unknown \"a\" {\n}\n", "a = 1\n", "series \"s\" {\n  of = \"nut\"\n}\n", "given.q", "# \r", "${", "screw \"p\" \"q\" {\n}\n"}

// TestPieces: a parts file that is read by pieces, while it is edited at random, is what a
// tree makes of it that sees it for the first time.
func TestPieces(t *testing.T) {
	t.Parallel()
	disk := fstest.MapFS{"parts/other.parts.hcl": {Data: []byte("screw \"o\" {\n  lead = \"8 mm\"\n}\n")}, "m/own.parts.hcl": {Data: []byte("screw \"own\" {\n}\n")}}
	const name = "parts/x.parts.hcl"
	byPieces, asWhole, broken := 0, 0, 0
	for round := range amount.Of(400, 15) {
		rnd := rand.New(rand.NewPCG(uint64(round), 3))
		edited := NewTree(disk)
		text := inPieces
		for n := range 40 {
			src := []byte(text)
			edited.Unsaved(name, src)
			edited.Forget(".")
			fresh := NewTree(fstest.MapFS{"parts/other.parts.hcl": disk["parts/other.parts.hcl"], "m/own.parts.hcl": disk["m/own.parts.hcl"], name: {Data: src}})
			problems := Syntax(name, src)
			if got := edited.Syntax(name, src); len(problems)+len(got) > 0 && !reflect.DeepEqual(got, problems) {
				t.Fatalf("round %d, edit %d: errors of syntax %v, want %v\n%s", round, n, got, problems, text)
			}
			switch read := edited.read[name]; {
			case len(problems) > 0:
				broken++
			case read != nil && &read.src[0] == &src[0]:
				byPieces++
			default:
				asWhole++
			}
			for _, dir := range []string{".", "m"} {
				got, want := edited.Folder(dir), fresh.Folder(dir)
				if got, want := inFull(got), inFull(want); got != want {
					t.Fatalf("round %d, edit %d, folder %s:\n%s\nwant\n%s\n%s", round, n, dir, got, want, text)
				}
			}
			if rnd.IntN(3) == 0 {
				text = inPieces
			}
			at := boundary(text, rnd.IntN(len(text)+1))
			if rnd.IntN(2) == 0 { // at the beginning of a line
				at = strings.LastIndexByte(text[:at], '\n') + 1
			}
			to := boundary(text, min(len(text), at+rnd.IntN(1+rnd.IntN(30))))
			text = text[:at] + pieceEdits[rnd.IntN(len(pieceEdits))] + text[max(at, to):]
		}
	}
	if byPieces < amount.Of(100, 30) || asWhole < 10 || broken < 100 {
		t.Errorf("%d read by pieces, %d as a whole, %d broken: the test does not try all", byPieces, asWhole, broken)
	}
}

// inFull writes all that is known of a folder.
func inFull(f *Folder) string {
	var b strings.Builder
	fmt.Fprintln(&b, f.Problems, f.unread, f.digest, len(f.parts))
	for _, p := range f.names {
		fmt.Fprintln(&b, p.Kind, p.Name, p.Place, p.Place.Byte, p.Place.EndByte, f.parts[p.Kind+"."+p.Name] == p)
		for _, v := range p.values {
			if v != nil {
				fmt.Fprintln(&b, " ", v.Field.Path, v.Num, v.Ends, v.Text, v.Word, v.Flag, fmt.Sprintf("%+v", v.Place), v.Origin, v.Bad, v.Unclear, v.Part, v.Axes, v.Ref == nil, v.column, v.given != nil)
			}
		}
	}
	return b.String()
}

// boundary is the beginning of the character in which a byte stands.
func boundary(s string, at int) int {
	for at > 0 && at < len(s) && s[at]&0xC0 == 0x80 {
		at--
	}
	return at
}

// BenchmarkPieces is the time to read a library of two thousand screws with a key pressed
// in it.
func BenchmarkPieces(b *testing.B) {
	var text strings.Builder
	for i := range 2000 {
		fmt.Fprintf(&text, "screw \"many%d\" {\n  nominal_diameter = \"%d mm\"\n  lead = \"20 mm\"\n  root_diameter = \"%d mm\"\n  ball_diameter = \"3.1 mm\"\n  dynamic_rating = \"12 kN\"\n  static_rating = \"20 kN\"\n  process = \"ground\"\n}\n\n", i, 20+i%40, 17+i%40)
	}
	src := text.String()
	tr := NewTree(fstest.MapFS{})
	n := 0
	for b.Loop() {
		n++
		tr.Unsaved("x.parts.hcl", []byte(strings.Replace(src, "lead = \"20", "lead = \""+fmt.Sprint(n), 1)))
		tr.Forget(".")
		if len(tr.Folder(".").Parts()) != 2000 {
			b.Fatal("parts are missing")
		}
	}
}
