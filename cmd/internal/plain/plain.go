// Package plain makes text of strangers harmless for where it is shown.
package plain

import (
	"fmt"
	"strings"
)

// Line keeps a text on its line and control bytes off the terminal: a line end
// becomes a blank, every other control character, and those that turn the
// direction of writing, the replacement character. Tabs stay.
func Line(s string) string {
	if strings.IndexFunc(s, unsafe) < 0 {
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

// Markdown makes a text show as itself in Markdown, never as markup or link.
func Markdown(s string) string {
	return markdown.Replace(Line(s))
}

var markdown = strings.NewReplacer(`\`, `\\`, "`", "\\`", "*", `\*`, "_", `\_`, "[", `\[`, "]", `\]`,
	"<", "&lt;", ">", "&gt;", "&", "&amp;", "|", `\|`, "#", `\#`, "~", `\~`, "!", `\!`, "$", `\$`, "@", "&#64;",
	"://", "&#58;//", "www.", "www&#46;")

// Count writes a number with its noun: "1 axis", "3 axes".
func Count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
