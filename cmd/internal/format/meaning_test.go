package format

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing/fstest"

	"github.com/hashicorp/hcl/v2/hclsyntax"

	"trammel/spec"
)

const someParts = `screw "g" {
  lead             = "10 mm"
  nominal_diameter = "20 mm"
}
nut "n" {
  length = "62 mm"
}
environment "hall" {
  dust = true
}
`

const someAxis = `axis "b" {
  screw {
    part = screw.g
  }
  nut {
    part = nut.n
  }
}
`

// meaning reads a text as a file of each kind, in a tree where others use it,
// and writes down all that was read, places aside.
func meaning(src []byte) string {
	var b strings.Builder
	for _, name := range []string{"machines/x.axis.hcl", "machines/machine.axis.hcl", "machines/x.parts.hcl", "machines/x.policy.hcl"} {
		files := fstest.MapFS{
			"house.parts.hcl":     {Data: []byte(someParts)},
			"machines/b.axis.hcl": {Data: []byte(someAxis)},
		}
		files[name] = &fstest.MapFile{Data: src}
		tree := spec.NewTree(files)
		fmt.Fprintln(&b, "==", name)
		folder := tree.Folder("machines")
		fmt.Fprintln(&b, folder.MachineName())
		said := folder.Problems
		for _, file := range []string{"machines/b.axis.hcl", name} {
			if !strings.HasSuffix(file, spec.AxisSuffix) {
				continue
			}
			read := tree.ReadAxes(file)
			said = append(said, read.Problems...)
			for _, a := range read.Axes {
				dump(&b, "axis", reflect.ValueOf(a))
				for _, f := range spec.Language().Fields[:spec.Language().Moves] {
					dump(&b, f.Path, reflect.ValueOf(a.Get(f)))
				}
				for _, m := range a.Moves {
					for _, f := range spec.Language().Fields[spec.Language().Moves:] {
						dump(&b, m.Name+" "+f.Path, reflect.ValueOf(m.Get(f)))
					}
				}
			}
		}
		for _, p := range folder.Parts() {
			dump(&b, "part", reflect.ValueOf(p))
			for _, kind := range spec.Language().PartKinds() {
				for _, f := range kind.Fields {
					dump(&b, f.Name, reflect.ValueOf(p.Get(f.Name)))
				}
			}
		}
		dump(&b, "policies", reflect.ValueOf(folder.Policies))
		var list []string
		for _, p := range said {
			s := p.Rule + ": " + p.Message + "; " + p.Help
			for _, r := range p.Related {
				s += "; " + r.Message
			}
			list = append(list, s)
		}
		slices.Sort(list)
		fmt.Fprintln(&b, strings.Join(list, "\n"))
	}
	return b.String()
}

// dump writes a value field by field, without places.
func dump(b *strings.Builder, name string, v reflect.Value) {
	switch x := v.Interface().(type) {
	case spec.Place:
		return
	case *spec.Field:
		return // named by who asks
	case *spec.Folder:
		return
	case *spec.Part:
		if x != nil {
			fmt.Fprintf(b, "%s = part %s.%s\n", name, x.Kind, x.Name)
		}
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			dump(b, name, v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if f := v.Type().Field(i); f.IsExported() {
				dump(b, name+"."+f.Name, v.Field(i))
			}
		}
	case reflect.Slice, reflect.Array:
		fmt.Fprintf(b, "%s: nil %v, %d\n", name, v.Kind() == reflect.Slice && v.IsNil(), v.Len())
		for i := range v.Len() {
			dump(b, fmt.Sprintf("%s[%d]", name, i), v.Index(i))
		}
	default:
		fmt.Fprintf(b, "%s = %#v\n", name, v.Interface())
	}
}

// comments lists the comments of a text without what may change of them.
func comments(src []byte) []string {
	var out []string
	for _, t := range lex([]byte(strings.TrimPrefix(string(src), "\ufeff"))) {
		if t.Type == hclsyntax.TokenComment {
			var lines []string
			for l := range strings.Lines(string(t.Bytes)) {
				lines = append(lines, strings.TrimRight(l, " \t\r\n"))
			}
			out = append(out, strings.Join(lines, "\n"))
		}
	}
	return out
}
