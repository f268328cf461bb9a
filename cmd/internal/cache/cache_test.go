package cache

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/codec"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

var texts = Notes{
	Encode: func(w *codec.Writer, note any) { w.String(note.(string)) },
	Decode: func(r *codec.Reader) any { return r.String() },
}

func opened(t testing.TB, dir string, asked ...string) *Store {
	t.Helper()
	s, err := Open(dir, nil, texts, asked...)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// something fills a value at random, down to its last field, so that a field
// that is added and not encoded is noticed.
func something(r *rand.Rand, v reflect.Value) {
	switch v.Kind() {
	case reflect.String:
		v.SetString(strings.Repeat("é\x00\xff", r.IntN(3)) + fmt.Sprint(r.IntN(100)))
	case reflect.Int, reflect.Int32, reflect.Int64:
		v.SetInt(r.Int64N(1<<31) - r.Int64N(1<<31))
	case reflect.Uint8:
		n := uint64(4)
		if v.Type() == reflect.TypeFor[judge.Sense]() {
			n = 2
		}
		v.SetUint(r.Uint64N(n))
	case reflect.Bool:
		v.SetBool(r.IntN(2) == 0)
	case reflect.Float64:
		v.SetFloat([]float64{0, 1.1, math.Inf(1), -3e-300, math.MaxFloat64}[r.IntN(5)])
	case reflect.Slice:
		for range 1 + r.IntN(2) {
			item := reflect.New(v.Type().Elem()).Elem()
			something(r, item)
			v.Set(reflect.Append(v, item))
		}
	case reflect.Array:
		for i := range v.Len() {
			something(r, v.Index(i))
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		for i := range 1 + r.IntN(2) {
			item := reflect.New(v.Type().Elem()).Elem()
			something(r, item)
			v.SetMapIndex(reflect.ValueOf(fmt.Sprint("field", i)), item)
		}
	case reflect.Interface:
		v.Set(reflect.ValueOf("a note"))
	case reflect.Pointer:
		switch v.Type() { // a finding's test is not kept
		case reflect.TypeFor[*spec.Waiver]():
			v.Set(reflect.ValueOf(&spec.Waiver{Reason: &spec.Value{Text: "reason"}, Until: &spec.Value{Text: "2027-01-01"}}))
		case reflect.TypeFor[*mechanics.Quantity]():
			v.Set(reflect.ValueOf(mechanics.All()[r.IntN(len(mechanics.All()))]))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				something(r, v.Field(i))
			}
		}
	default:
		panic(v.Type())
	}
}

func key(i int) spec.Digest { return spec.DigestOf(fmt.Sprint(i)) }

// Everything that is kept comes back, in this run's successor.
func TestRoundTrip(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "c")
	r := rand.New(rand.NewPCG(1, 2))
	var files []*run.CachedFile
	var scopes []*run.CachedScope
	var held [][]run.FileContent
	s := opened(t, dir, "a")
	for i := range 200 {
		f, k := &run.CachedFile{}, &run.CachedScope{}
		something(r, reflect.ValueOf(f).Elem())
		something(r, reflect.ValueOf(k).Elem())
		for n := range k.Parts {
			p := &k.Parts[n]
			p.Listed, p.Used = false, false // these are of a run
			p.Asked = slices.Repeat(p.Asked[:1], len(rules.Book().AcrossParts()))
		}
		files, scopes = append(files, f), append(scopes, k)
		s.PutFile(key(i), f)
		s.PutScope(key(1000+i), k)
		held = append(held, nil)
		something(r, reflect.ValueOf(&held[i]).Elem())
		s.PutContents(fmt.Sprint(i), held[i])
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for round := range 3 {
		s = opened(t, dir, "a")
		for i := range files {
			if got := s.File(key(i)); !reflect.DeepEqual(got, files[i]) {
				t.Fatalf("got  %+v\nwant %+v", got, files[i])
			}
			if got := s.Scope(key(1000 + i)); !reflect.DeepEqual(got, scopes[i]) {
				t.Fatalf("got  %+v\nwant %+v", got, scopes[i])
			}
		}
		if s.start == "" {
			t.Log("the start of the system has no name here")
		} else {
			for i := range held {
				if got := s.Contents(fmt.Sprint(i)); len(held[i])+len(got) > 0 && !reflect.DeepEqual(got, held[i]) {
					t.Fatalf("got  %+v\nwant %+v", got, held[i])
				}
			}
			was := s.start
			for _, other := range []string{"another computer", ""} {
				if s.start = other; s.Contents("1") != nil || s.Contents("2") != nil || s.Contents("3") != nil {
					t.Errorf("what files held on this computer is believed with start %q", other)
				}
			}
			s.start = was
		}
		if s.File(key(999)) != nil {
			t.Error("something is cached of a file that was not there")
		}
		s.PutFile(key(5000+round), files[0]) // the pack is written anew
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	s = opened(t, dir, "b")
	if s.File(key(0)) != nil {
		t.Error("another way of asking sees the same")
	}
	s.Abandon()
}

// What a run did not use is dropped.
func TestUnused(t *testing.T) {
	dir := t.TempDir()
	_ = os.Chmod(dir, 0o700)
	s := opened(t, dir, "a")
	for i := range 100 {
		s.PutFile(key(i), &run.CachedFile{Axes: i})
	}
	_ = s.Close()
	s = opened(t, dir, "a")
	s.File(key(7))
	s.PutFile(key(200), &run.CachedFile{Axes: 200})
	_ = s.Close()
	s = opened(t, dir, "a")
	if s.File(key(7)) == nil || s.File(key(200)) == nil || s.File(key(8)) != nil {
		t.Error("kept is not what was used")
	}
	_ = s.Close()
}

// Any damage is noticed: an entry comes back whole or not at all.
func TestDamage(t *testing.T) {
	dir := t.TempDir()
	_ = os.Chmod(dir, 0o700)
	s := opened(t, dir, "a")
	want := map[int]*run.CachedFile{}
	for i := range 20 {
		want[i] = &run.CachedFile{Axes: i, Findings: []judge.Finding{{Rule: "r", Severity: judge.Error, Message: strings.Repeat("x", i), Utilisation: 1}}}
		s.PutFile(key(i), want[i])
	}
	_ = s.Close()
	whole, err := os.ReadFile(filepath.Join(dir, s.name))
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(3, 4))
	lost := 0
	for range 400 {
		bad := bytes.Clone(whole)
		switch r.IntN(4) {
		case 0:
			bad = bad[:r.IntN(len(bad))]
		case 1:
			bad = append(bad, whole[:r.IntN(300)]...)
		default:
			bad[r.IntN(len(bad))] ^= 1 << r.IntN(8)
		}
		if err := os.WriteFile(filepath.Join(dir, s.name), bad, 0o600); err != nil {
			t.Fatal(err)
		}
		s := opened(t, dir, "a")
		for i := range want {
			if got := s.File(key(i)); got == nil {
				lost++
			} else if !reflect.DeepEqual(got, want[i]) {
				t.Fatalf("%+v", got)
			}
		}
		s.Abandon()
	}
	if lost == 0 || lost == 400*20 {
		t.Errorf("%d entries were lost", lost)
	}
}

// Many runs at once, and a folder that vanishes, do no harm.
func TestAtOnce(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "c")
	var wg sync.WaitGroup
	for g := range 8 {
		wg.Go(func() {
			for round := range 10 {
				s, err := Open(dir, nil, texts, "a")
				if err != nil {
					continue // it was taken away at that moment
				}
				for i := range 30 {
					if k := s.File(key(i)); k == nil {
						s.PutFile(key(i), &run.CachedFile{Axes: i})
					} else if k.Axes != i {
						t.Errorf("%d for %d", k.Axes, i)
					}
				}
				if g == 0 && round%3 == 0 {
					_ = os.RemoveAll(dir)
				}
				_ = s.Close()
			}
		})
	}
	wg.Wait()
	if left, _ := filepath.Glob(filepath.Join(dir, "*"+unfinished)); len(left) > 0 {
		t.Errorf("%q", left)
	}
}

