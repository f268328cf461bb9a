package unit

import (
	"math"
	"slices"
	"strings"
)

// Exact definitions. The inch and the pound are those of the international
// yard and pound agreement of 1959; standard gravity is that of ISO 80000-3
// (3rd General Conference on Weights and Measures, 1901). The constants are
// untyped, so each product below is exact and rounds once when stored.
const (
	inch     = 0.0254
	foot     = 12 * inch
	yard     = 3 * foot
	pound    = 0.45359237
	ounce    = pound / 16
	gravity  = 9.80665
	poundF   = pound * gravity // 4.4482216152605 N
	ounceF   = poundF / 16
	kip      = 1000 * poundF
	slug     = poundF / foot // the mass that 1 lbf accelerates by 1 ft/s²
	psi      = poundF / (inch * inch)
	hp       = 550 * foot * poundF // mechanical horsepower, 745.69987158227022 W
	turn     = 2 * math.Pi
	degree   = math.Pi / 180
	rpm      = turn / 60
	minute   = 60
	hour     = 3600
	day      = 24 * hour
	year     = 365.25 * day // Julian year
	month    = year / 12
	micro    = 1e-6
	perFahr  = 9.0 / 5 // one °F is 5/9 K
	zeroC    = 273.15  // 0 °C in K
	zeroFabs = 459.67  // 0 °F above absolute zero, in °F
)

// unit is one row of a kind's table: si = (v + offset) * factor.
type unit struct {
	name   string   // spelling for output
	factor float64  // SI value of one unit
	also   []string // further spellings
	offset float64  // for the temperature scales
	div    float64  // see prepare
}

func u(name string, factor float64, also ...string) unit {
	return unit{name: name, factor: factor, also: also}
}

// scale says to write in the unit from the given number of that unit upwards.
type scale struct {
	unit string
	from float64
	zero bool // the unit in which zero is written; else the first of the list
}

type kindInfo struct {
	name     string
	si       string
	dim      [4]int8
	examples []string
	units    []unit
	metric   []scale // largest unit first
	inch     []scale // as metric where nil
}

