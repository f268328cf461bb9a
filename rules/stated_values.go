package rules

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"trammel/rules/judge"
	m "trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var statedValues = judge.Rule{
	Name:     "stated-values",
	Question: "Do names and descriptions agree with the declared values?",
	Doc: `Names and descriptions often contain values, and are copied with their block.
They are compared with what is declared:

- a size, diameter × lead as in "20x10", in millimetres, inches or thousandths of an inch, in
  the name or description of a screw, and in the description of an axis where one of its two
  numbers is right. A name of four digits such as "g2010" is read so too where one half of it is
  right;
- thread starts, process and recirculation in the description of a screw;
- "lead 10 mm", "20 mm screw", "stroke 500 mm", "two screws" in the description of an axis;
- its orientation, where the description begins with lifts, raises, hoists or lowers, or says
  vertical, upright or horizontal;
- its guides: a friction above 0.05 beside rolling or ball guides, one below 0.02 beside
  slideways, dovetails or plain guides: a note;
- moves named laden or loaded without payload, empty or unladen with one.

Only these words are read, in English. Nothing is concluded from what they leave out.`,
	Source:   "common practice, no source",
	Severity: judge.Warning,
	Check: func(v *judge.View) []judge.Fault {
		out := ladenMoves(v)
		if text := strings.ToLower(v.Word(judge.Field("description"))); text != "" {
			out = append(out, statedNumbers(v, text)...)
			out = append(out, statedLie(v, text)...)
			out = append(out, statedGuide(v, text)...)
		}
		return out
	},
	Part: func(p *judge.PartView) []judge.PartFault {
		if p.Kind != "screw" {
			return nil
		}
		return append(statedSizes(p), statedWords(p)...)
	},
}

var (
	sizeWords   = regexp.MustCompile(`(?:^|[^0-9.])(\d+(?:\.\d+)?) ?[x×] ?(\d+(?:\.\d+)?)`)
	fourDigits  = regexp.MustCompile(`^[^0-9]*(\d\d)(\d\d)(?:[^0-9]|$)`)
	startWords  = regexp.MustCompile(`\b(single|one|two|double|three|four|six)[ -]starts?\b`)
	screwWords  = regexp.MustCompile(`\b(one|two|twin|both|three|four|\d)[ -](?:ball ?)?screws?\b`)
	leadWords   = regexp.MustCompile(`\b(?:lead|pitch) (?:of )?(\d+(?:\.\d+)?) ?(mm|in)\b|(\d+(?:\.\d+)?) ?(mm|in) (?:lead|pitch)\b`)
	thickWords  = regexp.MustCompile(`(\d+(?:\.\d+)?) ?(mm|in) (?:ball ?)?(?:screw|shaft|spindle)\b`)
	strokeWords = regexp.MustCompile(`\bstroke (?:of )?(\d+(?:\.\d+)?) ?(mm|m|in)\b|(\d+(?:\.\d+)?) ?(mm|m|in) stroke\b`)
	upWords     = regexp.MustCompile(`^(?:lifts|raises|hoists|lowers)\b|\b(?:vertical|upright)\b`)
	levelWords  = regexp.MustCompile(`\bhorizontal(?:ly)?\b`)
	rollingWord = regexp.MustCompile(`\b(?:rolling|ball|roller|profile|linear)[ -](?:guide|guideway|rail|bearing guide)s?\b`)
	slidingWord = regexp.MustCompile(`\b(?:slideways?|dovetails?|(?:plain|sliding|friction) (?:guide|bearing|way)s?|box ways?)\b`)
	ladenWords  = regexp.MustCompile(`(?:^|[_.+-])(laden|loaded|empty|unladen)(?:$|[_.+-])`)
)

var counts = map[string]float64{"single": 1, "one": 1, "two": 2, "twin": 2, "both": 2, "double": 2, "three": 3, "four": 4, "six": 6}

func count(word string) float64 {
	if n, ok := counts[word]; ok {
		return n
	}
	n, _ := strconv.ParseFloat(word, 64)
	return n
}

// partTexts are the texts of a part that may state its size.
func partTexts(p *spec.Part) []string {
	out := []string{p.Name}
	if x := p.Get("description"); x != nil && !x.Bad {
		out = append(out, x.Text)
	}
	return out
}

