package sanitize

import (
	"bytes"
	"encoding/json"
	"errors"
	"maps"
	"strings"
	"testing"
	"unicode"
)

func TestLine(t *testing.T) {
	for in, want := range map[string]string{
		"plain":                 "plain",
		"a\tb":                  "a\tb",
		"no utf-8 \xff":         `no utf-8 \xff`,
		"two\r\nlines":          `two\r\nlines`,
		"\x1b[31mred\x7f":       `\x1b[31mred\x7f`,
		"turn\u202egnp.exe":     `turn\u202egnp.exe`,
		"para\u2029graph":       `para\u2029graph`,
		"\u0085\u009b":          `\u0085\u009b`,
		"no\u200bwidth\ufeff":   `no\u200bwidth\ufeff`,
		"tag\U000e0041":         `tag\U000e0041`,
		"é, 35\u00a0kg, 日本, ⚙":  "é, 35\u00a0kg, 日本, ⚙",
		"::error::x":            `\x3a:error::x`,
		" \t::stop-commands::x": " \t" + `\x3a:stop-commands::x`,
		"\n::error::x":          `\n::error::x`,
		"a::b":                  "a::b",
		"x ##[error]y":          `x \x23#[error]y`,
		"##vso[task.x]":         `\x23#vso[task.x]`,
		"###[a##VSO[":           `#\x23#[a\x23#VSO[`,
		"# ## [":                "# ## [",
		"\u200b::error::x":      `\u200b::error::x`,
		"#\u200b#[error]":       `#\u200b#[error]`,
	} {
		got := Line(in)
		if got != want {
			t.Errorf("Line(%q) = %q, want %q", in, got, want)
		}
		if again := Line(got); again != got {
			t.Errorf("Line(%q) = %q, then %q", in, got, again)
		}
	}
}

// Of every character there is, Line lets none through that is not shown.
func TestEveryCharacter(t *testing.T) {
	for r := rune(0); r <= unicode.MaxRune; r++ {
		got := Line("a" + string(r) + "b")
		seen := got == "a"+string(r)+"b"
		if hidden := unicode.In(r, unicode.Cc, unicode.Cf, unicode.Zl, unicode.Zp, unicode.Bidi_Control) && r != '\t'; hidden && seen {
			t.Errorf("%U comes through", r)
		} else if unicode.In(r, unicode.L, unicode.N, unicode.P, unicode.S) && !seen && !unicode.In(r, unicode.Other_Default_Ignorable_Code_Point) {
			t.Errorf("%U becomes %q", r, got)
		}
	}
}

func TestSprintf(t *testing.T) {
	bad := "a\nb"
	if got := Sprintf("%s|%v|%v|%s|%d\n", bad, errors.New(bad), stringer(bad), Safe("\x1b[0m"), 3); got != `a\nb|a\nb|a\nb|`+"\x1b[0m|3\n" {
		t.Errorf("%q", got)
	}
}

type stringer string

func (s stringer) String() string { return string(s) }

// JSON keeps the value and writes no byte that does something.
func TestJSON(t *testing.T) {
	in := map[string]string{"k\u202e": "\x7f\u0085\u200b\U000e0041 ##[error] ##vso[x é 日 \u2028 \\##[ \n::error::"}
	var b bytes.Buffer
	enc := json.NewEncoder(JSON(&b))
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(in); err != nil {
		t.Fatal(err)
	}
	if i := strings.IndexFunc(b.String(), func(r rune) bool { return Hides(r) && r != '\n' }); i >= 0 || logCommand.MatchString(b.String()) {
		t.Errorf("%q", b.String())
	}
	var out map[string]string
	if err := json.Unmarshal(b.Bytes(), &out); err != nil || !maps.Equal(in, out) {
		t.Errorf("%v\n%q\n%q", err, out, in)
	}
}

func TestMarkdown(t *testing.T) {
	for in, want := range map[string]string{
		"<script>":             "&lt;script&gt;",
		"[x](javascript:y)":    `\[x\](javascript:y)`,
		"a|b\n# c":             `a\|b\\n\# c`,
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
