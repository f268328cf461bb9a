package editor

import (
	"context"
	"fmt"
	"maps"
	"path"
	"slices"
	"strings"

	"trammel/spec"
)

// A fileReport is what is found of a file, for a client that asks for many.
type fileReport struct {
	URI      string       `json:"uri"`
	Version  *int         `json:"version"`
	Kind     string       `json:"kind"` // full, or unchanged since ResultID
	ResultID string       `json:"resultId"`
	Items    []diagnostic `json:"items,omitzero"`
}

// pullMachines answers with what is found of the axes and machine files in the folders of
// the files that are open: what one changes in a machine reaches axes that are not open
// too. No other folder is looked at.
func (s *server) pullMachines(ctx context.Context, p *struct {
	Previous []struct {
		URI   string `json:"uri"`
		Value string `json:"value"`
	} `json:"previousResultIds"`
}) (any, *wireError) {
	had := map[string]string{}
	for _, x := range p.Previous {
		had[x.URI] = x.Value
	}
	items := []fileReport{}
	for _, at := range slices.Sorted(maps.Keys(s.roots)) {
		r := s.roots[at]
		r.settle()
		folders := map[string]bool{}
		for _, d := range r.open {
			if strings.HasSuffix(d.name, spec.AxisSuffix) {
				folders[path.Dir(d.name)] = true
			}
		}
		for _, dir := range slices.Sorted(maps.Keys(folders)) {
			if ctx.Err() == nil {
				items = append(items, s.machine(ctx, r, dir, had)...)
			}
		}
	}
	return map[string]any{"items": items}, nil
}

// machine reports on the axis files of a folder.
func (s *server) machine(ctx context.Context, r *root, dir string, had map[string]string) (out []fileReport) {
	names, _ := r.files(dir) // those that are open alone, where the folder is gone
	var closed []*doc
	for _, name := range names {
		report := fileReport{URI: r.uri(name), Kind: "full", ResultID: fmt.Sprint(r.state)}
		d := r.open[name]
		switch {
		case had[report.URI] == report.ResultID:
			report.Kind = "unchanged"
		case d != nil:
			s.fresh(ctx, d)
			report.Version, report.Items = &d.version, s.diagnostics(d)
		default:
			closed = append(closed, &doc{uri: report.URI, name: name, root: r, text: r.textOf(name)})
		}
		out = append(out, report)
	}
	found := map[*doc][]item{}
	if len(closed) > 0 {
		s.axes(ctx, r, dir, closed, found)
	}
	for _, d := range closed {
		if scopeFile(d.name) {
			found[d] = append(found[d], s.ofScope(d)...)
		}
		d.found = found[d]
		sortItems(d.found)
		i := slices.IndexFunc(out, func(f fileReport) bool { return f.URI == d.uri })
		out[i].Items = s.diagnostics(d)
	}
	return out
}
