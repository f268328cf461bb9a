package rules_test

import (
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"trammel/rules/mechanics"
)

// A made row is one size of a series of fixtures/library: its values by column.
type madeRow struct {
	series, name string
	values       map[string]float64
}

var (
	seriesRE  = regexp.MustCompile(`(?m)^series "(\w+)"`)
	columnsRE = regexp.MustCompile(`columns\s*=\s*\[(.*)\]`)
	rowRE     = regexp.MustCompile(`^\s*\["([^"]+)",(.*)\],`)
)

func madeRows(t *testing.T, file string) (out []madeRow) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(fixtureRoot, "library/parts", file))
	if err != nil {
		t.Fatal(err)
	}
	series, columns := "", []string{}
	for line := range strings.Lines(string(text)) {
		if m := seriesRE.FindStringSubmatch(line); m != nil {
			series = m[1]
		}
		if m := columnsRE.FindStringSubmatch(line); m != nil {
			columns = strings.Split(strings.ReplaceAll(m[1], `"`, ""), ", ")
		}
		m := rowRE.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		r := madeRow{series, m[1], map[string]float64{}}
		for i, cell := range strings.Split(m[2], ",") {
			column, _, _ := strings.Cut(columns[i+1], " ")
			if v, err := strconv.ParseFloat(strings.TrimSpace(cell), 64); err == nil {
				r.values[column] = v
			}
		}
		out = append(out, r)
	}
	return out
}

// TestLibraryIsMadeUp computes the invented parts again by the laws that
// fixtures/README.md states: no value was taken from anybody's list. They are laws of
// our own, and prove nothing about real parts.
func TestLibraryIsMadeUp(t *testing.T) {
	t.Parallel()
	near := func(r madeRow, column string, want, rel, abs float64) {
		if got := r.values[column]; math.Abs(got-want) > math.Max(rel*want, abs)+1e-9 {
			t.Errorf("%s of %s is %g; its law gives %.4g", column, r.name, got, want)
		}
	}
	count := 0
	for _, r := range madeRows(t, "screws.parts.hcl") {
		v := r.values
		ball, circle, lead, turns := v["ball_diameter"], v["ball_circle_diameter"], v["lead"], v["loaded_turns"]
		near(r, "ball_circle_diameter", v["nominal_diameter"]+0.22*ball, 0, 0.025)
		near(r, "root_diameter", circle-1.04*ball, 0, 0.071) // of small ones by the tenth
		static, dynamic := 0.95, 1.0
		if r.series == "rl" || r.series == "gs" {
			static, dynamic = 0.76, 0.8
		}
		near(r, "static_rating", static*mechanics.EstimateStatic(ball/1e3, circle/1e3, lead/1e3, turns)/1e3, 0.006, 0)
		near(r, "dynamic_rating", dynamic*mechanics.EstimateDynamic(ball/1e3, circle/1e3, lead/1e3, turns)/1e3, 0.006, 0)
		count++
	}
	for _, r := range madeRows(t, "supports.parts.hcl") {
		if bore := r.values["bore"]; strings.HasPrefix(r.series, "fx") {
			share := 1.0
			if r.series == "fxs" {
				share = 0.85
			}
			near(r, "stiffness", 11*bore+4, 0, 5)
			near(r, "dynamic_rating", share*0.62*math.Pow(bore, 1.28), 0.01, 0)
			near(r, "static_rating", r.values["dynamic_rating"]*(0.95+0.0167*bore), 0.01, 0)
		}
		count++
	}
	for _, r := range madeRows(t, "drives.parts.hcl") {
		if count++; r.series == "c" {
			continue
		}
		watts, err := strconv.ParseFloat(strings.Trim(r.name, "mb"), 64)
		if err != nil {
			t.Fatal(err)
		}
		rated := 1.04 * watts / (2 * math.Pi * r.values["rated_speed"] / 60)
		inertia := 0.21 * math.Pow(rated, 1.6)
		near(r, "rated_torque", rated, 0.004, 0)
		near(r, "peak_torque", 2.9*rated, 0.004, 0)
		near(r, "torque_at_max_speed", 0.65*2.9*rated, 0.005, 0)
		if r.series == "mb" {
			inertia *= 1.12
			near(r, "brake_torque", 1.2*rated, 0.02, 0)
		}
		near(r, "rotor_inertia", inertia, 0.03, 0)
	}
	if count < 140 {
		t.Errorf("%d rows were computed again", count)
	}
}

