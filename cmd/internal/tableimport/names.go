package tableimport

import (
	"hash/maphash"
	"iter"
	"maps"
	"path"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"trammel/cmd/internal/sanitize"
	"trammel/spec"
)

func mapKeys[V any](m map[string]V) iter.Seq[string] { return maps.Keys(m) }

func validText(src []byte) bool {
	return utf8.Valid(src) && !strings.ContainsRune(string(src), 0)
}

// fold makes texts comparable that differ in case and white space only.
func fold(s string) string {
	return strings.ToLower(strings.Join(strings.Fields(s), " "))
}

// clip shortens text for a message or comment.
func clip(s string) string {
	const most = 60
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	r := []rune(s[:min(len(s), 4*most)])
	return string(r[:min(len(r), most-1)]) + "…"
}

// comment makes text fit to stand in a comment, and in a line of a report: on
// one line, short, and without characters that steer a terminal.
func comment(s string) string {
	if isPlain(s) && !strings.Contains(s, "  ") && strings.TrimSpace(s) == s {
		return sanitize.Line(clip(s))
	}
	return sanitize.Line(clip(strings.Join(strings.Fields(s), " ")))
}

// Bounds on names: a name of the language has 100 characters at most, one of a
// file 255 bytes, its ending included.
const (
	nameRunes = 80
	nameBytes = 200
)

// safeName turns a cell into a name of the language, which is fit for a file
// too: letters, digits and . _ + -, beginning with a letter, digit or _. It
// is "" where nothing of the cell is left.
func safeName(s string) string {
	var b strings.Builder
	count, gap := 0, false
	for _, r := range norm.NFC.String(s[:min(len(s), 4096)]) {
		word := unicode.IsLetter(r) || unicode.IsNumber(r) || r == '_'
		switch {
		case r == utf8.RuneError:
			gap = true
			continue
		case word || count > 0 && !gap && (r == '.' || r == '+' || r == '-'):
		default:
			gap = true
			continue
		}
		if gap && count > 0 {
			b.WriteByte('-')
			count++
		}
		gap = false
		if count >= nameRunes || b.Len()+utf8.RuneLen(r) > nameBytes {
			break
		}
		b.WriteRune(r)
		count++
	}
	return strings.TrimRight(b.String(), ".+-")
}

// safeFile turns a name into one that is no special name of the language or
// of a common system.
func safeFile(name string) string {
	base, _, _ := strings.Cut(strings.ToLower(name), ".")
	special := base == "con" || base == "prn" || base == "aux" || base == "nul" ||
		len(base) == 4 && (strings.HasPrefix(base, "com") || strings.HasPrefix(base, "lpt")) ||
		strings.EqualFold(name, "parts") || strings.EqualFold(name, "machine")
	if special {
		name = "_" + name
	}
	if spec.IsSpec(strings.ToLower(name)) {
		return name + "_"
	}
	return name
}

// fill makes a name of a template. A slash of the template parts folders; one
// of a cell does not. The second result is the place in parts of a cell that
// gives no name, or -1.
func (t *template) fill(cell func(part int) string) (string, int) {
	var b strings.Builder
	for i, p := range t.parts {
		if !p.column {
			b.WriteString(p.text)
			continue
		}
		s := safeName(cell(i))
		if s == "" {
			return "", i
		}
		b.WriteString(s)
	}
	return b.String(), -1
}

// folders makes a filled template a path below the output folder.
func folders(s string) string {
	var out []string
	for part := range strings.SplitSeq(s, "/") {
		if part = safeName(part); part != "" {
			out = append(out, safeFile(part))
		}
	}
	return path.Join(out...)
}

// A register gives out names that differ from each other, on systems that do
// not tell case apart too. It keeps a number for each name, not the name.
type register struct {
	seed maphash.Seed
	used map[uint64]uint32
}

func newRegister() *register {
	return &register{maphash.MakeSeed(), map[uint64]uint32{}}
}

// take returns the name, or one made of it where it is taken in the folder.
func (r *register) take(folder, name string) (string, bool) {
	key := func(n string) uint64 {
		return maphash.String(r.seed, strings.ToLower(folder+"\x00"+n))
	}
	first := key(name)
	n := r.used[first]
	if n == 0 {
		r.used[first] = 1
		return name, true
	}
	for {
		n++
		r.used[first] = n
		other := name + "-" + strconv.Itoa(int(n))
		if k := key(other); r.used[k] == 0 {
			r.used[k] = 1
			return other, false
		}
	}
}
