package atomicfile

import (
	"bytes"
	"encoding/binary"
	"io/fs"
	"os"
	"path"
	"syscall"
)

// listSize is how much of a folder is listed at once, in bytes.
const listSize = 32 << 10

// list lists what is in a folder. What package os opened below a root it asks of each
// entry what it is, which takes longer than the listing; the system says so in the listing.
func (r *readOnly) list(dir *os.File, name string) (all []fs.DirEntry, err error) {
	conn, err := dir.SyscallConn()
	if err != nil {
		return nil, err
	}
	buf := make([]byte, listSize)
	for {
		n, fault := 0, error(nil)
		err := conn.Control(func(fd uintptr) {
			for n, fault = syscall.ReadDirent(int(fd), buf); fault == syscall.EINTR; {
				n, fault = syscall.ReadDirent(int(fd), buf)
			}
		})
		switch {
		case err != nil:
			return all, err
		case fault != nil:
			return all, &fs.PathError{Op: "readdirent", Path: name, Err: fault}
		case n <= 0:
			return all, nil
		}
		all = r.entries(all, name, buf[:n])
	}
}

// A record of linux_dirent64 is 8 bytes of inode, 8 of offset, 2 of its length, 1 of kind
// and the name, which ends in a zero.
const (
	lengthAt = 16
	kindAt   = 18
	nameAt   = 19
)

// entries takes apart what the system says of a folder.
func (r *readOnly) entries(all []fs.DirEntry, dir string, list []byte) []fs.DirEntry {
	for len(list) >= nameAt {
		size := int(binary.NativeEndian.Uint16(list[lengthAt:]))
		if size < nameAt || size > len(list) {
			break
		}
		base, _, _ := bytes.Cut(list[nameAt:size], []byte{0})
		kind := list[kindAt]
		if list = list[size:]; string(base) == "." || string(base) == ".." {
			continue
		}
		e := &entry{in: r, dir: dir, name: string(base)}
		if mode, told := modes[kind]; told {
			e.mode = mode
		} else if info, err := e.Info(); err == nil {
			e.mode = info.Mode().Type()
		} else {
			continue // it is gone
		}
		all = append(all, e)
	}
	return all
}

// modes are the kinds that the system tells; of one that it does not tell, the entry is looked at.
var modes = map[byte]fs.FileMode{
	syscall.DT_REG: 0, syscall.DT_DIR: fs.ModeDir, syscall.DT_LNK: fs.ModeSymlink, syscall.DT_FIFO: fs.ModeNamedPipe,
	syscall.DT_SOCK: fs.ModeSocket, syscall.DT_CHR: fs.ModeDevice | fs.ModeCharDevice, syscall.DT_BLK: fs.ModeDevice,
}

// An entry is what a listing tells of something in a folder.
type entry struct {
	in   *readOnly
	dir  string
	name string
	mode fs.FileMode // the kind alone
}

func (e *entry) Name() string               { return e.name }
func (e *entry) IsDir() bool                { return e.mode.IsDir() }
func (e *entry) Type() fs.FileMode          { return e.mode }
func (e *entry) Info() (fs.FileInfo, error) { return e.in.Lstat(path.Join(e.dir, e.name)) }
