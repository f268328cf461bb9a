package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"trammel/cmd/internal/sanitize"
)

const (
	threatName  = "Names of files and folders that do something when shown"
	threatText  = "Texts that do something when shown"
	threatRaw   = "Files that hold more than is seen"
	threatShare = "Shares that were not written by trammel"
	threatKnown = "Lists of known findings that were not written by trammel"
)

// A payload is text that does something to who looks at it.
type payload struct{ name, text string }

var payloads = []payload{
	{"escape sequences", "\x1b[2J\x1b]0;x\x07"},
	{"control characters above ASCII", "\u009b31m\u0085x"},
	{"turned writing", "\u202egnp\u2066x"},
	{"no width", "a\u200b\u2060\ufeffb"},
	{"tags that are not seen", "a\U000e0041\U000e007fb"},
	{"a line of its own", "x\n::error::pwned"},
	{"a returning carriage", "x\r::error::pwned"},
	{"a command at its beginning", "::error file=a,line=1::pwned"},
	{"a command behind a blank", " ::set-output name=a::pwned"},
	{"commands within", "x##[error]pwned ##vso[task.complete]pwned"},
	{"a line separator", "x\u2028::error::pwned"},
	{"delete", "x\x7f\x7f\x7f"},
}

// written is a payload as a text of the language, which shows in the source.
func (p payload) written() string {
	var b strings.Builder
	for _, r := range p.text {
		switch {
		case r == '"' || r == '\\':
			b.WriteString(`\` + string(r))
		case r > 0xffff:
			fmt.Fprintf(&b, `\U%08x`, r)
		case r < ' ' || r > '~':
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// logCommands are what log readers act on, in a line as they see it: without the
// blanks around it.
var (
	logCommands = regexp.MustCompile(`(?i)##[a-z_]*\[`)
	ownCommand  = regexp.MustCompile(`^::(error|warning|notice) [^:]*title=`)
)

// harmless looks at every byte of what was printed.
func harmless(f *field, out string) {
	f.Helper()
	looked(f.T, "the output", out, false)
}

// looked holds a text against what is true of all that is printed or written:
// nothing that is not seen, and no command of a log but where those are the form.
func looked(t *testing.T, what, text string, commands bool) {
	t.Helper()
	if !utf8.ValidString(text) {
		t.Errorf("%s is not UTF-8: %.300q", what, text)
	}
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		if i := strings.IndexFunc(line, func(r rune) bool { return sanitize.Hides(r) && r != '\t' }); i >= 0 {
			t.Errorf("%s has %.20q in %.300q", what, line[i:], line)
		}
		if logCommands.MatchString(line) {
			t.Errorf("%s has a command: %.300q", what, line)
		}
		if !commands && strings.HasPrefix(strings.TrimSpace(line), "::") {
			t.Errorf("%s has a command: %.300q", what, line)
		}
		if commands && strings.HasPrefix(strings.TrimSpace(line), "::") && !ownCommand.MatchString(line) {
			t.Errorf("%s has a command of the stranger's: %.300q", what, line)
		}
	}
}

// everyCommand runs every command in every form and looks at all they print.
func everyCommand(f *field) {
	f.Helper()
	for _, args := range strings.Split(strings.TrimSpace(printing), "\n") {
		_, out := f.run(strings.Fields(args)...)
		looked(f.T, args, out, strings.Contains(args, "annotations"))
		for _, name := range []string{"o1", "o2"} {
			ends := "\n"
			if strings.Contains(args, "csv="+name) {
				ends = "\r\n" // as tables have it
			}
			if text := strings.ReplaceAll(f.read("repo/"+name), ends, "\n"); text != "" {
				looked(f.T, args+", what it wrote", text, strings.Contains(args, "annotations="+name))
				_ = os.Remove(filepath.Join(f.repo, name))
			}
		}
	}
}

// printing are runs that print what stands in files.
const printing = `
check --no-cache --waived
check --no-cache --color always --form json
check --no-cache --form sarif --write junit=o1 --write annotations=o2
check --no-cache --form annotations
check m --no-cache --write json=o1 --write sarif=o2
check --no-cache --known known.txt
rules m
audit
audit --form json --write html=o1 --write csv=o2
sheet m lift
sheet m lift --form markdown
sheet m lift --form html
enquiry m lift
size m lift
tidy --check
adopt table.csv --try
`

// raw says whether a payload can be a part of a file's name.
func (p payload) named() string { return strings.NewReplacer("/", "∕").Replace(p.text) }

const policyText = `
rule "overtravel" {
  limit  = 1.5
  reason = "%[1]s"
}

rule "slenderness" {
  severity = "warning"
  reason   = "%[1]s"
}

require "house" {
  that    = motion.stroke < "1 mm"
  message = "%[1]s"
  reason  = "%[1]s"
}
`

const axisText = `axis "lift" {
  description = "%[1]s"
  orientation = "vertical"
  load {
    mass = "20 kg"
  }
  motion {
    stroke = "300 mm"
    move "out" {
      distance = "300 mm"
      speed    = "%[1]s"
    }
  }
  screw {
    part = screw["%[1]s"]
  }
  waive "overtravel" {
    reason = "%[1]s"
    until  = "2099-01-01"
  }
  waive "%[1]s" {
    reason = "%[1]s"
    until  = "%[1]s"
  }
  "%[1]s" = 1
}
`

// everything is all payloads at once, in every field there is.
func everything(f *field) {
	all := payload{}
	for _, p := range payloads {
		all.text += p.text + " "
		f.write("repo/m/"+p.named()+"/x.axis.hcl", "axs \"lift\" {\n}\n")
	}
	f.write("repo/m/lift.axis.hcl", fmt.Sprintf(axisText, all.written()))
	f.write("repo/m/b.axis.hcl", boundsAxis("hoist", "", 2, "")+"# "+strings.ReplaceAll(all.text, "\n", " ")+"\n")
	f.write("repo/m/p.policy.hcl", fmt.Sprintf(policyText, all.written()))
	f.write("repo/x/p.policy.hcl", "# "+strings.ReplaceAll(all.text, "\n", " ")+"\nrule \"x\" {\n")
	f.write("repo/known.txt", fmt.Sprintf("trammel-known 1\ncritical-speed \"%[1]s\" \"%[1]s\" \"%[1]s\" 1.2 1\n", all.written()))
	cell := strings.ReplaceAll(all.text, `"`, `""`)
	f.write("repo/table.csv", fmt.Sprintf("Name,Mass,\"%[1]s\"\na,\"%[1]s\",\"%[1]s\"\n\"%[1]s\",2,3\n", cell))
	f.write("repo/table.map.hcl", boundsMap)
}

// everythingReadable is everything in the texts of files that can be read whole.
func everythingReadable(f *field) {
	all := payload{}
	for _, p := range payloads {
		all.text += p.text + " "
	}
	good := strings.Replace(boundsAxis("lift", "", 2, ""), "{\n", "{\ndescription = \""+all.written()+"\"\nwaive \"slenderness\" {\nreason = \""+all.written()+"\"\nuntil = \"2099-01-01\"\n}\n", 1)
	f.write("repo/m/lift.axis.hcl", good)
	f.write("repo/m/x.parts.hcl", "motor \"m\" {\n}\n")
	f.write("repo/m/p.policy.hcl", fmt.Sprintf(policyText, all.written()))
	f.write("repo/known.txt", "trammel-known 1\n")
	f.write("repo/table.csv", "Name,Mass\na,1\n")
	f.write("repo/table.map.hcl", boundsMap)
}

func init() {
	attacks = append(attacks,
		attack{
			threat: threatText, name: "all of these at once, in every name and text there is", holds: "no byte that any command prints or writes, in any form, does something",
			set: everything, args: []string{"check", "--no-cache"}, status: exitFailed, says: "error", after: func(f *field, _ string) { everyCommand(f) },
		},
		attack{
			threat: threatText, name: "all of these at once, in files that can be read whole", holds: "no byte that any command prints or writes, in any form, does something",
			set: everythingReadable, args: []string{"check", "--no-cache", "--waived"}, status: anyOf, says: "house", after: func(f *field, _ string) { everyCommand(f) },
		})
	for _, p := range payloads {
		attacks = append(attacks, attack{
			threat: threatName, name: p.name + ", in the name of a file with an error", holds: "the name is one line of visible characters",
			set:  func(f *field) { f.write("repo/m/"+p.named()+".axis.hcl", "axs \"lift\" {\n}\n") },
			args: []string{"check", "--no-cache"}, status: exitFindings, says: ".axis.hcl:1:1: error", after: harmless,
		}, attack{
			threat: threatName, name: p.name + ", in the name of a folder", holds: "the name is one line of visible characters",
			set: func(f *field) {
				f.write("repo/m/"+p.named()+"/b.axis.hcl", fieldAxis)
				f.write("repo/m/"+p.named()+"/b.policy.hcl", "rule \"x\" {\n")
			},
			args: []string{"check", "--no-cache"}, status: exitFailed, says: "b.policy.hcl", after: harmless,
		}, attack{
			threat: threatText, name: p.name + ", in every text of an axis", holds: "texts are shown as escapes",
			set:  func(f *field) { f.write("repo/m/lift.axis.hcl", fmt.Sprintf(axisText, p.written())) },
			args: []string{"check", "--no-cache"}, status: exitFindings, says: "error", after: harmless,
		}, attack{
			threat: threatText, name: p.name + ", in the reasons and messages of a policy", holds: "texts are shown as escapes",
			set:  func(f *field) { f.write("repo/m/p.policy.hcl", fmt.Sprintf(policyText, p.written())) },
			args: []string{"rules", "m"}, status: exitClean, says: "reason: ", after: harmless,
		}, attack{
			threat: threatRaw, name: p.name + ", as they are, in a comment beside an error", holds: "the line of the source is shown with escapes",
			set: func(f *field) {
				f.write("repo/m/lift.axis.hcl", "axis \"lift\" {\n  lod = 1 # "+strings.ReplaceAll(p.text, "\n", " ")+"\n}\n")
			},
			args: []string{"check", "--no-cache"}, status: exitFindings, says: "2:3: error", after: harmless,
		}, attack{
			threat: threatKnown, name: p.name + ", in an entry that is no longer found", holds: "the entry is named with escapes",
			set: func(f *field) {
				f.write("repo/known.txt", fmt.Sprintf("trammel-known 1\ncritical-speed \"%[1]s\" \"%[1]s\" \"%[1]s\" 1.2 1\n", p.written()))
			},
			args: []string{"check", "--no-cache", "--known", "known.txt"}, status: exitClean, says: "no longer found", after: harmless,
		}, attack{
			threat: threatText, name: p.name + ", in the cells and headers of a table", holds: "what is printed, and the files that are drafted, show escapes",
			set: func(f *field) {
				cell := strings.ReplaceAll(p.text, `"`, `""`)
				f.write("repo/table.csv", fmt.Sprintf("Name,Mass,\"%[1]s\"\na,\"%[1]s\",\"%[1]s\"\n\"%[1]s\",2,3\n", cell))
				f.write("repo/table.map.hcl", boundsMap)
			},
			args: []string{"adopt", "table.csv", "--try"}, status: anyOf, after: harmless,
		}, attack{
			threat: threatText, name: p.name + ", in a table for which a mapping is proposed", holds: "what is printed shows escapes, or leaves it out",
			set: func(f *field) {
				cell := strings.ReplaceAll(p.text, `"`, `""`)
				f.write("repo/table.csv", fmt.Sprintf("Axis,Mass [kg],Stroke [mm],Orientation,\"%[1]s\",Mass [kg] \"%[1]s\"\na,1,2,\"%[1]s\",3,\"%[1]s\"\n\"%[1]s\",2,3,V,,\n", cell))
			},
			args: []string{"adopt", "table.csv", "--draft-map", "--try"}, status: anyOf, after: harmless,
		}, attack{
			threat: threatShare, name: p.name + ", in every text of a share", holds: "it is merged in every form with escapes, or refused with them",
			set: func(f *field) {
				f.write("repo/m/lift.axis.hcl", fmt.Sprintf(axisText, p.written()))
				f.write("repo/m/p.policy.hcl", fmt.Sprintf(policyText, p.written()))
				shared(f)
				for _, name := range []string{"m/lift.axis.hcl", "lift"} {
					text, err := json.Marshal(p.text + name)
					if err != nil {
						f.Fatal(err)
					}
					f.write("repo/1.json", strings.ReplaceAll(f.read("repo/1.json"), `"`+name+`"`, string(text)))
				}
			},
			args: []string{"merge", "1.json", "--waived"}, status: anyOf, after: func(f *field, out string) {
				harmless(f, out)
				_, out = f.run("merge", "1.json", "--form", "annotations", "--write", "sarif=o1", "--write", "junit=o2")
				looked(f.T, "annotations", out, true)
				looked(f.T, "sarif", f.read("repo/o1"), false)
				looked(f.T, "junit", f.read("repo/o2"), false)
			},
		})
	}
	for _, c := range []struct{ name, char string }{
		{"an override of the direction", "\u202e"}, {"an embedding", "\u202b"}, {"an isolate", "\u2067"}, {"a mark", "\u200f"}, {"an Arabic mark", "\u061c"},
	} {
		for _, at := range []struct{ name, file, text string }{
			{"a text of an axis", "m/lift.axis.hcl", "axis \"lift\" {\n  description = \"a" + c.char + "b\"\n}\n"},
			{"a comment of a part", "m/x.parts.hcl", "# a" + c.char + "b\n"},
			{"a policy", "m/x.policy.hcl", "# a" + c.char + "b\n"},
		} {
			status := exitFindings
			if strings.HasSuffix(at.file, "policy.hcl") {
				status = exitFailed
			}
			attacks = append(attacks, attack{
				threat: threatRaw, name: c.name + ", in " + at.name, holds: "an error at its place",
				set:  func(f *field) { f.write("repo/"+at.file, at.text) },
				args: []string{"check", "--no-cache"}, status: status, says: "turns the direction of writing", after: harmless,
			})
		}
	}
	for _, n := range []struct{ path, value string }{
		{`"byte": `, "-9223372036854775808"}, {`"byte": `, "9223372036854775807"}, {`"line": `, "-1"}, {`"line": `, "2147483647"}, {`"end_byte": `, "-2147483648"},
		{`"column": `, "99999999999999999999"}, {`"judged": `, "9223372036854775807"}, {`"axes": `, "-1"}, {`"number": `, "0"}, {`"of": `, "1000000000"},
	} {
		attacks = append(attacks, attack{
			threat: threatShare, name: "the number " + n.value + " for " + strings.Trim(n.path, `": `), holds: "refused, with what is wrong",
			set: func(f *field) {
				f.write("repo/m/lift.axis.hcl", "axis \"lift\" {\n  lod = 1\n}\n")
				shared(f)
				doc := f.read("repo/1.json")
				i := strings.LastIndex(doc, n.path)
				if n.path == `"axes": ` {
					i = strings.Index(doc, n.path)
				}
				if i < 0 {
					f.Fatal(doc)
				}
				i += len(n.path)
				end := i + strings.IndexAny(doc[i:], ",\n}")
				f.write("repo/1.json", doc[:i]+n.value+doc[end:])
			},
			args: []string{"merge", "1.json", "--form", "json"}, status: exitFailed, says: "1.json", after: harmless,
		})
	}
	for _, l := range []struct{ name, text, says string }{
		{"a count beyond all bounds", "a b c d 1 99999999999999999999", "the count"},
		{"a use without end", "a b c d 1e999 1", "the use of the limit"},
		{"quotes that are not closed", "a \"b c d 1 1", "quotes"},
		{"a line of commands", "::error::x ::y ##[z] d 1 1", "quotes"},
		{"the same line twice", "a b c d 1 1\na b c d 1 1", "says the same"},
		{"a conflict", "<<<<<<< x", "conflict"},
	} {
		attacks = append(attacks, attack{
			threat: threatKnown, name: l.name, holds: "refused, with the line",
			set:  func(f *field) { f.write("repo/known.txt", "trammel-known 1\n"+l.text+"\n") },
			args: []string{"check", "--no-cache", "--known", "known.txt"}, status: exitFailed, says: l.says, after: harmless,
		})
	}
}
