package main

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"trammel/spec"
	"trammel/spec/amount"
)

// boundsOf is n where everything is tried, else a sixteenth of it. What grows faster
// than the file shows there too, as less patience is had with it.
func boundsOf(n int) int { return amount.Of(n, (n+15)/16) }

// many makes a text of lines up to a number of lines or nearly the size that is
// still read, whichever comes first; a part of it as boundsOf has it.
func many(before, after string, most int, line func(i int) string) string {
	var b strings.Builder
	b.WriteString(before)
	for i := range boundsOf(most) {
		l := line(i)
		if b.Len()+len(l)+len(after) >= boundsOf(spec.MaxFileSize) {
			break
		}
		b.WriteString(l)
	}
	return b.String() + after
}

// boundsAxis is an axis of which nearly everything can be judged. tolerance is
// written behind its quantities, moves says how many moves it makes.
func boundsAxis(name, tolerance string, moves int, more string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "axis %q {\norientation = \"vertical\"\nload {\nmass = \"26 kg%s\"\nfriction = 0.005\ndrag = \"20 N%[2]s\"\n%s}\nmotion {\nstroke = \"9 m\"\n", name, tolerance, more)
	for i := range moves {
		sign := ""
		if i%2 > 0 {
			sign = "-"
		}
		fmt.Fprintf(&b, "move \"m%d\" {\ndistance = \"%s160 mm\"\nspeed = \"0.3 m/s%s\"\nramp = \"0.15 s%[3]s\"\ndwell = \"1.6 s%[3]s\"\n}\n", i, sign, tolerance)
	}
	fmt.Fprintf(&b, "}\nscrew {\nnominal_diameter = \"20 mm\"\nlead = \"10 mm\"\nroot_diameter = \"17.3 mm%s\"\nball_circle_diameter = \"20.8 mm\"\ndynamic_rating = \"12.7 kN%[1]s\"\nstatic_rating = \"21 kN\"\ndn_limit = 70000\nlength = \"380 mm%[1]s\"\nend_lengths = [\"58 mm\", \"22 mm\"]\n}\nsupports {\ndrive_end = \"fixed\"\nfar_end = \"supported\"\nspan = \"330 mm%[1]s\"\n}\nduty {\nhours_per_day = 16\ndays_per_year = 250\nservice_life = \"8 years\"\n}\ndrive {\nmotor = motor.m\ngear_inertia = \"0.3 kg cm2%[1]s\"\n}\naccuracy {\npositioning = \"60 um\"\ntemperature_rise = \"4 K%[1]s\"\n}\n}\n", tolerance)
	return b.String()
}

// boundsMotor is the motor of a boundsAxis.
const boundsMotor = `motor "m" {
  rated_torque = "1.3 N m"
  peak_torque  = "3.9 N m"
  max_speed    = "3000 rpm"
  rotor_inertia = "0.3 kg cm2 ± 10 %"
}
`

const boundsParts = `screw "s" {
  nominal_diameter     = "20 mm"
  lead                 = "10 mm"
  root_diameter        = "17.3 mm"
  ball_circle_diameter = "20.7 mm"
  ball_diameter        = "3.3 mm"
  dynamic_rating       = "12.7 kN"
  static_rating        = "21 kN"
}
`

const boundsMap = "file = \"{Name}\"\naxis = \"{Name}\"\ncolumn \"Mass\" {\nfield = \"load.mass\"\nunit = \"kg\"\n}\n"

// manyFiles are files by number. Those of a policy stand in folders within each
// other.
func manyFiles(n int, name string, text func(i int) string) map[string]string {
	files := map[string]string{}
	folder := ""
	for i := range n {
		files[folder+fmt.Sprintf(name, i)] = text(i)
		if strings.HasSuffix(name, spec.PolicySuffix) {
			folder += "d/"
		}
	}
	files[folder+"last.axis.hcl"] = "axis \"last\" {\n}\n"
	return files
}

// longCondition is a condition of n terms.
func longCondition(names []string, n int) string {
	var b strings.Builder
	b.WriteString("0 * " + names[0] + " <= ")
	for i := range n {
		if i > 0 {
			b.WriteString(" + ")
		}
		b.WriteString(names[i%len(names)])
	}
	return b.String()
}

