package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"trammel/spec/amount"
	"trammel/spec/step"
)

// A formsOf is the forms of a command, as its value has them.
type formsOf struct {
	command    string
	args       []string // in a copy of the bakery with a change since HEAD
	aside      bool     // what is written into files is not printed
	names, doc []string
}

func of[T any](command string, aside bool, forms []form[T], args ...string) formsOf {
	f := formsOf{command: command, args: args, aside: aside, names: formNames(forms)}
	for _, x := range forms {
		f.doc = append(f.doc, x.doc)
	}
	return f
}

// allFormsOf are the commands that write documents.
var allFormsOf = []formsOf{
	of("check", false, checkForms, "machines/loader"), of("merge", false, checkForms, "1.json"), of("audit", false, auditForms, "machines/loader"),
	of("sheet", true, shaftForms, "machines/loader", "dip"), of("enquiry", true, enquiryForms, "machines/loader", "dip"),
	of("size", true, sizeForms, "machines/palletiser", "mast"), of("compare", true, compareForms, "HEAD"),
}

// readers read a form again; one without a reader fails.
var readers = map[string]func(s string) error{
	"text":     func(s string) error { return holds(s, "!<div", "!\n|---", "axis") },
	"missing":  func(s string) error { return holds(s, "!error:", "# ", "missing") },
	"markdown": func(s string) error { return holds(s, "\n|---", "!<div") },
	"html":     func(s string) error { return holds(s, "<!DOCTYPE html>", "</html>", "default-src 'none'") },
	"json": func(s string) error {
		var doc struct{ Schema string }
		if err := json.Unmarshal([]byte(s), &doc); err != nil {
			return err
		}
		return holds(doc.Schema, "trammel.", "/1")
	},
	"csv": func(s string) error {
		rows, err := csv.NewReader(strings.NewReader(s)).ReadAll()
		if err == nil && len(rows) < 3 {
			err = fmt.Errorf("%d rows", len(rows))
		}
		return err
	},
	"step": func(s string) error {
		m, err := step.Read(strings.NewReader(s))
		if err == nil && (len(m.Bodies) != 1 || !strings.HasPrefix(m.Bodies[0].Name, "shaft of ")) {
			err = fmt.Errorf("got %+v", m)
		}
		return err
	},
	"dxf":   func(s string) error { return holds(s, "\r\nAC1009\r\n", "\r\nOUTLINE\r\n", "\r\n  0\r\nEOF\r\n") },
	"sarif": func(s string) error { return holds(s, `"version": "2.1.0"`) },
	"junit": func(s string) error { return holds(s, "<testsuites", "</testsuites>") },
	"ics": func(s string) error {
		return holds(s, "BEGIN:VCALENDAR\r\n", "BEGIN:VEVENT\r\n", "\r\nSUMMARY:Regrease ", "END:VCALENDAR\r\n")
	},
	"annotations": func(s string) error { return holds(s, "::error ", "::notice") },
}

// holds says which of some texts is missing; one behind ! must be.
func holds(s string, want ...string) error {
	for _, w := range want {
		if not, is := strings.CutPrefix(w, "!"); is == strings.Contains(s, strings.TrimPrefix(w, "!")) {
			return fmt.Errorf("%q (not: %v) is wrong of\n%.600s", not, is, s)
		}
	}
	return nil
}

// TestEveryForm has each command that writes a document write each of its forms, printed
// and into a file, which hold the same and can be read again.
func TestEveryForm(t *testing.T) { everyForm(t, 3) }

func TestLongEveryForm(t *testing.T) {
	amount.Long(t)
	everyForm(t, 1)
}

