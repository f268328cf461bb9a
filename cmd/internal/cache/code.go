package cache

import (
	"encoding/binary"
	"maps"
	"slices"

	"trammel/cmd/internal/codec"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// list writes a list of anything.
func list[T any](w *codec.Writer, items []T, put func(*T)) {
	w.Int(len(items))
	for i := range items {
		put(&items[i])
	}
}

// unlist reads one; nil for an empty one.
func unlist[T any](r *codec.Reader, get func(*T)) []T {
	n := r.Count()
	if n == 0 {
		return nil
	}
	out := make([]T, 0, min(n, 16)) // a damaged count makes no room
	for range n {
		var item T
		if get(&item); r.Err() != nil {
			return nil
		}
		out = append(out, item)
	}
	return out
}

func (s *Store) encodeFile(k *run.CachedFile) []byte {
	w := &codec.Writer{}
	days(w, k.Days)
	for _, n := range []int{k.Axes, k.Judged, k.Unjudged} {
		w.Int(n)
	}
	findings(w, k.Findings)
	list(w, k.MissingInputs, func(g *judge.MissingInput) {
		w.String(g.Machine)
		w.String(g.Axis)
		w.String(g.Missing)
		w.String(g.Why)
		w.Place(g.Place)
		w.Strings(g.Rules)
	})
	list(w, k.NextInputs, func(u *judge.NextInputs) {
		w.String(u.Machine)
		w.String(u.Axis)
		w.Place(u.Place)
		w.Int(u.Waiting)
		w.Strings(u.Lines)
		w.Int(u.Judged)
	})
	list(w, k.Members, func(m *run.Member) {
		w.String(m.Name)
		w.Place(m.Place)
		w.Float(m.Mass.Nominal)
		w.Float(m.Mass.Low)
		w.Float(m.Mass.High)
		w.Bool(m.Known)
	})
	list(w, k.Uses, func(p *spec.Place) { w.Place(*p) })
	list(w, k.Models, func(m *run.ModelUse) {
		w.String(m.Path)
		w.String(string(m.Digest[:]))
	})
	list(w, k.Lines, func(l *run.Line) {
		w.Int(int(l.Number))
		w.String(l.Text)
	})
	list(w, k.Notes, func(n *any) { s.notes.Encode(w, *n) })
	w.Bool(k.Carries)
	w.String(string(k.Beside[:]))
	return w.Bytes()
}

func (s *Store) decodeFile(data []byte) (*run.CachedFile, error) {
	r := codec.NewReader(data)
	k := &run.CachedFile{Days: undays(r)}
	for _, n := range []*int{&k.Axes, &k.Judged, &k.Unjudged} {
		*n = r.Int()
	}
	k.Findings = unfindings(r)
	k.MissingInputs = unlist(r, func(g *judge.MissingInput) {
		*g = judge.MissingInput{Machine: r.String(), Axis: r.String(), Missing: r.String(), Why: r.String(), Place: r.Place(), Rules: r.Strings()}
	})
	k.NextInputs = unlist(r, func(u *judge.NextInputs) {
		*u = judge.NextInputs{Machine: r.String(), Axis: r.String(), Place: r.Place(), Waiting: r.Int(), Lines: r.Strings(), Judged: r.Int()}
	})
	k.Members = unlist(r, func(m *run.Member) {
		*m = run.Member{Name: r.String(), Place: r.Place(), Mass: unit.Quantity{Nominal: r.Float(), Low: r.Float(), High: r.Float()}, Known: r.Bool()}
	})
	k.Uses = unlist(r, func(p *spec.Place) { *p = r.Place() })
	k.Models = unlist(r, func(m *run.ModelUse) { *m = run.ModelUse{Path: r.String(), Digest: digest(r)} })
	k.Lines = unlist(r, func(l *run.Line) { *l = run.Line{Number: int32(r.Int()), Text: r.String()} })
	k.Notes = unlist(r, func(n *any) { *n = s.notes.Decode(r) })
	k.Carries = r.Bool()
	k.Beside = digest(r)
	return k, r.End()
}

func encodeScope(k *run.CachedScope) []byte {
	w := &codec.Writer{}
	days(w, k.Days)
	findings(w, k.Findings)
	list(w, k.Parts, func(p *judge.PartFacts) {
		w.String(p.Kind)
		w.String(p.Name)
		w.String(p.Ref)
		w.Place(p.Place)
		findings(w, p.Faults)
		w.Strings(slices.Sorted(maps.Keys(p.Values)))
		for _, name := range slices.Sorted(maps.Keys(p.Values)) {
			w.String(p.Values[name].Text)
			w.Float(p.Values[name].Number)
		}
		list(w, p.Asked, func(a *judge.PartAsked) {
			w.Int(int(a.Severity))
			waiver(w, a.Waiver, a.WaiverPlace)
		})
	})
	return w.Bytes()
}

func decodeScope(data []byte) (*run.CachedScope, error) {
	r := codec.NewReader(data)
	k := &run.CachedScope{Days: undays(r), Findings: unfindings(r)}
	k.Parts = unlist(r, func(p *judge.PartFacts) {
		*p = judge.PartFacts{Kind: r.String(), Name: r.String(), Ref: r.String(), Place: r.Place(), Faults: unfindings(r)}
		for _, name := range r.Strings() {
			if p.Values == nil {
				p.Values = map[string]judge.PartValue{}
			}
			p.Values[name] = judge.PartValue{Text: r.String(), Number: r.Float()}
		}
		p.Asked = unlist(r, func(a *judge.PartAsked) {
			a.Severity = severity(r)
			a.Waiver, a.WaiverPlace = unwaiver(r)
		})
		if len(p.Asked) != len(rules.Book().AcrossParts()) {
			r.Fail()
		}
	})
	return k, r.End()
}

func encodeContents(all []run.FileContent) []byte {
	w := &codec.Writer{}
	list(w, all, func(f *run.FileContent) {
		w.String(f.Name)
		var id []byte
		for _, n := range f.Identity {
			id = binary.LittleEndian.AppendUint64(id, uint64(n))
		}
		w.String(string(id))
		w.String(string(f.Content[:]))
	})
	return w.Bytes()
}

func decodeContents(data []byte) (*[]run.FileContent, error) {
	r := codec.NewReader(data)
	all := unlist(r, func(f *run.FileContent) {
		f.Name = r.String()
		id := []byte(r.String())
		if len(id) != 8*len(f.Identity) {
			r.Fail()
			return
		}
		for i := range f.Identity {
			f.Identity[i] = int64(binary.LittleEndian.Uint64(id[8*i:]))
		}
		f.Content = digest(r)
	})
	return &all, r.End()
}

func days(w *codec.Writer, d run.Days) {
	w.String(d.After)
	w.String(d.Until)
}

func undays(r *codec.Reader) run.Days { return run.Days{After: r.String(), Until: r.String()} }

func severity(r *codec.Reader) judge.Severity { return judge.Severity(r.Within(int(judge.Error) + 1)) }

func digest(r *codec.Reader) (d spec.Digest) {
	if s := r.String(); len(s) == len(d) {
		copy(d[:], s)
	} else {
		r.Fail()
	}
	return d
}

func findings(w *codec.Writer, all []judge.Finding) {
	list(w, all, func(f *judge.Finding) {
		w.String(f.Rule)
		w.Int(int(f.Severity))
		w.String(f.Machine)
		w.String(f.Axis)
		w.Place(f.Place)
		w.String(f.Message)
		list(w, f.Inputs, func(e *judge.Entry) {
			w.String(e.Words)
			w.Place(e.Place)
			w.String(e.Assumed)
		})
		list(w, f.Fixes, func(x *judge.Fix) {
			w.String(x.Words)
			list(w, x.Changes, func(c *judge.FixChange) {
				w.String(c.Path)
				w.String(c.Move)
				w.String(c.Old)
				w.String(c.New)
			})
			list(w, x.Edits, func(e *spec.Edit) {
				w.Place(e.Place)
				w.String(e.Text)
			})
		})
		list(w, f.Related, func(x *spec.Related) {
			w.Place(x.Place)
			w.String(x.Message)
		})
		w.Float(f.Utilisation)
		compared(w, f.Compared)
		w.String(f.Cause)
		waiver(w, f.Waiver, f.WaiverPlace)
	})
}

func unfindings(r *codec.Reader) []judge.Finding {
	return unlist(r, func(f *judge.Finding) {
		*f = judge.Finding{Rule: r.String(), Severity: severity(r), Machine: r.String(), Axis: r.String(), Place: r.Place(), Message: r.String()}
		f.Inputs = unlist(r, func(e *judge.Entry) { *e = judge.Entry{Words: r.String(), Place: r.Place(), Assumed: r.String()} })
		f.Fixes = unlist(r, func(x *judge.Fix) {
			*x = judge.Fix{Words: r.String()}
			x.Changes = unlist(r, func(c *judge.FixChange) {
				*c = judge.FixChange{Path: r.String(), Move: r.String(), Old: r.String(), New: r.String()}
			})
			x.Edits = unlist(r, func(e *spec.Edit) { *e = spec.Edit{Place: r.Place(), Text: r.String()} })
		})
		f.Related = unlist(r, func(x *spec.Related) { *x = spec.Related{Place: r.Place(), Message: r.String()} })
		f.Utilisation, f.Compared = r.Float(), uncompared(r)
		f.Cause = r.String()
		f.Waiver, f.WaiverPlace = unwaiver(r)
	})
}

func compared(w *codec.Writer, c judge.Compared) {
	if w.Bool(c.Made()); !c.Made() {
		return
	}
	of := 0
	if c.Of != nil {
		of = 1 + c.Of.ID()
	}
	w.Int(of)
	w.Float(c.Value)
	w.Float(c.Limit)
	w.Int(int(c.Kind))
	w.Int(int(c.Sense))
}

func uncompared(r *codec.Reader) (c judge.Compared) {
	if !r.Bool() {
		return c
	}
	if of := r.Within(1 + len(mechanics.All())); of > 0 {
		c.Of = mechanics.All()[of-1]
	}
	c.Value, c.Limit = r.Float(), r.Float()
	c.Kind, c.Sense = unit.Kind(r.Within(unit.Kinds)), judge.Sense(r.Within(int(judge.AtLeast)+1))
	return c
}

func waiver(w *codec.Writer, x *spec.Waiver, at spec.Place) {
	if w.Bool(x != nil); x != nil {
		w.String(x.Reason.Text)
		w.String(x.Until.Text)
		w.Place(at)
	}
}

func unwaiver(r *codec.Reader) (*spec.Waiver, spec.Place) {
	if !r.Bool() {
		return nil, spec.Place{}
	}
	return &spec.Waiver{Reason: &spec.Value{Text: r.String()}, Until: &spec.Value{Text: r.String()}}, r.Place()
}
