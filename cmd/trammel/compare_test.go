package main

import (
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"trammel/spec/amount"
)

type comparison struct {
	Schema, From, To, Headline string
	Crossed                    int `json:"limits_crossed"`
	Causes                     []struct {
		Name, Was, Is  string
		Axes, Machines int
		Place          struct {
			File string
			Line int
		} `json:"location"`
	}
	Axes []struct {
		Machine, Axis, Only string
		Text                []struct{ Name, Was, Is string }
		Quantities          []struct {
			Name, Was, Is string
			By            *float64
		}
		Rules []struct {
			Rule, Kind string
			WasState   string   `json:"was_state"`
			IsState    string   `json:"is_state"`
			Was        *float64 `json:"was_margin"`
			Is         *float64 `json:"is_margin"`
		}
	}
}

func compared(t *testing.T, status int, args ...string) comparison {
	t.Helper()
	r := ends(t, status, nil, append([]string{"compare", "--form", "json"}, args...)...)
	var c comparison
	dec := json.NewDecoder(strings.NewReader(r.out))
	dec.DisallowUnknownFields()
	loose := json.Unmarshal([]byte(r.out), &c)
	if loose != nil || c.Schema != "trammel.compare/1" {
		t.Fatalf("%q: %v\n%s", args, loose, r.out)
	}
	return c
}

