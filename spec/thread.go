package spec

import (
	"regexp"
	"strconv"
)

var metricThread = regexp.MustCompile(`^M(\d{1,3}(?:\.\d{1,2})?)[x×](\d(?:\.\d{1,3})?)$`)

// MetricThread reads the designation of a metric thread with its pitch, such as M15x1
// (ISO 261, ISO 965-1): major diameter and pitch in metres. The pitch is less than half
// of the diameter; anything else is no thread.
func MetricThread(text string) (diameter, pitch float64, ok bool) {
	found := metricThread.FindStringSubmatch(text)
	if found == nil {
		return 0, 0, false
	}
	diameter, _ = strconv.ParseFloat(found[1], 64)
	pitch, _ = strconv.ParseFloat(found[2], 64)
	return diameter / 1000, pitch / 1000, pitch > 0 && 2*pitch < diameter
}

// ThreadCore is the diameter of the core of a metric thread, in metres: 1.22687 pitches
// less than its major diameter (ISO 724).
func ThreadCore(diameter, pitch float64) float64 { return diameter - 1.22687*pitch }
