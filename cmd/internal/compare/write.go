package compare

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"path"
	"strings"

	"trammel/cmd/internal/document"
	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
	"trammel/spec"
	"trammel/spec/unit"
)

// Schema names the version of the JSON written by JSON. Within a version
// fields are only added.
const Schema = "trammel.compare/1"

func percent(x float64) string {
	switch {
	case x != x:
		return "—"
	case x > 10:
		return "> 1000 %"
	}
	return unit.Format(x, unit.Percentage, unit.Metric)
}

// Headline is the most useful line.
func (c *Comparison) Headline() string {
	if len(c.Axes) == 0 {
		return "no axis differs"
	}
	out := fmt.Sprintf("%s on %s differ", sanitize.Count(len(c.Axes), "axis", "axes"), sanitize.Count(c.Machines(), "machine", "machines"))
	if len(c.Axes) == 1 {
		out += "s"
	}
	parts := c.requests()
	for _, k := range []struct {
		kind      Kind
		one, many string
	}{
		{Crossed, "limit crossed", "limits crossed"}, {Unjudged, "rule no longer judged", "rules no longer judged"}, {Worse, "margin worse", "margins worse"},
		{Better, "margin better", "margins better"}, {Fixed, "rule fixed", "rules fixed"}, {Judged, "rule newly judged", "rules newly judged"},
		{Waived, "finding waived", "findings waived"}, {Ended, "finding no longer waived", "findings no longer waived"},
	} {
		if n := c.Count(k.kind); n > 0 {
			parts = append(parts, sanitize.Count(n, k.one, k.many))
		}
	}
	if len(parts) > 0 {
		out += ": " + strings.Join(parts, ", ")
	}
	return out
}

// requests count the waivers and limits that were added, changed and taken away.
func (c *Comparison) requests() (parts []string) {
	for _, of := range []struct{ begins, one, many, added, changed, ended string }{
		{waiverOf, "waiver", "waivers", "added", "changed", "ended"}, {policyOf, "limit", "limits", "set", "changed", "no longer set"},
	} {
		n := map[string]int{}
		for _, x := range c.Causes {
			switch {
			case !strings.HasPrefix(x.Name, of.begins):
			case x.Was == "":
				n[of.added]++
			case x.Is == "":
				n[of.ended]++
			default:
				n[of.changed]++
			}
		}
		for _, what := range []string{of.added, of.changed, of.ended} {
			if n[what] > 0 {
				parts = append(parts, sanitize.Count(n[what], of.one, of.many)+" "+what)
			}
		}
	}
	return parts
}

func (c Change) words() string {
	switch {
	case c.Was == "":
		return c.Name + " " + c.Is + " (new)"
	case c.Is == "":
		return c.Name + " " + c.Was + " (removed)"
	}
	return c.Name + " " + c.Was + " → " + c.Is
}

// labels are names of the axes, with the folder where a name alone says too little.
func (c *Comparison) labels() []string {
	seen := map[string]int{}
	out := make([]string, len(c.Axes))
	for i, a := range c.Axes {
		out[i] = a.Machine + "/" + a.Name
		seen[out[i]]++
	}
	for i, a := range c.Axes {
		if seen[out[i]] > 1 {
			out[i] += " in " + path.Dir(a.Place.File)
		}
	}
	return out
}

// rows are the lines of the table: crossed limits, then what got worse, then the
// rest.
func (c *Comparison) rows(all bool) (rows [][]string, left int) {
	labels := c.labels()
	part := func(k Kind) int {
		switch k {
		case Crossed:
			return 0
		case Waived, Ended, Unjudged, Worse:
			return 1
		}
		return 2
	}
	for pass := range 3 {
		for i, a := range c.Axes {
			for _, v := range a.Rules {
				if part(v.Kind) != pass {
					continue
				}
				if !all && len(rows) >= most {
					left++
					continue
				}
				last := v.Kind.String()
				if v.Until != "" && v.Kind != Waived {
					last += ", waived"
				}
				if v.Until != "" {
					last += " until " + v.Until
				}
				switch {
				case v.Kind != Unjudged:
				case v.IsState == "":
					last += ": removed"
				case v.IsState != judge.Unjudged.String():
					last += ": " + v.IsState
				}
				rows = append(rows, []string{labels[i], v.Rule, percent(v.Was), percent(v.Is), last})
			}
		}
	}
	return rows, left
}

// most is how many lines of the table fit on a screen with what is above.
const most = 30

// Text writes a comparison for a terminal. all shows every line and every
// quantity that moved; show gives places as the reader sees them.
func (c *Comparison) Text(w io.Writer, all bool, show func(spec.Place) spec.Place) error {
	d := c.document(all, show, "; --all shows them")
	if all {
		d.Sections = append(d.Sections, c.quantities()...)
	}
	return document.Text(w, d)
}

// Markdown writes a comparison for a comment on a pull request.
func (c *Comparison) Markdown(w io.Writer, all bool) error {
	return document.Markdown(w, c.document(all, func(p spec.Place) spec.Place { return p }, ""))
}

