package spec

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"strings"
	"sync"

	"trammel/spec/step"
)

// modelSuffixes end the names of models, in any case.
var modelSuffixes = []string{".step", ".stp"}

// IsModel reports whether a file name is that of a model.
func IsModel(name string) bool {
	for _, s := range modelSuffixes {
		if len(name) > len(s) && strings.EqualFold(name[len(name)-len(s):], s) {
			return true
		}
	}
	return false
}

// MaxModelSize bounds a model, in bytes.
const MaxModelSize = step.MaxSize

// A Model is the shape in a file that an axis names.
type Model struct {
	Path   string // below the tree's root
	Digest Digest // of its content; of Err where it cannot be read
	Err    string // why it cannot be read; "" where it can
	Shape  *step.Model
	Turned []TurnedBody // the bodies of it that were turned
	Other  []string     // of the others: their name and why they were not
}

// A TurnedBody is a body of a model with the profile that it was turned to.
type TurnedBody struct {
	Name    string // of its product; may be empty
	Units   step.Units
	Profile *step.Profile
}

// Words tell one content of a model from another: the first digits of its digest, and how
// long its turned bodies are.
func (m *Model) Words() string {
	if m.Err != "" {
		return "cannot be read: " + m.Err
	}
	var long []string
	for i, b := range m.Turned {
		if i == 3 {
			long = append(long, "…")
			break
		}
		long = append(long, fmt.Sprintf("%.6g mm", b.Profile.Length))
	}
	return strings.TrimSpace(fmt.Sprintf("%x %s", m.Digest[:4], strings.Join(long, ", ")))
}

// models are those a tree has read.
type models struct {
	mu  sync.Mutex
	all map[string]*modelOnce
}

type modelOnce struct {
	content, shape sync.Once
	digest         Digest
	model          *Model
}

var modelField = func() *Field { return theSchema.byPath["screw.model"] }

// ModelPath is where the model lies that the axis names, below the root; "" where it
// names none, or none that can be.
func (a *Axis) ModelPath() string {
	v := a.Get(modelField())
	if v == nil || v.Bad {
		return ""
	}
	return path.Join(path.Dir(v.Place.File), v.Text)
}

// Model is the model that the axis names, nil where it names none. It is read once.
func (a *Axis) Model() *Model {
	name := a.ModelPath()
	if name == "" {
		return nil
	}
	return a.tree.model(name)
}

// ModelDigest names the content of a model as it is now, or why it cannot be read. It is
// read unless it is recognised, but not taken apart.
func (t *Tree) ModelDigest(name string) Digest {
	if t.base != nil {
		return t.base.ModelDigest(name)
	}
	slot := t.modelSlot(name)
	slot.content.Do(func() {
		known := false
		if slot.digest, known = t.recognised(name); known {
			return
		}
		slot.digest, _ = t.readModel(name, func(r io.Reader) error {
			_, err := io.Copy(io.Discard, r)
			return err
		})
	})
	return slot.digest
}

// ForgetModels has models read anew when an axis next asks for its own. It is not to be
// called while others use the tree.
func (t *Tree) ForgetModels() { t.models.all = nil }

func (t *Tree) modelSlot(name string) *modelOnce {
	t.models.mu.Lock()
	defer t.models.mu.Unlock()
	slot := t.models.all[name]
	if slot == nil {
		slot = &modelOnce{}
		if t.models.all == nil {
			t.models.all = map[string]*modelOnce{}
		}
		t.models.all[name] = slot
	}
	return slot
}

func (t *Tree) model(name string) *Model {
	if t.base != nil {
		return t.base.model(name)
	}
	slot := t.modelSlot(name)
	slot.shape.Do(func() {
		m := &Model{Path: name}
		var err error
		m.Digest, err = t.readModel(name, func(r io.Reader) (err error) {
			m.Shape, err = step.Read(r)
			return err
		})
		if err != nil {
			m.Err = err.Error()
		} else {
			m.turn()
		}
		slot.model = m
	})
	return slot.model
}

// turn makes profiles of the bodies, and keeps no more of them.
func (m *Model) turn() {
	for i := range m.Shape.Bodies {
		b := &m.Shape.Bodies[i]
		p, err := b.Turned()
		if err != nil {
			m.Other = append(m.Other, fmt.Sprintf("%s: %v", bodyName(b), err))
			continue
		}
		m.Turned = append(m.Turned, TurnedBody{b.Name, b.Units, p})
	}
	m.Shape.Bodies = nil
}

func bodyName(b *step.Body) string {
	if b.Name == "" {
		return fmt.Sprintf("body #%d", b.ID)
	}
	return b.Name
}

// readModel opens a model for take, and names what was read. A link is none: what it
// leads to would change unnoticed.
func (t *Tree) readModel(name string, take func(io.Reader) error) (Digest, error) {
	err := t.plainFile(name)
	var file fs.File
	if err == nil {
		file, err = t.fsys.Open(name)
	}
	sum := sha256.New()
	note := func(Digest) {}
	if err == nil {
		defer file.Close()
		if info, failed := file.Stat(); failed == nil {
			note = t.noter(name, file, info)
		}
		all := io.TeeReader(io.LimitReader(file, step.MaxSize+1), sum)
		err = take(all)
		// The digest is that of the whole file, whatever was read of it.
		if _, more := io.Copy(io.Discard, all); more != nil {
			err = more
		}
	}
	var broken *step.Error
	switch {
	case err == nil:
		note(Digest(sum.Sum(nil)))
		return Digest(sum.Sum(nil)), nil
	case errors.As(err, &broken):
		return Digest(sum.Sum(nil)), err
	}
	err = errors.New(fileProblem(name, err).Message)
	return DigestOf("cannot be read", err.Error()), err
}

// plainFile refuses what is no file, and links on the way to it.
func (t *Tree) plainFile(name string) error {
	for end := 0; end < len(name); {
		next := strings.IndexByte(name[end+1:], '/')
		if end += next + 1; next < 0 {
			end = len(name)
		}
		info, err := fs.Lstat(t.fsys, name[:end])
		switch {
		case err != nil:
			return err
		case info.Mode()&fs.ModeSymlink != 0:
			return fmt.Errorf("%s is a link; name the file that it leads to", name[:end])
		case end == len(name) && !info.Mode().IsRegular():
			return fmt.Errorf("it is no regular file (%s)", modeWord(info.Mode()))
		case end == len(name) && info.Size() > step.MaxSize:
			return fmt.Errorf("it is %d MB large; models are at most %d MB", info.Size()>>20, step.MaxSize>>20)
		}
	}
	return nil
}

// modelName says what is wrong with the way to a model as it is written.
func modelName(dir, name string) (wrong, help string) {
	full := path.Join(dir, name)
	switch {
	case name == "" || strings.ContainsAny(name, "\x00\n"):
		return "names no file", ""
	case strings.Contains(name, `\`):
		return "holds a backslash", "write it with forward slashes"
	case path.IsAbs(name) || strings.Contains(name, ":"):
		return "is not relative to this file", "write it from the folder of this file on, such as \"cad/shaft.step\""
	case full == ".." || strings.HasPrefix(full, "../"):
		return "leads out of the tree", "put the model into the tree"
	case strings.HasPrefix(full, ".") || strings.Contains(full, "/."):
		return "lies in a hidden folder or is hidden", "move the model"
	case !IsModel(full):
		return "is no STEP file by its name", "export the model as STEP; its name ends in " + strings.Join(modelSuffixes, " or ")
	}
	return "", ""
}