func TestPrune(t *testing.T) {
	dir := t.TempDir()
	now := time.Now()
	for name, age := range map[string]time.Duration{
		"new" + suffix: 0, "old" + suffix: maxAge + time.Hour, "other": maxAge * 2,
		"now" + unfinished: time.Hour, "left" + unfinished: 2 * maxPart,
	} {
		file := filepath.Join(dir, name)
		if err := os.WriteFile(file, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		_ = os.Chtimes(file, now.Add(-age), now.Add(-age))
	}
	for i := range 3 { // files with nothing in them, so large by name only
		file := filepath.Join(dir, fmt.Sprint("large", i, suffix))
		f, err := os.Create(file)
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Truncate(maxTotal/2 - 1<<20); err != nil {
			t.Skip(err)
		}
		f.Close()
		at := now.Add(-time.Duration(i+1) * time.Hour)
		_ = os.Chtimes(file, at, at)
	}
	folder, err := atomicfile.OpenFolder(dir, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer folder.Close()
	prune(folder, "large2"+suffix, now)
	list, _ := os.ReadDir(dir)
	got := ""
	for _, e := range list {
		got += e.Name() + " "
	}
	if want := "large0.pack large2.pack new.pack now.part other "; got != want {
		t.Errorf("left are %s; want %s", got, want)
	}
}

// A pack of foreign bytes with right checksums is read without harm: what it
// says is bounded by its length.
func FuzzEntry(f *testing.F) {
	s := &Store{notes: texts}
	r := rand.New(rand.NewPCG(5, 6))
	for range 5 {
		k, sc := &run.CachedFile{}, &run.CachedScope{}
		something(r, reflect.ValueOf(k).Elem())
		something(r, reflect.ValueOf(sc).Elem())
		f.Add(s.encodeFile(k))
		f.Add(encodeScope(sc))
	}
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) {
		if k, err := s.decodeFile(data); err == nil {
			written := s.encodeFile(k)
			if again, err := s.decodeFile(written); err != nil || !bytes.Equal(s.encodeFile(again), written) {
				t.Errorf("%v\n%+v\n%+v", err, k, again)
			}
		}
		if k, err := decodeScope(data); err == nil {
			if _, err := decodeScope(encodeScope(k)); err != nil {
				t.Error(err)
			}
		}
	})
}

