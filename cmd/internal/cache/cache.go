// Package cache remembers what runs found, so that the next one need not judge
// what has not changed.
//
// What belongs to one way of asking (a tree, folders, options) stands in one
// file, a pack:
//
//	magic, 16 bytes
//	stamp, 32 bytes: the program and the way of asking
//	entries, one after the other
//	index: of each entry its key (32 bytes), offset (8), length (4), checksum (16)
//	offset of the index (8) and HMAC-SHA-256 of stamp and index (32)
//
// The HMAC is by a secret of the user's, which lies beside the folder and not in
// it: a pack that somebody else made, and that came with a copy of the folder,
// is not believed. No folder in a tree that is checked is used.
//
// A pack is written under another name and renamed; runs at once each read the
// one they found, and the last one to end leaves its own. It may go at any time.
// What does not agree with its checksum is passed over.
package cache

import (
	"bufio"
	"bytes"
	"cmp"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/codec"
	"trammel/rules/judge/run"
	"trammel/spec"
)

const (
	magic      = "trammel-keep 3\n\n"
	headSize   = len(magic) + sha256.Size
	slotSize   = sha256.Size + 8 + 4 + 16
	tailSize   = 8 + sha256.Size
	maxPack    = 1 << 30 // bytes of one pack; what would make it larger is not kept
	maxEntry   = 64 << 20
	maxSlots   = 4 << 20
	suffix     = ".pack"
	unfinished = ".part"
)

// Bounds on the folder, held when a pack is written: packs that were not used
// for so long go, then the longest unused ones until the rest is no larger.
const (
	maxAge   = 30 * 24 * time.Hour
	maxTotal = 2 << 30
	maxPart  = 24 * time.Hour // an unfinished pack of a run that was killed
)

// Notes encodes what Options.Note of rules makes.
type Notes struct {
	Encode func(*codec.Writer, any)
	Decode func(*codec.Reader) any
}

// A Store is the memory of one way of asking. It is a rules.Keep.
type Store struct {
	dir    *atomicfile.Folder
	name   string
	stamp  spec.Digest
	secret spec.Digest
	start  string // of the system that runs; "": it is not known
	notes  Notes
	old    *window // nil where there is none
	index  map[spec.Digest]*slot

	mu     sync.Mutex
	part   *atomicfile.Draft // what is being written; nil before the first entry
	buf    *bufio.Writer
	size   int64
	slots  map[spec.Digest]*slot
	err    error // why nothing is written
	closed bool
}

type slot struct {
	offset int64
	length int
	sum    [16]byte
	used   atomic.Bool
}

// Folder is where packs are kept: TRAMMEL_CACHE where that is set, else trammel
// in the user's folder for such files.
func Folder() (string, error) {
	if dir := os.Getenv("TRAMMEL_CACHE"); dir != "" {
		if !filepath.IsAbs(dir) {
			return "", errors.New("TRAMMEL_CACHE must be an absolute path")
		}
		return dir, nil
	}
	dir, err := os.UserCacheDir()
	return filepath.Join(dir, "trammel"), err
}

// Open opens what is cached of a way of asking, which asked names with all
// that results depend on besides the trees and the program. trees are the roots
// of those that are checked. It makes the folder where there is none. An error
// says why nothing can be cached.
func Open(dir string, trees []string, notes Notes, asked ...string) (*Store, error) {
	program, err := programDigest()
	if err != nil {
		return nil, err
	}
	path, err := outside(dir, trees)
	if err != nil {
		return nil, err
	}
	secret, err := secretOf(path, trees)
	if err != nil {
		return nil, err
	}
	folder, err := private(path)
	if err != nil {
		return nil, err
	}
	// Two programs in turn have a pack each.
	way := spec.DigestOf(append(slices.Clip(asked), string(program[:]))...)
	s := &Store{
		dir: folder, name: hex.EncodeToString(way[:16]) + suffix, secret: secret, notes: notes, start: systemStart(),
		stamp: spec.DigestOf(magic, string(way[:])), slots: map[spec.Digest]*slot{},
	}
	s.old, s.index = s.openPack()
	return s, nil
}