func (c *comparison) names() string {
	var out []string
	for _, a := range c.Axes {
		name := a.Machine + "/" + a.Axis
		if a.Only != "" {
			name += " " + a.Only
		}
		out = append(out, name)
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

// kinds are the rules that moved in one way, with their axes.
func (c *comparison) kinds(kind string) string {
	var out []string
	for _, a := range c.Axes {
		for _, r := range a.Rules {
			if r.Kind == kind {
				out = append(out, a.Machine+"/"+a.Axis+" "+r.Rule)
			}
		}
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

// TestCompareRating is what it is for: someone changed a rating in a shared file.
func TestCompareRating(t *testing.T) {
	inBakery(t)
	edit(t, screws, `"12.7 kN"`, `"7 kN"`)
	r := ends(t, 1, nil, "compare", "HEAD")
	lines := strings.Split(r.out, "\n")
	if len(lines) > 36 {
		t.Errorf("%d lines are more than one screen", len(lines))
	}
	if !strings.HasPrefix(lines[0], "6 axes on 4 machines differ: ") || !strings.Contains(lines[0], "limits crossed") {
		t.Errorf("the first line is %q", lines[0])
	}
	if want := "  parts/screws.parts.hcl:26: screw.dynamic_rating 12.7 kN → 7 kN: 6 axes on 4 machines"; lines[1] != want {
		t.Errorf("the cause is\n%q, want\n%q", lines[1], want)
	}
	last := 0
	for _, l := range lines[4:] {
		kind := 2
		switch {
		case strings.HasSuffix(l, "limit crossed"):
			kind = 0
		case strings.HasSuffix(l, "worse"), strings.Contains(l, "no longer judged"):
			kind = 1
		case l == "":
			continue
		}
		if kind < last {
			t.Errorf("%q stands too low", l)
		}
		last = kind
	}
	c := compared(t, 1, "HEAD")
	if c.From != "HEAD" || c.To != "working tree" || c.Headline != lines[0] || c.Crossed == 0 || len(c.Causes) != 1 || c.Causes[0].Place.Line != 26 {
		t.Errorf("%+v", c)
	}
	for _, a := range c.Axes {
		if len(a.Text) != 1 || a.Text[0].Name != "screw.dynamic_rating" || a.Text[0].Was != "12.7 kN" || a.Text[0].Is != "7 kN" || len(a.Quantities) == 0 || len(a.Rules) == 0 {
			t.Errorf("%s: %+v", a.Axis, a)
		}
	}
	m := ends(t, 1, []string{"**6 axes on 4 machines differ", "- screw.dynamic\\_rating 12.7 kN → 7 kN: 6 axes on 4 machines (parts/screws.parts.hcl:26)", "|---|---|--:|--:|---|", "| **limit crossed** |"}, "compare", "HEAD", "--form", "markdown")
	for l := range strings.Lines(m.out) {
		if strings.HasPrefix(l, "|") && strings.Count(l, "|") != 6 {
			t.Errorf("a row with other cells: %q", l)
		}
	}
	// The other way round nothing is crossed.
	id := commitAll(t, "less")
	back := compared(t, 0, id, "HEAD~1")
	if back.kinds("fixed") != c.kinds("limit crossed") || back.kinds("better") != c.kinds("worse") {
		t.Errorf("back: fixed %q, crossed %q", back.kinds("fixed"), c.kinds("limit crossed"))
	}
}

// TestLongCompareSame wants the same bytes each time, in a file, and from a folder below.
func TestLongCompareSame(t *testing.T) {
	amount.Long(t)
	inBakery(t)
	edit(t, screws, `"12.7 kN"`, `"7 kN"`)
	for _, args := range amount.Some([][]string{{"HEAD"}, {"HEAD", "--form", "markdown"}, {"HEAD", "--form", "json"}, {"HEAD", "--all"}}, 4, func(a []string) string { return strings.Join(a, " ") }) {
		one := called(t, append([]string{"compare"}, args...)...)
		for range amount.Of(3, 1) {
			if two := called(t, append([]string{"compare"}, args...)...); one != two {
				t.Fatalf("%q: other bytes each time", args)
			}
		}
	}
	ends(t, 1, []string{"changed quantities"}, "compare", "HEAD", "--all")
	out := ends(t, 1, nil, "compare", "HEAD", "--write", "text=diff.txt")
	if out.out != "" || text(t, "diff.txt") != called(t, "compare", "HEAD").out {
		t.Errorf("--write: wrote %q", out.out)
	}
	os.Remove("diff.txt")
	commitAll(t, "less")
	// From a folder below, places are as seen from there.
	t.Chdir("machines/slicer")
	ends(t, 1, []string{"  ../../parts/screws.parts.hcl:26: "}, "compare", "HEAD~1")
	ends(t, 1, []string{"(parts/screws.parts.hcl:26)"}, "compare", "HEAD~1", "--form", "markdown")
}

func TestLongCompareStates(t *testing.T) {
	amount.Long(t)
	inBakery(t)
	ends(t, 0, []string{"no axis differs"}, "compare", "HEAD")
	ends(t, 0, []string{"no axis differs"}, "compare", "HEAD", "HEAD")
	ends(t, 0, []string{"no axis differs"}, "compare", "HEAD", "--form", "markdown")
	if c := compared(t, 0, "HEAD"); c.Axes == nil || len(c.Axes) != 0 || c.Causes == nil {
		t.Errorf("%+v", c)
	}
	edit(t, screws, `"12.7 kN"`, `"12.7 kN" # so`)
	ends(t, 0, []string{"no axis differs"}, "compare", "HEAD")
	gitDo(t, "checkout", "-q", ".")
	edit(t, screws, `"12.7 kN"`, `"7 kN"`)
	gitDo(t, "add", "-A")
	edit(t, screws, `"7 kN"`, `"12.7 kN"`)
	ends(t, 0, []string{"no axis differs"}, "compare", "HEAD")
	if c := compared(t, 1, "HEAD", "--staged"); c.To != "staged" || len(c.Axes) != 6 {
		t.Errorf("staged: %+v", c)
	}
	gitDo(t, "commit", "-q", "-m", "less")
	gitDo(t, "reset", "-q", "--hard")
	if c := compared(t, 1, "HEAD~1", "HEAD"); c.From != "HEAD~1" || c.To != "HEAD" || len(c.Axes) != 6 {
		t.Errorf("two revisions: %+v", c)
	}
	ends(t, 0, []string{"no axis differs"}, "compare", "HEAD~1", "HEAD", "--", "machines")
	ends(t, 1, []string{"6 axes"}, "compare", "HEAD~1", "HEAD", "--", "machines", "parts")
	ends(t, 1, []string{"6 axes"}, "compare", "HEAD~1", "--", screws)
	gitDo(t, "checkout", "-q", "--detach", "HEAD")
	ends(t, 1, []string{"6 axes"}, "compare", "main~1")
}

func TestLongCompareAxes(t *testing.T) {
	amount.Long(t)
	inBakery(t)
	axis := text(t, outfeed)
	put(t, "machines/slicer/new.axis.hcl", strings.Replace(axis, `"outfeed"`, `"second"`, 1))
	os.Remove("machines/packer/feed.axis.hcl")
	gitDo(t, "mv", outfeed, "machines/slicer/out.axis.hcl")
	gitDo(t, "mv", "machines/proofer", "machines/proofer-2")
	gitDo(t, "add", "-A")
	c := compared(t, 1, "HEAD") // the slender shaft of the new one is waived, and a margin is a margin
	if c.names() != "packer/feed removed, slicer/second added" || c.kinds("limit crossed") != "slicer/second slenderness" {
		t.Errorf("%s; crossed %s", c.names(), c.kinds("limit crossed"))
	}
	ends(t, 1, []string{"  machines/packer/feed.axis.hcl:2: axis packer/feed was removed\n", "  machines/slicer/new.axis.hcl:1: axis slicer/second was added\n"}, "compare", "HEAD")
	gitDo(t, "reset", "-q", "--hard")
	// Without a machine the folder is the name; a renamed file is the same axis.
	gitDo(t, "rm", "-q", "machines/slicer/machine.axis.hcl")
	commitAll(t, "no machine")
	gitDo(t, "mv", "machines/slicer", "machines/cutter")
	ends(t, 0, []string{"no axis differs"}, "compare", "HEAD")
	gitDo(t, "reset", "-q", "--hard", "HEAD~1")
	// Two machines of one name are two.
	if err := os.CopyFS("copy", os.DirFS("machines/slicer")); err != nil {
		t.Fatal(err)
	}
	commitAll(t, "copy")
	edit(t, screws, `"12.7 kN"`, `"4.5 kN"`)
	r := ends(t, 1, []string{"slicer/outfeed in machines/slicer ", "slicer/outfeed in copy "}, "compare", "HEAD")
	for range amount.Of(5, 1) {
		if called(t, "compare", "HEAD") != r {
			t.Fatal("other bytes each time")
		}
	}
}

func TestCompareJudged(t *testing.T) {
	inBakery(t)
	edit(t, outfeed, `"1200 mm"`, `"1210 mm"`)
	src := text(t, outfeed)
	var kept []string
	for l := range strings.Lines(src) {
		if !strings.Contains(l, "span ") {
			kept = append(kept, l)
		}
	}
	put(t, outfeed, strings.Join(kept, ""))
	c := compared(t, 0, "HEAD")
	if !strings.Contains(c.kinds("no longer judged"), "slicer/outfeed critical-speed") || c.kinds("limit crossed") != "" {
		t.Errorf("%+v", c)
	}
	ends(t, 0, []string{"rules no longer judged", "supports.span 1200 mm (removed): 1 axis on 1 machine", " no longer judged\n"}, "compare", "HEAD")
	id := commitAll(t, "gone")
	if c := compared(t, 0, id, "HEAD~1"); !strings.Contains(c.kinds("newly judged"), "slicer/outfeed critical-speed") {
		t.Errorf("%+v", c)
	}
}

func TestLongComparePolicies(t *testing.T) {
	amount.Long(t)
	inBakery(t)
	// A policy is a cause too, and a rule that is switched off is not judged any more.
	put(t, "machines/slicer/x.policy.hcl", "rule \"life-margin\" {\n  severity = \"off\"\n  reason = \"x\"\n}\n")
	ends(t, 0, []string{"3 rules no longer judged", "machines/slicer/x.policy.hcl:2: policy life-margin: severity off (new): 3 axes on 1 machine", "no longer judged: off"}, "compare", "HEAD")
	os.Remove("machines/slicer/x.policy.hcl")
	edit(t, "house.policy.hcl", `"2000 km"`, `"1000 km"`)
	ends(t, 1, []string{"30 axes", "house.policy.hcl:15: policy regrease-interval: distance 2000 km → 1000 km: 30 axes on 11 machines", "slicer/outfeed", "limit crossed"}, "compare", "HEAD")
	gitDo(t, "checkout", "-q", ".")
	edit(t, "house.policy.hcl", "40000 h", "100000 h")
	ends(t, 1, []string{"house rule lifting-life life_hours >= \"40000 h\" when incline_angle > \"45 deg\" → ", "limit crossed"}, "compare", "HEAD")
	whole := text(t, "house.policy.hcl")
	i := strings.Index(whole, "# A lifting axis")
	put(t, "house.policy.hcl", whole[:i])
	ends(t, 0, []string{"no longer judged: removed"}, "compare", "HEAD")
}

// TestLongCompareWaivers holds that a request which only touches waivers shows what they excuse.
func TestLongCompareWaivers(t *testing.T) {
	amount.Long(t)
	inBakery(t)
	const policy = "machines/loader/x.policy.hcl"
	waiver := func(axes, until string) string {
		return "waive \"critical-speed\" {\n  axes = [" + axes + "]\n  reason = \"runs so\"\n  until = \"" + until + "\"\n}\n"
	}
	said := func(words ...string) { t.Helper(); ends(t, 0, words, "compare", "HEAD") }
	put(t, policy, waiver(`"travel"`, "2027-06-30"))
	said("1 axis on 1 machine differs: 1 waiver added, 1 finding waived", policy+":1: waiver of critical-speed until 2027-06-30: runs so (new)", "waived until 2027-06-30", "-10.9 %")
	commitAll(t, "waiver")
	put(t, policy, waiver(`"travel"`, "2028-06-30"))
	said("differs: 1 waiver changed", "until 2027-06-30: runs so → until 2028-06-30: runs so", "!finding")
	put(t, policy, waiver(`"dip"`, "2027-06-30"))
	said("1 waiver added, 1 waiver ended, 1 finding no longer waived")
	os.Remove(policy)
	said("1 waiver ended, 1 finding no longer waived", "(removed)", "no longer waived\n")
	// In the axis, and one that is for a part.
	gitDo(t, "checkout", "-q", policy)
	edit(t, outfeed, `until  = "2027-06-30"`, `until  = "2027-03-31"`)
	put(t, policy, text(t, policy)+"waive \"lead-angle\" {\n  parts = [\"screw.x\"]\n  reason = \"y\"\n  until = \"2027-01-01\"\n}\n")
	said("4 axes on 2 machines differ: 1 waiver added, 1 waiver changed", "waiver of lead-angle for screw.x until")
	// A limit that is crossed stays crossed, waiver or not.
	gitDo(t, "checkout", "-q", ".")
	edit(t, "machines/loader/cross.axis.hcl", `"0.4 m/s"`, `"1.4 m/s"`)
	put(t, policy, waiver(`"travel", "cross"`, "2027-06-30"))
	ends(t, 1, []string{"limit crossed, waived until 2027-06-30"}, "compare", "HEAD")
}

func TestLongCompareBrokenState(t *testing.T) {
	amount.Long(t)
	inBakery(t)
	good := commitAll(t, "good")
	edit(t, outfeed, `"1200 mm"`, `"1200 parsec"`)
	for _, more := range [][]string{nil, {"--form", "json"}, {"--form", "markdown"}, {"--write", "text=file"}} {
		fails(t, "in the working tree: "+outfeed+":45:", append([]string{"compare", good}, more...)...)
	}
	if _, err := os.Stat("file"); err == nil {
		t.Error("a file was written")
	}
	bad := commitAll(t, "bad")
	fails(t, "at "+bad+": "+outfeed+":45:", "compare", bad, good)
	fails(t, "in the revision "+bad+": "+outfeed, "compare", good, bad)
	edit(t, outfeed, `"1200 parsec"`, `"1200 mm"`)
	fails(t, "at HEAD: "+outfeed, "compare", "HEAD")
	ends(t, 0, []string{"no axis differs"}, "compare", good)
	// A broken parts file that no axis needs is named all the same.
	put(t, "parts/new.parts.hcl", "<<<<<<< a\n=======\n>>>>>>> b\n")
	fails(t, "parts/new.parts.hcl:1:1: a merge conflict is not resolved here", "compare", good)
	os.Remove("parts/new.parts.hcl")
	put(t, "house.policy.hcl", "rule \"nonsense\" {\n}\n")
	fails(t, "house.policy.hcl:1:", "compare", good)
	gitDo(t, "checkout", "-q", "house.policy.hcl")
	// Many faults are cut short.
	gitDo(t, "rm", "-q", screws)
	r := called(t, "compare", good)
	if r.status != 2 || strings.Count(r.err, "\n") != 6 || !strings.Contains(r.err, "\n  and ") {
		t.Errorf("said %q", r.err)
	}
}

func TestCompareHostile(t *testing.T) {
	inBakery(t)
	dir := "machines/a|b `x` <img> [y](z) @all www.x"
	put(t, dir+"/a.axis.hcl", strings.Replace(text(t, outfeed), `axis "outfeed"`, `axis "o_u-t.1"`, 1))
	r := ends(t, 1, []string{`a\|b`, "\\`x\\`", "&lt;img&gt;", `\[y\](z)`, "&#64;all", `o\_u-t.1`, "www&#46;x"}, "compare", "HEAD", "--form", "markdown")
	for _, bad := range []string{"<img", "[y](z", " @all", "www.x"} {
		if strings.Contains(strings.ReplaceAll(r.out, `\[y\]`, ""), bad) {
			t.Errorf("%q is in\n%s", bad, r.out)
		}
	}
	for l := range strings.Lines(r.out) {
		if strings.HasPrefix(l, "|") && strings.Count(strings.ReplaceAll(l, `\|`, ""), "|") != 6 {
			t.Errorf("a row with other cells: %q", l)
		}
	}
	c := compared(t, 1, "HEAD")
	if len(c.Axes) != 1 || c.Axes[0].Machine != dir {
		t.Errorf("%+v", c)
	}
}