var kinds = [numKinds]kindInfo{
	None: {name: "plain number", si: "1"},
	Length: {
		name: "length", si: "m", dim: [4]int8{0, 1, 0, 0},
		examples: []string{"mm", "m", "in"},
		units: []unit{
			u("m", 1), u("mm", 1e-3), u("µm", 1e-6), u("nm", 1e-9), u("cm", 1e-2), u("dm", 1e-1), u("km", 1e3),
			u("in", inch), u("ft", foot), u("yd", yard), u("mil", inch/1000, "thou"),
		},
		metric: []scale{{"km", 10, false}, {"m", 10, false}, {"mm", 0.1, true}, {"µm", 0.1, false}, {"nm", 0, false}},
		inch:   []scale{{"ft", 100, false}, {"in", 0, true}},
	},
	Speed: {
		name: "speed", si: "m/s", dim: [4]int8{0, 1, -1, 0},
		examples: []string{"m/s", "mm/s", "m/min", "in/s"},
		units: []unit{
			u("m/s", 1), u("mm/s", 1e-3), u("µm/s", 1e-6), u("cm/s", 1e-2), u("m/min", 1.0/minute), u("mm/min", 1e-3/minute), u("km/h", 1/3.6),
			u("in/s", inch), u("in/min", inch/minute), u("ft/s", foot), u("ft/min", foot/minute),
		},
		metric: []scale{{"m/s", 0.1, true}, {"mm/s", 0, false}},
		inch:   []scale{{"in/s", 0, true}},
	},
	Acceleration: {
		name: "acceleration", si: "m/s²", dim: [4]int8{0, 1, -2, 0},
		examples: []string{"m/s2", "mm/s2", "g", "in/s2"},
		units: []unit{
			u("m/s²", 1), u("mm/s²", 1e-3), u("in/s²", inch), u("ft/s²", foot), u("g", gravity, "gn"),
		},
		metric: []scale{{"m/s²", 0.01, true}, {"mm/s²", 0, false}},
		inch:   []scale{{"in/s²", 0, true}},
	},
	Force: {
		name: "force", si: "N", dim: [4]int8{1, 1, -2, 0},
		examples: []string{"N", "kN", "lbf"},
		units: []unit{
			u("N", 1), u("kN", 1e3), u("MN", 1e6), u("mN", 1e-3), u("daN", 10), u("kgf", gravity, "kp"),
			u("lbf", poundF), u("ozf", ounceF), u("kip", kip),
		},
		metric: []scale{{"MN", 10, false}, {"kN", 10, false}, {"N", 0.1, true}, {"mN", 0, false}},
		inch:   []scale{{"lbf", 0, true}},
	},
	Mass: {
		name: "mass", si: "kg", dim: [4]int8{1, 0, 0, 0},
		examples: []string{"kg", "g", "lb"},
		units: []unit{
			u("kg", 1), u("g", 1e-3), u("mg", 1e-6), u("t", 1e3), u("lb", pound, "lbm"), u("oz", ounce), u("slug", slug),
		},
		metric: []scale{{"t", 10, false}, {"kg", 0.1, true}, {"g", 0.1, false}, {"mg", 0, false}},
		inch:   []scale{{"lb", 0, true}},
	},
	Torque: {
		name: "torque", si: "N·m", dim: [4]int8{1, 2, -2, 0},
		examples: []string{"N m", "mN m", "lbf in"},
		units: []unit{
			u("N·m", 1, "Nm"), u("mN·m", 1e-3, "mNm"), u("N·cm", 1e-2, "Ncm"), u("N·mm", 1e-3, "Nmm"), u("kN·m", 1e3, "kNm"),
			u("kgf·m", gravity, "kp·m", "kpm"), u("kgf·cm", gravity/100, "kp·cm", "kpcm"),
			u("lbf·in", poundF*inch, "in·lbf"), u("lbf·ft", poundF*foot, "ft·lbf"), u("ozf·in", ounceF*inch, "in·ozf"),
		},
		metric: []scale{{"kN·m", 10, false}, {"N·m", 0.1, true}, {"mN·m", 0, false}},
		inch:   []scale{{"lbf·ft", 100, false}, {"lbf·in", 0, true}},
	},
	Inertia: {
		name: "moment of inertia", si: "kg·m²", dim: [4]int8{1, 2, 0, 0},
		examples: []string{"kg m2", "kg cm2", "lb in2"},
		units: []unit{
			u("kg·m²", 1, "kgm²"), u("kg·cm²", 1e-4, "kgcm²"), u("kg·mm²", 1e-6, "kgmm²"),
			u("g·cm²", 1e-7, "gcm²"), u("g·mm²", 1e-9, "gmm²"), u("g·m²", 1e-3, "gm²"),
			u("lb·in²", pound*inch*inch), u("lb·ft²", pound*foot*foot), u("oz·in²", ounce*inch*inch), u("slug·ft²", slug*foot*foot),
			u("lbf·in·s²", poundF*inch), u("lbf·ft·s²", poundF*foot), u("ozf·in·s²", ounceF*inch),
		},
		metric: []scale{{"kg·m²", 0.1, false}, {"kg·cm²", 0.1, true}, {"kg·mm²", 0, false}},
		inch:   []scale{{"lb·in²", 0, true}},
	},
	Time: {
		name: "time", si: "s", dim: [4]int8{0, 0, 1, 0},
		examples: []string{"s", "ms", "min", "h"},
		units:    timeUnits,
		metric:   []scale{{"h", 5, false}, {"min", 5, false}, {"s", 1, true}, {"ms", 0.1, false}, {"µs", 0, false}},
	},
	Span: {
		name: "time span", si: "s", dim: [4]int8{0, 0, 1, 0},
		examples: []string{"h", "days", "months", "years"},
		units:    timeUnits,
		metric:   []scale{{"year", 2, false}, {"month", 2, false}, {"day", 2, false}, {"h", 0, true}},
	},
	Temperature: {
		name: "temperature", si: "K", dim: [4]int8{0, 0, 0, 1},
		examples: []string{"degC", "K", "degF"},
		units: []unit{
			u("K", 1),
			{name: "°C", factor: 1, offset: zeroC},
			{name: "°F", factor: 1 / perFahr, offset: zeroFabs},
		},
		metric: []scale{{"°C", 0, true}},
		inch:   []scale{{"°F", 0, true}},
	},
	TemperatureDifference: {
		name: "temperature difference", si: "K", dim: [4]int8{0, 0, 0, 1},
		examples: []string{"K", "degC", "degF"},
		units:    []unit{u("K", 1, "°C"), u("°F", 1/perFahr)},
		metric:   []scale{{"K", 0, true}},
		inch:     []scale{{"°F", 0, true}},
	},
	RotationSpeed: {
		name: "rotation speed", si: "rad/s", dim: [4]int8{0, 0, -1, 0},
		examples: []string{"rpm", "rev/s", "rad/s"},
		units: []unit{
			u("rad/s", 1), u("rpm", rpm, "1/min", "min-1", "rev/min", "r/min", "U/min", "tr/min"), u("rev/s", turn, "1/s", "s-1"), u("deg/s", degree),
		},
		metric: []scale{{"rpm", 0, true}},
	},
	Stiffness: {
		name: "stiffness", si: "N/m", dim: [4]int8{1, 0, -2, 0},
		examples: []string{"N/um", "N/mm", "lbf/in"},
		units: []unit{
			u("N/m", 1), u("N/mm", 1e3), u("N/µm", 1e6), u("kN/mm", 1e6), u("kN/m", 1e3), u("kN/µm", 1e9), u("MN/m", 1e6),
			u("lbf/in", poundF/inch), u("lbf/ft", poundF/foot), u("kip/in", kip/inch),
		},
		metric: []scale{{"N/µm", 1, true}, {"N/mm", 0.1, false}, {"N/m", 0, false}},
		inch:   []scale{{"kip/in", 100, false}, {"lbf/in", 0, true}},
	},
	Stress: {
		name: "stress", si: "Pa", dim: [4]int8{1, -1, -2, 0},
		examples: []string{"MPa", "GPa", "N/mm2", "psi"},
		units: []unit{
			u("Pa", 1, "N/m²"), u("kPa", 1e3), u("MPa", 1e6, "N/mm²"), u("GPa", 1e9, "kN/mm²"), u("psi", psi, "lbf/in²"), u("ksi", 1000*psi),
		},
		metric: []scale{{"GPa", 10, false}, {"MPa", 0.1, true}, {"kPa", 0.1, false}, {"Pa", 0, false}},
		inch:   []scale{{"ksi", 10, false}, {"psi", 0, true}},
	},
	Angle: {
		name: "angle", si: "rad",
		examples: []string{"deg", "rad", "arcmin", "mrad"},
		units: []unit{
			u("rad", 1), u("°", degree), u("mrad", 1e-3), u("µrad", 1e-6), u("arcmin", degree/60), u("arcsec", degree/3600),
		},
		metric: []scale{{"°", 0.1, true}, {"arcsec", 0, false}},
	},
	Percentage: {
		name: "percentage", si: "1",
		examples: []string{"%"},
		units:    []unit{u("%", 1e-2)},
		metric:   []scale{{"%", 0, true}},
	},
	Area: {
		name: "area", si: "m²", dim: [4]int8{0, 2, 0, 0},
		examples: []string{"mm2", "cm2", "m2", "in2"},
		units:    []unit{u("m²", 1), u("mm²", 1e-6), u("cm²", 1e-4), u("in²", inch*inch), u("ft²", foot*foot)},
		metric:   []scale{{"m²", 0.1, false}, {"mm²", 0, true}},
		inch:     []scale{{"in²", 0, true}},
	},
	SecondMoment: {
		name: "second moment of area", si: "m⁴", dim: [4]int8{0, 4, 0, 0},
		examples: []string{"mm4", "cm4", "in4"},
		units:    []unit{u("m⁴", 1), u("mm⁴", 1e-12), u("cm⁴", 1e-8), u("in⁴", inch*inch*inch*inch)},
		metric:   []scale{{"m⁴", 0.01, false}, {"cm⁴", 100, false}, {"mm⁴", 0, true}},
		inch:     []scale{{"in⁴", 0, true}},
	},
	Density: {
		name: "density", si: "kg/m³", dim: [4]int8{1, -3, 0, 0},
		examples: []string{"kg/m3", "g/cm3", "lb/in3"},
		units: []unit{
			u("kg/m³", 1), u("g/cm³", 1e3), u("kg/dm³", 1e3), u("lb/in³", pound/(inch*inch*inch)), u("lb/ft³", pound/(foot*foot*foot)),
		},
		metric: []scale{{"kg/m³", 0, true}},
		inch:   []scale{{"lb/in³", 0, true}},
	},
	Expansion: {
		name: "coefficient of expansion", si: "1/K", dim: [4]int8{0, 0, 0, -1},
		examples: []string{"1/K", "um/(m K)", "ppm/K", "1/degF"},
		units: []unit{
			u("1/K", 1, "K-1", "1/°C"),
			u("µm/(m·K)", 1e-6, "µm/m/K", "µm/(m·°C)", "µm/m/°C", "ppm/K", "ppm/°C"),
			u("1/°F", perFahr), u("µin/(in·°F)", micro*perFahr, "µin/in/°F", "ppm/°F"),
		},
		metric: []scale{{"µm/(m·K)", 0, true}},
		inch:   []scale{{"µin/(in·°F)", 0, true}},
	},
	Power: {
		name: "power", si: "W", dim: [4]int8{1, 2, -3, 0},
		examples: []string{"W", "kW", "hp"},
		units:    []unit{u("W", 1), u("kW", 1e3), u("MW", 1e6), u("mW", 1e-3), u("hp", hp)},
		metric:   []scale{{"MW", 10, false}, {"kW", 1, false}, {"W", 0.1, true}, {"mW", 0, false}},
		inch:     []scale{{"hp", 0, true}},
	},
	Energy: {
		name: "energy", si: "J", dim: [4]int8{1, 2, -2, 0},
		examples: []string{"J", "kJ", "ft lbf"},
		units: []unit{
			u("J", 1), u("kJ", 1e3), u("MJ", 1e6), u("mJ", 1e-3), u("W·h", hour, "Wh"), u("kW·h", 1000*hour, "kWh"),
			u("ft·lbf", foot*poundF), u("in·lbf", inch*poundF),
		},
		metric: []scale{{"MJ", 10, false}, {"kJ", 10, false}, {"J", 0.1, true}, {"mJ", 0, false}},
		inch:   []scale{{"ft·lbf", 0, true}},
	},
	Frequency: {
		name: "frequency", si: "Hz", dim: [4]int8{0, 0, -1, 0},
		examples: []string{"Hz", "kHz"},
		units:    []unit{u("Hz", 1, "1/s", "s-1"), u("kHz", 1e3), u("MHz", 1e6)},
		metric:   []scale{{"kHz", 10, false}, {"Hz", 0, true}},
	},
	Revolutions: {
		name: "number of revolutions", si: "rev",
		examples: []string{"rev", "Mrev"},
		units:    []unit{u("rev", 1), u("Mrev", 1e6)},
		metric:   []scale{{"rev", 0, true}},
	},
	AngularAcceleration: {
		name: "angular acceleration", si: "rad/s²", dim: [4]int8{0, 0, -2, 0},
		examples: []string{"rad/s2", "rev/s2", "rpm/s"},
		units:    []unit{u("rad/s²", 1), u("rev/s²", turn), u("deg/s²", degree), u("rpm/s", rpm)},
		metric:   []scale{{"rad/s²", 0, true}},
	},
	RotationalStiffness: {
		name: "rotational stiffness", si: "N·m/rad", dim: [4]int8{1, 2, -2, 0},
		examples: []string{"N m/rad", "N m/arcmin", "lbf in/rad"},
		units: []unit{
			u("N·m/rad", 1, "Nm/rad"), u("kN·m/rad", 1e3, "kNm/rad"), u("N·m/deg", 1/degree, "Nm/deg"), u("N·m/arcmin", 60/degree, "Nm/arcmin"),
			u("lbf·in/rad", poundF*inch, "in·lbf/rad"), u("lbf·in/deg", poundF*inch/degree, "in·lbf/deg"),
			u("lbf·ft/rad", poundF*foot, "ft·lbf/rad"),
		},
		metric: []scale{{"kN·m/rad", 10, false}, {"N·m/rad", 0, true}},
		inch:   []scale{{"lbf·in/rad", 0, true}},
	},
	LinearDensity: {
		name: "linear density", si: "kg/m", dim: [4]int8{1, -1, 0, 0},
		examples: []string{"kg/m", "g/mm", "lb/ft"},
		units: []unit{
			u("kg/m", 1), u("g/m", 1e-3), u("g/mm", 1), u("g/cm", 0.1), u("kg/mm", 1e3), u("lb/ft", pound/foot), u("lb/in", pound/inch),
		},
		metric: []scale{{"kg/m", 0, true}},
		inch:   []scale{{"lb/ft", 0, true}},
	},
	SpeedFactor: {
		name: "speed factor", si: "m·rad/s", dim: [4]int8{0, 1, -1, 0},
		examples: []string{"mm/min", "mm rpm"},
		// Catalogues write the product of millimetres and turns per minute as
		// mm/min, leaving the turn out.
		units:  []unit{u("m·rad/s", 1), u("mm/min", 1e-3*rpm, "mm·rpm", "mm·1/min", "mm·min-1"), u("in·rpm", inch*rpm)},
		metric: []scale{{"mm/min", 0, true}},
	},
}

