//go:build !linux

package atomicfile

import "io/fs"

// Identity is not to be had: on other systems it was not tried whether the times can be
// believed.
func (r *readOnly) Identity(string) (id [5]int64, ok bool) { return id, false }

// Settled reports that it is not known.
func (r *readOnly) Settled(fs.File, fs.FileInfo) (id [5]int64, ok bool) { return id, false }
