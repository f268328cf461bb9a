package impact

import (
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"path"
	"slices"
	"strings"
	"testing"

	"trammel/spec"
	"trammel/spec/amount"
)

// TestOfAtRandom holds what is found by looking for words against reading every file, and
// against what each axis has: one that has something else than before is touched.
func TestOfAtRandom(t *testing.T) {
	t.Parallel()
	chance := rand.New(rand.NewPCG(7, 7))
	touched, left, carried := 0, 0, 0
	for range amount.Of(3000, 120) {
		was := randomTree(chance)
		now, list := changedTree(chance, was)
		quick, err := Of(NewState(mapFS(was)), NewState(mapFS(now)), list, finder(mapFS(now)))
		if err != nil {
			t.Fatal(err)
		}
		full, err := Of(NewState(mapFS(was)), NewState(mapFS(now)), list, allFiles(mapFS(now)))
		if err != nil {
			t.Fatal(err)
		}
		if one, two := reasons(quick), reasons(full); !slices.Equal(one, two) {
			t.Fatalf("by words\n%s\nby reading all\n%s\nof %v", strings.Join(one, "\n"), strings.Join(two, "\n"), texts(was, now))
		}
		before := has(mapFS(was))
		for key, said := range has(mapFS(now)) {
			file, axis, _ := strings.Cut(key, "\x00")
			axes, hit := quick.Axes[file]
			hit = hit && (axes == nil || slices.Contains(axes, axis))
			switch {
			case hit:
				touched++
			case said != before[key]:
				t.Fatalf("%s of %s differs and is not touched: %v", axis, file, texts(was, now))
			default:
				left++
			}
		}
		carried += strings.Count(strings.Join(show(quick), ""), "carries")
	}
	if min(touched, left, carried) < 50 {
		t.Errorf("%d axes touched, %d not, %d for what they carry", touched, left, carried)
	}
}

// reasons are what show writes; why a file is judged as a whole, one reason tells.
func reasons(i Impact) []string {
	lines := show(i)
	for k, line := range lines {
		if at := strings.Index(line, " [*]"); at > 0 {
			lines[k] = line[:at]
		}
	}
	return lines
}

// allFiles finds as finder does and leaves nothing out.
func allFiles(fsys fs.FS) Find {
	return func(dir string, recursive bool, _ ...string) ([]string, error) { return finder(fsys)(dir, recursive) }
}

func one(chance *rand.Rand, of ...string) string { return of[chance.IntN(len(of))] }

// randomTree has parts in two folders, machines, policies, and axes that name parts and each
// other in every way of writing.
func randomTree(chance *rand.Rand) map[string]string {
	files := map[string]string{}
	for _, dir := range []string{"parts", "m/parts"} {
		files[dir+"/s.parts.hcl"] = randomParts(chance)
	}
	for _, dir := range []string{"", "m/", "m/n/"} {
		if chance.IntN(2) == 0 {
			files[dir+"p.policy.hcl"] = randomPolicy(chance)
		}
		if dir != "" && chance.IntN(2) == 0 {
			files[dir+"machine.axis.hcl"] = randomMachine(chance)
		}
		for i := range 1 + chance.IntN(3) {
			files[fmt.Sprintf("%sf%d.axis.hcl", dir, i)] = randomAxes(chance, i)
		}
	}
	return files
}

func randomParts(chance *rand.Rand) string {
	out := screw("k1", one(chance, "10 mm", "20 mm")) + screw("füh", one(chance, "10 mm", "20 mm")) + screw("carries", one(chance, "10 mm", "20 mm")) + screw("K3", one(chance, "10 mm", "20 mm"))
	if chance.IntN(2) == 0 {
		out += screw("k2", one(chance, "10 mm", "20 mm"))
	}
	return out + fmt.Sprintf("environment %q {\n  dust = %s\n}\n", "hall", one(chance, "true", "false"))
}

func randomPolicy(chance *rand.Rand) string {
	return fmt.Sprintf("rule \"min-lead\" {\n  severity = %q\n}\n", one(chance, "note", "error"))
}

func randomMachine(chance *rand.Rand) string {
	return "machine \"m\" {\n" + one(chance, "", "  environment = environment.hall\n", "  environment = environment[\"h\\u0061ll\"]\n") +
		one(chance, "", "  duty {\n    hours_per_day = 8\n  }\n") + "}\n"
}

