package cache

import (
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"trammel/cmd/internal/atomicfile"
	"trammel/spec"
)

// Bounds on the file of the secret, in bytes.
const (
	minSecret = 32
	maxSecret = 4096
)

// secretOf reads the secret that packs are sealed with: the file that
// TRAMMEL_CACHE_KEY names, else one beside the folder, which is made where there
// is none.
func secretOf(dir string, trees []string) (spec.Digest, error) {
	name, made := os.Getenv("TRAMMEL_CACHE_KEY"), false
	if name == "" {
		name, made = dir+".key", true
	} else if !filepath.IsAbs(name) {
		return spec.Digest{}, errors.New("TRAMMEL_CACHE_KEY must be an absolute path")
	}
	name, err := outside(name, trees)
	if err != nil {
		return spec.Digest{}, err
	}
	text, err := readSecret(name)
	if made && errors.Is(err, fs.ErrNotExist) {
		text, err = makeSecret(name)
	}
	if err != nil {
		return spec.Digest{}, fmt.Errorf("the key %s: %w", name, atomicfile.Reason(err))
	}
	return sha256.Sum256(text), nil
}

func readSecret(name string) ([]byte, error) {
	f, err := atomicfile.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if !secretAlone(info) {
		return nil, errors.New("others may read or write it; take that from them, as by chmod 600")
	}
	text, err := io.ReadAll(io.LimitReader(f, maxSecret+1))
	if err == nil && (len(text) < minSecret || len(text) > maxSecret) {
		err = fmt.Errorf("it holds %d bytes, a key has %d to %d", len(text), minSecret, maxSecret)
	}
	return text, err
}

func makeSecret(name string) ([]byte, error) {
	dir, err := atomicfile.OpenFolder(filepath.Dir(name), 0o700)
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	dir.Alone = true
	text := []byte(rand.Text() + rand.Text() + "\n") // 256 bits
	return text, dir.WriteFile(filepath.Base(name), text)
}

// outside resolves the links of a path and refuses one that lies in a tree, or
// leads over one: what is there a stranger may have put there.
func outside(path string, trees []string) (string, error) {
	real, err := resolved(filepath.Clean(path))
	if err != nil {
		return "", fmt.Errorf("%s: %w", path, atomicfile.Reason(err))
	}
	for _, tree := range trees {
		root, err := os.Stat(tree)
		if err != nil {
			return "", err
		}
		if below(path, root) || below(real, root) {
			return "", fmt.Errorf("%s lies inside the tree %s that is checked; name one outside of it", path, tree)
		}
	}
	return real, nil
}

// below reports whether a path is a folder or leads through it.
func below(path string, root fs.FileInfo) bool {
	for {
		if info, err := os.Stat(path); err == nil && os.SameFile(info, root) {
			return true
		}
		up := filepath.Dir(path)
		if up == path {
			return false
		}
		path = up
	}
}

// resolved resolves the links of a path of which the end need not be there.
func resolved(path string) (string, error) {
	real, err := filepath.EvalSymlinks(path)
	if !errors.Is(err, fs.ErrNotExist) {
		return real, err
	}
	if _, err := os.Lstat(path); err == nil {
		return "", errors.New("it is a link that leads nowhere")
	}
	up, err := resolved(filepath.Dir(path))
	return filepath.Join(up, filepath.Base(path)), err
}
