package drawing

import "unicode/utf8"

// Advances of a sans serif letter, in thousandths of its size: those of the metric files
// of Helvetica, which Arial and Liberation Sans share. From memory.
var advances = func() (w [127]float64) {
	for i := range w {
		w[i] = 556
	}
	for _, x := range []struct {
		letters string
		w       float64
	}{
		{"ijl'", 222}, {"|", 260}, {" !,./:;ftI[]\\", 278}, {"()-r`", 333}, {"\"", 355}, {"*", 389}, {"^", 469}, {"cksvxyzJ", 500}, {"{}", 334},
		{"+<=>~", 584}, {"FTZ", 611}, {"&ABEKPSVXY", 667}, {"CDHNRUw", 722}, {"GOQ", 778}, {"mM", 833}, {"%", 889}, {"W", 944}, {"@", 1015},
	} {
		for i := range x.letters {
			w[x.letters[i]] = x.w
		}
	}
	return w
}()

// advance is how wide a text is. What the table does not hold counts a full square,
// which no letter of the usual scripts exceeds.
func advance(s string, size float64, bold bool) float64 {
	sum := 0.0
	for _, r := range s {
		switch {
		case int(r) < len(advances):
			sum += advances[r]
		case r == '·' || r == '’':
			sum += 278
		case r == '°':
			sum += 400
		case r == 'µ' || r == '²' || r == '³' || r == '–' || r == '×' || r == '−' || r == '±' || r == '≥' || r == '≤':
			sum += 584
		case r == '⌀':
			sum += 778
		default:
			sum += 1000
		}
	}
	if bold {
		sum *= 1.06
	}
	return sum * size / 1000
}

// fit cuts a text that is wider than it may be.
func fit(s string, size, most float64, bold bool) string {
	if advance(s, size, bold) <= most {
		return s
	}
	for s != "" && advance(s+"…", size, bold) > most {
		_, n := utf8.DecodeLastRuneInString(s)
		s = s[:len(s)-n]
	}
	return s + "…"
}