// statedSize reads a size d × lead in a text and reports whether it is the right
// one. A text without one is right; so is one of which neither number is, unless
// it is a name, where it can hardly be the size of something else.
func statedSize(text string, d, lead float64, name bool) (said string, ok bool) {
	near := func(a, b float64) bool { return math.Abs(a-b) <= 0.02*b }
	pairs := sizeWords.FindAllStringSubmatch(text, -1)
	for _, p := range pairs {
		a, _ := strconv.ParseFloat(p[1], 64)
		b, _ := strconv.ParseFloat(p[2], 64)
		half := false
		for _, u := range []float64{1e-3, 0.0254, 25.4e-6} { // mm, in, thousandths of an inch
			if near(a*u, d) && near(b*u, lead) {
				return "", true
			}
			half = half || near(a*u, d) || near(b*u, lead)
		}
		if half || name && a >= 4 && a <= 200 && b >= 1 && b <= 120 {
			said = p[1] + " × " + p[2]
		}
	}
	if p := fourDigits.FindStringSubmatch(text); p != nil && name && len(pairs) == 0 {
		a, _ := strconv.ParseFloat(p[1], 64)
		b, _ := strconv.ParseFloat(p[2], 64)
		if near(a*1e-3, d) != near(b*1e-3, lead) {
			said = p[1] + p[2]
		}
	}
	return said, said == ""
}

// statedSizes compares a screw's name and description with its size.
func statedSizes(p *judge.PartView) (out []judge.PartFault) {
	if !p.Has("nominal_diameter", "lead") {
		return nil
	}
	for i, text := range partTexts(p.Part) {
		said, ok := statedSize(text, p.Num("nominal_diameter"), p.Num("lead"), i == 0)
		if ok {
			continue
		}
		f := judge.PartFault{Inputs: []string{"nominal_diameter", "lead"}, Message: fmt.Sprintf("the name of %s says %s, but its size is %s × %s", p.Ref(), said, p.Text("nominal_diameter"), p.Text("lead"))}
		if i > 0 {
			f.At, f.Message = "description", strings.Replace(f.Message, "the name", "the description", 1)
		}
		out = append(out, f)
	}
	return out
}

// statedWords compares a screw's description with its words and its starts.
func statedWords(p *judge.PartView) (out []judge.PartFault) {
	x := p.Get("description")
	if x == nil || x.Bad {
		return nil
	}
	text := strings.ToLower(x.Text)
	say := func(said, field string) {
		out = append(out, judge.PartFault{At: "description", Inputs: []string{field}, Message: fmt.Sprintf("the description of %s says %s, but %s is declared", p.Ref(), said, p.Say(field))})
	}
	if s := startWords.FindStringSubmatch(text); s != nil && p.Has("starts") && count(s[1]) != p.Num("starts") {
		say(s[0], "starts")
	}
	for _, c := range []struct {
		field string
		words []string // in the order of the field's
	}{
		{"process", []string{"ground", "rolled", "whirled"}},
		{"recirculation", []string{"tube", "deflector", "end cap"}},
	} {
		v := p.Get(c.field)
		if v == nil || v.Bad || strings.Contains(text, c.words[v.Word]) {
			continue
		}
		for _, w := range c.words {
			if wordIn(text, w) {
				say(w, c.field)
				break
			}
		}
	}
	return out
}

// wordIn reports whether a word, or its plural, stands in a text.
func wordIn(text, w string) bool {
	i := strings.Index(text, w)
	letter := func(k int) bool { return k >= 0 && k < len(text) && text[k] >= 'a' && text[k] <= 'z' }
	if i < 0 || letter(i-1) {
		return false
	}
	end := i + len(w)
	return !letter(end) || text[end] == 's' && !letter(end+1)
}

// statedNumbers compares the numbers in an axis's description with its values.
func statedNumbers(v *judge.View, text string) (out []judge.Fault) {
	say := func(said string, x *spec.Value) {
		out = append(out, judge.Fault{At: judge.Field("description"), Move: -1, Inputs: []*spec.Field{x.Field},
			Message: fmt.Sprintf("the description says %s, but %s %s is declared", said, judge.Readable(x.Field.Name), v.Text(x))})
	}
	d, lead := v.Value(judge.Field("screw.nominal_diameter")), v.Value(judge.Field("screw.lead"))
	if d != nil && lead != nil && strings.ContainsAny(text, "0123456789") {
		if said, ok := statedSize(text, d.Num.Nominal, lead.Num.Nominal, false); !ok {
			say(said, lead)
		}
	}
	if s := matched(screwWords, text, "screw"); s != nil {
		if x := v.Value(judge.Field("load.screws")); x != nil && x.Num.Nominal != count(s[1]) {
			say(s[0], x)
		}
	}
	for _, c := range []struct {
		words *regexp.Regexp
		also  *spec.Value // that the number may be too
		x     *spec.Value
		has   []string
	}{
		{leadWords, nil, lead, []string{"lead", "pitch"}}, {thickWords, v.Value(judge.Field("screw.length")), d, []string{"screw", "shaft", "spindle"}},
		{strokeWords, nil, v.Value(judge.Field("motion.stroke")), []string{"stroke"}},
	} {
		s := matched(c.words, text, c.has...)
		if s == nil || c.x == nil {
			continue
		}
		n, u := s[1], s[2]
		if n == "" {
			n, u = s[3], s[4]
		}
		q, err := unit.Parse(n+" "+u, unit.Length)
		if err != nil || about(q.Nominal, c.x) || about(q.Nominal, c.also) {
			continue
		}
		say(s[0], c.x)
	}
	return out
}

