// Package whole writes files so that no one ever sees a part of one.
package whole

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// WriteFile writes a file under a temporary name in the same folder and gives it
// its name when all is on disk. A link keeps its place: what it leads to is
// replaced. The permissions of a file that was there are kept.
func WriteFile(name string, data []byte) (err error) {
	if real, err := filepath.EvalSymlinks(name); err == nil {
		name = real
	}
	mode := fs.FileMode(0o644)
	if info, err := os.Stat(name); err == nil {
		if !info.Mode().IsRegular() {
			return fmt.Errorf("%s is no ordinary file", name)
		}
		mode = info.Mode().Perm()
	}
	dir := filepath.Dir(name)
	f, err := os.CreateTemp(dir, "."+filepath.Base(name)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	_, err = f.Write(data)
	if err = errors.Join(err, f.Chmod(mode), f.Sync(), f.Close()); err != nil {
		return err
	}
	if err = os.Rename(f.Name(), name); err != nil {
		return err
	}
	// The new name lasts through a power cut once its folder is on disk too;
	// not every system can say so.
	if d, err := os.Open(dir); err == nil {
		_ = d.Sync()
		_ = d.Close()
	}
	return nil
}
