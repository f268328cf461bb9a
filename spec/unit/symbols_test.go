package unit

import (
	"math"
	"slices"
	"strings"
	"testing"
	"unicode"
)

// A symbol is a unit without prefix: its size in SI and its exponents of
// kilogram, metre, second and kelvin.
type symbol struct {
	size float64
	dim  [4]int8
}

// symbols are the units that compound ones are made of, all from memory: BIPM, The International
// System of Units (9th ed.), tables 2 to 8, for SI and what is used with it; NIST
// Special Publication 811, appendix B.8, for the others, exact but for rounding.
// Day, week and year are those of astronomy (365.25 days), a month
// is a twelfth of it.
var symbols = map[string]symbol{
	"m": {1, [4]int8{0, 1}}, "g": {1e-3, [4]int8{1}}, "s": {1, [4]int8{0, 0, 1}}, "K": {1, [4]int8{0, 0, 0, 1}},
	"N": {1, [4]int8{1, 1, -2}}, "Pa": {1, [4]int8{1, -1, -2}}, "J": {1, [4]int8{1, 2, -2}}, "W": {1, [4]int8{1, 2, -3}}, "Hz": {1, [4]int8{0, 0, -1}},
	"t": {1000, [4]int8{1}}, "min": {60, [4]int8{0, 0, 1}}, "h": {3600, [4]int8{0, 0, 1}},
	"d": {86400, [4]int8{0, 0, 1}}, "day": {86400, [4]int8{0, 0, 1}}, "days": {86400, [4]int8{0, 0, 1}},
	"week": {604800, [4]int8{0, 0, 1}}, "weeks": {604800, [4]int8{0, 0, 1}},
	"month": {2629800, [4]int8{0, 0, 1}}, "months": {2629800, [4]int8{0, 0, 1}},
	"a": {31557600, [4]int8{0, 0, 1}}, "year": {31557600, [4]int8{0, 0, 1}}, "years": {31557600, [4]int8{0, 0, 1}},
	"°C": {1, [4]int8{0, 0, 0, 1}}, "degC": {1, [4]int8{0, 0, 0, 1}}, "°F": {5.0 / 9, [4]int8{0, 0, 0, 1}}, "degF": {5.0 / 9, [4]int8{0, 0, 0, 1}},
	"in": {0.0254, [4]int8{0, 1}}, "ft": {0.3048, [4]int8{0, 1}}, "yd": {0.9144, [4]int8{0, 1}}, "mil": {2.54e-5, [4]int8{0, 1}}, "thou": {2.54e-5, [4]int8{0, 1}},
	"lb": {0.45359237, [4]int8{1}}, "lbm": {0.45359237, [4]int8{1}}, "oz": {0.028349523125, [4]int8{1}}, "slug": {14.593902937206364, [4]int8{1}},
	"lbf": {4.4482216152605, [4]int8{1, 1, -2}}, "ozf": {0.27801385095378125, [4]int8{1, 1, -2}}, "kip": {4448.2216152605, [4]int8{1, 1, -2}}, "kgf": {9.80665, [4]int8{1, 1, -2}}, "kp": {9.80665, [4]int8{1, 1, -2}},
	"gn":  {9.80665, [4]int8{0, 1, -2}},
	"psi": {6894.757293168361, [4]int8{1, -1, -2}}, "ksi": {6894757.293168361, [4]int8{1, -1, -2}}, "hp": {745.69987158227022, [4]int8{1, 2, -3}},
	"%": {0.01, [4]int8{}}, "ppm": {1e-6, [4]int8{}}, "1": {1, [4]int8{}},
	"rad": {1, [4]int8{}}, "rev": {2 * math.Pi, [4]int8{}}, "r": {2 * math.Pi, [4]int8{}}, "U": {2 * math.Pi, [4]int8{}}, "tr": {2 * math.Pi, [4]int8{}}, "rpm": {2 * math.Pi / 60, [4]int8{0, 0, -1}},
	"°": {math.Pi / 180, [4]int8{}}, "deg": {math.Pi / 180, [4]int8{}}, "arcmin": {math.Pi / 10800, [4]int8{}}, "arcsec": {math.Pi / 648000, [4]int8{}},
	"Nm": {1, [4]int8{1, 2, -2}}, "Ncm": {1e-2, [4]int8{1, 2, -2}}, "Nmm": {1e-3, [4]int8{1, 2, -2}}, "Wh": {3600, [4]int8{1, 2, -2}},
	"kpm": {9.80665, [4]int8{1, 2, -2}}, "kpcm": {0.0980665, [4]int8{1, 2, -2}},
}

// prefixes of SI (BIPM, table 7).
var prefixes = map[string]float64{"da": 10, "d": 0.1, "c": 1e-2, "m": 1e-3, "u": 1e-6, "n": 1e-9, "k": 1e3, "M": 1e6, "G": 1e9}

