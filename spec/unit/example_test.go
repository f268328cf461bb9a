package unit_test

import (
	"fmt"

	"trammel/spec/unit"
)

func ExampleParse() {
	q, _ := unit.Parse("40 kg ± 5 kg", unit.Mass)
	fmt.Println(q.Nominal, q.Low, q.High)

	_, err := unit.Parse("12 lb", unit.Force)
	fmt.Println(err)

	v, _ := unit.Parse("2000 mm/min", unit.Speed)
	fmt.Println(unit.Format(v.Nominal, unit.Speed, unit.Metric))
	fmt.Println(unit.Format(v.Nominal, unit.Speed, unit.Inch))
	// Output:
	// 40 35 45
	// "12 lb" is a mass; a force is expected: did you mean "12 lbf"?
	// 33.3 mm/s
	// 1.31 in/s
}
