package layout

import (
	"bytes"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"trammel/cmd/internal/whole"
)

// Replace puts text into a file that held before, by way of a new file beside
// it that takes its name: whoever reads meanwhile sees the one or the other.
// Permissions are kept. A link is not followed, a read-only file not replaced,
// nor one that somebody else has changed since it was read.
func Replace(file string, before, text []byte) error {
	// Held open, the folder stays the same one whatever happens to its path.
	dir, err := os.OpenRoot(filepath.Dir(file))
	if err != nil {
		return whole.Reason(err)
	}
	defer dir.Close()
	name := filepath.Base(file)
	info, err := dir.Lstat(name)
	if err != nil {
		return whole.Reason(err)
	}
	switch {
	case info.Mode()&fs.ModeSymlink != 0:
		return ErrLink
	case !info.Mode().IsRegular():
		return errors.New("it is no regular file")
	case info.Mode().Perm()&0o222 == 0:
		return errors.New("it is read-only")
	}
	// The new file would take the place of one that may not be written.
	f, err := dir.OpenFile(name, os.O_WRONLY, 0)
	if err != nil {
		return whole.Reason(err)
	}
	f.Close()
	// Hidden and without the ending of a spec file, so that no run takes it
	// for one.
	fresh := ".trammel-" + rand.Text()
	if f, err = dir.OpenFile(fresh, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600); err != nil {
		return fmt.Errorf("its folder: %w", whole.Reason(err))
	}
	if err = fill(f, info, text); err == nil {
		err = unchanged(dir, name, before)
	}
	if err == nil {
		err = dir.Rename(fresh, name)
	}
	if err != nil {
		_ = dir.Remove(fresh)
		return whole.Reason(err)
	}
	// Makes the new name last; where folders cannot be synced, nothing is lost.
	if d, err := dir.Open("."); err == nil {
		_ = d.Sync()
		d.Close()
	}
	return nil
}

// ErrLink says that a file is a symbolic link.
var ErrLink = errors.New("it is a link, which is not replaced; name the file it leads to")

func fill(f *os.File, as fs.FileInfo, text []byte) error {
	_, err := f.Write(text)
	keepOwner(f, as) // before the permissions: a change of owner may clear some
	err = errors.Join(err, f.Chmod(as.Mode().Perm()), f.Sync())
	return errors.Join(err, f.Close())
}

func unchanged(dir *os.Root, name string, before []byte) error {
	now, err := dir.ReadFile(name)
	if err == nil && !bytes.Equal(now, before) {
		err = errors.New("it was changed by somebody else meanwhile")
	}
	return err
}
