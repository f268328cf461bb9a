package rules

import (
	"fmt"
	"testing"
)

// TestEqualTemperatures: a place as hot, or as cold, as its grease permits is the
// same in degrees Celsius and Fahrenheit, whoever writes which; a tenth of a
// degree more is not.
func TestEqualTemperatures(t *testing.T) {
	judged := func(place, grease string, low bool) State {
		end := "max_temperature"
		if low {
			end = "min_temperature"
		}
		return wholeSheet().with("place.min_temperature", `"20 °C"`, "place.max_temperature", `"20 °C"`, "grease.min_temperature", `"-200 °C"`, "grease.max_temperature", `"900 °C"`).
			with("place."+end, `"`+place+`"`, "grease."+end, `"`+grease+`"`).judge(Options{}).results["lubricant-environment"].State
	}
	for c := -60; c <= 195; c += 5 {
		celsius, fahrenheit := fmt.Sprintf("%d °C", c), fmt.Sprintf("%d °F", c*9/5+32)
		for _, low := range []bool{true, false} {
			if low == (c > 20) {
				continue // the other end is at 20 °C
			}
			if judged(celsius, fahrenheit, low) != Passed || judged(fahrenheit, celsius, low) != Passed {
				t.Errorf("%s and %s are not equal", celsius, fahrenheit)
			}
			beyond := fmt.Sprintf("%d.1 °C", c)
			if low {
				beyond = fmt.Sprintf("%.1f °C", float64(c)-0.1)
			}
			if judged(beyond, fahrenheit, low) != Failed {
				t.Errorf("%s is as good as %s", beyond, fahrenheit)
			}
		}
	}
}
