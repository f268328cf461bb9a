package plain

import (
	"testing"
)

func TestLine(t *testing.T) {
	for in, want := range map[string]string{
		"plain":                "plain",
		"a\tb":                 "a\tb",
		"no utf-8 \xff":        "no utf-8 \ufffd",
		"two\r\nlines":         "two  lines",
		"\x1b[31mred":          "\ufffd[31mred",
		"turn\u202egnp.exe":    "turn\ufffdgnp.exe",
		"para\u2029graph":      "para graph",
		"\u0085\u009b":         "\ufffd\ufffd",
		"emoji 👩‍🔧 and é stay": "emoji 👩‍🔧 and é stay",
	} {
		if got := Line(in); got != want {
			t.Errorf("Line(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestMarkdown(t *testing.T) {
	for in, want := range map[string]string{
		"<script>":             "&lt;script&gt;",
		"[x](javascript:y)":    `\[x\](javascript:y)`,
		"a|b\n# c":             `a\|b \# c`,
		"http://x.example @me": "http&#58;//x.example &#64;me",
		"1. first":             `1\. first`,
		"- item":               `\- item`,
		"-4.5 %":               "-4.5 %",
	} {
		if got := Markdown(in); got != want {
			t.Errorf("Markdown(%q) = %q, want %q", in, got, want)
		}
	}
}