// matched is what an expression finds in a text. Most texts have none of the words
// that it looks for, and that is found out sooner.
func matched(words *regexp.Regexp, text string, has ...string) []string {
	if !slices.ContainsFunc(has, func(w string) bool { return strings.Contains(text, w) }) {
		return nil
	}
	return words.FindStringSubmatch(text)
}

// firstMatch is what an expression without groups finds in a text, sought as matched does.
func firstMatch(words *regexp.Regexp, text string, has ...string) string {
	if s := matched(words, text, has...); s != nil {
		return s[0]
	}
	return ""
}

// about reports whether a stated length is that of a value, but for rounding.
func about(x float64, v *spec.Value) bool {
	return v != nil && math.Abs(x-v.Num.Nominal) <= 0.02*v.Num.Nominal
}

// statedLie compares how an axis stands with what its description says.
func statedLie(v *judge.View, text string) []judge.Fault {
	theta, ok := v.Calc.Value(m.Incline)
	at := v.Value(judge.Field("orientation"))
	if at == nil {
		at = v.Value(judge.Field("incline"))
	}
	up := firstMatch(upWords, text, "lifts", "raises", "hoists", "lowers", "vertical", "upright")
	level := firstMatch(levelWords, text, "horizontal")
	said := ""
	switch {
	case !ok || at == nil || up != "" && level != "":
	case up != "" && theta < math.Pi/180:
		said = up
	case level != "" && theta > math.Pi/4:
		said = level
	}
	if said == "" {
		return nil
	}
	return []judge.Fault{{At: judge.Field("description"), Move: -1, Inputs: []*spec.Field{at.Field},
		Message: fmt.Sprintf("the description says %q, but %s %s is declared", said, judge.Readable(at.Field.Name), v.Text(at))}}
}

// statedGuide compares the friction of the guides with what the description
// calls them.
func statedGuide(v *judge.View, text string) []judge.Fault {
	mu := v.Value(judge.Field("load.friction"))
	if mu == nil {
		return nil
	}
	said := ""
	switch rolling, sliding := firstMatch(rollingWord, text, "guide", "rail"), firstMatch(slidingWord, text, "slideway", "dovetail", "guide", "bearing", "way"); {
	case rolling != "" && sliding != "":
	case rolling != "" && mu.Num.Nominal > 0.05:
		said = rolling
	case sliding != "" && mu.Num.Nominal < 0.02:
		said = sliding
	}
	if said == "" {
		return nil
	}
	return []judge.Fault{{At: judge.Field("description"), Move: -1, Severity: judge.Note, Inputs: []*spec.Field{mu.Field},
		Message: fmt.Sprintf("the description says %s, but friction %s is unusual for such guides", said, v.Text(mu))}}
}

// ladenMoves compares the names of moves with their payloads.
func ladenMoves(v *judge.View) (out []judge.Fault) {
	f := judge.Field("motion.move.payload")
	for i, mv := range v.Axis.Moves {
		x := v.MoveValue(mv, f)
		if x == nil {
			continue
		}
		s := matched(ladenWords, strings.ToLower(mv.Name), "laden", "loaded", "empty")
		if s == nil {
			continue
		}
		word := s[1]
		switch laden := word == "laden" || word == "loaded"; {
		case laden && x.Num.High == 0:
			out = append(out, judge.Fault{At: f, Move: i, Message: fmt.Sprintf("move %s is named %s but has no payload", mv.Name, word)})
		case !laden && x.Num.High > 0:
			out = append(out, judge.Fault{At: f, Move: i, Message: fmt.Sprintf("move %s is named %s but has a payload of %s", mv.Name, word, x.Text)})
		}
	}
	return out
}