// private opens the folder, makes it for the user alone, and refuses one that
// others may write to: who can write a pack can say what a run finds.
func private(dir string) (*atomicfile.Folder, error) {
	f, err := atomicfile.OpenFolder(dir, 0o700)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", dir, atomicfile.Reason(err))
	}
	info, err := f.Stat()
	if err == nil && !ownAlone(info) {
		err = fmt.Errorf("others may write to %s", dir)
	}
	if err != nil {
		f.Close()
		return nil, err
	}
	f.Alone, f.Quick = true, true
	return f, nil
}

// programDigest names the program by the bytes of its file. A version does not:
// two builds of one may differ.
var programDigest = sync.OnceValues(func() (d spec.Digest, err error) {
	name := "/proc/self/exe" // the file that runs, even where another has taken its name
	if _, err := os.Stat(name); err != nil {
		if name, err = os.Executable(); err != nil {
			return d, err
		}
	}
	f, err := os.Open(name)
	if err != nil {
		return d, err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return d, err
	}
	h.Sum(d[:0])
	return d, nil
})

// openPack opens the pack and reads its index; nil where there is none that
// agrees with its checksum.
func (s *Store) openPack() (*window, map[spec.Digest]*slot) {
	f, err := s.dir.Open(s.name)
	if err != nil {
		return nil, nil
	}
	index, err := s.readIndex(f)
	if err != nil {
		f.Close()
		return nil, nil
	}
	return &window{File: f}, index
}

var errDamaged = errors.New("no pack of this program, or a damaged one")

func (s *Store) readIndex(f *os.File) (map[spec.Digest]*slot, error) {
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	size := info.Size()
	if !info.Mode().IsRegular() || size < int64(headSize+tailSize) {
		return nil, errDamaged
	}
	head := make([]byte, headSize)
	tail := make([]byte, tailSize)
	if _, err := f.ReadAt(head, 0); err != nil {
		return nil, err
	}
	if !bytes.Equal(head, append([]byte(magic), s.stamp[:]...)) {
		return nil, errDamaged
	}
	if _, err := f.ReadAt(tail, size-int64(tailSize)); err != nil {
		return nil, err
	}
	end := size - int64(tailSize)
	at := binary.LittleEndian.Uint64(tail)
	if at < uint64(headSize) || at > uint64(end) || (uint64(end)-at)%uint64(slotSize) != 0 || (uint64(end)-at)/uint64(slotSize) > maxSlots {
		return nil, errDamaged
	}
	raw := make([]byte, end-int64(at))
	if _, err := f.ReadAt(raw, int64(at)); err != nil {
		return nil, err
	}
	if !hmac.Equal(s.indexSum(raw), tail[8:]) {
		return nil, errDamaged
	}
	index := make(map[spec.Digest]*slot, len(raw)/slotSize)
	for ; len(raw) > 0; raw = raw[slotSize:] {
		offset, length := binary.LittleEndian.Uint64(raw[sha256.Size:]), binary.LittleEndian.Uint32(raw[sha256.Size+8:])
		if length > maxEntry || offset < uint64(headSize) || offset > at || uint64(length) > at-offset {
			return nil, errDamaged
		}
		at := &slot{offset: int64(offset), length: int(length)}
		copy(at.sum[:], raw[sha256.Size+12:])
		index[spec.Digest(raw[:sha256.Size])] = at
	}
	return index, nil
}

// indexSum is what only who knows the secret can make of an index.
func (s *Store) indexSum(raw []byte) []byte {
	h := hmac.New(sha256.New, s.secret[:])
	h.Write(s.stamp[:])
	h.Write(raw)
	return h.Sum(nil)
}

func entrySum(data []byte) (sum [16]byte) {
	all := sha256.Sum256(data)
	copy(sum[:], all[:])
	return sum
}

