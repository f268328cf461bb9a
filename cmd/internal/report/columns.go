package report

import "github.com/apparentlymart/go-textseg/v17/textseg"

// byteOfColumn finds the byte offset of a column, counted from 1 in characters
// as a person sees them (grapheme clusters, as places count them).
func byteOfColumn(line string, col int) int {
	at, b := 0, []byte(line)
	for n := 1; n < col && len(b) > 0; n++ {
		adv, _, err := textseg.ScanGraphemeClusters(b, true)
		if err != nil || adv == 0 {
			break
		}
		at += adv
		b = b[adv:]
	}
	return at
}
