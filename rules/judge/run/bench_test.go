package run

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"sync"
	"testing"
	"time"

	"github.com/hashicorp/hcl/v2"
	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/mechanics"
	"trammel/spec"
	"trammel/spec/unit"
)

// writeFleet writes a tree of n invented axes, one a file, fifty a folder, and
// returns the axis files below root.
func writeFleet(tb testing.TB, root string, n int) []string {
	tb.Helper()
	put := func(name, text string) {
		name = filepath.Join(root, name)
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			tb.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			tb.Fatal(err)
		}
	}
	put("parts/all.parts.hcl", fleetParts)
	files := []string{}
	for i := range n {
		dir := fmt.Sprintf("line%03d", i/50)
		if i%50 == 0 {
			put(dir+"/machine.axis.hcl", fmt.Sprintf("machine \"line%03d\" {\n  environment = environment.hall\n}\n", i/50))
			files = append(files, dir+"/machine.axis.hcl")
		}
		name := fmt.Sprintf("%s/a%05d.axis.hcl", dir, i)
		put(name, fmt.Sprintf(fleetAxis, i, mass(i), 0.2+float64(i%7)*0.03))
		files = append(files, name)
	}
	return files
}

// mass makes one axis in ten too heavy for its motor.
func mass(i int) int {
	if i%10 == 0 {
		return 200
	}
	return 20 + i%30
}

const fleetParts = `screw "g20x10" {
  nominal_diameter = "20 mm"
  lead             = "10 mm"
  root_diameter    = "17.3 mm"
  dynamic_rating   = "12.7 kN"
  static_rating    = "21 kN"
  process          = "ground"
  recirculation    = "end-cap"
}
support "fix15" {
  kind           = "fixed"
  bore           = "15 mm"
  stiffness      = "180 N/um"
  dynamic_rating = "22.6 kN"
  static_rating  = "27.8 kN"
}
motor "s400" {
  max_speed    = "4500 rpm"
  rated_torque = "1.3 N m"
  peak_torque  = "3.9 N m"
  rotor_inertia = "0.28 kg cm2"
}
grease "li2" {
  thickener       = "lithium"
  base_oil        = "mineral"
  min_temperature = "-20 °C"
  max_temperature = "110 °C"
}
environment "hall" {
  min_temperature = "5 °C"
  max_temperature = "40 °C"
}
`

const fleetAxis = `axis "a%05d" {
  description = "Invented axis of a fleet for measuring"
  orientation = "horizontal"
  load {
    mass     = "%d kg"
    friction = 0.01
    drag     = "18 N"
  }
  motion {
    stroke     = "720 mm"
    overtravel = "15 mm"
    emergency_deceleration = "8 m/s2"
    stop_by = "motor"
    reaction_time = "10 ms"
    move "out" {
      distance = "720 mm"
      speed    = "%g m/s"
      ramp     = "0.15 s"
      thrust   = "80 N"
      hold     = "0 N"
      dwell    = "0.9 s"
    }
    move "back" {
      distance = "-720 mm"
      speed    = "0.4 m/s"
      ramp     = "0.15 s"
    }
  }
  duty {
    hours_per_day = 8
    days_per_year = 240
    service_life  = "5 years"
    shock         = "smooth"
  }
  screw {
    part        = screw.g20x10
    length      = "980 mm"
    grade       = "C5"
    end_lengths = ["110 mm", "60 mm"]
    end_diameters = ["15 mm", "12 mm"]
  }
  nut {
    flange_toward = "fixed"
    preload       = "400 N"
    length        = "50 mm"
    stiffness     = "310 N/um"
    grease_port   = true
  }
  supports {
    drive_end      = "fixed"
    far_end        = "supported"
    span           = "800 mm"
    drive_end_part = support.fix15
  }
  drive {
    motor = motor.s400
  }
  accuracy {
    positioning      = "80 um"
    repeatability    = "10 um"
    temperature_rise = "2 K"
  }
  lubrication {
    grease         = grease.li2
    regrease_every = "2 months"
  }
}
`

// floor reads and parses files as plainly as hcl/v2 can.
func floor(root string, files []string, workers int) {
	next := make(chan string)
	var wg sync.WaitGroup
	for range workers {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for name := range next {
				src, err := os.ReadFile(filepath.Join(root, name))
				if err != nil {
					panic(err)
				}
				if _, diags := hclsyntax.ParseConfig(src, name, hcl.InitialPos); diags.HasErrors() {
					panic(diags)
				}
			}
		}()
	}
	for _, f := range files {
		next <- f
	}
	close(next)
	wg.Wait()
}