// get reads an entry of the old pack, nil where there is none or a damaged one.
func (s *Store) get(key spec.Digest) ([]byte, *slot) {
	at := s.index[key]
	if at == nil {
		return nil, nil
	}
	data := make([]byte, at.length)
	if err := s.old.read(data, at.offset); err != nil || entrySum(data) != at.sum {
		return nil, nil
	}
	return data, at
}

// A window is a file of which a piece is held: entries are wanted about in the order in
// which they were written.
type window struct {
	*os.File
	mu   sync.Mutex
	from int64
	held []byte
}

// windowSize is how much of a file a window holds, in bytes.
const windowSize = 512 << 10

// read fills a slice with what stands from an offset on.
func (w *window) read(data []byte, from int64) error {
	if len(data) > windowSize/4 {
		_, err := w.ReadAt(data, from)
		return err
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if from < w.from || from+int64(len(data)) > w.from+int64(len(w.held)) {
		w.from, w.held = max(0, from-windowSize/8), slices.Grow(w.held[:0], windowSize)[:windowSize]
		n, err := w.ReadAt(w.held, w.from)
		if w.held = w.held[:n]; err != nil && err != io.EOF {
			return err
		}
	}
	if at := from - w.from; at+int64(len(data)) <= int64(len(w.held)) {
		copy(data, w.held[at:])
		return nil
	}
	return io.ErrUnexpectedEOF
}

// Empty reports whether no earlier run left anything.
func (s *Store) Empty() bool { return len(s.index) == 0 }

// File gives what is cached of an axis file.
func (s *Store) File(key spec.Digest) *run.CachedFile { return cached(s, key, s.decodeFile) }

// Scope gives what is cached of a folder's scope.
func (s *Store) Scope(key spec.Digest) *run.CachedScope { return cached(s, key, decodeScope) }

// systemStart names this start of this computer, if the system does.
func systemStart() string {
	text, err := os.ReadFile("/proc/sys/kernel/random/boot_id")
	if err != nil {
		return ""
	}
	return string(text)
}

// contentsKey names what is known of the files of a folder. Devices and inodes mean nothing
// on another computer, and may be given to others when this one starts again.
func (s *Store) contentsKey(folder string) spec.Digest {
	return spec.DigestOf("contents", s.start, folder)
}

// Contents gives what files right in a folder held when they had an identity.
func (s *Store) Contents(folder string) []run.FileContent {
	if s.start == "" {
		return nil
	}
	if all := cached(s, s.contentsKey(folder), decodeContents); all != nil {
		return *all
	}
	return nil
}

// PutContents remembers that.
func (s *Store) PutContents(folder string, files []run.FileContent) {
	if s.start != "" {
		s.put(s.contentsKey(folder), encodeContents(files))
	}
}

func cached[T any](s *Store, key spec.Digest, decode func([]byte) (*T, error)) *T {
	data, at := s.get(key)
	if at == nil {
		return nil
	}
	k, err := decode(data)
	if err != nil {
		return nil
	}
	at.used.Store(true)
	return k
}

// PutFile remembers what was found of an axis file.
func (s *Store) PutFile(key spec.Digest, k *run.CachedFile) { s.put(key, s.encodeFile(k)) }

// PutScope remembers what was found of a folder's scope.
func (s *Store) PutScope(key spec.Digest, k *run.CachedScope) { s.put(key, encodeScope(k)) }

func (s *Store) put(key spec.Digest, data []byte) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed || s.err != nil || len(data) > maxEntry || s.slots[key] != nil || s.size+int64(len(data)) > maxPack || len(s.slots) == maxSlots {
		return
	}
	if s.part == nil {
		if s.begin(); s.err != nil {
			return
		}
	}
	if _, err := s.buf.Write(data); err != nil {
		s.fail(err)
		return
	}
	s.slots[key] = &slot{offset: s.size, length: len(data), sum: entrySum(data)}
	s.size += int64(len(data))
}

func (s *Store) begin() {
	f, err := s.dir.Draft("", unfinished, nil)
	if err != nil {
		s.fail(err)
		return
	}
	s.part, s.buf = f, bufio.NewWriterSize(f, 1<<16)
	head := append([]byte(magic), s.stamp[:]...)
	if _, err := s.buf.Write(head); err != nil {
		s.fail(err)
	}
	s.size = int64(len(head))
}