var (
	screwRE = regexp.MustCompile(`(?s)\n *screw (?:"[^"]+" )?\{(.*?)\n *\}`)
	valueRE = regexp.MustCompile(`(?m)^ +(\w+)\s+= "([0-9.]+) (mm|in)"(?: *#[^:\n]*)?$`)
)

// ownBalls are the ball diameters in mm that the project's screws have; nobody sells them.
var ownBalls = []float64{0.85, 1.1, 1.65, 1.85, 2.3, 2.65, 2.85, 2.9, 3.1, 3.3, 3.8, 4.1, 4.45, 4.65, 5.4, 5.45, 5.8, 6.1, 6.2, 6.7, 7.7}

// drawn reports whether a shaft of this nominal diameter in mm, or of any of ISO 3408-2 where it
// is 0, has this root diameter by the laws of the library, with a ball of our own.
func drawn(nominal, root float64) bool {
	sizes := []float64{nominal}
	if nominal == 0 {
		sizes = []float64{6, 8, 10, 12, 16, 20, 25, 32, 40, 50, 63, 80, 100}
	}
	return slices.ContainsFunc(sizes, func(size float64) bool {
		return slices.ContainsFunc(ownBalls, func(ball float64) bool {
			return ball < 0.22*size && math.Abs(size-0.82*ball-root) < 0.051
		})
	})
}

