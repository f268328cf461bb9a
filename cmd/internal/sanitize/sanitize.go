// Package sanitize is the one way by which what others wrote reaches a terminal, a
// log, an annotation or a document: every path, name, text and reason goes through
// Line, or through one of the functions here that use it.
package sanitize

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
)

// Line makes a text harmless that is shown on a line. What is not seen but does
// something is written as an escape, as \x1b or \u202e: control characters, line
// breaks, what turns the direction of writing, what has no width, and bytes that
// are not UTF-8. Tabs stay. What a log reader would take for a command is broken
// up in the same way: "::" at the beginning and "##name[" anywhere. Line of a Line
// is the same.
func Line(s string) string {
	if isPlain(s) {
		return s
	}
	var b strings.Builder
	for len(s) > 0 {
		r, n := utf8.DecodeRuneInString(s)
		switch {
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&b, `\x%02x`, s[0])
		case Hides(r) && r != '\t':
			b.WriteString(escape(r))
		default:
			b.WriteString(s[:n])
		}
		s = s[n:]
	}
	return breakUp(b.String(), `\x3a`, `\x23`)
}

// isPlain reports text of visible ASCII and tabs without commands, which most
// text is.
func isPlain(s string) bool {
	for i := 0; i < len(s); i++ {
		if c := s[i]; c < ' ' && c != '\t' || c >= 0x7f || c == '#' || c == ':' && strings.HasPrefix(s[i:], "::") {
			return false
		}
	}
	return true
}

// Hides reports a character that is not seen but does something: of a control, or
// one that Unicode says is not shown.
func Hides(r rune) bool {
	switch {
	case r < ' ', r >= 0x7f && r < 0xa0:
		return true
	case r < 0xad:
		return false
	}
	return unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp, unicode.Other_Default_Ignorable_Code_Point, unicode.Variation_Selector)
}

func escape(r rune) string {
	switch {
	case r == '\n':
		return `\n`
	case r == '\r':
		return `\r`
	case r < 0x80:
		return fmt.Sprintf(`\x%02x`, r)
	case r > 0xffff:
		return fmt.Sprintf(`\U%08x`, r)
	}
	return fmt.Sprintf(`\u%04x`, r)
}

// logCommand is what log readers take for a command wherever it stands.
var logCommand = regexp.MustCompile(`#(#[A-Za-z_]*\[)`)

// breakUp takes commands for log readers apart: colon stands for the first sign of
// one at the beginning, hash for that of one anywhere.
func breakUp(s, colon, hash string) string {
	// Readers look behind blanks too.
	if rest := strings.TrimLeftFunc(s, unicode.IsSpace); strings.HasPrefix(rest, "::") {
		s = s[:len(s)-len(rest)] + colon + rest[1:]
	}
	if !strings.Contains(s, "##") {
		return s
	}
	return logCommand.ReplaceAllString(s, strings.ReplaceAll(hash, "$", "$$")+"$1")
}

// Lines is Line for text whose line breaks are meant.
func Lines(s string) string {
	lines := strings.Split(s, "\n")
	for i := range lines {
		lines[i] = Line(lines[i])
	}
	return strings.Join(lines, "\n")
}

// Cell is Line for tables and running text, where a tab is a blank.
func Cell(s string) string { return strings.ReplaceAll(Line(s), "\t", " ") }

// Safe is text that has gone through Line already, or is the program's own.
type Safe string

// Fprintf is fmt.Fprintf with every text, error and Stringer among the arguments
// as Line gives it, but for a Safe.
func Fprintf(w io.Writer, format string, args ...any) (int, error) {
	return io.WriteString(w, Sprintf(format, args...))
}

// Sprintf is fmt.Sprintf as Fprintf is fmt.Fprintf.
func Sprintf(format string, args ...any) string {
	clean := make([]any, len(args))
	for i, a := range args {
		switch a := a.(type) {
		case Safe:
			clean[i] = string(a)
		case string:
			clean[i] = Line(a)
		case error:
			clean[i] = Line(a.Error())
		case fmt.Stringer:
			clean[i] = Line(a.String())
		default:
			clean[i] = a
		}
	}
	return fmt.Sprintf(format, clean...)
}

// JSON gives a writer for the output of an encoder, which writes one value whole
// at a time: what Line would show as an escape becomes one of JSON, so that the
// value is the same and the bytes are harmless.
func JSON(w io.Writer) io.Writer { return jsonWriter{w} }

type jsonWriter struct{ w io.Writer }

func (j jsonWriter) Write(p []byte) (int, error) {
	if _, err := j.w.Write(jsonBytes(p)); err != nil {
		return 0, err
	}
	return len(p), nil
}

func jsonBytes(p []byte) []byte {
	var b bytes.Buffer
	done := 0 // bytes of p that are taken over
	for i := 0; i < len(p); {
		if c := p[i]; c < 0x7f {
			i++
			continue
		}
		r, n := utf8.DecodeRune(p[i:])
		if Hides(r) {
			b.Write(p[done:i])
			for _, unit := range utf16.Encode([]rune{r}) {
				fmt.Fprintf(&b, `\u%04x`, unit)
			}
			done = i + n
		}
		i += n
	}
	if done > 0 {
		b.Write(p[done:])
		p = b.Bytes()
	}
	if bytes.Contains(p, []byte("##")) {
		p = logCommand.ReplaceAll(p, []byte(`\u0023$1`))
	}
	return p
}

// Markdown makes a text show as itself in Markdown, never as markup or link,
// nor as a list or heading where it begins a line.
func Markdown(s string) string {
	s = markdown.Replace(strings.TrimSpace(Cell(s)))
	digits := len(s) - len(strings.TrimLeft(s, "0123456789"))
	switch rest := s[digits:]; {
	case digits > 0 && (strings.HasPrefix(rest, ". ") || strings.HasPrefix(rest, ") ")):
		return s[:digits] + `\` + rest
	case digits == 0 && rest != "" && strings.ContainsRune("-+=", rune(rest[0])) && !isNumber(rest):
		return `\` + s
	}
	return s
}

// isNumber reports a signed number, which begins no list.
func isNumber(s string) bool { return len(s) > 1 && s[1] >= '0' && s[1] <= '9' }

var markdown = strings.NewReplacer(`\`, `\\`, "`", "\\`", "*", `\*`, "_", `\_`, "[", `\[`, "]", `\]`,
	"<", "&lt;", ">", "&gt;", "&", "&amp;", "|", `\|`, "#", `\#`, "~", `\~`, "!", `\!`, "$", `\$`, "@", "&#64;",
	"://", "&#58;//", "www.", "www&#46;")

// Finite is a number for JSON, which has no other: nil for what is not known or
// without bound.
func Finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

// Count writes a number with its noun: "1 axis", "3 axes".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
