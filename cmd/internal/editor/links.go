package editor

import (
	"context"
	"io/fs"
	"path"
	"path/filepath"
	"strconv"

	"trammel/spec"
)

// A documentLink leads from a stretch of text to a file or an address. That of a sheet is
// made when somebody follows it.
type documentLink struct {
	Range   span       `json:"range"`
	Target  string     `json:"target,omitempty"`
	Tooltip string     `json:"tooltip,omitempty"`
	Data    *sheetLink `json:"data,omitempty"`
}

type sheetLink struct {
	URI  string `json:"uri"`
	Axis string `json:"axis"`
}

// links are those of a file: from the name of an axis to its sheet, from that of a model
// to the model.
func (s *server) links(_ context.Context, p *inDocument) (any, *wireError) {
	out := []documentLink{}
	d := s.docs[p.TextDocument.URI]
	if d == nil {
		return out, nil
	}
	d.outline().file.all(func(b *node) {
		if b.kind == "axis" && len(b.labels) > 0 && s.settings.LiveSheet {
			l := b.labels[0]
			out = append(out, documentLink{Range: s.span(d.text, l.from, l.to), Tooltip: "open the sheet of axis " + l.text, Data: &sheetLink{d.uri, l.text}})
		}
		for _, a := range b.attrs {
			if a.field == nil || !a.field.File {
				continue
			}
			name, err := strconv.Unquote(string(d.text.src[a.valueAt:a.valueEnd]))
			full := path.Join(path.Dir(d.name), name)
			if err != nil || !spec.IsModel(name) || !filepath.IsLocal(full) {
				continue
			}
			if info, err := fs.Stat(d.root.tree.FS(), full); err == nil && info.Mode().IsRegular() {
				out = append(out, documentLink{Range: s.span(d.text, a.valueAt, a.valueEnd), Target: d.root.uri(full), Tooltip: "open the model"})
			}
		}
	})
	return out, nil
}

// follow gives a link its target.
func (s *server) follow(ctx context.Context, l *documentLink) (any, *wireError) {
	if l.Data == nil {
		return l, nil
	}
	d := s.docs[l.Data.URI]
	if d == nil || !s.settings.LiveSheet {
		return nil, failed(requestFailed, "there is no sheet of %s", l.Data.Axis)
	}
	address, err := s.open(ctx, d, l.Data.Axis)
	if err != nil {
		return nil, err
	}
	l.Target = address
	return l, nil
}
