package tables

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// published reads a file of published check values, each row as a map from
// column to field.
func published(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "published", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	recs, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, r := range recs[1:] {
		m := make(map[string]string, len(r))
		for i, c := range r {
			m[recs[0][i]] = c
		}
		out = append(out, m)
	}
	return out
}

func num(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

func TestTravelAgainstPublished(t *testing.T) {
	bands := 0
	for _, r := range published(t, "travel_deviation.csv") {
		grade, q := r["grade"], r["quantity"]
		if q == "v300p" {
			v, row, ok := V300(grade)
			if want := num(t, r["value_um"]) / 1e6; !ok || v != want {
				t.Errorf("V300(%s) = %g, %v; want %g", grade, v, ok, want)
			}
			if row.Provenance.String() != r["provenance"] {
				t.Errorf("V300(%s) claims to be %s, published %s", grade, row.Provenance, r["provenance"])
			}
			continue
		}
		if q != "ep" && q != "vup" {
			continue
		}
		bands++
		over, upto, want := num(t, r["l_over_mm"]), num(t, r["l_upto_mm"]), num(t, r["value_um"])
		lengths := []float64{over + 0.001, (over + upto) / 2, upto}
		tol := 0.0
		if r["series"] == "T" { // printed for the top of the band, rounded to 0.1 µm
			lengths, tol = []float64{upto}, 0.06e-6
		}
		for _, mm := range lengths {
			ep, vup, row, ok := Travel(grade, mm/1e3)
			got := ep
			if q == "vup" {
				got = vup
			}
			if !ok || !near(got, want/1e6, tol) {
				t.Errorf("%s %s at %g mm = %g µm, %v; want %g", grade, q, mm, got*1e6, ok, want)
			}
			if row.Provenance == Read && r["provenance"] != "read" {
				t.Errorf("%s %s at %g mm claims to be read, published %s", grade, q, mm, r["provenance"])
			}
		}
	}
	if bands < 280 {
		t.Errorf("only %d published bands compared", bands)
	}
}

func TestBandEdges(t *testing.T) {
	tests := []struct {
		grade       string
		mm, ep, vup float64
	}{
		{"C3", 315, 12, 8},
		{"C3", 315.001, 13, 10},
		{"P5", 315, 23, 23},
		{"P5", 315.001, 25, 25},
		{"C5", 100, 20 - 2, 18},
		{"C5", 100.001, 20, 18},
		{"C5", 10000, 260, 140},
		{"C3", 630, 16, 12},
		{"C3", 800, 18, 13},
		{"C5", 800, 35, 25},
		{"P3", 800, 18, 16},
		{"Cp3", 800, 18, 16}, // not the C3 table
		{"P3", 900, 21, 17},  // the ISO value that was read
	}
	for _, tt := range tests {
		ep, vup, _, ok := Travel(tt.grade, tt.mm/1e3)
		if !ok || ep != tt.ep/1e6 || vup != tt.vup/1e6 {
			t.Errorf("Travel(%s, %g mm) = %g, %g µm, %v; want %g, %g", tt.grade, tt.mm, ep*1e6, vup*1e6, ok, tt.ep, tt.vup)
		}
	}
	// A length that went through other units is still on the edge.
	sum := 0.0
	for range 315 {
		sum += 0.001
	}
	if ep, _, _, _ := Travel("C3", sum); ep != 12e-6 {
		t.Errorf("Travel(C3, 315 × 1 mm = %v m): ep = %g", sum, ep)
	}
}

func TestTravelOutside(t *testing.T) {
	last := map[string]float64{
		"C0": 1.6, "C1": 4, "C2": 6.3, "C3": 8, "C5": 10, "C7": 10, "C8": 10, "C10": 10,
		"Cp1": 4, "Cp3": 5, "Cp5": 6.3, "P1": 4, "P3": 5, "P5": 6.3,
		"Ct5": 6.3, "Ct7": 6.3, "Ct10": 6.3, "T5": 6.3, "T7": 6.3, "T9": 6.3, "T10": 6.3,
	}
	for _, g := range gradeNames() {
		end, known := last[g]
		if !known {
			t.Errorf("no end of range expected for %s", g)
		}
		if _, _, _, ok := Travel(g, end); !ok {
			t.Errorf("Travel(%s, %g m) not covered", g, end)
		}
		for _, lu := range []float64{end + 1e-6, 0, -1, math.NaN(), math.Inf(1)} {
			if _, _, _, ok := Travel(g, lu); ok {
				t.Errorf("Travel(%s, %g m) should not be covered", g, lu)
			}
		}
	}
	if _, _, _, ok := Travel("C4", 0.5); ok {
		t.Error("Travel of an unknown grade is covered")
	}
}

// ISO permits twice what the trade tables for transport grades show.
func TestTransportFactor(t *testing.T) {
	v, _, _ := V300("C7")
	ep, vup, row, ok := Travel("C7", 0.6)
	if !ok || !near(ep, 200e-6, 1e-12) || vup != 50e-6 || row.Provenance != Derived {
		t.Errorf("Travel(C7, 600 mm) = %g, %g, %+v, %v", ep, vup, row, ok)
	}
	if got := TravelTransport(v, 0.6, TradeTransportFactor); !near(got, 100e-6, 1e-12) {
		t.Errorf("trade reading = %g, want 100 µm", got)
	}
	if got := TravelTransport(v, 0.6, ISOTransportFactor); !near(got, ep, 1e-12) {
		t.Errorf("ISO reading = %g, want %g", got, ep)
	}
	// The stricter tables quoted in the notes show half of ISO.
	for _, c := range []struct{ v300, mm, um float64 }{{52, 800, 139}, {130, 6300, 2730}, {210, 800, 560}} {
		if got := TravelTransport(c.v300/1e6, c.mm/1e3, TradeTransportFactor) * 1e6; !near(got, c.um, 0.5) {
			t.Errorf("half table at %g mm = %g, want %g", c.mm, got, c.um)
		}
	}
	// No transport grade promises more than its v300 over a short travel.
	if ep, _, _, _ := Travel("T7", 0.05); ep != 52e-6 {
		t.Errorf("Travel(T7, 50 mm): ep = %g, want 52 µm", ep)
	}
}

// The ISO deviations equal the tolerance grades IT1, IT3 and IT5 of
// ISO 286-1, typed in here independently of the data.
func TestITGrades(t *testing.T) {
	upto := []float64{315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150}
	it := map[string][]float64{
		"P1": {6, 7, 8, 9, 10, 11, 13, 15, 18, 22, 26},
		"P3": {12, 13, 15, 16, 18, 21, 24, 29, 35, 41, 50},
		"P5": {23, 25, 27, 32, 36, 40, 47, 55, 65, 78, 96},
	}
	for g, values := range it {
		for i, want := range values {
			if ep, _, _, ok := Travel(g, upto[i]/1e3); !ok || ep != want/1e6 {
				t.Errorf("%s up to %g mm: ep = %g µm, want %g", g, upto[i], ep*1e6, want)
			}
		}
	}
	// IT7 and IT10 of 250–315 mm are the v300 of the transport grades.
	for g, want := range map[string]float64{"P1": 6, "P3": 12, "P5": 23, "T7": 52, "T9": 130, "T10": 210} {
		if v, _, _ := V300(g); v != want/1e6 {
			t.Errorf("V300(%s) = %g µm, want %g", g, v*1e6, want)
		}
	}
}

func TestMonotone(t *testing.T) {
	for _, g := range gradeNames() {
		var ep0, vup0 float64
		for mm := 1.0; mm <= 10000; mm++ {
			ep, vup, _, ok := Travel(g, mm/1e3)
			if !ok {
				break
			}
			if ep < ep0 || vup < vup0 {
				t.Fatalf("%s gets finer at %g mm", g, mm)
			}
			ep0, vup0 = ep, vup
		}
	}
	for _, series := range [][]string{
		{"C0", "C1", "C2", "C3", "C5", "C7", "C8", "C10"},
		{"P1", "P3", "P5", "T7", "T9", "T10"},
		{"Cp1", "Cp3", "Cp5", "Ct7", "Ct10"},
		{"P5", "T5"},
	} {
		for i, coarse := range series[1:] {
			fine := series[i]
			vf, _, _ := V300(fine)
			vc, _, _ := V300(coarse)
			if vc < vf {
				t.Errorf("V300: %s is coarser than %s", fine, coarse)
			}
			for mm := 1.0; mm <= 10000; mm++ {
				ef, uf, _, ok1 := Travel(fine, mm/1e3)
				ec, uc, _, ok2 := Travel(coarse, mm/1e3)
				if !ok1 || !ok2 {
					break
				}
				// vup of transport grades is a stand-in that does not grow.
				g, _ := ParseGrade(coarse)
				if ec < ef || (!g.Transport() && uc < uf) {
					t.Fatalf("at %g mm %s (%g, %g) is coarser than %s (%g, %g)", mm, fine, ef, uf, coarse, ec, uc)
				}
			}
		}
	}
}

func TestParseGrade(t *testing.T) {
	for _, name := range gradeNames() {
		for _, s := range []string{name, strings.ToLower(name), strings.ToUpper(name)} {
			g, ok := ParseGrade(s)
			if !ok || g.Name != name {
				t.Errorf("ParseGrade(%q) = %+v, %v", s, g, ok)
			}
			if g.Name != g.Series+strconv.Itoa(g.Number) {
				t.Errorf("%+v: name, series and number disagree", g)
			}
		}
	}
	g, _ := ParseGrade("Cp3")
	if want := (Grade{Name: "Cp3", Series: "Cp", Number: 3, Standard: "JIS B 1192", Rows: "P3"}); g != want || g.Transport() {
		t.Errorf("Cp3 = %+v", g)
	}
	for _, s := range []string{"", "C", "C4", "C6", "C9", "C11", "P6", "P9", "T3", "Cp7", "C 3", "3", "C03", "IT5"} {
		if g, ok := ParseGrade(s); ok {
			t.Errorf("ParseGrade(%q) = %+v", s, g)
		}
	}
	// What is sold between the grades of the standard is read as the next coarser one.
	for name, rows := range map[string]string{"P0": "P1", "P2": "P3", "P4": "P5"} {
		g, ok := ParseGrade(name)
		ep, vup, _, _ := Travel(name, 0.7)
		want, wantVup, _, _ := Travel(rows, 0.7)
		if !ok || g.Rows != rows || ep != want || vup != wantVup || slices.Contains(gradeNames(), name) {
			t.Errorf("%s = %+v, %v; ep %g, of %s %g", name, g, ok, ep, rows, want)
		}
	}
	// P7 is understood as a transport grade but never proposed.
	g, ok := ParseGrade("P7")
	if !ok || g.Rows != "T7" || !g.Transport() || slices.Contains(gradeNames(), "P7") {
		t.Errorf("P7 = %+v, %v", g, ok)
	}
	v, _, _ := V300("P7")
	e7, _, row, _ := Travel("P7", 1)
	et, _, _, _ := Travel("T7", 1)
	if v != 52e-6 || e7 != et || row.Confidence != "low" {
		t.Errorf("P7: v300 %g, ep %g, T7 %g, %+v", v, e7, et, row)
	}
	names := gradeNames()
	names[0] = "spoilt"
	if gradeNames()[0] != "C0" {
		t.Error("GradeNames hands out its own memory")
	}
}

func TestReliability(t *testing.T) {
	for _, r := range published(t, "factors.csv") {
		if r["factor"] != "f_ar" {
			continue
		}
		pc := num(t, strings.Fields(r["condition"])[1])
		want := num(t, r["value"])
		got, ok := ReliabilityFactor(pc / 100)
		if !ok || got != want {
			t.Errorf("ReliabilityFactor(%g %%) = %g, %v; want %g", pc, got, ok, want)
		}
		// The newer bearing factor must not have slipped in.
		note := strings.Fields(strings.TrimPrefix(r["note"], "ISO 281:2007 uses "))[0]
		if bearing := num(t, note); pc > 90 && got >= bearing {
			t.Errorf("at %g %% factor %g is not below the bearing factor %g", pc, got, bearing)
		}
	}
	for r, want := range map[float64]float64{0.9001: 0.62, 0.92: 0.62, 0.9501: 0.53, 0.985: 0.21, 1 - 0.05: 0.62, 1 - 0.01: 0.21} {
		if got, ok := ReliabilityFactor(r); !ok || got != want {
			t.Errorf("ReliabilityFactor(%g) = %g, %v; want %g", r, got, ok, want)
		}
	}
	for _, r := range []float64{0, 0.5, 0.8999, 0.9901, 1, 95, math.NaN(), -1} {
		if _, ok := ReliabilityFactor(r); ok {
			t.Errorf("ReliabilityFactor(%g) should not be covered", r)
		}
	}
}

func TestGradeFactor(t *testing.T) {
	for _, r := range published(t, "factors.csv") {
		if r["factor"] != "f_ac" {
			continue
		}
		n := int(num(t, strings.Fields(r["condition"])[2]))
		if got, ok := GradeFactor(n); !ok || got != num(t, r["value"]) {
			t.Errorf("GradeFactor(%d) = %g, %v; want %s", n, got, ok, r["value"])
		}
	}
	for n, want := range map[int]float64{0: 1, 2: 1, 8: 0.7, 9: 0.7} {
		if got, ok := GradeFactor(n); !ok || got != want {
			t.Errorf("GradeFactor(%d) = %g, %v; want %g", n, got, ok, want)
		}
	}
	for _, n := range []int{-1, 11} {
		if _, ok := GradeFactor(n); ok {
			t.Errorf("GradeFactor(%d) should not be covered", n)
		}
	}
}

func TestSizes(t *testing.T) {
	var diameters, leads, first []float64
	pairs := map[[2]float64]bool{}
	for _, r := range published(t, "preferred_sizes.csv") {
		switch r["kind"] {
		case "nominal_diameter":
			diameters = append(diameters, num(t, r["d0_mm"])/1e3)
		case "nominal_lead":
			v := num(t, r["Ph_mm"]) / 1e3
			leads = append(leads, v)
			if r["preferred_lead"] == "yes" {
				first = append(first, v)
			}
		case "combination":
			pairs[[2]float64{num(t, r["d0_mm"]) / 1e3, num(t, r["Ph_mm"]) / 1e3}] = true
		}
	}
	if !slices.Equal(PreferredDiameters(), diameters) || !slices.IsSorted(diameters) {
		t.Errorf("diameters %v, want %v", PreferredDiameters(), diameters)
	}
	if !slices.Equal(PreferredLeads(), leads) || !slices.IsSorted(leads) {
		t.Errorf("leads %v, want %v", PreferredLeads(), leads)
	}
	if !slices.Equal(firstChoiceLeads(), first) {
		t.Errorf("first choice leads %v, want %v", firstChoiceLeads(), first)
	}
	for _, d := range diameters {
		for _, l := range leads {
			dOK, lOK, pOK := IsPreferred(d, l)
			if !dOK || !lOK || pOK != pairs[[2]float64{d, l}] {
				t.Errorf("IsPreferred(%g, %g) = %v, %v, %v", d, l, dOK, lOK, pOK)
			}
		}
	}
	if d, l, p := IsPreferred(0.028, 0.007); d || l || p {
		t.Error("28 × 7 mm counts as preferred")
	}
	if d, l, p := IsPreferred(math.NaN(), math.NaN()); d || l || p {
		t.Error("NaN counts as preferred")
	}
}

func TestLimits(t *testing.T) {
	before := 0.0
	for n := 0; n <= 10; n++ {
		low, high, ok := SlendernessLimit(n)
		if !ok || low > high || low < before {
			t.Errorf("SlendernessLimit(%d) = %g, %g, %v", n, low, high, ok)
		}
		before = low
	}
	for n, want := range map[int][2]float64{0: {35, 40}, 1: {45, 50}, 2: {45, 50}, 3: {55, 60}, 5: {70, 70}, 7: {80, 100}, 8: {80, 100}, 10: {80, 100}} {
		if low, high, _ := SlendernessLimit(n); low != want[0] || high != want[1] {
			t.Errorf("SlendernessLimit(%d) = %g, %g; want %v", n, low, high, want)
		}
	}
	for _, n := range []int{-1, 11} {
		if _, _, ok := SlendernessLimit(n); ok {
			t.Errorf("SlendernessLimit(%d) should not be covered", n)
		}
	}

	for key, want := range map[[2]string][2]float64{
		{"rolled", "tube"}: {50000, 70000}, {"rolled", "end-cap"}: {50000, 70000},
		{"ground", "tube"}: {70000, 76200}, {"ground", "deflector"}: {70000, 100000},
		{"ground", "end-cap"}: {100000, 130000},
	} {
		low, high, row, ok := DNLimit(key[0], key[1])
		if !ok || low != want[0] || high != want[1] || !strings.HasPrefix(row.Source, "common practice") {
			t.Errorf("DNLimit(%v) = %g, %g, %+v, %v", key, low, high, row, ok)
		}
	}
	for _, key := range [][2]string{{"", "tube"}, {"ground", ""}, {"milled", "tube"}, {"rolled", "magic"}, {"ground tube", "tube"}} {
		if _, _, _, ok := DNLimit(key[0], key[1]); ok {
			t.Errorf("DNLimit(%v) should not be covered", key)
		}
	}

	for shock, want := range map[string][2]float64{"smooth": {1, 1.2}, "ordinary": {1.2, 1.5}, "shocks": {1.5, 2}} {
		if low, high, ok := LoadFactor(shock); !ok || low != want[0] || high != want[1] {
			t.Errorf("LoadFactor(%s) = %g, %g, %v", shock, low, high, ok)
		}
	}
	if _, _, ok := LoadFactor("0"); ok {
		t.Error("LoadFactor takes any word")
	}
}

// The limits of common practice against the rows of trade_facts.csv that
// they were taken from.
func TestLimitsAgainstPublished(t *testing.T) {
	facts := map[string]map[string]string{}
	for _, r := range published(t, "trade_facts.csv") {
		facts[r["id"]] = r
	}
	for _, c := range []struct {
		table, key, id   string
		checkLo, checkHi bool
	}{
		{"load_factor", "smooth", "TF010", true, true},
		{"load_factor", "ordinary", "TF011", true, true},
		{"load_factor", "shocks", "TF012", true, true},
		{"dn", "ground tube", "TF018", true, true},
		{"dn", "ground deflector", "TF020", true, false}, // upper end kept below the single text with 140 000
		{"dn", "ground end-cap", "TF021", true, false},
		{"dn", "rolled", "TF023", true, false},
		{"slenderness_strict", "0", "TF063", true, true},
		{"slenderness_strict", "1", "TF064", true, true},
		{"slenderness_strict", "3", "TF065", true, true},
		{"slenderness_strict", "5", "TF066", true, true},
		{"slenderness_strict", "7", "TF067", true, true},
		{"slenderness_strict", "10", "TF067", true, true},
	} {
		l, ok := limitData().get(c.table, c.key)
		f := facts[c.id]
		if !ok || f == nil {
			t.Errorf("%s %s or %s is missing", c.table, c.key, c.id)
			continue
		}
		if c.checkLo && l.low != num(t, f["low"]) || c.checkHi && l.high != num(t, f["high"]) {
			t.Errorf("%s %s = %g–%g, %s has %s–%s", c.table, c.key, l.low, l.high, c.id, f["low"], f["high"])
		}
	}
}

func TestAll(t *testing.T) {
	tables := map[string]int{}
	keys := map[string]bool{}
	for e := range all() {
		tables[e.Table]++
		id := e.Table + "/" + e.Key
		if keys[id] {
			t.Errorf("%s comes twice", id)
		}
		keys[id] = true
		if e.Key == "" || e.Unit == "" || e.Standard == "" || e.Source == "" {
			t.Errorf("%+v lacks a field", e)
		}
		if e.Provenance < Read || e.Provenance > Memory {
			t.Errorf("%s: provenance %v", id, e.Provenance)
		}
		if !slices.Contains([]string{"high", "medium", "low"}, e.Confidence) {
			t.Errorf("%s: confidence %q", id, e.Confidence)
		}
		if !(e.Value > 0) {
			t.Errorf("%s = %g", id, e.Value)
		}
	}
	want := map[string]int{
		"v300": 26, "ep": 114, "vup": 114, "reliability": 6, "bearing_reliability": 6, "grade_factor": 5,
		"diameter": 16, "lead": 15, "pair": 126,
		"slenderness": 12, "slenderness_strict": 12, "dn": 8, "load_factor": 6,
	}
	for name, n := range want {
		if tables[name] != n {
			t.Errorf("%d values of %s, want %d", tables[name], name, n)
		}
		delete(tables, name)
	}
	for name := range tables {
		t.Errorf("unexpected table %s", name)
	}
}

// The embedded files must stay simple enough for splitting at commas, every
// row must state its origin, and bands must join without gap.
func TestData(t *testing.T) {
	files, _ := filepath.Glob("data/*.csv")
	if len(files) != 5 {
		t.Fatalf("data files: %v", files)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if s := string(b); strings.ContainsAny(s, "\"\r") || !strings.HasSuffix(s, "\n") || strings.Contains(s, "\n\n") {
			t.Errorf("%s: quotes, carriage returns, empty lines or no final newline", f)
		}
		recs, err := csv.NewReader(strings.NewReader(string(b))).ReadAll()
		if err != nil {
			t.Errorf("%s: %v", f, err)
			continue
		}
		for _, col := range []string{"standard", "source", "provenance"} {
			i := slices.Index(recs[0], col)
			if i < 0 {
				t.Errorf("%s has no column %s", f, col)
				continue
			}
			for _, r := range recs[1:] {
				if strings.TrimSpace(r[i]) == "" {
					t.Errorf("%s: no %s in %v", f, col, r)
				}
			}
		}
	}
	for g, bands := range travelData() {
		end := 0.0
		for _, b := range bands {
			if b.over != end || b.upto <= b.over {
				t.Errorf("%s: band %g–%g follows %g", g, b.over, b.upto, end)
			}
			end = b.upto
		}
	}
}

// The published files, like the package, name no web address.
func TestNoAddresses(t *testing.T) {
	files, _ := filepath.Glob("../../testdata/published/*")
	own, _ := filepath.Glob("data/*")
	if len(files) < 7 {
		t.Fatalf("published files: %v", files)
	}
	for _, f := range append(files, own...) {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		low := strings.ToLower(string(b))
		for _, bad := range []string{"http", "www.", ".org", ".com", ".ai/"} {
			if strings.Contains(low, bad) {
				t.Errorf("%s contains %q", f, bad)
			}
		}
	}
}

func TestProvenanceString(t *testing.T) {
	if Read.String() != "read" || Derived.String() != "derived" || Memory.String() != "memory" || Provenance(0).String() != "unknown" {
		t.Error("wrong provenance words")
	}
}

// Close to what a command pays once if it uses every table.
func BenchmarkLoad(b *testing.B) {
	for b.Loop() {
		for _, f := range []struct {
			data   string
			fields int
		}{{gradesCSV, 12}, {travelCSV, 10}, {factorsCSV, 8}, {sizesCSV, 8}, {limitsCSV, 9}} {
			parse("", f.data, f.fields, func(rec []string) {
				for _, c := range rec {
					if c != "" && c[0] >= '0' && c[0] <= '9' {
						_, _ = strconv.ParseFloat(c, 64)
					}
				}
			})
		}
	}
}

func BenchmarkTravel(b *testing.B) {
	for b.Loop() {
		Travel("C5", 1.2)
	}
}

// gradeNames lists the grades by series and then from fine to coarse, for
// messages and for guessing at a misspelt grade. It leaves out P7 and P10,
// which are understood but should not be proposed.
func gradeNames() []string {
	return slices.Clone(gradeData().names)
}

// firstChoiceLeads returns the leads that ISO 3408-2 marks as preferred among
// its nominal leads, in metres: 2.5, 5, 10, 20 and 40 mm. From memory, high
// confidence.
func firstChoiceLeads() []float64 {
	var out []float64
	for _, s := range sizeData().leads {
		if s.firstChoice {
			out = append(out, s.mm/1e3)
		}
	}
	return out
}
