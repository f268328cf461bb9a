package report

import (
	"bytes"
	"encoding/json"
	"strconv"

	"trammel/rules/judge"
	"trammel/spec"
)

// A lineReader looks whether a line is the text of an axis as axisText makes it, with
// nothing that jsonAxis.sound would find fault with. It is quick and knows no other way of
// writing the same: of all else encoding/json decides.
type lineReader struct {
	line []byte // what is left of it
	file []byte // the last one that a place named, in its quotation marks
	next int    // the quantity that may follow
	bad  bool
}

// readLine gives what is kept of the axis of a line; not ok where the line is not as this
// program writes it.
func readLine(line []byte) (k keptAxis, ok bool) {
	r := &lineReader{line: line}
	r.must(`{"axis":`)
	k.axis = string(r.text())
	if r.has(`,"machine":`) {
		k.machine = string(r.text())
	}
	r.must(`,"location":`)
	k.at = r.place(true)
	r.must(`,"moves":`)
	r.list(r.skipText)
	r.must(`,"rules":`)
	r.list(func() { k.passed += r.rule() })
	if r.has(`,"quantities":`) {
		r.list(r.quantity)
	}
	r.must("}")
	return k, !r.bad && len(r.line) == 0
}

var passed = []byte(judge.Passed.String())

// rule counts 1 for a rule that passed.
func (r *lineReader) rule() (n int) {
	r.must(`{"rule":`)
	r.text()
	r.must(`,"state":`)
	if bytes.Equal(r.text(), passed) {
		n = 1
	}
	r.perhaps(`,"use":`, r.number)
	r.has(`,"fit":true`)
	r.perhaps(`,"of":`, r.skipText)
	r.perhaps(`,"value":`, r.value)
	r.perhaps(`,"limit":`, r.value)
	r.perhaps(`,"unit":`, r.skipText)
	r.perhaps(`,"sense":`, r.skipText)
	r.perhaps(`,"why":`, r.skipText)
	r.perhaps(`,"missing":`, func() { r.list(r.missing) })
	r.must("}")
	return n
}

func (r *lineReader) missing() {
	r.must(`{"what":`)
	r.text()
	r.must(`,"location":`)
	r.place(false)
	r.must("}")
}

func (r *lineReader) quantity() {
	same := r.head()
	r.perhaps(`,"value":`, r.value)
	r.perhaps(`,"values":`, func() { r.list(r.valueOrNull) })
	r.perhaps(`,"low":`, r.number)
	r.perhaps(`,"high":`, r.number)
	r.perhaps(`,"text":`, r.skipText)
	r.perhaps(`,"texts":`, func() { r.list(r.skipText) })
	r.perhaps(`,"origin":`, r.skipText)
	r.perhaps(`,"location":`, r.somewhere)
	r.perhaps(`,"locations":`, func() { r.list(r.skipPlace) })
	switch {
	case same == nil || !r.has(same.tail):
		r.perhaps(`,"formula":`, r.skipText)
		r.perhaps(`,"source":`, r.skipText)
		r.perhaps(`,"needs":`, func() { r.list(r.skipText) })
	case same.open:
		r.rest(r.skipText)
	default:
		r.perhaps(`,"needs":`, func() { r.list(r.skipText) })
	}
	r.must("}")
}

// head reads what comes before the value of a quantity: nil where it is not as this program
// writes it of the next quantities in their order.
func (r *lineReader) head() *quantityText {
	all := quantityTexts()
	for i := r.next; i < len(all); i++ {
		if r.has(all[i].head) {
			r.next = i + 1
			return &all[i]
		}
	}
	r.must(`{"name":`)
	r.text()
	r.perhaps(`,"symbol":`, r.skipText)
	r.must(`,"title":`)
	r.text()
	r.must(`,"unit":`)
	r.text()
	return nil
}

// has skips a text if the rest begins with it.
func (r *lineReader) has(text string) bool {
	if r.bad || len(r.line) < len(text) || string(r.line[:len(text)]) != text {
		return false
	}
	r.line = r.line[len(text):]
	return true
}

func (r *lineReader) must(text string) {
	if !r.has(text) {
		r.fail()
	}
}

func (r *lineReader) perhaps(key string, read func()) {
	if r.has(key) {
		read()
	}
}

