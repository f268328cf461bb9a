// Package codec writes values as bytes and reads them back. It is for data that
// the program writes for itself: what is read may be damaged or foreign all the
// same, and costs no more than its own length.
package codec

import (
	"encoding/binary"
	"errors"
	"math"

	"trammel/spec"
)

// A Writer gathers the bytes of a sequence of values. The zero Writer is ready.
type Writer struct {
	b     []byte
	files map[string]int // that places have named, by number from 1
}

// Bytes gives what was written.
func (w *Writer) Bytes() []byte { return w.b }

// Reset forgets what was written; its room is used again.
func (w *Writer) Reset() {
	w.b = w.b[:0]
	clear(w.files)
}

// Int writes a whole number.
func (w *Writer) Int(n int) { w.b = binary.AppendVarint(w.b, int64(n)) }

// Bool writes true or false.
func (w *Writer) Bool(v bool) {
	n := 0
	if v {
		n = 1
	}
	w.Int(n)
}

// Float writes a number with all its bits.
func (w *Writer) Float(x float64) { w.b = binary.LittleEndian.AppendUint64(w.b, math.Float64bits(x)) }

// String writes a text of any bytes.
func (w *Writer) String(s string) {
	w.Int(len(s))
	w.b = append(w.b, s...)
}

// Strings writes a list of texts.
func (w *Writer) Strings(list []string) {
	w.Int(len(list))
	for _, s := range list {
		w.String(s)
	}
}

// Place writes a place. The name of a file is written once.
func (w *Writer) Place(p spec.Place) {
	n := w.files[p.File]
	w.Int(n)
	if n == 0 {
		if w.files == nil {
			w.files = map[string]int{}
		}
		w.files[p.File] = len(w.files) + 1
		w.String(p.File)
	}
	for _, n := range []int32{p.Line, p.Col, p.EndLine, p.EndCol, p.Byte, p.EndByte} {
		w.Int(int(n))
	}
}

// A Reader reads values in the order in which they were written. After a value
// that cannot be read all others are zero, and Err says so.
type Reader struct {
	s     string
	files []string
	err   error
}

// NewReader reads from data, of which it keeps no part.
func NewReader(data []byte) *Reader { return &Reader{s: string(data)} }

var errDamaged = errors.New("the data is damaged")

// Fail has the Reader give nothing more, since what it read makes no sense.
func (r *Reader) Fail() { r.err, r.s = errDamaged, "" }

// Err is nil while everything requested could be read.
func (r *Reader) Err() error { return r.err }

// End is Err, or the error that something is left.
func (r *Reader) End() error {
	if r.s != "" {
		r.Fail()
	}
	return r.err
}

// Int reads a whole number.
func (r *Reader) Int() int {
	var u uint64
	for i := 0; i < len(r.s) && i < binary.MaxVarintLen64; i++ {
		c := r.s[i]
		u |= uint64(c&0x7f) << (7 * i)
		if c < 0x80 {
			r.s = r.s[i+1:]
			n := int64(u >> 1)
			if u&1 != 0 {
				n = ^n
			}
			return int(n)
		}
	}
	r.Fail()
	return 0
}

// Count reads the length of a list. It is never more than there are bytes left.
func (r *Reader) Count() int {
	n := r.Int()
	if n < 0 || n > len(r.s) {
		r.Fail()
		return 0
	}
	return n
}

// Within reads a whole number from 0 to n-1.
func (r *Reader) Within(n int) int {
	i := r.Int()
	if i < 0 || i >= n {
		r.Fail()
		return 0
	}
	return i
}

// Bool reads true or false.
func (r *Reader) Bool() bool { return r.Within(2) == 1 }

// Float reads a number.
func (r *Reader) Float() float64 {
	if len(r.s) < 8 {
		r.Fail()
		return 0
	}
	x := math.Float64frombits(binary.LittleEndian.Uint64([]byte(r.s[:8])))
	r.s = r.s[8:]
	return x
}

// String reads a text.
func (r *Reader) String() string {
	n := r.Count()
	s := r.s[:n]
	r.s = r.s[n:]
	return s
}

// Strings reads a list of texts; nil for an empty one.
func (r *Reader) Strings() []string {
	var out []string
	for range r.Count() {
		out = append(out, r.String())
	}
	return out
}

// Place reads a place.
func (r *Reader) Place() spec.Place {
	var p spec.Place
	if n := r.Within(len(r.files) + 1); n > 0 {
		p.File = r.files[n-1]
	} else {
		p.File = r.String()
		r.files = append(r.files, p.File)
	}
	for _, n := range []*int32{&p.Line, &p.Col, &p.EndLine, &p.EndCol, &p.Byte, &p.EndByte} {
		i := r.Int()
		if i < math.MinInt32 || i > math.MaxInt32 {
			r.Fail()
			return spec.Place{}
		}
		*n = int32(i)
	}
	return p
}