// timeUnits serves both Time and Span: they differ only in how they are written.
var timeUnits = []unit{
	u("s", 1), u("ms", 1e-3), u("µs", 1e-6), u("min", minute), u("h", hour),
	u("day", day, "days", "d"), u("week", 7*day, "weeks"), u("month", month, "months"), u("year", year, "years", "a"),
}

// plurals are the only units spelled out in words.
var plurals = map[string]string{"day": "days", "week": "weeks", "month": "months", "year": "years"}

// index finds the units of each kind by spelling: as written in the table, in
// plain ASCII, and normalised. folded does so ignoring case.
var index, folded = buildIndex()

func buildIndex() (exact [numKinds]map[string]*unit, fold [numKinds]map[string]string) {
	for k := range kinds {
		exact[k] = map[string]*unit{}
		fold[k] = map[string]string{}
		for i := range kinds[k].units {
			row := &kinds[k].units[i]
			row.prepare()
			for _, s := range row.spellings() {
				key := normalise(s)
				exact[k][s] = row
				exact[k][key] = row
				if lower := strings.ToLower(key); fold[k][lower] == "" {
					fold[k][lower] = ascii(s)
				} else if lookupIn(exact[k], fold[k][lower]) != row {
					fold[k][lower] = ambiguous // mN and MN
				}
			}
		}
	}
	return exact, fold
}