func (s *Store) fail(err error) {
	s.err = atomicfile.Reason(err)
	s.drop()
}

func (s *Store) drop() {
	if s.part != nil {
		s.part.Drop()
		s.part = nil
	}
}

// Abandon ends the use of the store; what is new is not kept.
func (s *Store) Abandon() {
	s.mu.Lock()
	defer s.mu.Unlock()
	// The old pack stays open: a run that was left behind may still read it.
	s.closed = true
	s.drop()
}

// Close keeps what this run found and used for the next one; what it did not
// use is dropped. An error says why nothing could be kept.
func (s *Store) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.closed {
		return s.err
	}
	s.closed = true
	used := 0
	for _, at := range s.index {
		if at.used.Load() {
			used++
		}
	}
	switch {
	case s.err != nil:
	case len(s.slots) == 0 && used >= len(s.index)/2:
		if s.old != nil {
			_ = s.dir.Touch(s.name) // it was used: others go first
		}
	default:
		s.write()
	}
	if s.old != nil {
		s.old.Close()
	}
	s.dir.Close()
	return s.err
}

// write finishes the new pack and gives it its name.
func (s *Store) write() {
	if s.part == nil {
		if s.begin(); s.err != nil {
			return
		}
	}
	byOffset := func(a, b spec.Digest) int { return cmp.Compare(s.index[a].offset, s.index[b].offset) }
	for _, key := range slices.SortedFunc(maps.Keys(s.index), byOffset) { // as they are read
		at := s.index[key]
		if !at.used.Load() || s.slots[key] != nil || s.size+int64(at.length) > maxPack || len(s.slots) == maxSlots {
			continue
		}
		data, ok := s.get(key)
		if ok == nil {
			continue
		}
		if _, err := s.buf.Write(data); err != nil {
			s.fail(err)
			return
		}
		s.slots[key] = &slot{offset: s.size, length: at.length, sum: at.sum}
		s.size += int64(at.length)
	}
	raw := make([]byte, 0, len(s.slots)*slotSize)
	for key, at := range s.slots {
		raw = append(raw, key[:]...)
		raw = binary.LittleEndian.AppendUint64(raw, uint64(at.offset))
		raw = binary.LittleEndian.AppendUint32(raw, uint32(at.length))
		raw = append(raw, at.sum[:]...)
	}
	sum := s.indexSum(raw)
	raw = append(binary.LittleEndian.AppendUint64(raw, uint64(s.size)), sum...)
	// Not synced: a pack that a power cut tears does not agree with its checksum.
	_, err := s.buf.Write(raw)
	if err = errors.Join(err, s.buf.Flush()); err == nil {
		if s.old != nil {
			s.old.Close() // some systems rename over no open file
		}
		err = s.part.Become(s.name)
	}
	if err != nil {
		s.fail(err)
		return
	}
	s.part = nil
	prune(s.dir, s.name, time.Now())
}

// prune holds the folder within its bounds. Only files that are named as packs
// are touched; own is the one just written.
func prune(dir *atomicfile.Folder, own string, now time.Time) {
	entries, err := dir.List()
	if err != nil {
		return
	}
	var packs []fs.FileInfo
	var total int64
	for _, e := range entries {
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() {
			continue
		}
		switch age := now.Sub(info.ModTime()); {
		case strings.HasSuffix(e.Name(), unfinished) && age > maxPart, strings.HasSuffix(e.Name(), suffix) && age > maxAge:
			_ = dir.Remove(e.Name())
		case strings.HasSuffix(e.Name(), suffix):
			packs = append(packs, info)
			total += info.Size()
		}
	}
	slices.SortFunc(packs, func(a, b fs.FileInfo) int { return a.ModTime().Compare(b.ModTime()) })
	for _, p := range packs {
		if total <= maxTotal {
			return
		}
		if p.Name() != own {
			_ = dir.Remove(p.Name())
			total -= p.Size()
		}
	}
}
