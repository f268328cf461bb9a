package spec

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"github.com/zclconf/go-cty/cty"

	"trammel/spec/unit"
)

// Hints say how to write what people write who do not know the language yet.

// otherNames are words of the trade, and slips, for names of the language. One counts
// where the name stands in the same block.
var otherNames = map[string][]string{
	"diameter":     {"nominal_diameter"},
	"d":            {"nominal_diameter"},
	"root":         {"root_diameter"},
	"pitch":        {"lead"},
	"circuits":     {"loaded_turns"},
	"weight":       {"mass"},
	"velocity":     {"speed"},
	"feed":         {"speed"},
	"accel":        {"acceleration"},
	"travel":       {"stroke", "distance"},
	"force":        {"thrust"},
	"pause":        {"dwell"},
	"time":         {"ramp"},
	"mu":           {"friction"},
	"accuracy":     {"grade", "positioning"},
	"class":        {"grade"},
	"ca":           {"dynamic_rating"},
	"c0a":          {"static_rating"},
	"dynamic_load": {"dynamic_rating"},
	"static_load":  {"static_rating"},
	"rated_speed":  {"max_speed"},
	"torque":       {"rated_torque"},
	"inertia":      {"rotor_inertia"},
	"life":         {"service_life"},
	"spindle":      {"screw"},
	"ballscrew":    {"screw"},
	"ball_screw":   {"screw"},
	"bearing":      {"supports"},
	"bearings":     {"supports"},
	"support":      {"supports"},
	"motor":        {"drive"},
	"cycle":        {"motion"},
	"grease":       {"lubrication"},
}

// unknown is the help for a name that a block does not have: the name that is like it,
// another word for it, or the block it belongs in.
func (b *Block) unknown(name string, block bool) string {
	names := b.names()
	for _, n := range otherNames[strings.ToLower(name)] {
		if slices.Contains(names, n) {
			return "write " + n
		}
	}
	if in := homes(name, block); len(in) > 0 && ofAxis(b) {
		return "it belongs in " + strings.Join(in, " or ")
	}
	help := didYouMean(name, names)
	if r, ok := lookAlike(name); ok {
		help = strings.TrimPrefix(help+fmt.Sprintf("; its letter %c is U+%04X, which only looks like one of the keyboard", r, r), "; ")
	}
	return help
}

// other is the field of the same block for a quantity of the kind that was written.
func (f *Field) other(e *unit.Error) string {
	if e == nil || e.Problem != unit.WrongKind || e.Near != "" {
		return ""
	}
	block, found := strings.CutSuffix(f.Path, "."+f.Name)
	if !found {
		return ""
	}
	for _, g := range Language().Fields {
		if g.Unit == e.Found && g.Sort == Quantity && g.Path == block+"."+g.Name {
			return fmt.Sprintf("for %s write %s = %q", e.Found.WithArticle(), g.Name, e.Text)
		}
	}
	return ""
}

// OfTurn is the text of a quantity as the field takes it: a lead is a length, and data
// sheets write it as one per revolution.
func (f *Field) OfTurn(text string) string {
	if !f.PerRev || !strings.Contains(text, "/") && !strings.Contains(text, "per") {
		return text
	}
	return perTurn().ReplaceAllString(text, "")
}

// homes lists the blocks of an axis that have a field or block of that name, as they
// are written.
func homes(name string, block bool) (in []string) {
	var look func(b *Block, head string)
	look = func(b *Block, head string) {
		for _, c := range b.Blocks {
			at := head + c.Name + " { "
			if !block && c.field(name) != nil || block && c.block(name) != nil {
				in = append(in, at+strings.TrimSpace(strings.Repeat("} ", strings.Count(at, "{"))))
			}
			look(c, at)
		}
	}
	look(Language().Axis, "")
	return in
}

// ofAxis reports whether a block is that of an axis or stands in it.
func ofAxis(b *Block) bool {
	var has func(in *Block) bool
	has = func(in *Block) bool { return in == b || slices.ContainsFunc(in.Blocks, has) }
	return has(Language().Axis)
}

// lookAlike finds the first letter of a name that no keyboard of this language has.
func lookAlike(name string) (rune, bool) {
	for _, r := range name {
		if r > unicode.MaxASCII && unicode.IsLetter(r) {
			return r, true
		}
	}
	return 0, false
}

// bareWords are other ways to write true and false.
var bareWords = map[string]string{"true": "true", "yes": "true", "on": "true", "false": "false", "no": "false", "off": "false"}

// saysYes is the help for a text where true or false should stand.
func saysYes(name string, c cty.Value) string {
	if c.IsNull() || c.Type() != cty.String {
		return ""
	}
	if plain := bareWords[strings.ToLower(strings.TrimSpace(c.AsString()))]; plain != "" {
		return "write " + name + " = " + plain
	}
	return ""
}

// bareWord is the help for a word that stands where a value should.
func bareWord(word string, flag bool) string {
	if plain := bareWords[strings.ToLower(word)]; plain != "" && flag {
		return "write " + plain
	}
	if word == "given" || strings.Contains(word, ".") {
		return "a value of this file is written given.NAME"
	}
	return fmt.Sprintf("put text in quotes, %q; a value of this file is written given.NAME", word)
}

