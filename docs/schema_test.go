package docs

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

const schemaFile = "check.schema.json"

// compile compiles the schema. A strict one permits no field it does not name,
// which the published one does: within a version fields may be added.
func compile(t *testing.T, strict bool) *jsonschema.Schema {
	t.Helper()
	doc := parseJSON(t, schemaFile)
	if strict {
		walkJSON("", doc, func(_ string, v any) {
			if m, ok := v.(map[string]any); ok {
				if props, ok := m["properties"].(map[string]any); ok && len(props) > 0 && m["type"] == "object" {
					m["additionalProperties"] = false
				}
			}
		})
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("check.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("check.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func parseJSON(t *testing.T, name string) any {
	t.Helper()
	src, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(src))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

func walkJSON(path string, v any, visit func(string, any)) {
	visit(path, v)
	switch v := v.(type) {
	case map[string]any:
		for _, k := range slices.Sorted(maps.Keys(v)) {
			walkJSON(path+"/"+k, v[k], visit)
		}
	case []any:
		for _, x := range v {
			walkJSON(path, x, visit)
		}
	}
}

// faultyFiles bring about what the guide's clean files do not: every kind of
// finding, gap and value the schema knows.
var faultyFiles = map[string]string{
	"wrong/below.axis.hcl": `
axis "below" {
  orientation = "vertical"
  load {
    people_below = true
  }
}
`,
	"wrong/a.axis.hcl": `
axis "twice" {
  load { mass = 3 }
  waive "peak-speed" {
    reason = "old"
    until  = "2020-01-01"
  }
}
axis "twice" {
  orientation = "vertical"
  load {
    mass     = "40 kg ± 5 kg"
    friction = 0.01
  }
  motion {
    move "up" {
      distance     = "300 mm"
      speed        = "2 m/s"
      acceleration = "1 m/s2"
    }
    move "down" {
      distance = "-250 mm"
      speed    = "2 m/s"
      ramp     = "0.3 s"
      payload  = "3 kg"
    }
  }
  screw {
    lead          = "5 mm"
    root_diameter = "8 mm"
  }
  supports {
    drive_end = "fixed"
    far_end   = "free"
    span      = "900 mm"
  }
}
axis "half" {
  motion {
`,
	"wrong/b.axis.hcl":     "axis \"c\" {\n  load { carries = [axis.nobody] }\n}\n",
	"wrong/c.axis.hcl":     "\xff",
	"wrong/slow.parts.hcl": "motor \"slow\" {\n  max_speed = \"3000 rpm\"\n}\n",
	"wrong/tall.axis.hcl": `
axis "tall" {
  load {
    mass     = "40 kg ± 5 kg"
    friction = 0.01
  }
  orientation = "vertical"
  motion {
    move "up" {
      distance     = "300 mm"
      speed        = "2 m/s"
      acceleration = "1 m/s2"
    }
    move "down" {
      distance = "-250 mm"
      speed    = "2 m/s"
      ramp     = "0.3 s"
      payload  = "3 kg"
    }
  }
  screw {
    lead          = "5 mm"
    root_diameter = "8 mm"
  }
  supports {
    drive_end = "fixed"
    far_end   = "free"
    span      = "900 mm"
  }
  drive {
    motor = motor.slow
  }
}
`,
}

// TestSchema holds that real output keeps to the schema, that the schema names
// every field of it and no other, and that the page explains each.
func TestSchema(t *testing.T) {
	open, strict := compile(t, false), compile(t, true)
	s := &session{t: t, dir: t.TempDir(), faulty: map[string]bool{}}
	s.goOnFrom("docs/guide.md")
	for name, text := range faultyFiles {
		full := filepath.Join(s.dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(full, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	seen := map[string]bool{}
	for _, args := range [][]string{{"machines"}, {"wrong"}, {"."}, {"machines/parts"}, {"machines/slicer/lift.axis.hcl"}, {".", "--share", "1/1", "--no-quantities"}} {
		doc := s.json(t, args...)
		for name, schema := range map[string]*jsonschema.Schema{"published": open, "strict": strict} {
			if err := schema.Validate(doc); err != nil {
				t.Errorf("check --form json %s does not keep to the %s schema: %v", args, name, err)
			}
		}
		walkJSON("", doc, func(path string, _ any) { seen[path[strings.LastIndexByte(path, '/')+1:]] = true })
	}
	page, err := os.ReadFile("json.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range schemaFields(t) {
		if !seen[name] {
			t.Errorf("%s: field %q never comes up in the output of this test", schemaFile, name)
		}
		if !strings.Contains(string(page), "`"+name+"`") {
			t.Errorf("docs/json.md does not explain `%s`", name)
		}
	}
	if err := open.Validate(map[string]any{"schema": "trammel.check/2"}); err == nil {
		t.Error("the schema takes anything")
	}
}

func schemaFields(t *testing.T) []string {
	names := map[string]bool{}
	walkJSON("", parseJSON(t, schemaFile), func(_ string, v any) {
		if m, ok := v.(map[string]any); ok {
			if props, ok := m["properties"].(map[string]any); ok {
				for n := range props {
					names[n] = true
				}
			}
		}
	})
	return slices.Sorted(maps.Keys(names))
}

// json runs check --form json and parses what it writes.
func (s *session) json(t *testing.T, args ...string) any {
	t.Helper()
	bin, err := binary()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(bin, append([]string{"check", "--form", "json", "--today", "2026-11-02"}, args...)...)
	c.Dir = s.dir
	var errOut bytes.Buffer
	c.Stderr = &errOut
	out, err := c.Output()
	if code := c.ProcessState.ExitCode(); err != nil && code != 1 && code != 2 {
		t.Fatal(err, errOut.String())
	}
	if !json.Valid(out) {
		t.Fatal(fmt.Errorf("check --form json %s is no JSON document", args))
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}
