package main

import (
	"fmt"
	"path"
	"path/filepath"
	"strings"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/spec"
	"trammel/spec/step"
	"trammel/spec/unit"
)

// A shownModel is a model that a new axis is written from; nil for none.
type shownModel struct {
	name  string // as the axis names it
	shaft *rules.ShownShaft
	sys   unit.System
}

// modelShown reads a model for an axis file that is to be written, in the way in which a
// check of that file will read it.
func modelShown(file, model string) (*shownModel, error) {
	if model == "" {
		return nil, nil
	}
	cwd, err := workingFolder()
	if err != nil {
		return nil, err
	}
	full := within(cwd, file)
	p := &planner{cwd: cwd, jobs: map[string]*job{}, seen: map[string]bool{}}
	root := cwd
	if r := repository(filepath.Dir(full)); r != "" {
		root = r
	}
	j, err := p.open(root)
	if err != nil {
		return nil, err
	}
	below, err := filepath.Rel(root, full)
	if err != nil || !filepath.IsLocal(below) {
		return nil, fmt.Errorf("%s is outside %s", file, root)
	}
	rel, err := filepath.Rel(filepath.Dir(full), inRealFolder(within(cwd, model)))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", model, atomicfile.Reason(err))
	}
	s := &shownModel{name: filepath.ToSlash(rel)}
	below = filepath.ToSlash(below)
	j.tree.Unsaved(below, fmt.Appendf(nil, "axis \"new\" {\n  screw {\n    model = %s\n  }\n}\n", hclText(s.name)))
	read := j.tree.ReadAxes(below)
	if len(read.Problems) > 0 {
		return nil, fmt.Errorf("%s: %s", model, read.Problems[0].Message)
	}
	return s, s.take(model, read.Axes[0].Model())
}

// within is a path as it is seen from a folder.
func within(dir, name string) string {
	name = filepath.FromSlash(name)
	if filepath.IsAbs(name) {
		return filepath.Clean(name)
	}
	return filepath.Join(dir, name)
}

// hclText quotes a text for HCL, with nothing of it to be worked out.
func hclText(s string) string {
	return fmt.Sprintf("%q", strings.NewReplacer("${", "$${", "%{", "%%{").Replace(s))
}

func (s *shownModel) take(model string, m *spec.Model) error {
	if m == nil {
		return fmt.Errorf("%s cannot be named by an axis", model)
	}
	if m.Err != "" {
		return fmt.Errorf("model %s cannot be read: %s", model, m.Err)
	}
	shaft, why := rules.ShaftIn(m)
	if shaft == nil {
		return fmt.Errorf("model %s shows no shaft: %s", model, why)
	}
	s.shaft, s.sys = shaft, unit.Metric
	if shaft.Units.Length == 25.4 {
		s.sys = unit.Inch
	}
	return nil
}

// mm writes a length of the model.
func (s *shownModel) mm(x float64) string { return unit.FormatExact(x/1000, unit.Length, s.sys) }

// at names faces of the model.
func (s *shownModel) at(ids ...uint64) string {
	text := sanitize.Line(path.Base(s.name))
	for i, id := range ids {
		text += [...]string{":#", " and #"}[min(i, 1)] + fmt.Sprint(id)
	}
	return text
}

var surfaceWords = map[step.Surface]string{step.Cylinder: "cylinder", step.Cone: "cone", step.Torus: "rounding", step.Sphere: "sphere"}

// head is the profile as it was read, for whoever compares it with the drawing.
func (s *shownModel) head() string {
	if s == nil {
		return ""
	}
	var b strings.Builder
	sanitize.Fprintf(&b, "#\n# %s shows this shaft, seen from one of its ends; which end is driven no model says:\n", s.name)
	for i, x := range s.shaft.Profile.Segments {
		if i == 40 {
			sanitize.Fprintf(&b, "#   and %d more\n", len(s.shaft.Profile.Segments)-i)
			break
		}
		thick := s.mm(x.Diameter[0])
		if other := s.mm(x.Diameter[1]); other != thick {
			thick += " to " + other
		}
		sanitize.Fprintf(&b, "#   %s to %s: %s of %s (#%d)\n", s.mm(x.From), s.mm(x.To), surfaceWords[x.Surface], thick, x.ID)
	}
	for _, x := range s.shaft.Profile.Features {
		sanitize.Fprintf(&b, "#   %s to %s: %s (#%d)\n", s.mm(x.From), s.mm(x.To), x.Kind, x.ID)
	}
	for _, g := range s.shaft.Profile.Gaps {
		sanitize.Fprintf(&b, "#   %s to %s: free-form surfaces, which are not read\n", s.mm(g[0]), s.mm(g[1]))
	}
	return b.String()
}

// lines are those of the new axis that the model has something to say to.
func (s *shownModel) lines() map[string]string {
	if s == nil {
		return nil
	}
	out := map[string]string{"screw.model": "model = " + hclText(s.name) + "\n"}
	p := s.shaft.Profile
	if !s.shaft.Endless {
		out["screw.length"] = fmt.Sprintf("length = %q # %s\n", s.mm(p.Length), s.at(p.First, p.Last))
	}
	if n := s.shaft.Nut; n != nil {
		out["nut.length"] = fmt.Sprintf("length = %q # %s\n", s.mm(n.Length), s.at(n.First, n.Last))
	}
	t := s.shaft.Thread
	if t == nil {
		out["screw.nominal_diameter"] = "# no thread was found: " + sanitize.Line(s.shaft.Why) + "\n"
		return out
	}
	out["screw.nominal_diameter"] = fmt.Sprintf("# nominal_diameter = %q # if the thread (%s, %s long) is drawn at its nominal diameter, not at its root\n", s.mm(t.Diameter[0]), s.at(t.ID), s.mm(t.Long()))
	s.ends(out)
	return out
}

// ends writes what ends alike share; of others both orders, as comments.
func (s *shownModel) ends(out map[string]string) {
	a, b := s.shaft.Ends[0], s.shaft.Ends[1]
	if !a.Known || !b.Known {
		return
	}
	thick := a.ThickID != 0 && b.ThickID != 0
	pair := func(mark, words string, a, b rules.ShownEnd) string {
		text := fmt.Sprintf("%send_lengths = [%q, %q] # %s\n", mark, s.mm(a.Long), s.mm(b.Long), words)
		if thick {
			text += fmt.Sprintf("%send_diameters = [%q, %q] # %s\n", mark, s.mm(a.Thick), s.mm(b.Thick), s.at(a.ThickID, b.ThickID))
		}
		return text
	}
	out["screw.end_diameters"] = "\n"
	if s.shaft.Alike() {
		out["screw.end_lengths"] = pair("", "both ends are alike", a, b)
		return
	}
	first, last := s.shaft.Profile.First, s.shaft.Profile.Last
	out["screw.end_lengths"] = pair("# ", fmt.Sprintf("if the driven end is that of #%d", first), a, b) + pair("# ", fmt.Sprintf("if it is that of #%d", last), b, a)
	if thick {
		for _, journal := range []string{"drive_journal", "far_journal"} {
			out[journal+".diameter"] = fmt.Sprintf("# diameter = %q or %q # smallest diameter of the end (%s)\n", s.mm(a.Thin), s.mm(b.Thin), s.at(a.ThinID, b.ThinID))
		}
	}
}
