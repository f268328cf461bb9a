package drawing

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"
)

// sketchWidth is how many columns the shaft takes in a sketch.
const sketchWidth = 58

// Sketch draws the axis in lines of text: the shaft with nut, supports and motor, the
// dimensions below it, and findings as numbers in brackets.
func (p *Picture) Sketch() []string {
	const left = 8
	low, high := min(0, p.planes[0], p.planes[1]), max(p.length, p.planes[0], p.planes[1])
	col := func(u float64) int {
		return left + int(math.Round((math.Max(low, math.Min(u, high))-low)/(high-low)*(sketchWidth-1)))
	}
	shaft := []rune(strings.Repeat(" ", left+sketchWidth+left))
	fill := func(a, b int, r rune) {
		for i := a; i <= b; i++ {
			shaft[i] = r
		}
	}
	write := func(at int, s string) {
		for i, r := range []rune(s) {
			if k := at + i; k >= 0 && k < len(shaft) {
				shaft[k] = r
			}
		}
	}
	fill(col(0), col(p.length), '-')
	fill(col(p.ends[0]), col(p.length-p.ends[1]), '=')
	if far := col(p.start + p.stroke); far < len(shaft) {
		write(far-1, ":::")
	}
	for i, k := range p.kinds {
		write(col(p.planes[i])-1, map[string]string{"fixed": "[X]", "supported": "[o]", "free": shaftEnd(shaft, col(p.planes[i])-1), "": "[?]"}[k])
	}
	a, b := col(p.start-p.nut/2), col(p.start+p.nut/2)
	fill(a, max(b, a+1), '#')
	if p.flange != 0 {
		shaft[[2]int{a, max(b, a+1)}[(p.flange+1)/2]] = '|'
	}
	drive := "M-"
	if p.gear {
		drive = "M/"
	}
	switch {
	case p.nutTurns:
		write(a, "M")
	case p.right:
		write(max(col(p.length), col(p.planes[1])+1)+1, string(drive[1])+"M")
	default:
		write(min(col(0), col(p.planes[0])-1)-2, drive)
	}
	out := []string{strings.TrimRight(string(shaft), " ")}
	out = append(out, p.sketchWords(col(p.planes[0]), col(p.planes[1])))
	line := func(from, to float64, words, at string) {
		a, b := col(from), col(to)
		for _, m := range group(p.at(at)) {
			words = fmt.Sprintf("[%d] ", m.Number) + words
		}
		words = " " + words + " "
		room := b - a - 1
		if n := utf8.RuneCountInString(words); n <= room {
			before := (room - n) / 2
			words = "|" + strings.Repeat("-", before) + words + strings.Repeat("-", room-n-before) + "|"
		} else {
			words = "|" + strings.Repeat("-", max(room, 0)) + "|" + strings.TrimRight(words, " ")
		}
		out = append(out, strings.Repeat(" ", a)+words)
	}
	stroke := "stroke " + p.or("stroke", p.stroke)
	if !p.lacks["overtravel"] {
		stroke += " + 2 × " + p.mm(p.overtravel)
	}
	line(p.start, p.start+p.stroke, stroke, "stroke")
	if known(p.loaded) {
		from, to := p.loadedFrom()
		line(from, to, "loaded length "+p.mm(p.loaded), "loaded")
	}
	line(p.planes[0], p.planes[1], "span "+p.or("span", p.span), "span")
	line(0, p.length, "overall "+p.or("length", p.length), "overall")
	var at []string
	for _, m := range p.marks {
		if w := place(m); w != "" && w != "stroke" && w != "span" && w != "overall" && (w != "loaded" || !known(p.loaded)) {
			at = append(at, fmt.Sprintf("[%d] at the %s", m.Number, map[string]string{"loaded": "span", "thread": "ends"}[w]+map[bool]string{true: w}[w != "loaded" && w != "thread"]))
		}
	}
	if len(at) > 0 {
		out = append(out, strings.Join(at, ", "))
	}
	stands := "orientation not declared"
	switch {
	case p.stands && p.incline == 0:
		stands = "horizontal"
	case p.stands && p.incline == 90:
		stands = "vertical, bottom at the left"
	case p.stands:
		stands = "incline " + trim(p.incline, 1) + "°, bottom at the left"
	}
	legend := "M motor, # nut at the start of its travel, : its middle at the end"
	for _, k := range [][3]string{{"fixed", "[X]", "fixed end"}, {"supported", "[o]", "supported end"}, {"", "[?]", "end not declared"}} {
		if p.kinds[0] == k[0] || p.kinds[1] == k[0] {
			legend += ", " + k[1] + " " + k[2]
		}
	}
	out = append(out, fmt.Sprintf("%s; lengths in %s", stands, p.unit()), legend)
	for _, r := range p.rows {
		arrow := map[[2]bool]string{{true, true}: "↔ ", {true, false}: "← ", {false, true}: "→ "}[[2]bool{r.left, r.right}]
		out = append(out, strings.TrimSpace(arrow+r.bold+" "+r.rest))
	}
	for _, x := range p.parts {
		out = append(out, x.text)
	}
	return out
}

// shaftEnd leaves what stands there: nothing holds a free end.
func shaftEnd(shaft []rune, at int) string {
	return string(shaft[max(0, at):min(len(shaft), max(0, at)+3)])
}

func (p *Picture) or(lacks string, x float64) string {
	if p.lacks[lacks] {
		return lacking
	}
	return p.mm(x)
}

// sketchWords names below the ends how they are held.
func (p *Picture) sketchWords(a, b int) string {
	words := [2]string{}
	for i, k := range p.kinds {
		if words[i] = k; k == "" {
			words[i] = lacking
		}
	}
	from := max(0, a-1)
	to := max(from+utf8.RuneCountInString(words[0])+2, b-len(words[1])/2)
	return strings.Repeat(" ", from) + words[0] + strings.Repeat(" ", to-from-utf8.RuneCountInString(words[0])) + words[1]
}