// angles are the symbols that speak of an angle or a turn.
var angles = []string{"rad", "mrad", "urad", "°", "deg", "arcmin", "arcsec", "rev", "Mrev", "r", "U", "tr", "rpm"}

// read works out the size and dimension of a compound unit from its symbols;
// turning tells whether it speaks of an angle or turn.
func read(text string) (out symbol, turning, ok bool) {
	out.size = 1
	sign := 1
	for text != "" {
		switch {
		case strings.HasPrefix(text, "/"):
			sign, text = -1, text[1:]
			continue
		case strings.HasPrefix(text, "*"):
			sign, text = 1, text[1:]
			continue
		}
		var part symbol
		if inner, rest, found := strings.Cut(text, ")"); found && strings.HasPrefix(text, "(") {
			var turns bool
			if part, turns, ok = read(inner[1:]); !ok {
				return out, false, false
			}
			turning, text = turning || turns, rest
		} else {
			n := strings.IndexFunc(text, func(r rune) bool { return strings.ContainsRune("*/-", r) || unicode.IsDigit(r) })
			if text[0] == '1' {
				n = 1
			}
			if n < 0 {
				n = len(text)
			}
			name := text[:n]
			if part, ok = prefixed(name); !ok {
				return out, false, false
			}
			turning = turning || slices.Contains(angles, name)
			text = text[n:]
		}
		power := 1
		if end := strings.IndexAny(text, "1234"); end == 0 || end == 1 && text[0] == '-' {
			power = int(text[end] - '0')
			if end == 1 {
				power = -power
			}
			text = text[end+1:]
		}
		out.size *= math.Pow(part.size, float64(sign*power))
		for i := range out.dim {
			out.dim[i] += int8(sign*power) * part.dim[i]
		}
	}
	return out, turning, true
}

func prefixed(name string) (symbol, bool) {
	if s, ok := symbols[name]; ok {
		return s, true
	}
	for p, size := range prefixes {
		if rest, found := strings.CutPrefix(name, p); found {
			if s, ok := symbols[rest]; ok {
				return symbol{size * s.size, s.dim}, true
			}
		}
	}
	return symbol{}, false
}

// TestEveryUnitFromItsSymbols works every accepted unit out from the symbols it
// is written with, apart from the table, and holds size and dimension against
// the kind's. Three things are said by the kind and not by the symbols: g as an
// acceleration is that of free fall; a rotation of 1/s is a turn a second, and so
// is the turn left out of mm/min; revolutions are counted, not measured.
func TestEveryUnitFromItsSymbols(t *testing.T) {
	ascii := strings.NewReplacer("·", "*", " ", "*", "²", "2", "³", "3", "⁴", "4", "⁻", "-", "¹", "1", "−", "-", "µ", "u", "μ", "u", "^", "",
		// Data sheets leave the product out.
		"gm²", "g*m2", "gm2", "g*m2", "gcm²", "g*cm2", "gcm2", "g*cm2", "gmm²", "g*mm2", "gmm2", "g*mm2")
	units := 0
	for k := None + 1; k < numKinds; k++ {
		for _, spelling := range k.Units() {
			q, err := Parse("1 "+spelling, k)
			if err != nil {
				t.Errorf("%s: %q: %v", k, spelling, err)
				continue
			}
			got := q.Nominal
			if k == Temperature { // a scale has a zero of its own
				zero, err := Parse("0 "+spelling, k)
				if err != nil {
					t.Fatal(err)
				}
				got -= zero.Nominal
			}
			want, turning, ok := read(ascii.Replace(spelling))
			switch {
			case !ok:
				t.Errorf("%s: %q is not made of known symbols", k, spelling)
				continue
			case k == Acceleration && spelling == "g":
				want = symbol{9.80665, k.Exponents()}
			case k == Revolutions:
				want.size /= 2 * math.Pi
			case (k == RotationSpeed || k == SpeedFactor) && !turning:
				want.size *= 2 * math.Pi
			}
			tolerance := 1e-14
			if k == Temperature {
				tolerance = 1e-12 // a difference of two temperatures
			}
			if math.Abs(got-want.size) > tolerance*want.size {
				t.Errorf("%s: 1 %s is %.17g, by its symbols %.17g", k, spelling, got, want.size)
			}
			if want.dim != k.Exponents() {
				t.Errorf("%s has the dimension %v, by the symbols of %s %v", k, k.Exponents(), spelling, want.dim)
			}
			units++
		}
		if si, _, ok := read(ascii.Replace(k.SI())); !ok || si.dim != k.Exponents() || math.Abs(si.size-1) > 1e-15 && k != Revolutions {
			t.Errorf("%s is held in %s, whose size is %g and whose dimension %v", k, k.SI(), si.size, si.dim)
		}
	}
	if units < 200 {
		t.Errorf("only %d spellings were tried", units)
	}
}