// lazy is an expression that is compiled once it is used: most files are right, and the
// program starts without it.
func lazy(expr string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(expr) })
}

var (
	perTurn     = lazy(`(?:/| ?\bper )(?:revolution|rev|turn|U|tr)\b`)
	nameValue   = lazy(`^\s*(\w{1,40})[ \t]*(==|:=?)?[ \t]*("[^"]{0,100}"|-?\d[\d.]{0,20})\s*(?:#.*)?$`)
	commaNumber = lazy(`(-?\d+)$`)
	digitsAhead = lazy(`^\d+`)
	bareUnit    = lazy(`(?:^|[\s=(\[,])(-?\d+(?:\.\d+)?) ?$`)
	unitAhead   = lazy(`^[\pL%°µ²³/·*]{1,12}`)
	partBefore  = lazy(`\b(screw|nut|support|motor|coupling|grease|environment)\.(\d+)$`)
	nameAhead   = lazy(`^[\w.+-]+`)
	wordAhead   = lazy(`^(and|or|not)\b`)
)

// hint says of some errors of syntax, from the text around, what was meant.
func hint(src []byte, at int, p *Problem, summary string) {
	if at < 0 || at >= len(src) {
		return
	}
	before, after := src[:at], src[at:]
	if summary == "Invalid block definition" || summary == "Argument or block definition required" {
		withoutEquals(p, before[bytes.LastIndexByte(before, '\n')+1:], after)
		return
	}
	if i := bytes.LastIndexByte(before, '\n'); i >= 0 {
		before = before[i+1:]
	}
	if i := bytes.IndexByte(after, '\n'); i >= 0 {
		after = after[:i]
	}
	if len(before) > 200 || len(after) > 200 || len(after) == 0 {
		return
	}
	switch summary {
	case "Invalid character":
		badCharacter(p, string(after))
	case "Unexpected comma after argument":
		if n, d := commaNumber().Find(before), digitsAhead().Find(after[1:]); n != nil && d != nil {
			p.Message, p.Help = "a decimal number has a point, not a comma", fmt.Sprintf("write %s.%s", n, d)
		}
	case "Invalid expression":
		if d := digitsAhead().Find(after[1:]); after[0] == '.' && d != nil {
			p.Message, p.Help = "a number begins with a digit", fmt.Sprintf("write 0.%s", d)
		}
	case "Missing newline after argument":
		afterValue(p, before, after)
	}
}

// withoutEquals words a line that holds a name and a value with no equals sign, or
// another sign, between them.
func withoutEquals(p *Problem, before, after []byte) {
	line, _, _ := bytes.Cut(after, []byte("\n"))
	m := nameValue().FindSubmatch(slices.Concat(before, line))
	if m == nil {
		return
	}
	name := string(m[1])
	if len(m[2]) == 0 && (homes(name, false) == nil || homes(name, true) != nil) {
		return // a block and its name
	}
	p.Message, p.Help = "a value follows its name after one equals sign", fmt.Sprintf("write %s = %s", name, m[3])
}

// afterValue words what stands behind a value on its line.
func afterValue(p *Problem, before, after []byte) {
	number, unit := bareUnit().FindSubmatch(before), unitAhead().Find(after)
	if m := partBefore().FindSubmatch(before); m != nil {
		p.Message = "after the point a name is expected"
		p.Help = fmt.Sprintf("write a name that begins with a digit in brackets and quotes: %s[%q]", m[1], string(m[2])+string(nameAhead().Find(after)))
		return
	}
	switch word := wordAhead().Find(after); {
	case string(word) == "or" && !strings.HasSuffix(p.Place.File, PolicySuffix): // as a new file offers it
		p.Message, p.Help = "there is a choice here", "write one of the values, without or"
	case word != nil:
		p.Message, p.Help = fmt.Sprintf("%s is not an operator", word), "write && for and, || for or, ! for not"
	case after[0] == '=':
		p.Message, p.Help = "a single = sets a value", "write == to compare"
	case number != nil && unit != nil:
		p.Message, p.Help = "a number with its unit is text", fmt.Sprintf("put it in quotes: %q", string(number[1])+" "+string(unit))
	}
}

// badCharacter names a character that is not seen, or that stands for a quote.
func badCharacter(p *Problem, after string) {
	r, _ := utf8.DecodeRuneInString(after)
	if name := unit.Unseen(r); name != "" {
		p.Message, p.Help = fmt.Sprintf("%s (U+%04X) is here", name, r), "delete it, or type a plain space"
		return
	}
	switch r {
	case '…':
		p.Message, p.Help = "a value is left open here", "write it in the place of …, or put # before the line"
	case '„', '‚', '«', '»', '‹', '›', '‘', '’':
		p.Message, p.Help = fmt.Sprintf("text needs straight quotes (\"), not %c", r), "replace the quotes on both sides"
	}
}