func (r *lineReader) fail() { r.bad, r.line = true, nil }

func (r *lineReader) list(item func()) {
	r.must("[")
	if r.has("]") {
		return
	}
	item()
	r.rest(item)
}

// rest reads what is left of a list behind an entry.
func (r *lineReader) rest(item func()) {
	for !r.has("]") && !r.bad {
		r.must(",")
		item()
	}
}

// text reads a quoted text: nil where it has escapes other than those of quotation marks.
func (r *lineReader) text() []byte {
	if !r.has(`"`) {
		r.fail()
		return nil
	}
	end := bytes.IndexByte(r.line, '"')
	if end < 0 || !bare(r.line[:end]) {
		r.fail()
		return nil
	}
	text := r.line[:end]
	r.line = r.line[end+1:]
	return text
}

// skipText skips a text; one with escapes is looked at by encoding/json.
func (r *lineReader) skipText() {
	if end := bytes.IndexByte(r.line[min(1, len(r.line)):], '"'); end >= 0 && r.line[0] == '"' && bare(r.line[1:end+1]) {
		r.line = r.line[end+2:]
		return
	}
	n := 1
	for n < len(r.line) && r.line[n] != '"' {
		if r.line[n] == '\\' {
			n++
		}
		n++
	}
	var s string
	if n >= len(r.line) || json.Unmarshal(r.line[:n+1], &s) != nil || !bytes.Equal(appendEscaped(nil, s), r.line[:n+1]) {
		r.fail()
		return
	}
	r.line = r.line[n+1:]
}

// number reads a number that a float64 holds.
func (r *lineReader) number() {
	from := r.line
	r.has("-")
	zero := len(r.line) > 0 && r.line[0] == '0'
	n := r.digits()
	ok := n == 1 || n > 1 && !zero
	if r.has(".") {
		ok = r.digits() > 0 && ok
	}
	power := r.has("e") || r.has("E")
	if power {
		_ = r.has("+") || r.has("-")
		ok = r.digits() > 0 && ok
	}
	if ok && (power || n > 300) {
		_, err := strconv.ParseFloat(string(from[:len(from)-len(r.line)]), 64)
		ok = err == nil
	}
	if !ok {
		r.fail()
	}
}

// digits skips digits and counts them.
func (r *lineReader) digits() (n int) {
	for n < len(r.line) && r.line[n]-'0' < 10 {
		n++
	}
	r.line = r.line[n:]
	return n
}

// value reads what a quantity may be: a number, a word.
func (r *lineReader) value() {
	if len(r.line) > 0 && r.line[0] == '"' {
		r.skipText()
		return
	}
	r.number()
}

func (r *lineReader) valueOrNull() {
	if !r.has("null") {
		r.value()
	}
}

func (r *lineReader) skipPlace() { r.place(false) }

// somewhere reads a location that is one.
func (r *lineReader) somewhere() {
	if r.has("null") {
		r.fail()
	}
	r.place(false)
}

// place reads a location or null; only where it is wanted it is given.
func (r *lineReader) place(wanted bool) (p spec.Place) {
	if r.has("null") {
		return p
	}
	r.must(`{"file":`)
	if len(r.file) == 0 || !r.has(string(r.file)) {
		from := r.line
		if len(r.text()) == 0 {
			r.fail()
		}
		r.file = from[:len(from)-len(r.line)]
	}
	var n [len(placeKeys)]int32
	for i, key := range placeKeys {
		r.must(key)
		n[i] = r.count()
	}
	r.must("}")
	if wanted && !r.bad {
		p = spec.Place{File: string(r.file[1 : len(r.file)-1]), Line: n[0], Col: n[1], EndLine: n[2], EndCol: n[3], Byte: n[4], EndByte: n[5]}
	}
	return p
}

// count reads a number of lines, columns or bytes.
func (r *lineReader) count() (n int32) {
	digits := 0
	for digits < len(r.line) && r.line[digits]-'0' < 10 && n <= spec.MaxFileSize {
		n = 10*n + int32(r.line[digits]-'0')
		digits++
	}
	if digits == 0 || n > spec.MaxFileSize || digits > 1 && r.line[0] == '0' {
		r.fail()
		return 0
	}
	r.line = r.line[digits:]
	return n
}
