// Package plain makes values fit for where they are shown: text of strangers
// harmless, numbers countable.
package plain

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"
)

// Line keeps a text on its line and control bytes off the terminal: a line end
// becomes a blank, every other control character, and those that turn the
// direction of writing, and what is not UTF-8, the replacement character. Tabs
// stay.
func Line(s string) string {
	if strings.IndexFunc(s, unsafe) < 0 && utf8.ValidString(s) {
		return s
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\r' || r == '\u2028' || r == '\u2029':
			return ' '
		case unsafe(r):
			return '\ufffd'
		}
		return r
	}, s)
}

func unsafe(r rune) bool {
	return r < ' ' && r != '\t' || r == 0x7f || r >= 0x80 && r < 0xa0 || r >= 0x2028 && r <= 0x202e || r >= 0x2066 && r <= 0x2069
}

// Cell is Line for tables and running text, where a tab is a blank too.
func Cell(s string) string { return strings.ReplaceAll(Line(s), "\t", " ") }

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