// TestRootsAreDrawn holds every root diameter of the project's files, and every ball circle, to the
// laws of geometry of the library, so that none is taken from a table. Rows of series and values
// that are wrong on purpose (with an expectation on their line) are left out.
func TestRootsAreDrawn(t *testing.T) {
	t.Parallel()
	for _, x := range []struct {
		nominal, root float64
		want          bool
	}{{20, 17.2, false}, {0, 17.2, false}, {25, 21.4, true}, {0, 20.8, false}, {32, 27.5, true}, {20, 17.3, true}, {16, 13.4, false}} {
		if drawn(x.nominal, x.root) != x.want {
			t.Errorf("root diameter %g mm of a shaft of %g mm: %t", x.root, x.nominal, !x.want)
		}
	}
	count := 0
	look := func(name, block string) {
		v := map[string]float64{}
		for _, m := range valueRE.FindAllStringSubmatch(block, -1) {
			n, err := strconv.ParseFloat(m[2], 64)
			if err != nil {
				t.Fatal(err)
			}
			if m[3] == "in" {
				n *= 25.4
			}
			v[m[1]] = n
		}
		nominal, root, circle, ball := v["nominal_diameter"], v["root_diameter"], v["ball_circle_diameter"], v["ball_diameter"]
		if root == 0 {
			return
		}
		count++
		switch {
		case ball == 0 && !drawn(nominal, root):
			t.Errorf("%s: no ball of ours gives the root diameter %g mm (nominal diameter %g mm)", name, root, nominal)
		case ball != 0 && math.Abs(nominal+0.22*ball-circle) > 0.05:
			t.Errorf("%s: ball circle %g mm; its law gives %.4g", name, circle, nominal+0.22*ball)
		case ball != 0 && math.Abs(circle-1.04*ball-root) > 0.06:
			t.Errorf("%s: root diameter %g mm; its law gives %.4g", name, root, circle-1.04*ball)
		}
	}
	for _, root := range []string{fixtureRoot, "../testdata", "../docs"} {
		err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !slices.Contains([]string{".hcl", ".md"}, filepath.Ext(name)) {
				return err
			}
			text, err := os.ReadFile(name)
			for _, m := range screwRE.FindAllStringSubmatch(string(text), -1) {
				look(name, m[1])
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if count < 110 {
		t.Errorf("%d root diameters were found", count)
	}
}

var (
	ballRE    = regexp.MustCompile(`ball_diameter\s*=\s*"([0-9.]+) (mm|in)"`)
	ballRowRE = regexp.MustCompile(`^\s*\["[^"]+",(.*)\]`)
)

// balls are the ball diameters, in mm, that a text declares, in blocks and in rows of series.
func balls(t *testing.T, text string) (out []float64) {
	t.Helper()
	add := func(number, unit string) {
		n, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
		switch {
		case err != nil:
			return // of a row that declares none
		case unit == "in":
			n *= 25.4
		}
		out = append(out, n)
	}
	column, unit := 0, ""
	for line := range strings.Lines(text) {
		if m := ballRE.FindStringSubmatch(line); m != nil {
			add(m[1], m[2])
		}
		if m := columnsRE.FindStringSubmatch(line); m != nil {
			columns := strings.Split(strings.ReplaceAll(m[1], `"`, ""), ", ")
			column = slices.IndexFunc(columns, func(c string) bool { return strings.HasPrefix(c, "ball_diameter ") })
			if column > 0 {
				unit = strings.TrimPrefix(columns[column], "ball_diameter ")
			}
		}
		if m := ballRowRE.FindStringSubmatch(line); m != nil && column > 0 {
			if cells := strings.Split(m[1], ","); column <= len(cells) {
				add(cells[column-1], unit)
			}
		}
	}
	return out
}

// TestNoBallsThatAreSold holds all balls of the project's data away from the sizes that balls
// are sold in, by the 64th of an inch and the half millimetre (common practice, no source), so
// that none can be looked up anywhere.
func TestNoBallsThatAreSold(t *testing.T) {
	t.Parallel()
	sold := func(ball float64) bool {
		return slices.ContainsFunc([]float64{25.4 / 64, 0.5}, func(step float64) bool { return math.Abs(ball-step*math.Round(ball/step)) < 0.04 })
	}
	for text, want := range map[string][]float64{
		"  ball_diameter = \"0.125 in\"\n": {3.175},
		"columns = [\"name\", \"lead mm\", \"ball_diameter mm\"]\n[\"a\", 5, 6.35], # x\n[\"b\", 5, null],\n": {6.35},
	} {
		if got := balls(t, text); len(got) != 1 || math.Abs(got[0]-want[0]) > 1e-9 || !sold(got[0]) {
			t.Errorf("%q: balls of %v mm", text, got)
		}
	}
	count := 0
	for _, root := range []string{fixtureRoot, "../testdata", "../docs"} {
		err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !slices.Contains([]string{".hcl", ".txt", ".md"}, filepath.Ext(name)) {
				return err
			}
			text, err := os.ReadFile(name)
			for _, ball := range balls(t, string(text)) {
				if count++; sold(ball) {
					t.Errorf("%s: balls of %.4g mm are sold", name, ball)
				}
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if count < 130 {
		t.Errorf("%d balls were found", count)
	}
}

// letters of a type with the digits of a size behind them, as makers of screws and of
// support units write them: bore behind two letters, diameter and lead as four digits.
var typeRE = regexp.MustCompile(`(?i)["./ ](?:[bfew][kf][-_]?\d{2}|wbk[-_]?\d+|[a-z]{1,4}[-_]?(?:0[468]|1[0246]|20|25|32|40|50|63|80)(?:0[1-9]|10|12|16|20|25|32|40))\b`)

// TestNoTypeLetters: no part in the project is named as in somebody's list.
func TestNoTypeLetters(t *testing.T) {
	t.Parallel()
	for _, bad := range []string{`"bk12"`, `screw.k2010`, `"BF-15"`, `"xyz1605-4"`} {
		if !typeRE.MatchString(bad) {
			t.Errorf("%s is not noticed", bad)
		}
	}
	allowed := regexp.MustCompile(`(?i)\bg20(?:05|10)\b|\bcase\b`) // of the rule that reads four digits as a size
	err := filepath.WalkDir("..", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			if err == nil && (d.Name() == ".git" || d.Name() == "fuzz") {
				return fs.SkipDir
			}
			return err
		}
		switch filepath.Ext(name) {
		case ".hcl", ".md", ".txt", ".csv":
		default:
			return nil
		}
		text, err := os.ReadFile(name)
		for line := range strings.Lines(string(text)) {
			if m := typeRE.FindString(line); m != "" && !allowed.MatchString(m) {
				t.Errorf("%s: %s reads like somebody's type: %s", name, m, strings.TrimSpace(line))
			}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
