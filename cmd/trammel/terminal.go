package main

import (
	"io"
	"os"

	"golang.org/x/term"
)

// isTerminal reports whether a stream is a terminal.
func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
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