// document makes what text and Markdown show; rest says where what is left out stands.
func (c *Comparison) document(all bool, show func(spec.Place) spec.Place, rest string) *document.Document {
	d := &document.Document{Layout: document.Summary, Title: c.Headline(), Sections: make([]document.Section, 1)}
	if causes := c.causes(all, show); len(causes) > 0 {
		d.Sections[0].Add(causes)
	}
	rows, left := c.rows(all)
	if len(rows) == 0 {
		return d
	}
	t := &document.Table{Head: []string{"axis", "rule", "margin before", "after", "change"}, Number: []bool{false, false, true, true, false}}
	for _, r := range rows {
		t.Add(r...)
		t.Mark(4, document.Mark{Strong: strings.HasPrefix(r[4], Crossed.String())})
	}
	if left > 0 {
		t.Rest = fmt.Sprintf("and %d more%s", left, rest)
	}
	d.Sections = append(d.Sections, document.Section{Blocks: []document.Block{t}})
	return d
}

// mostCauses is how many changes of the text are listed.
const mostCauses = 12

// causes lists the changes of the text, and the axes that are in one state only.
func (c *Comparison) causes(all bool, show func(spec.Place) spec.Place) document.List {
	var out document.List
	at := func(p spec.Place) string { p = show(p); return fmt.Sprintf("%s:%d", p.File, p.Line) }
	for i, x := range c.Causes {
		if !all && i == mostCauses {
			out = append(out, document.Item{Text: fmt.Sprintf("and %d more changed lines", len(c.Causes)-i)})
			break
		}
		out = append(out, document.Item{At: at(x.Place), Text: fmt.Sprintf("%s: %s on %s", x.words(), sanitize.Count(x.Axes, "axis", "axes"), sanitize.Count(x.Machines, "machine", "machines"))})
	}
	for _, a := range c.Axes {
		if a.Only != "" {
			out = append(out, document.Item{At: at(a.Place), Text: fmt.Sprintf("axis %s/%s was %s", a.Machine, a.Name, a.Only)})
		}
	}
	return out
}

// quantities shows for each axis those that moved.
func (c *Comparison) quantities() []document.Section {
	var out []document.Section
	labels := c.labels()
	for i, a := range c.Axes {
		if len(a.Quantities) == 0 {
			continue
		}
		t := &document.Table{Number: []bool{false, false, true, true}}
		for _, m := range a.Quantities {
			t.Add(m.Title, m.Was, m.Is, m.percent())
		}
		out = append(out, document.Section{Title: labels[i] + ", changed quantities", Blocks: []document.Block{t}})
	}
	return out
}

func (m Move) percent() string {
	if math.IsInf(m.By, 0) || math.Abs(m.By) > 1e6 {
		return "—" // from next to nothing
	}
	return fmt.Sprintf("%+.1f %%", m.By*100)
}

type jsonPlace struct {
	File   string `json:"file"`
	Line   int32  `json:"line"`
	Column int32  `json:"column"`
}

func place(p spec.Place) jsonPlace { return jsonPlace{p.File, p.Line, p.Col} }

// JSON writes everything that differs as one document.
func (c *Comparison) JSON(w io.Writer, from, to string) error {
	type change struct {
		Name  string    `json:"name"`
		Was   string    `json:"was"`
		Is    string    `json:"is"`
		Place jsonPlace `json:"location"`
	}
	type cause struct {
		change
		Axes     int `json:"axes"`
		Machines int `json:"machines"`
	}
	type verdict struct {
		Rule     string   `json:"rule"`
		Kind     string   `json:"kind"`
		WasState string   `json:"was_state"`
		IsState  string   `json:"is_state"`
		Was      *float64 `json:"was_margin"`
		Is       *float64 `json:"is_margin"`
		Until    string   `json:"waived_until,omitempty"`
	}
	type move struct {
		Name string   `json:"name"`
		Was  string   `json:"was"`
		Is   string   `json:"is"`
		By   *float64 `json:"by"` // null from zero
	}
	type axisOut struct {
		Machine    string    `json:"machine"`
		Axis       string    `json:"axis"`
		Place      jsonPlace `json:"location"`
		Only       string    `json:"only,omitempty"`
		Text       []change  `json:"text"`
		Quantities []move    `json:"quantities"`
		Rules      []verdict `json:"rules"`
	}
	out := struct {
		Schema   string    `json:"schema"`
		From     string    `json:"from"`
		To       string    `json:"to"`
		Headline string    `json:"headline"`
		Crossed  int       `json:"limits_crossed"`
		Causes   []cause   `json:"causes"`
		Axes     []axisOut `json:"axes"`
	}{Schema: Schema, From: from, To: to, Headline: c.Headline(), Crossed: c.Count(Crossed), Causes: []cause{}, Axes: []axisOut{}}
	of := func(x Change) change { return change{x.Name, x.Was, x.Is, place(x.Place)} }
	for _, x := range c.Causes {
		out.Causes = append(out.Causes, cause{of(x.Change), x.Axes, x.Machines})
	}
	for _, a := range c.Axes {
		x := axisOut{Machine: a.Machine, Axis: a.Name, Place: place(a.Place), Only: a.Only, Text: []change{}, Quantities: []move{}, Rules: []verdict{}}
		for _, t := range a.Text {
			x.Text = append(x.Text, of(t))
		}
		for _, m := range a.Quantities {
			x.Quantities = append(x.Quantities, move{m.Name, m.Was, m.Is, sanitize.Finite(m.By)})
		}
		for _, v := range a.Rules {
			x.Rules = append(x.Rules, verdict{v.Rule, v.Kind.String(), v.WasState, v.IsState, sanitize.Finite(v.Was), sanitize.Finite(v.Is), v.Until})
		}
		out.Axes = append(out.Axes, x)
	}
	enc := json.NewEncoder(sanitize.JSON(w))
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(out)
}
