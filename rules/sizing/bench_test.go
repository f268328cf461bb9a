package sizing

import (
	"context"
	"fmt"
	"testing"
	"testing/fstest"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/rules/judge/testaxis"
	"trammel/spec"
)

// wideLibrary is an invented library of screws and motors of all sizes.
func wideLibrary(screws, motors int) plainLibrary {
	var l plainLibrary
	for i := range screws {
		d0 := []float64{12, 16, 20, 25, 32, 40, 50}[i%7]
		f := float64(i%23) / 23
		l.screws = append(l.screws, plainScrew{name: fmt.Sprintf("s%d", i), d0: d0, lead: []float64{5, 10, 16, 20}[i/7%4], root: d0 - 2 - 2*f,
			ca: float64(int(d0*(0.4+0.5*f)*10)) / 10, c0: float64(int(d0*(0.6+f)*10)) / 10, process: []string{"ground", "rolled"}[i%2]})
	}
	for i := range motors {
		rated := 0.2 + 4*float64(i)/float64(motors)
		l.motors = append(l.motors, plainMotor{name: fmt.Sprintf("m%d", i), speed: 3000 + 500*float64(i%5), rated: rated, peak: rated * 3, inertia: 0.1 + rated*0.6})
	}
	return l
}

// The whole of a sizing, reading the library included, over 200 and 500 screws, four
// grades and four ways to hold the shaft, 20 and 50 motors.
func BenchmarkSizing(b *testing.B) {
	for _, size := range [][2]int{{200, 20}, {500, 50}} {
		b.Run(fmt.Sprintf("%dx%d", size[0], size[1]), func(b *testing.B) {
			l := wideLibrary(size[0], size[1])
			base := plainAxis{screw: "s2", preload: "400 N", drive: "fixed", far: "supported", grade: "C5", motor: "m60", mass: 30, speed: 0.3, positioning: 90}
			if size[1] < 60 {
				base.motor = "m6"
			}
			fsys := fstest.MapFS{"cross.axis.hcl": {Data: []byte(base.text())}, "all.parts.hcl": {Data: []byte(l.text())}}
			for b.Loop() {
				run.Files(rules.Book(), spec.NewTree(fsys), []string{"cross.axis.hcl"}, run.Options{Today: testaxis.SomeDay, As: run.Look{Each: func(rep *judge.Report) {
					got, err := Find(context.Background(), rep, Options{Today: testaxis.SomeDay, Level: judge.Warning, Keep: [choices]bool{ChoosePreload: true}})
					if err != nil {
						b.Fatal(err)
					}
					b.ReportMetric(float64(got.All), "combinations")
					b.ReportMetric(float64(got.Holding), "holding")
				}}})
			}
		})
	}
}
