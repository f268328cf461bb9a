//go:build unix

package atomicfile

import (
	"io/fs"
	"os"
	"syscall"
)

// keepOwner gives a file the owner of another, where that is permitted.
func keepOwner(f *os.File, as fs.FileInfo) {
	if st, ok := as.Sys().(*syscall.Stat_t); ok {
		_ = f.Chown(int(st.Uid), int(st.Gid))
	}
}
