//go:build !linux

package atomicfile

import (
	"io/fs"
	"os"
)

// list lists what is in a folder.
func (r *readOnly) list(dir *os.File, _ string) ([]fs.DirEntry, error) { return dir.ReadDir(-1) }
