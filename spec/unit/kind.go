package unit

import "strings"

// Kind is a kind of physical quantity.
type Kind uint8

// The kinds of quantity. The comment gives the unit in which values are held.
const (
	None                  Kind = iota // a bare number: count or ratio
	Length                            // m
	Speed                             // m/s
	Acceleration                      // m/s²
	Force                             // N
	Mass                              // kg
	Torque                            // N·m
	Inertia                           // kg·m², moment of inertia
	Time                              // s, written as ms, s, min or h
	Span                              // s, calendar time, written as h, days, months or years
	Temperature                       // K, absolute
	TemperatureDifference             // K
	RotationSpeed                     // rad/s
	Stiffness                         // N/m
	Stress                            // Pa
	Angle                             // rad
	Percentage                        // ratio: 80 % is 0.8
	Area                              // m²
	SecondMoment                      // m⁴, second moment of area
	Density                           // kg/m³
	Expansion                         // 1/K, coefficient of thermal expansion
	Power                             // W
	Energy                            // J
	Frequency                         // Hz
	Revolutions                       // number of turns
	AngularAcceleration               // rad/s²
	RotationalStiffness               // N·m/rad
	LinearDensity                     // kg/m
	SpeedFactor                       // m·rad/s, pitch diameter times rotation speed, written as mm/min
	numKinds

	Kinds = int(numKinds) // how many there are
)

func (k Kind) info() *kindInfo {
	if k < numKinds {
		return &kinds[k]
	}
	return &kinds[None]
}

// String returns the name people use for the kind, such as "rotation speed".
func (k Kind) String() string { return k.info().name }

// WithArticle returns the name with its indefinite article, such as "a length"
// or "an angle".
func (k Kind) WithArticle() string { return WithArticle(k.String()) }

// WithArticle puts a or an before a name.
func WithArticle(name string) string {
	if strings.ContainsRune("aeiou", rune(name[0])) {
		return "an " + name
	}
	return "a " + name
}

// SI returns the symbol of the unit in which values of the kind are held, such
// as "kg·m²". It is "1" for bare numbers and ratios and "rev" for Revolutions.
func (k Kind) SI() string { return k.info().si }

// KindOfSI returns the first kind whose values are held in a unit, as SI writes it; ok is
// false where there is none. Kinds that share a unit, such as temperature and its
// difference, are not told apart.
func KindOfSI(symbol string) (k Kind, ok bool) {
	for k = range numKinds {
		if k.SI() == symbol {
			return k, true
		}
	}
	return None, false
}

// Exponents returns the dimension of the kind as the exponents of kilogram,
// metre, second and kelvin. Angles and turns count as dimensionless.
func (k Kind) Exponents() [4]int8 { return k.info().dim }

// Examples returns the usual units of the kind for use in messages, such as
// "mm, m, in". It is empty for None.
func (k Kind) Examples() string { return strings.Join(k.info().examples, ", ") }

// Units returns the accepted spellings, unit by unit in a fixed order, the
// spelling used for output first. The other ways to write products, powers and
// the micro sign (see the package comment) are accepted too but not listed.
func (k Kind) Units() []string {
	var list []string
	for i := range k.info().units {
		list = append(list, k.info().units[i].spellings()...)
	}
	return list
}

// Convertible reports whether values of the two kinds may be compared. Kinds
// of equal dimension are not enough: torque and energy, temperature and
// temperature difference, and rotation speed and frequency stay apart.
func Convertible(a, b Kind) bool {
	return family(a) == family(b)
}

// family maps kinds which differ only in how they are written to one of them.
func family(k Kind) Kind {
	switch k {
	case Span:
		return Time
	case Percentage:
		return None
	}
	return k
}
