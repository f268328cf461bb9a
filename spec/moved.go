package spec

import "slices"

// Moved compares an axis with the same one read later. Where b says what a says, in the
// same order and under the same scope, all that follows from a follows from b, but for
// places: moved gives those in b by those in a. ok is false where b says something else,
// or where that cannot be told, as of an axis that names a file beside it.
func (a *Axis) Moved(b *Axis) (moved map[Place]Place, ok bool) {
	if a.Folder != b.Folder || a.Name != b.Name || a.InFile != b.InFile || a.Broken || b.Broken || a.Unread || b.Unread ||
		len(a.Moves) != len(b.Moves) || len(a.Waivers) != len(b.Waivers) {
		return nil, false
	}
	m := &moving{}
	m.place(a.Place, b.Place)
	m.values(a.values, b.values)
	for i := range a.blocks {
		m.place(a.blocks[i].head, b.blocks[i].head)
	}
	for i, v := range a.Moves {
		w := b.Moves[i]
		m.other = m.other || v.Name != w.Name
		m.place(v.Place, w.Place)
		m.values(v.values, w.values)
	}
	for i, v := range a.Waivers {
		m.waiver(v, b.Waivers[i])
	}
	return m.all()
}

// A moving gathers the places of what two axes say, and whether they say something else.
type moving struct {
	pairs [][2]Place
	other bool
}

func (m *moving) place(a, b Place) {
	switch {
	case a.Valid() != b.Valid() || a.File != b.File:
		m.other = true
	case a.Valid():
		m.pairs = append(m.pairs, [2]Place{a, b})
	}
}

func (m *moving) values(a, b []*Value) {
	for i := 0; i < len(a) && !m.other; i++ {
		m.value(a[i], b[i])
	}
}

func (m *moving) value(a, b *Value) {
	switch {
	case a == nil && b == nil:
		return
	case a == nil || b == nil || a.Field.File || a.Field != b.Field || a.Num != b.Num || a.Ends != b.Ends || a.Text != b.Text || a.Word != b.Word ||
		a.Flag != b.Flag || a.Part != b.Part || a.Origin != b.Origin || a.Bad || b.Bad || len(a.Axes) != len(b.Axes):
		m.other = true
		return
	}
	m.place(a.Place, b.Place)
	for i, x := range a.Axes {
		m.other = m.other || x.Name != b.Axes[i].Name
		m.place(x.Place, b.Axes[i].Place)
	}
}

func (m *moving) waiver(a, b *Waiver) {
	if a.Rule != b.Rule || a.Broken || b.Broken || !slices.Equal(a.Axes, b.Axes) || !slices.Equal(a.Parts, b.Parts) {
		m.other = true
		return
	}
	m.place(a.RulePlace, b.RulePlace)
	m.place(a.AxesPlace, b.AxesPlace)
	m.place(a.PartsPlace, b.PartsPlace)
	m.value(a.Reason, b.Reason)
	m.value(a.Until, b.Until)
}

// all gives the places, if those of b stand in the order of those of a: of two lines that
// contradict each other the later one has the finding.
func (m *moving) all() (map[Place]Place, bool) {
	if m.other {
		return nil, false
	}
	slices.SortFunc(m.pairs, func(x, y [2]Place) int { return ComparePlaces(x[0], y[0]) })
	moved := make(map[Place]Place, len(m.pairs))
	for i, p := range m.pairs {
		if i > 0 && ComparePlaces(m.pairs[i-1][0], p[0]) != ComparePlaces(m.pairs[i-1][1], p[1]) {
			return nil, false
		}
		if at, known := moved[p[0]]; known && at != p[1] {
			return nil, false
		}
		moved[p[0]] = p[1]
	}
	return moved, true
}
