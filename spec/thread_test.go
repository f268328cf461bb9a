package spec_test

import (
	"testing"

	"trammel/spec"
)

// TestMetricThread reads threads as ISO 261 and ISO 965-1 write them.
func TestMetricThread(t *testing.T) {
	for text, want := range map[string][2]float64{
		"M15x1": {0.015, 0.001}, "M10x0.75": {0.010, 0.00075}, "M100×2": {0.1, 0.002}, "M6x0.5": {0.006, 0.0005}, "M12.5x1": {0.0125, 0.001},
		"": {}, "none": {}, "15x1": {}, "M15": {}, "M15x": {}, "M15x0": {}, "M3x2": {}, "M15x1 ": {}, "m15x1": {}, "M1500x1": {}, "M15x1x2": {}, "M-15x1": {},
	} {
		d, p, ok := spec.MetricThread(text)
		if ok != (want[0] > 0) {
			t.Errorf("%q: %v", text, ok)
			continue
		}
		if ok && (d-want[0] > 1e-12 || want[0]-d > 1e-12 || p-want[1] > 1e-12 || want[1]-p > 1e-12) {
			t.Errorf("%q: %g by %g", text, d, p)
		}
	}
}
