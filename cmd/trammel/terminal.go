package main

import (
	"io"
	"os"
	"strings"

	"golang.org/x/term"
)

// isTerminal reports whether a stream is a terminal. The one in which emacs compiles is
// not: emacs looks for files and lines in what it is sent.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd())) && !strings.HasSuffix(os.Getenv("INSIDE_EMACS"), ",compile")
}

// terminalWidth is the width of the terminal that a stream is, in columns; 0 where it is
// none, or its width is not known.
func terminalWidth(w io.Writer) int {
	if !isTerminal(w) {
		return 0
	}
	width, _, err := term.GetSize(int(w.(*os.File).Fd()))
	if err != nil {
		return 0
	}
	return width
}