func FuzzPack(f *testing.F) {
	dir := f.TempDir()
	_ = os.Chmod(dir, 0o700)
	s := opened(f, dir, "a")
	s.PutFile(key(1), &run.CachedFile{Axes: 1, Members: []run.Member{{Name: "a", Mass: unit.Quantity{Nominal: 1}}}})
	_ = s.Close()
	whole, err := os.ReadFile(filepath.Join(dir, s.name))
	if err != nil {
		f.Fatal(err)
	}
	// The header is set right, so that the fuzzer gets past it; it differs from
	// one build to the next. So are the checksums where sealed says so.
	from := len(whole) - tailSize - slotSize
	f.Add(whole[headSize:from], whole[from:len(whole)-tailSize], true)
	f.Add(whole[headSize:], []byte{}, false)
	f.Add([]byte{}, []byte{}, true)
	f.Fuzz(func(t *testing.T, entries, index []byte, sealed bool) {
		pack := slices.Concat(whole[:headSize], entries, index)
		if sealed {
			index = pack[headSize+len(entries):]
			for slot := index; len(slot) >= slotSize; slot = slot[slotSize:] {
				offset, length := binary.LittleEndian.Uint64(slot[sha256.Size:]), binary.LittleEndian.Uint32(slot[sha256.Size+8:])
				if end := offset + uint64(length); offset < uint64(len(pack)) && end <= uint64(len(pack)) {
					sum := entrySum(pack[offset:end])
					copy(slot[sha256.Size+12:], sum[:])
				}
			}
			sum := s.indexSum(index)
			pack = append(binary.LittleEndian.AppendUint64(pack, uint64(headSize+len(entries))), sum...)
		}
		if err := os.WriteFile(filepath.Join(dir, s.name), pack, 0o600); err != nil {
			t.Fatal(err)
		}
		s := opened(t, dir, "a")
		for k := range s.index {
			s.File(k)
			s.Scope(k)
		}
		s.Abandon()
		if s.old != nil {
			s.old.Close()
		}
	})
}
