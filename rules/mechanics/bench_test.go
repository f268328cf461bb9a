package mechanics

import "testing"

func BenchmarkRun(b *testing.B) {
	c := fullAxis(4)
	b.ReportAllocs()
	for b.Loop() {
		c.Run()
	}
}

func BenchmarkRunPlan(b *testing.B) {
	c := fullAxis(4)
	c.Run()
	plan := Plan([]*Quantity{BucklingSafety}, RootDiameter)
	b.ReportAllocs()
	for b.Loop() {
		c.RunPlan(plan)
	}
}

func BenchmarkNewCalc(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		NewCalc().Reset(4)
	}
}

func BenchmarkReset(b *testing.B) {
	c := NewCalc()
	b.ReportAllocs()
	for b.Loop() {
		c.Reset(4)
	}
}