// ambiguous stands where a spelling without its case is that of two units.
const ambiguous = "?"

// prepare notes when one unit is a short decimal fraction of the SI unit.
// Dividing by 1000 rounds once, while multiplying by the already rounded 0.001
// rounds twice: "35 mm" is to be 0.035 and not its neighbour.
func (r *unit) prepare() {
	inverse := math.Round(1000/r.factor) / 1000
	if r.factor < 1 && 1/inverse == r.factor {
		r.div = inverse
	}
}

func (r *unit) toSI(v float64) float64 {
	v += r.offset
	if r.div != 0 {
		return v / r.div
	}
	return v * r.factor
}

func (r *unit) fromSI(si float64) float64 {
	if r.div != 0 {
		si *= r.div
	} else {
		si /= r.factor
	}
	if r.offset != 0 && math.Abs(si) < 1e6 {
		// 293.15 - 273.15 is not 20 in binary; no scale is read finer than this.
		return math.Round((si-r.offset)*1e9) / 1e9
	}
	return si - r.offset
}

// spellings lists the spellings of one unit, the one for output first, each
// with its plain ASCII form.
func (r *unit) spellings() []string {
	var list []string
	for _, s := range append([]string{r.name}, r.also...) {
		for _, s := range []string{s, ascii(s)} {
			if !slices.Contains(list, s) {
				list = append(list, s)
			}
		}
	}
	return list
}

