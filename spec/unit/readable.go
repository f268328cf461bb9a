package unit

import (
	"strconv"
	"strings"
)

// Readable writes a number of Format, with its unit or without, as print does: with a true
// minus sign, and a power of ten as 8.102 × 10¹² instead of 8.102e12. It cannot be read back.
func Readable(s string) string {
	n := 0
	for n < len(s) && strings.IndexByte("+-0123456789.e", s[n]) >= 0 {
		n++
	}
	number, rest := s[:n], s[n:]
	mantissa, exponent, power := strings.Cut(number, "e")
	if e, err := strconv.Atoi(exponent); power && mantissa != "" && err == nil {
		number = mantissa + " × 10" + superscript.Replace(strconv.Itoa(e))
	}
	return strings.Replace(number, "-", "−", 1) + rest
}

var superscript = strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹")
