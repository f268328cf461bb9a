//go:build unix

package keep

import (
	"io/fs"
	"os"
	"syscall"
)

// ownAlone reports whether a folder is the user's and nobody else may write to
// it.
func ownAlone(info fs.FileInfo) bool {
	st, ok := info.Sys().(*syscall.Stat_t)
	return ok && int(st.Uid) == os.Getuid() && info.Mode().Perm()&0o022 == 0
}
