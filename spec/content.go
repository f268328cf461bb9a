package spec

import (
	"crypto/sha256"
	"io/fs"
)

// An Identity tells a file from every other, and from itself after any change, as far as
// the file system can say: device, inode, size in bytes, and the times of the last write
// and of the last change of anything, in ns.
type Identity = [5]int64

// Contents knows what files held when they were read in earlier runs. Its methods are
// called by several goroutines at once.
type Contents interface {
	Known(name string) (Identity, Digest, bool)    // what is known of a file
	Note(name string, id Identity, content Digest) // a file was read that had this identity
}

// Recall has the tree take a file for unchanged that still has the identity it had when it
// was read: it is not opened for its digest. What is parsed is always read. It is called
// before anything is read.
func (t *Tree) Recall(c Contents) { t.contents = c }

// identifier is a file system that knows the identities of its files, where they can be
// trusted.
type identifier interface {
	Identity(name string) (Identity, bool)
	Settled(file fs.File, info fs.FileInfo) (Identity, bool)
}

// Content is the SHA-256 of a file. src is what was read for it; nil where the file was
// recognised.
func (t *Tree) Content(name string) (d Digest, src []byte, p *Problem) {
	if d, ok := t.recognised(name); ok {
		return d, nil, nil
	}
	return t.hashed(name)
}

func (t *Tree) recognised(name string) (d Digest, ok bool) {
	files, ok := t.fsys.(identifier)
	if _, given := t.unsaved[name]; !ok || given || t.contents == nil {
		return d, false
	}
	was, d, ok := t.contents.Known(name)
	if !ok {
		return d, false
	}
	id, ok := files.Identity(name)
	return d, ok && id == was
}

// hashed reads a file and notes what it holds.
func (t *Tree) hashed(name string) (d Digest, src []byte, p *Problem) {
	note := func(Digest) {}
	src, p = t.readTelling(name, func(file fs.File, info fs.FileInfo) { note = t.noter(name, file, info) })
	if p != nil {
		return d, nil, p
	}
	d = sha256.Sum256(src)
	note(d)
	return d, src, nil
}

// noter gives what is to be told the content of a file that was opened, once it is read.
func (t *Tree) noter(name string, file fs.File, info fs.FileInfo) func(Digest) {
	if files, ok := t.fsys.(identifier); ok && t.contents != nil {
		if id, settled := files.Settled(file, info); settled {
			return func(d Digest) { t.contents.Note(name, id, d) }
		}
	}
	return func(Digest) {}
}
