package step

import (
	"bytes"
	"io"
)

// Bounds of a file. What real files need lies far below.
const (
	MaxSize      = 100 << 20 // bytes
	MaxInstances = 2_000_000
	maxDepth     = 32 // of lists in lists, of parts in parts
)

// bounds are those that tests lower.
type bounds struct{ size, statement, instances, takes int }

var usual = bounds{MaxSize, 16 << 20, MaxInstances, 16 << 20}

// A scanner cuts the text into statements.
type scanner struct {
	r         io.Reader
	buf       []byte
	pos, end  int
	size      int
	line      int
	statement []byte
	most      bounds
}

func newScanner(r io.Reader, most bounds) *scanner {
	return &scanner{r: r, buf: make([]byte, 16<<10), line: 1, most: most}
}

// fill reads more; io.EOF at the end.
func (s *scanner) fill() error {
	for range 100 {
		n, err := s.r.Read(s.buf)
		if n > 0 {
			s.pos, s.end = 0, n
			if s.size += n; s.size > s.most.size {
				return fault(s.line, "the file is larger than %d MB", s.most.size>>20)
			}
			return nil
		}
		if err != nil {
			return err
		}
	}
	return io.ErrNoProgress
}

// ends are the bytes at which a stretch of plain text ends.
var ends = func() (t [256]bool) {
	for _, c := range "'\"/;\n" {
		t[c] = true
	}
	return t
}()

// next gives the next statement without its semicolon and its comments, and the line it
// begins in. It is good until the next call. At the end of the file it is io.EOF, or an
// error if something stands there that does not end.
func (s *scanner) next() (statement []byte, line int, err error) {
	s.statement = s.statement[:0]
	for {
		if s.pos == s.end {
			if err = s.fill(); err == io.EOF && len(s.statement) > 0 {
				err = fault(line, "the file ends within a statement")
			}
			if err != nil {
				return nil, line, err
			}
		}
		stretch := s.buf[s.pos:s.end]
		n := 0
		for n < len(stretch) && !ends[stretch[n]] {
			n++
		}
		s.pos += n
		if stretch = stretch[:n]; len(s.statement) == 0 {
			for line = s.line; len(stretch) > 0 && stretch[0] <= ' '; {
				stretch = stretch[1:]
			}
		}
		s.statement = append(s.statement, stretch...)
		if s.pos == s.end {
			if err := s.long(line); err != nil {
				return nil, line, err
			}
			continue
		}
		c := s.buf[s.pos]
		s.pos++
		switch c {
		case ';':
			return s.statement, line, s.long(line)
		case '\n':
			s.line++
			if len(s.statement) > 0 {
				s.statement = append(s.statement, ' ')
			}
		case '/':
			err = s.slash()
		default:
			s.statement = append(s.statement, c)
			err = s.text(c)
		}
		if err == nil {
			err = s.long(line)
		}
		if err != nil {
			return nil, line, err
		}
	}
}

func (s *scanner) long(line int) error {
	if len(s.statement) > s.most.statement {
		return fault(line, "a statement is longer than %d MB", s.most.statement>>20)
	}
	return nil
}

// text takes a text up to its closing sign. Two of them, which mean one, are two texts
// here. Line breaks within do not belong to it.
func (s *scanner) text(sign byte) error {
	line := s.line
	for {
		if s.pos == s.end {
			if err := s.fill(); err == io.EOF {
				return fault(line, "the text that begins here does not end")
			} else if err != nil {
				return err
			}
		}
		stretch := s.buf[s.pos:s.end]
		n := bytes.IndexByte(stretch, sign)
		if n >= 0 {
			stretch = stretch[:n+1]
		}
		s.pos += len(stretch)
		if breaks := bytes.Count(stretch, []byte{'\n'}); breaks > 0 {
			s.line += breaks
			stretch = bytes.ReplaceAll(bytes.ReplaceAll(stretch, []byte{'\n'}, nil), []byte{'\r'}, nil)
		}
		s.statement = append(s.statement, stretch...)
		if n >= 0 {
			return nil
		}
		if err := s.long(line); err != nil {
			return err
		}
	}
}

// slash passes over a comment, if one begins.
func (s *scanner) slash() error {
	line := s.line
	next := func() (byte, error) {
		if s.pos == s.end {
			if err := s.fill(); err == io.EOF {
				return 0, fault(line, "the comment that begins here does not end")
			} else if err != nil {
				return 0, err
			}
		}
		return s.buf[s.pos], nil
	}
	if c, err := next(); err != nil || c != '*' {
		s.statement = append(s.statement, '/')
		return err
	}
	s.pos++
	for before := byte(0); ; {
		c, err := next()
		if err != nil {
			return err
		}
		s.pos++
		if c == '\n' {
			s.line++
		}
		if before == '*' && c == '/' {
			if len(s.statement) > 0 {
				s.statement = append(s.statement, ' ')
			}
			return nil
		}
		before = c
	}
}
