package layout

import (
	"bytes"
	"io"
	"io/fs"
	"time"

	"trammel/spec"
)

// broken returns what keeps a text from being read at all: size, encoding,
// depth, merge conflicts, syntax errors.
//
// It has the text read as that of a machine file, in which spec passes over
// blocks of every other kind: neither parts that stand elsewhere nor the number
// of axes can add problems of another sort.
func broken(name string, src []byte) []spec.Problem {
	var out []spec.Problem
	for _, p := range spec.NewTree(oneFile(src)).Folder(".").Problems {
		if p.Rule != "syntax" && p.Rule != "file" {
			continue
		}
		p.Place.File = name
		for i := range p.Related {
			p.Related[i].Place.File = name
		}
		out = append(out, p)
	}
	return out
}

// oneFile is a file system that holds one machine file.
type oneFile []byte

func (f oneFile) Open(name string) (fs.File, error) {
	if name != spec.MachineFile {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return opened{bytes.NewReader(f), fileInfo(len(f))}, nil
}

func (f oneFile) ReadDir(name string) ([]fs.DirEntry, error) {
	if name != "." {
		return nil, &fs.PathError{Op: "readdir", Path: name, Err: fs.ErrNotExist}
	}
	return []fs.DirEntry{fs.FileInfoToDirEntry(fileInfo(len(f)))}, nil
}

type opened struct {
	io.Reader
	info fileInfo
}

func (o opened) Stat() (fs.FileInfo, error) { return o.info, nil }
func (o opened) Close() error               { return nil }

// fileInfo is the size of the machine file; the rest of it is fixed.
type fileInfo int

func (i fileInfo) Name() string       { return spec.MachineFile }
func (i fileInfo) Size() int64        { return int64(i) }
func (i fileInfo) Mode() fs.FileMode  { return 0o444 }
func (i fileInfo) ModTime() time.Time { return time.Time{} }
func (i fileInfo) IsDir() bool        { return false }
func (i fileInfo) Sys() any           { return nil }
