package step

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"testing"
)

// large is a file of about so many bytes: one part again and again.
func large(b *testing.B, size int) []byte {
	text := readFile(b, "testdata/fillets.step")
	head, data, _ := bytes.Cut(text, []byte("DATA;\n"))
	data, end, _ := bytes.Cut(data, []byte("ENDSEC;"))
	var out bytes.Buffer
	out.Write(head)
	out.WriteString("DATA;\n")
	number := regexp.MustCompile(`#\d+`)
	for i := 0; out.Len() < size; i++ {
		out.Write(number.ReplaceAllFunc(data, func(ref []byte) []byte {
			n, _ := strconv.Atoi(string(ref[1:]))
			return fmt.Appendf(nil, "#%d", n+1000*i)
		}))
	}
	out.WriteString("ENDSEC;")
	out.Write(end)
	return out.Bytes()
}

func BenchmarkRead10MB(b *testing.B) {
	text := large(b, 10<<20)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		m, err := Read(bytes.NewReader(text))
		if err != nil {
			b.Fatal(err)
		}
		for i := range m.Bodies {
			if _, err := m.Bodies[i].Turned(); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func BenchmarkReadOneShaft(b *testing.B) {
	text := readFile(b, "testdata/fillets.step")
	for b.Loop() {
		if _, err := Read(bytes.NewReader(text)); err != nil {
			b.Fatal(err)
		}
	}
}