// randomAxes is a file of some axes; those of all files of a folder are a0 to a5.
func randomAxes(chance *rand.Rand, file int) string {
	out := ""
	for i := range 1 + chance.IntN(2) {
		part := one(chance, "", "screw.k1", "screw.k2", `screw["k1"]`, `screw["k\u0031"]`, "screw[\"\u212a3\"]", "screw.K3", "screw.füh", `screw["fu\u0308h"]`, "screw.fu\u0308h", "screw.carries", `screw["k${1}"]`)
		lines := one(chance, "", "  # carries = [axis.a1]\n", "  description = \"carries = nothing\"\n")
		if part != "" {
			lines += "  screw {\n    part = " + part + "\n  }\n"
		}
		other := one(chance, "axis.a0", "axis.a1", "axis.a2", "axis.a3", `axis["a\u0034"]`, `axis["a5"]`)
		lines += one(chance, "", "", "  load {\n    "+one(chance, "carries = ", "carries=", "carries\t =", "carries /* c */ = ", "carries/* c\n*/= ", "mass = \"1 kg\"\n    carries   =")+"["+other+"]\n  }\n",
			"  load { carries = ["+other+"] }\n", "  load {\n    carries = ["+other+", axis.a1]\n    mass = \n  }\n", "  load {\n    carries\n    = ["+other+"]\n  }\n", "  load {\n    carries # = \n  }\n")
		out += axis(fmt.Sprintf("a%d", 2*file+i), lines)
	}
	return one(chance, out, out, out, strings.ReplaceAll(out, "\n", "\r\n"))
}

// changedTree changes some files of a tree.
func changedTree(chance *rand.Rand, was map[string]string) (map[string]string, []Change) {
	now := maps.Clone(was)
	var list []Change
	for _, name := range slices.Sorted(maps.Keys(was)) {
		if chance.IntN(5) > 0 {
			continue
		}
		if chance.IntN(5) == 0 {
			delete(now, name)
			list = append(list, Change{Path: name, Old: name, Kind: 'D'})
			continue
		}
		switch {
		case strings.HasSuffix(name, spec.PartsSuffix):
			now[name] = randomParts(chance)
		case strings.HasSuffix(name, spec.PolicySuffix):
			now[name] = randomPolicy(chance)
		case path.Base(name) == spec.MachineFile:
			now[name] = randomMachine(chance)
		default:
			now[name] = randomAxes(chance, int(path.Base(name)[1]-'0'))
		}
		if now[name] != was[name] {
			list = append(list, Change{Path: name, Old: name, Kind: 'M'})
		}
	}
	return now, list
}

// has is what each axis of a tree has, by file and name: values, machine, policies, and what
// the axes have that it carries.
func has(fsys fs.FS) map[string]string {
	s := NewState(fsys)
	own, carry := map[string]string{}, map[string][]string{}
	names, _ := allFiles(fsys)(".", true)
	for _, name := range names {
		for _, x := range s.axes(name) {
			key := name + "\x00" + x.Name
			said := fmt.Sprintln(x.Folder.MachineName(), policiesOf(s, x.Folder))
			for _, f := range inherited() {
				if v := x.Get(f); v != nil {
					said += fmt.Sprintln(f.Path, v.Text, v.Num, v.Ends, v.Word, v.Flag, v.Bad)
				}
			}
			own[key] += said
			if v := x.Get(carries); v != nil {
				for _, ref := range v.Axes {
					carry[key] = append(carry[key], path.Dir(name)+"\x00"+ref.Name)
				}
			}
		}
	}
	in := map[string][]string{} // the axes of a name in a folder
	for key := range own {
		file, axis, _ := strings.Cut(key, "\x00")
		in[path.Dir(file)+"\x00"+axis] = append(in[path.Dir(file)+"\x00"+axis], key)
	}
	out := map[string]string{}
	for key := range own {
		reached := map[string]bool{}
		var follow func(string)
		follow = func(key string) {
			if reached[key] {
				return
			}
			reached[key] = true
			for _, ref := range carry[key] {
				for _, k := range in[ref] {
					follow(k)
				}
			}
		}
		follow(key)
		for _, k := range slices.Sorted(maps.Keys(reached)) {
			out[key] += k + own[k]
		}
	}
	return out
}

func texts(was, now map[string]string) string {
	var out strings.Builder
	for _, name := range slices.Sorted(maps.Keys(was)) {
		fmt.Fprintf(&out, "\n--- %s\n%s", name, was[name])
		if now[name] != was[name] {
			fmt.Fprintf(&out, "+++ %s\n%s", name, now[name])
		}
	}
	return out.String()
}
