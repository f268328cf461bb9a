// Package unit turns written quantities into SI numbers and back.
//
// A quantity is text: a decimal number, an optional space and a unit, such as
// "20 mm", "0.8 m/s" or "12 lbf". It may carry a tolerance ("40 kg ± 5 kg",
// "40 kg ± 10 %") or be a range ("35 kg … 45 kg", "35 … 45 kg"). The ASCII
// spellings "+-" and "+/-" stand for ±, and ".." and "..." for ….
//
// The caller says which kind of quantity is wanted, and a unit is looked up
// within that kind only: "g" is the gram where a mass is wanted and standard
// gravity where an acceleration is wanted.
//
// Units are case-sensitive. A product may be written with a space, "·" or "*",
// a power as "2", "²" or "^2", and micro as "u" or with either micro sign.
//
// All values are held in SI units, with angles in radians. Two kinds keep a
// customary unit: Percentage holds the ratio (80 % is 0.8) and Revolutions
// holds the number of turns. Temperature is absolute, in kelvin.
package unit