// BenchmarkCheckOverFloor judges 10,000 axis files and, in the same run and on
// the same workers, only reads and parses them: the metric "times-floor" is
// the ratio that counts.
func BenchmarkCheckOverFloor(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	root := b.TempDir()
	files := writeFleet(b, root, 10000)
	workers := runtime.GOMAXPROCS(0)
	floor(root, files, workers) // warm the page cache
	var parse, check time.Duration
	for b.Loop() {
		runtime.GC()
		t := time.Now()
		floor(root, files, workers)
		parse += time.Since(t)
		runtime.GC()
		t = time.Now()
		r, err := os.OpenRoot(root)
		if err != nil {
			b.Fatal(err)
		}
		s := Files(rules.Book(), spec.NewTree(r.FS()), files, Options{Fixes: true, Workers: workers})
		check += time.Since(t)
		if s.Axes != 10000 {
			b.Fatalf("%d axes", s.Axes)
		}
		if testing.Verbose() {
			b.Logf("%d findings, %d not judged, first %+v", len(s.Findings), s.Unjudged, first(s))
		}
		r.Close()
	}
	b.ReportMetric(float64(check)/float64(parse), "times-floor")
	b.ReportMetric(float64(parse.Microseconds())/float64(b.N)/float64(len(files)), "floor-µs/file")
	b.ReportMetric(float64(check.Microseconds())/float64(b.N)/float64(len(files)), "check-µs/file")
}

// BenchmarkTolerances judges the same axes with a tolerance on each mass and without: the
// metric "times-without" is the ratio that counts.
func BenchmarkTolerances(b *testing.B) {
	times := [2]time.Duration{}
	roots, lists := [2]string{}, [2][]string{}
	for i := range roots {
		roots[i] = b.TempDir()
		lists[i] = writeFleet(b, roots[i], 1000)
	}
	for _, f := range lists[1] {
		f = filepath.Join(roots[1], f)
		src, err := os.ReadFile(f)
		if err != nil {
			b.Fatal(err)
		}
		if err := os.WriteFile(f, bytes.ReplaceAll(src, []byte(` kg"`), []byte(` kg ± 5 %"`)), 0o644); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		for i := range roots {
			runtime.GC()
			t := time.Now()
			r, err := os.OpenRoot(roots[i])
			if err != nil {
				b.Fatal(err)
			}
			if s := Files(rules.Book(), spec.NewTree(r.FS()), lists[i], Options{Workers: 1}); s.Axes != 1000 {
				b.Fatalf("%d axes", s.Axes)
			}
			r.Close()
			times[i] += time.Since(t)
		}
	}
	b.ReportMetric(float64(times[1])/float64(times[0]), "times-without")
}

func first(s *Summary) string {
	if len(s.Findings) == 0 {
		return ""
	}
	return s.Findings[0].Place.String() + " " + s.Findings[0].Message
}

// BenchmarkJudge judges one axis that has been read: one that passes, and one
// with a finding and its fixes.
func BenchmarkJudge(b *testing.B) {
	root := b.TempDir()
	files := writeFleet(b, root, 2)
	tree := spec.NewTree(os.DirFS(root))
	for i, name := range []string{"finding", "clean"} {
		b.Run(name, func(b *testing.B) {
			a := tree.ReadAxes(files[1+i]).Axes[0]
			j, bench := rules.Book().NewJudge(time.Time{}, true), judge.NewScratch()
			b.ReportAllocs()
			for b.Loop() {
				if r := j.Judge(bench, a, nil); len(r.Findings) != 1-i {
					b.Fatalf("%d findings", len(r.Findings))
				}
			}
		})
	}
}

// BenchmarkGraph evaluates the calculation graph alone.
func BenchmarkGraph(b *testing.B) {
	root := b.TempDir()
	files := writeFleet(b, root, 1)
	tree := spec.NewTree(os.DirFS(root))
	a := tree.ReadAxes(files[1]).Axes[0]
	c := mechanics.NewCalc()
	b.ReportAllocs()
	for b.Loop() {
		judge.Load(c, a, unit.Quantity{}, nil)
	}
}