var toASCII = strings.NewReplacer("·", " ", "²", "2", "³", "3", "⁴", "4", "µ", "u", "°", "deg")

func ascii(s string) string { return toASCII.Replace(s) }

// lookup finds a unit of the kind, or nil.
func lookup(k Kind, spelling string) *unit {
	if k >= numKinds {
		return nil
	}
	return lookupIn(index[k], spelling)
}

func lookupIn(units map[string]*unit, spelling string) *unit {
	if r := units[spelling]; r != nil {
		return r
	}
	return units[normalise(spelling)]
}

// searchOrder is the order in which the kind of a foreign unit is guessed; a
// bare "g" is more likely a mass than an acceleration.
var searchOrder = func() []Kind {
	order := []Kind{Length, Mass}
	for k := Length + 1; k < numKinds; k++ {
		if k != Mass {
			order = append(order, k)
		}
	}
	return order
}()

func kindOf(spelling string) (Kind, *unit) {
	for _, k := range searchOrder {
		if r := lookup(k, spelling); r != nil {
			return k, r
		}
	}
	return None, nil
}

// normalise gives the one spelling under which variants of a unit are indexed:
// products as "·", powers as plain digits, micro as "u", the degree sign as
// "deg", and a parenthesised denominator without its parentheses. Text that is
// no unit comes out as something not indexed.
func normalise(s string) string {
	out := make([]byte, 0, 64)
	space, open := false, false
	runes := []rune(strings.TrimSpace(s))
	for i, r := range runes {
		switch r {
		case ' ', '\u00a0', '\u2009', '\u202f': // the kinds of space typists use
			space = true
			continue
		}
		last := byte(0)
		if len(out) > 0 {
			last = out[len(out)-1]
		}
		product := r == '·' || r == '⋅' || r == '*'
		// A space is a product unless it only sets off another sign.
		if space && !product && r != '/' && r != ')' && last != '/' && last != productEnd {
			out = append(out, "·"...)
		}
		space = false
		switch {
		case product:
			out = append(out, "·"...)
		case r == '(':
			if last != '/' || open {
				return ""
			}
			open = true
		case r == ')':
			if !open || i != len(runes)-1 {
				return ""
			}
			open = false
		case r == '^':
			if i+1 == len(runes) || last == 0 || !strings.ContainsRune("-−1234", runes[i+1]) {
				return ""
			}
		case r == '¹':
			out = append(out, '1')
		case r == '²':
			out = append(out, '2')
		case r == '³':
			out = append(out, '3')
		case r == '⁴':
			out = append(out, '4')
		case r == '⁻' || r == '−':
			out = append(out, '-')
		case r == 'µ' || r == 'μ':
			out = append(out, 'u')
		case r == '°':
			out = append(out, "deg"...)
		case r == '℃':
			out = append(out, "degC"...)
		case r == '℉':
			out = append(out, "degF"...)
		default:
			out = append(out, string(r)...)
		}
	}
	if open {
		return ""
	}
	return string(out)
}

// productEnd is the last byte of "·" in UTF-8.
const productEnd = 0xb7