// TestLongBounds runs the built command over trees made to take long or much, each
// of files that are read to their end. What is written does not matter here, so
// long as it is written soon.
func TestLongBounds(t *testing.T) {
	amount.Long(t)
	patience := amount.Of(hostilePatience, hostilePatience/2)
	long := func(prefix string, i int) string { return prefix + strings.Repeat("x", 55) + fmt.Sprint(1000+i) }
	axes := func(most int, text func(i int) string) string { return many("", "", most, text) }
	nest := func(levels int) string {
		s := "1"
		for range levels {
			s = "max(" + s + ",1,1,1)"
		}
		return s
	}
	good := boundsAxis("a", "", 2, "")
	loose := boundsAxis("a", " ± 5 %", 4, "")
	t.Run("the axis itself", func(t *testing.T) {
		dir := t.TempDir()
		writeFile(t, filepath.Join(dir, "motor.parts.hcl"), boundsMotor)
		writeFile(t, filepath.Join(dir, "x.axis.hcl"), loose)
		_, out := runTool(t, dir, "", "check")
		for _, rule := range []string{"unknown-name", "unit", "value", "syntax", "duplicate-name"} {
			if strings.Contains(out, "["+rule+"]") {
				t.Fatalf("it cannot be read:\n%s", out)
			}
		}
	})
	for _, c := range []struct {
		name  string
		files map[string]string
		args  string // "check" where empty
		forms bool   // in every form of output
	}{
		{name: "axes with tolerances", files: map[string]string{"x.axis.hcl": axes(amount.Of(1000, 160), func(i int) string { return boundsAxis(fmt.Sprint("a", i), " ± 5 %", 2, "") })}},
		{name: "axes with findings", files: map[string]string{"x.axis.hcl": axes(1000, func(i int) string { return boundsAxis(fmt.Sprint("a", i), "", 2, "") })}, forms: true},
		{name: "moves with tolerances", files: map[string]string{"x.axis.hcl": boundsAxis("a", " ± 5 %", 500, "")}},
		{name: "fewer moves with tolerances", files: map[string]string{"x.axis.hcl": axes(amount.Of(200, 48), func(i int) string { return boundsAxis(fmt.Sprint("a", i), " ± 5 %", 10, "") })}},
		{name: "carriers in a chain", files: map[string]string{"x.axis.hcl": axes(1000, func(i int) string {
			return boundsAxis(fmt.Sprint("a", i), "", 1, fmt.Sprintf("carries = [axis.a%d]\n", i+1))
		})}},
		{name: "carriers in a circle", files: map[string]string{"x.axis.hcl": axes(1000, func(i int) string {
			return fmt.Sprintf("axis %q {\nload {\ncarries = [axis.%s]\n}\n}\n", long("a", i), long("a", (i+1)%1000))
		})}},
		{name: "carriers in circles", files: map[string]string{"x.axis.hcl": axes(1000, func(i int) string {
			return fmt.Sprintf("axis \"a%d\" {\nload {\ncarries = [%s]\n}\n}\n", i, many("", "", 90, func(k int) string { return fmt.Sprintf("axis.a%d, ", (i+1+1000-k)%1000) }))
		})}},
		{name: "carriers of a net", files: map[string]string{"x.axis.hcl": axes(1000, func(i int) string {
			return fmt.Sprintf("axis \"a%d\" {\nload {\nmass = \"1 kg\"\ncarries = [%s]\n}\n}\n", i, many("", "", 90, func(k int) string { return fmt.Sprintf("axis.a%d, ", i+1+k) }))
		})}},
		{name: "carried that are not there", files: map[string]string{
			"x.axis.hcl": axes(1000, func(i int) string {
				return fmt.Sprintf("axis \"abcdefgh%d\" {\nload {\ncarries = [%s]\n}\n}\n", i, many("", "", 50, func(k int) string { return fmt.Sprintf("axis.abcdefg%d%d, ", i, k) }))
			})}},
		{name: "waivers of one rule", files: map[string]string{"x.axis.hcl": strings.TrimSuffix(good, "}\n") + many("", "}\n", 10000, func(int) string {
			return "waive \"critical-speed\" {\nreason = \"x\"\nuntil = \"2027-01-01\"\n}\n"
		})}},
		{name: "waivers expired", files: map[string]string{"x.axis.hcl": strings.TrimSuffix(good, "}\n") + many("", "}\n", 10000, func(int) string {
			return "waive \"critical-speed\" {\nreason = \"x\"\nuntil = \"2007-01-01\"\n}\n"
		})}, forms: true},
		{name: "waivers of no rule", files: map[string]string{"x.axis.hcl": strings.TrimSuffix(good, "}\n") + many("", "}\n", 10000, func(i int) string {
			return fmt.Sprintf("waive \"critical-speex%d\" {\nreason = \"x\"\nuntil = \"2027-01-01\"\n}\n", i)
		})}},
		{name: "waivers of no rule in a policy", files: map[string]string{"x.axis.hcl": good, "x.policy.hcl": many("", "", 10000, func(i int) string {
			return fmt.Sprintf("waive \"critical-speex%d\" {\nreason = \"x\"\nuntil = \"2027-01-01\"\n}\n", i)
		})}, forms: true},
		{name: "waivers in a policy", files: map[string]string{
			"x.axis.hcl": axes(1000, func(i int) string { return fmt.Sprintf("axis \"a%d\" {\n}\n", i) }),
			"x.policy.hcl": many("", "", 10000, func(i int) string {
				return "waive \"critical-speed\" {\nreason = \"x\"\nuntil = \"2027-01-01\"\n}\n"
			})}},
		{name: "waivers of many axes", files: map[string]string{
			"x.axis.hcl": axes(1000, func(i int) string { return fmt.Sprintf("axis \"a%d\" {\n}\n", i) }),
			"x.policy.hcl": many("", "", 10000, func(i int) string {
				return "waive \"critical-speed\" {\nreason = \"x\"\nuntil = \"2027-01-01\"\naxes = [" + strings.Repeat(`"x",`, 10) + "]\n}\n"
			})}},
		{name: "house rules", files: map[string]string{"x.axis.hcl": good, "x.policy.hcl": many("", "", 10000, func(i int) string {
			return fmt.Sprintf("require \"r%d\" {\nthat = life_hours > \"99 h\"\n}\n", i)
		})}, forms: true},
		{name: "house rules of many axes", files: map[string]string{
			"x.axis.hcl": axes(1000, func(i int) string { return fmt.Sprintf("axis \"a%d\" {\n}\n", i) }),
			"x.policy.hcl": many("", "", 10000, func(i int) string {
				return fmt.Sprintf("require \"r%d\" {\nthat = life_hours > \"99 h\"\n}\n", i)
			})}},
		{name: "house rules with tolerances", files: map[string]string{"x.axis.hcl": loose, "x.policy.hcl": many("", "", 10000, func(i int) string {
			return fmt.Sprintf("require \"r%d\" {\nthat = life_hours > \"99 h\"\n}\n", i)
		})}},
		{name: "house rules of no quantity", files: map[string]string{"x.axis.hcl": good, "x.policy.hcl": many("", "", 10000, func(i int) string {
			return fmt.Sprintf("require \"r%d\" {\nthat = life_hourx%d > 1\n}\n", i, i)
		})}, forms: true},
		{name: "house rules of one name", files: map[string]string{"x.axis.hcl": good, "x.policy.hcl": many("", "", 10000, func(i int) string {
			return "require \"r\" {\nthat = life_hours > \"99 h\"\n}\n"
		})}},
		{name: "rules that are not there", files: map[string]string{"x.axis.hcl": good, "x.policy.hcl": many("", "", 10000, func(i int) string {
			return fmt.Sprintf("rule \"critical-speex%d\" {\n}\n", i)
		})}},
		{name: "limits that are not there", files: map[string]string{"x.axis.hcl": good, "x.policy.hcl": many("rule \"critical-speed\" {\n", "}\n", 2000, func(i int) string {
			return fmt.Sprintf("speex%d = 1\n", i)
		})}},
		{name: "one long condition", files: map[string]string{"x.axis.hcl": loose, "x.policy.hcl": "require \"r\" {\nthat = " + longCondition([]string{"buckling_load"}, 1900) + "\n}\n"}},
		{name: "long conditions", files: map[string]string{"x.axis.hcl": loose, "x.policy.hcl": many("", "", 19, func(i int) string {
			return fmt.Sprintf("require \"r%d\" {\nthat = %s\n}\n", i, longCondition([]string{"buckling_load"}, 95))
		})}},
		{name: "a wide call", files: map[string]string{"x.axis.hcl": loose, "x.policy.hcl": "require \"r\" {\nthat = 0 * buckling_load <= max(" + strings.Repeat("buckling_load, ", 20000) + "buckling_load)\n}\n"}},
		{name: "calls in calls in a condition", files: map[string]string{"x.axis.hcl": good, "x.policy.hcl": "require \"r\" {\nthat = 1 < " + nest(50) + "\n}\n"}},
		{name: "calls in calls in a value", files: map[string]string{"x.axis.hcl": "axis \"a\" {\nload {\nfriction = " + nest(50) + "\n}\n}\n"}},
		{name: "remainders of remainders", files: map[string]string{"x.axis.hcl": many("given {\n", "}\n", 30, func(i int) string {
			return fmt.Sprintf("a%d = %s1%s\n", i, strings.Repeat("(9%", 60), strings.Repeat(")", 60))
		})}},
		{name: "conditions in conditions", files: map[string]string{"x.axis.hcl": many("given {\n", "}\n", 30, func(i int) string {
			return fmt.Sprintf("a%d = %s1%s\n", i, strings.Repeat("(true?", 30), strings.Repeat(":1)", 30))
		})}},
		{name: "long interpolations", files: map[string]string{"x.axis.hcl": many("given {\na = \""+strings.Repeat("e\u0301", 1300)+"\"\n", "}\n", 1999, func(i int) string {
			return fmt.Sprintf("b%d = \"%s\"\n", i, strings.Repeat("${given.a}", 100))
		})}},
		{name: "interpolations in descriptions", files: map[string]string{"x.axis.hcl": many("given {\na = \""+strings.Repeat("e\u0301", 1300)+"\"\n}\n", "", 1000, func(i int) string {
			return fmt.Sprintf("axis \"a%d\" {\ndescription = \"%s\"\n}\n", i, strings.Repeat("${given.a}", 95))
		})}},
		{name: "names in conditions of values", files: map[string]string{"x.axis.hcl": many("given {\n", "}\n", 1999, func(i int) string {
			return fmt.Sprintf("a%d = max(%s1)\n", i, strings.Repeat(fmt.Sprintf("given.a%d,", max(0, i-40)), min(i, 30)))
		})}},
		{name: "parts of one name", files: map[string]string{"x.parts.hcl": many("", "", 10000, func(i int) string { return "screw \"s\" {\n}\n" })}, forms: true},
		{name: "parts that are alike", files: map[string]string{"x.parts.hcl": many("", "", 10000, func(i int) string {
			return fmt.Sprintf("screw \"s%d\" {\nnominal_diameter = \"20 mm\"\nlead = \"10 mm\"\n}\n", i)
		})}, forms: true},
		{name: "many parts, names that nearly fit", files: map[string]string{
			"x.parts.hcl": many("", "", 2900, func(i int) string { return fmt.Sprintf("screw %q {\n}\n", long("a", i)) }),
			"x.axis.hcl": axes(1000, func(i int) string {
				return fmt.Sprintf("axis \"a%d\" {\nscrew {\npart = screw.%s\n}\n}\n", i, long("b", i))
			})}},
		{name: "attributes that nearly fit", files: map[string]string{"x.axis.hcl": axes(1000, func(i int) string {
			return fmt.Sprintf("axis \"a%d\" {\nscrew {\n%s}\n}\n", i, many("", "", 30, func(k int) string { return fmt.Sprintf("ball_circle_diametex%d = 1\n", k) }))
		})}},
		{name: "axes of one name", files: map[string]string{"x.axis.hcl": axes(1000, func(i int) string { return "axis \"a\" {\n}\n" })}, forms: true},
		{name: "bidirectional text", files: map[string]string{"x.axis.hcl": many("", "", 1000, func(i int) string {
			return fmt.Sprintf("axis \"a%d\" {\ndescription = \"%s\"\nload {\nmass = \"\u202e\u2066\u200f%d\"\n}\n}\n", i, strings.Repeat("\u202e\u2066", 100), i)
		})}, forms: true},
		{name: "control characters", files: map[string]string{"x.axis.hcl": many("", "", 1000, func(i int) string {
			return fmt.Sprintf("axis \"a%d\" {\nload {\nmass = \"%s\"\n}\n}\n", i, strings.Repeat("\\u001b\\u0085\u0085", 50))
		})}, forms: true},
		{name: "size: a library at the limit", files: map[string]string{
			"x.parts.hcl": many("", "", 10000, func(i int) string { return strings.Replace(boundsParts, `"s"`, fmt.Sprintf("\"s%d\"", i), 1) }),
			"x.axis.hcl":  good}, args: "size x.axis.hcl a"},
		{name: "size: nuts that fit all", files: map[string]string{
			"x.parts.hcl": boundsParts + many("", "", 9000, func(i int) string { return fmt.Sprintf("nut \"n%d\" {\nfits = \"s\"\n}\n", i) }),
			"x.axis.hcl":  good}, args: "size x.axis.hcl a"},
		{name: "size: screws with tolerances", files: map[string]string{
			"x.parts.hcl": many("", "", 500, func(i int) string { return strings.Replace(boundsParts, `"s"`, fmt.Sprintf("\"s%d\"", i), 1) }),
			"x.axis.hcl":  boundsAxis("a", " ± 5 %", 100, "")}, args: "size x.axis.hcl a"},
		{name: "size: house rules", files: map[string]string{
			"x.parts.hcl": many("", "", 500, func(i int) string { return strings.Replace(boundsParts, `"s"`, fmt.Sprintf("\"s%d\"", i), 1) }),
			"x.axis.hcl":  loose,
			"x.policy.hcl": many("", "", 200, func(i int) string {
				return fmt.Sprintf("require \"r%d\" {\nthat = %s\n}\n", i, longCondition([]string{"life_hours"}, 9))
			})}, args: "size x.axis.hcl a"},
		{name: "size: freely, many moves", files: map[string]string{"x.axis.hcl": boundsAxis("a", " ± 5 %", 500, "")}, args: "size --free x.axis.hcl a"},
		{name: "parts files", files: manyFiles(boundsOf(10000), "%d.parts.hcl", func(i int) string { return fmt.Sprintf("screw \"s%d\" {\n}\n", i) })},
		{name: "axis files", files: manyFiles(boundsOf(2000), "%d.axis.hcl", func(i int) string { return fmt.Sprintf("axis \"a%d\" {\n}\n", i) })},
		{name: "policies in folders in folders", files: manyFiles(boundsOf(150), "%d.policy.hcl", func(i int) string {
			return many("", "", 60, func(k int) string {
				return fmt.Sprintf("require \"r%d-%d\" {\nthat = life_hours > \"99 h\"\n}\n", i, k)
			}) + "waive \"critical-speed\" {\nreason = \"x\"\nuntil = \"2027-01-01\"\n}\n"
		})},
		{name: "known findings", files: map[string]string{"x.axis.hcl": axes(1000, func(i int) string { return boundsAxis(fmt.Sprint("a", i), "", 2, "") }),
			"known": "trammel-known 1\n" + many("", "", 40000, func(i int) string { return fmt.Sprintf("critical-speed . a span 1.%d 1\n", i) })}, args: "check --known known"},
		{name: "known findings, record", files: map[string]string{"x.axis.hcl": axes(1000, func(i int) string { return boundsAxis("a", "", 2, "") }),
			"known": "trammel-known 1\n" + many("", "", 40000, func(i int) string { return fmt.Sprintf("critical-speed . a span 1.%d 1\n", i) })}, args: "check --known known --record --prune"},
		{name: "adopt: one long line", files: map[string]string{"x.csv": strings.Repeat(",", 1<<20-10), "x.map.hcl": boundsMap}, args: "adopt x.csv --try"},
		{name: "adopt: one long cell", files: map[string]string{"x.csv": "Name,Mass\na,\"" + strings.Repeat("\n", 1<<20-100) + "\"\n", "x.map.hcl": boundsMap}, args: "adopt x.csv --try"},
		{name: "adopt: short rows", files: map[string]string{"x.csv": "Name,Mass\n" + many("", "", 90000, func(i int) string { return fmt.Sprintf("a%d,1\n", i) }), "x.map.hcl": boundsMap}, args: "adopt x.csv --try"},
		{name: "adopt: rows of one name", files: map[string]string{"x.csv": "Name,Mass\n" + strings.Repeat("a,1\nb,2\n", boundsOf(120000)), "x.map.hcl": boundsMap}, args: "adopt x.csv --try"},
		{name: "adopt: cells that cannot be read", files: map[string]string{"x.csv": "Name,Mass\n" + many("", "", 50000, func(i int) string { return fmt.Sprintf("a%d,\u202ex%d\x1b\n", i, i) }), "x.map.hcl": boundsMap}, args: "adopt x.csv --try"},
		{name: "adopt: columns that nearly fit", files: map[string]string{
			"x.csv": "Name,Mass," + many("", "", 2900, func(i int) string { return long("a", i) + "," }) + "\na,1\n",
			"x.map.hcl": boundsMap + many("", "", 2000, func(i int) string {
				return fmt.Sprintf("column %q {\nfield = \"load.drag\"\n}\n", long("b", i))
			})}, args: "adopt x.csv --try"},
		{name: "adopt: quotes", files: map[string]string{"x.csv": strings.Repeat("\"", 1<<20-1), "x.map.hcl": boundsMap}, args: "adopt x.csv --try"},
		{name: "adopt: invalid bytes", files: map[string]string{"x.csv": "Name,Mass\n" + strings.Repeat("\xff\xfe,\x80\n", boundsOf(1<<17)), "x.map.hcl": boundsMap}, args: "adopt x.csv --try"},
		{name: "adopt: a deep mapping", files: map[string]string{"x.csv": "Name,Mass\na,1\n", "x.map.hcl": "unknown = " + strings.Repeat("[", 200<<10)}, args: "adopt x.csv --try"},
		{name: "adopt: a mapping of signs", files: map[string]string{"x.csv": "Name,Mass\na,1\n", "x.map.hcl": "unknown = " + strings.Repeat("!", 200<<10)}, args: "adopt x.csv --try"},
		{name: "adopt: words of a mapping", files: map[string]string{"x.csv": "Name,Mass\n" + strings.Repeat("a,x\n", boundsOf(200000)), "x.map.hcl": boundsMap + "unknown = [" + many("", "", 2000, func(i int) string { return fmt.Sprintf("\"x%d\",", i) }) + "]\n"}, args: "adopt x.csv --try"},
		{name: "tidy: one long run", files: map[string]string{"x.axis.hcl": many("axis \"a\" {\n", "}\n", 100000, func(i int) string { return fmt.Sprintf("a%d = 1 # x\n", i) })}, args: "tidy"},
		{name: "tidy: runs of one long line", files: map[string]string{"x.axis.hcl": many("axis \"a\" {\n"+strings.Repeat("a", 900)+" = 1 # x\n", "}\n", 100000, func(i int) string { return fmt.Sprintf("a%d = 1 # x\n", i) })}, args: "tidy --check"},
	} {
		forms := []string{""}
		if c.args == "" {
			c.args = "check"
		}
		if c.forms && amount.All() {
			forms = []string{"", " --form json", " --form sarif", " --form junit", " --form annotations"}
		}
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			writeFile(t, filepath.Join(dir, "motor.parts.hcl"), boundsMotor)
			for name, text := range c.files {
				writeFile(t, filepath.Join(dir, name), text)
			}
			for _, form := range forms {
				runWithin(t, patience, dir, "", strings.Fields(c.args+form)...)
			}
			if c.args == "check" && amount.All() {
				runWithin(t, patience, dir, "", "audit")
			}
		})
	}
}