// everyForm tries one in so many forms of each command.
func everyForm(t *testing.T, of int) {
	t.Helper()
	inBakery(t)
	commitAll(t, "as it was")
	put(t, "1.json", called(t, "check", "--share", "1/1", "--form", "json", "machines/loader").out)
	edit(t, "parts/screws.parts.hcl", `"12.7 kN"`, `"9 kN"`)
	for _, c := range rootCommand().Commands() {
		listed := slices.ContainsFunc(allFormsOf, func(f formsOf) bool { return f.command == c.Name() })
		if has := c.Flags().Lookup("form") != nil; has != listed || has != (c.Flags().Lookup("write") != nil) {
			t.Errorf("%s: has --form: %v, has --write: %v, is tested: %v", c.Name(), has, c.Flags().Lookup("write") != nil, listed)
		}
	}
	for _, f := range allFormsOf {
		for _, form := range amount.Some(f.names, of, strings.Clone) {
			read := readers[form]
			if read == nil {
				t.Errorf("%s: nothing reads %s again", f.command, form)
				continue
			}
			printed := called(t, slices.Concat([]string{f.command, "--form", form}, f.args)...)
			if err := read(printed.out); err != nil || printed.status == exitFailed {
				t.Errorf("%s --form %s: status %d, %s: %v", f.command, form, printed.status, printed.err, err)
			}
			written := called(t, slices.Concat([]string{f.command, "--write", form + "=out." + form}, f.args)...)
			if got := text(t, "out."+form); got != printed.out || (written.out == "") != f.aside {
				t.Errorf("%s --write %s: %d bytes, printed are %d; beside it %.200q", f.command, form, len(got), len(printed.out), written.out)
			}
		}
		both := called(t, slices.Concat([]string{f.command, "--form", "text", "--write", f.names[1] + "=out"}, f.args)...)
		if err := readers["text"](both.out); err != nil {
			t.Errorf("%s: does not print what --form asks for beside --write: %v", f.command, err)
		}
	}
}

// TestFormsInHelp: help names every form with what it is for.
func TestFormsInHelp(t *testing.T) {
	for _, f := range allFormsOf {
		var c *cobra.Command
		for _, x := range rootCommand().Commands() {
			if x.Name() == f.command {
				c = x
			}
		}
		for i, n := range f.names {
			if want := fmt.Sprintf("  %-12s %s\n", n, f.doc[i]); !strings.Contains(c.Long, want) || !strings.Contains(c.Flags().Lookup("form").Usage, n) {
				t.Errorf("the help of %s lacks %q", f.command, want)
			}
		}
	}
}

// TestFormsPage holds the table of forms in docs/forms.md.
func TestFormsPage(t *testing.T) {
	var b bytes.Buffer
	b.WriteString("| commands | form | for |\n|---|---|---|\n")
	seen := map[string]bool{}
	for _, f := range allFormsOf {
		for i, n := range f.names {
			var commands []string
			for _, g := range allFormsOf {
				if k := slices.Index(g.names, n); k >= 0 && g.doc[k] == f.doc[i] {
					commands = append(commands, "`"+g.command+"`")
				}
			}
			line := fmt.Sprintf("| %s | `%s` | %s |\n", strings.Join(commands, ", "), n, f.doc[i])
			if f.doc[i] == "" || strings.ContainsAny(f.doc[i], "|\n") {
				t.Errorf("%s: the form %s has no words, or they break its table", f.command, n)
			}
			if !seen[line] {
				b.WriteString(line)
				seen[line] = true
			}
		}
	}
	const page, begin, end = "../../docs/forms.md", "<!-- forms -->\n", "<!-- end of forms -->\n"
	src, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	head, rest, ok := strings.Cut(string(src), begin)
	_, tail, ok2 := strings.Cut(rest, end)
	if !ok || !ok2 {
		t.Fatal("docs/forms.md has lost the marks around its table of forms")
	}
	for _, n := range formNames(checkForms) {
		if !strings.Contains(tail, "\n## "+n+"\n") {
			t.Errorf("docs/forms.md has no section about %s", n)
		}
	}
	switch made := head + begin + b.String() + end + tail; {
	case made == string(src):
	case !*update:
		t.Error("docs/forms.md does not show these forms; run `make docs` and look at what changed")
	default:
		if err := os.WriteFile(page, []byte(made), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
