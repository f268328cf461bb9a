//go:build unix

package cache

import (
	"io/fs"
	"os"
	"syscall"
)

// secretAlone reports whether a file is the user's and nobody else may read it.
func secretAlone(info fs.FileInfo) bool { return ownAlone(info) && info.Mode().Perm()&0o077 == 0 }

// ownAlone reports whether a file or folder is the user's and nobody else may write to
// it.
func ownAlone(info fs.FileInfo) bool {
	st, ok := info.Sys().(*syscall.Stat_t)
	return ok && int(st.Uid) == os.Getuid() && info.Mode().Perm()&0o022 == 0
}
