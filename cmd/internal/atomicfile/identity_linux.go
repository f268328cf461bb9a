package atomicfile

import (
	"io/fs"
	"os"
	"syscall"
	"time"
)

// identityOf is what tells a file from others, and from itself after a change: device,
// inode, size, and the times of the last write and of the last change of anything, in ns.
// No program can set the last one.
func identityOf(info fs.FileInfo) (id [5]int64, ok bool) {
	s, ok := info.Sys().(*syscall.Stat_t)
	if !ok || !info.Mode().IsRegular() {
		return id, false
	}
	return [5]int64{int64(s.Dev), int64(s.Ino), s.Size, s.Mtim.Nano(), s.Ctim.Nano()}, true
}

// Identity is that of a file now, looked at and not opened; false where a link is on the
// way, or the file is no ordinary one.
func (r *readOnly) Identity(name string) (id [5]int64, ok bool) {
	if !fs.ValidPath(name) {
		return id, false
	}
	if f, info := r.look(name); f != nil {
		return identityOf(info)
	}
	return id, false
}

// Settled is the identity of an opened file, as info has it, if every change from now on
// will make another of it: both times are old enough and the file system is one that is
// known to keep them, to less than a second.
func (r *readOnly) Settled(file fs.File, info fs.FileInfo) (id [5]int64, ok bool) {
	f, isFile := file.(*os.File)
	if id, ok = identityOf(info); !ok || !isFile {
		return id, false
	}
	written, changed := time.Unix(0, id[3]), time.Unix(0, id[4])
	if before := r.since.Add(-Settling); !written.Before(before) || !changed.Before(before) || changed.Nanosecond() == 0 {
		return id, false
	}
	r.guard.Lock()
	defer r.guard.Unlock()
	keeps, known := r.devices[id[0]]
	if !known {
		keeps = keepsTimes(f)
		r.devices[id[0]] = keeps
	}
	return id, keeps
}

// keepsTimes reports whether a file lies on a disk of this computer with a file system that
// is known to change the time of the last change with every write.
func keepsTimes(f *os.File) bool {
	conn, err := f.SyscallConn()
	if err != nil {
		return false
	}
	var s syscall.Statfs_t
	fault := syscall.EINTR
	if err := conn.Control(func(fd uintptr) {
		for fault == syscall.EINTR {
			fault, _ = syscall.Fstatfs(int(fd), &s).(syscall.Errno)
		}
	}); err != nil || fault != 0 {
		return false
	}
	switch uint32(s.Type) {
	case 0xef53, 0x58465342, 0x9123683e: // ext2 to ext4, XFS, Btrfs
		return true
	}
	return false
}
