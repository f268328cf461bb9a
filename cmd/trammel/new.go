package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/format"
	"trammel/cmd/internal/gitfs"
	"trammel/cmd/internal/report"
	"trammel/cmd/internal/sanitize"
	"trammel/rules"
	"trammel/rules/judge"
	"trammel/rules/judge/run"
	"trammel/spec"
	"trammel/spec/unit"
)

// A sortOfAxis is what is known of an axis before anything is filled in.
type sortOfAxis struct {
	name, doc string
	top       string   // lines of the axis
	moves     []string // names
	besides   []string // fields that are worth a look, though no rule waits for them
}

var sortsOfAxis = []sortOfAxis{
	{"plain", "nothing is known yet", "", []string{"out", "back"}, nil},
	{"transfer", "moves a load back and forth, horizontally", `orientation = "horizontal"`, []string{"out", "back"}, []string{"motion.move.dwell"}},
	{"lift", "lifts a load", `orientation = "vertical"`, []string{"up", "down"}, []string{"load.people_below", "load.counterbalance", "drive.brake_torque", "motion.move.dwell"}},
	{"press", "pushes against a process force", "", []string{"press", "back"}, []string{"motion.move.thrust", "motion.move.hold", "motion.move.dwell"}},
}

func newCommand() *cobra.Command {
	var o newOptions
	var names []string
	sorts := ""
	for _, s := range sortsOfAxis {
		names = append(names, s.name)
		sorts += fmt.Sprintf("  %-9s %s\n", s.name, s.doc)
	}
	c := &cobra.Command{
		Use:   "new [axis|machine|parts|policy] [path] [kind...]",
		Short: "Write a new file to fill in",
		Long: `new writes a file to fill in. It holds every line that the rules need, as a comment
with its meaning and unit: remove the # where you write a value. Until then the line is
not declared: nothing is guessed. A file that exists is left alone.

  trammel new                         in an empty folder: a small repository
  trammel new axis machines/saw/feed  the file machines/saw/feed.axis.hcl
  trammel new machine machines/saw    the file machines/saw/machine.axis.hcl
  trammel new parts parts/stock screw nut motor
                                      the file parts/stock.parts.hcl with these kinds
  trammel new policy house            the file house.policy.hcl with every limit

With --from an axis begins with what its model shows: length, ends and diameters, each with
the faces it was taken from. What the model does not say, such as which end is driven,
stays a comment.

Kinds of axis (--sort):

` + sorts + `
A mapping for a table of existing machines is written by trammel adopt.`,
		Example: `  trammel new axis machines/slicer/lift --sort lift
  trammel new axis machines/slicer/lift --from cad/lift.step`,
		RunE: func(c *cobra.Command, args []string) error {
			return o.run(c.Context(), args, c.OutOrStdout())
		},
	}
	c.Flags().StringVar(&o.sort, "sort", "plain", "kind of axis: "+strings.Join(names, ", "))
	offer(c, "sort", names...)
	c.Flags().StringVar(&o.from, "from", "", "STEP file to take the shaft of a new axis from")
	return c
}

type newOptions struct{ sort, from string }

// A newFile is a file to write, by its path with slashes.
type newFile struct {
	path string
	text []byte
}

func (o *newOptions) run(ctx context.Context, args []string, out io.Writer) error {
	files, err := o.files(ctx, args)
	if err != nil {
		return err
	}
	cwd, err := workingFolder()
	if err != nil {
		return err
	}
	for _, f := range files {
		if _, err := os.Lstat(filepath.FromSlash(f.path)); err == nil {
			return fmt.Errorf("%s exists already; name another, or remove it first", f.path)
		}
	}
	for _, f := range files {
		if err := f.write(cwd); err != nil {
			return notWritten(f.path, err)
		}
		sanitize.Fprintf(out, "%s\n", f.path)
	}
	return nil
}

func (f *newFile) write(cwd string) error {
	dir, err := atomicfile.OpenFolder(filepath.Dir(filepath.FromSlash(f.path)), 0o777, cwd)
	if err != nil {
		return err
	}
	defer dir.Close()
	return dir.Write(path.Base(f.path), func(w io.Writer) error {
		_, err := w.Write(f.text)
		return err
	})
}

// kindsOfFile are the first words that new takes, with an example of what follows.
var kindsOfFile = map[string]string{"axis": "axis machines/saw/feed", "machine": "machine machines/saw", "parts": "parts parts/stock screw nut motor", "policy": "policy house"}

// files are those that are to be written.
func (o *newOptions) files(ctx context.Context, args []string) ([]newFile, error) {
	if len(args) == 0 && o.from == "" {
		return o.repository(ctx)
	}
	if len(args) == 0 {
		return nil, fmt.Errorf("--from is for a new axis, which is not named; write for example trammel new axis machines/saw/feed --from %s", o.from)
	}
	if kindsOfFile[args[0]] == "" {
		return nil, fmt.Errorf("new cannot write %q; write trammel new axis, machine, parts or policy, and a path", args[0])
	}
	if len(args) < 2 {
		return nil, fmt.Errorf("new %s needs a path; write for example trammel new %s", args[0], kindsOfFile[args[0]])
	}
	name := filepath.ToSlash(args[1])
	base := path.Base(name)
	if o.from != "" && args[0] != "axis" {
		return nil, fmt.Errorf("new %s takes nothing from a model; --from is for new axis", args[0])
	}
	if args[0] != "parts" && len(args) > 2 {
		return nil, fmt.Errorf("new %s takes one path, found %d", args[0], len(args)-1)
	}
	switch args[0] {
	case "axis":
		name, base = strings.TrimSuffix(name, spec.AxisSuffix), strings.TrimSuffix(base, spec.AxisSuffix)
		shown, err := modelShown(name+spec.AxisSuffix, o.from)
		if err != nil {
			return nil, err
		}
		text, err := o.axis(ctx, base, shown)
		return []newFile{{name + spec.AxisSuffix, text}}, err
	case "machine":
		text, err := machineToFill(base)
		return []newFile{{path.Join(name, spec.MachineFile), text}}, err
	case "parts":
		text, err := partsToFill(args[2:])
		return []newFile{{strings.TrimSuffix(name, spec.PartsSuffix) + spec.PartsSuffix, text}}, err
	}
	text, err := policyToFill()
	return []newFile{{strings.TrimSuffix(name, spec.PolicySuffix) + spec.PolicySuffix, text}}, err
}

// repository lays out a small repository, in an empty folder only.
func (o *newOptions) repository(ctx context.Context) ([]newFile, error) {
	list, err := os.ReadDir(".")
	if err != nil {
		return nil, err
	}
	if slices.ContainsFunc(list, func(e os.DirEntry) bool { return e.Name() != ".git" }) {
		return nil, errors.New("this folder is not empty; name what to write: trammel new axis, machine, parts or policy, and a path")
	}
	var out []newFile
	for _, args := range [][]string{{"policy", "house"}, {"parts", "parts/stock", "screw", "nut", "support", "motor", "coupling", "grease", "environment"}, {"machine", "machines/first"}, {"axis", "machines/first/feed"}} {
		files, err := o.files(ctx, args)
		if err != nil {
			return nil, err
		}
		out = append(out, files...)
	}
	return out, nil
}

// axis writes an axis of a sort: the lines are those that the rules miss of one that
// declares nothing else.
func (o *newOptions) axis(ctx context.Context, name string, shown *shownModel) ([]byte, error) {
	i := slices.IndexFunc(sortsOfAxis, func(s sortOfAxis) bool { return s.name == o.sort })
	if i < 0 {
		var names []string
		for _, s := range sortsOfAxis {
			names = append(names, s.name)
		}
		return nil, fmt.Errorf("--sort cannot be %q; choose from %s", o.sort, strings.Join(names, ", "))
	}
	s := sortsOfAxis[i]
	file := "new" + spec.AxisSuffix
	tree := spec.NewTree(gitfs.NoFiles())
	bare := fmt.Sprintf("axis %q {\n  %s\n  motion {\n", "new", s.top)
	for _, m := range s.moves {
		bare += fmt.Sprintf("    move %q {\n    }\n", m)
	}
	tree.Unsaved(file, []byte(bare+"  }\n}\n"))
	sum := run.Files(rules.Book(), tree, []string{file}, run.Options{Today: midnight(time.Now()), Context: ctx})
	missed := map[string]bool{}
	for _, g := range sum.MissingInputs {
		f, move, ok := strings.Cut(g.Missing, " of move ")
		if ok && move != "" {
			f = "motion.move." + f
		}
		missed[f] = true
	}
	for _, f := range append([]string{"description", "screw.part", "nut.part"}, s.besides...) {
		missed[f] = true
	}
	var b bytes.Buffer
	sanitize.Fprintf(&b, "# Remove the # before a line and write its value where … stands. A line that keeps its # is not\n# declared: trammel check says which rules wait for it. A part gives all its values at once.\n")
	b.WriteString(shown.head())
	sanitize.Fprintf(&b, "axis %q {\n", name)
	if s.top != "" {
		sanitize.Fprintf(&b, "%s\n", s.top)
	}
	lang := spec.Language()
	for _, f := range lang.Axis.Fields {
		if missed[f.Path] && !strings.HasPrefix(s.top, f.Name+" ") {
			openField(&b, f)
		}
	}
	for _, block := range lang.Axis.Blocks {
		axisBlock(&b, block, missed, s.moves, shown.lines())
	}
	sanitize.Fprintf(&b, "}\n")
	return laidOut(file, b.Bytes())
}

// axisBlock writes a block with the missed ones of its fields, if there are any, and with
// the lines that are known.
func axisBlock(b *bytes.Buffer, block *spec.Block, missed map[string]bool, moves []string, known map[string]string) {
	var in bytes.Buffer
	for _, f := range block.Fields {
		if lines := known[f.Path]; lines != "" {
			in.WriteString(lines)
		} else if missed[f.Path] {
			openField(&in, f)
		}
	}
	if block.Name == "motion" {
		for _, m := range moves {
			sanitize.Fprintf(&in, "move %q {\n", m)
			for _, f := range spec.Language().Move.Fields {
				if missed[f.Path] {
					openField(&in, f)
				}
			}
			sanitize.Fprintf(&in, "}\n")
		}
	}
	if in.Len() > 0 {
		sanitize.Fprintf(b, "\n%s { # %s\n", block.Name, block.Doc)
		b.Write(in.Bytes())
		sanitize.Fprintf(b, "}\n")
	}
}

// openField writes a field as a comment, its value left open, and below it the one that
// says as much in another way.
func openField(b *bytes.Buffer, f *spec.Field) {
	sanitize.Fprintf(b, "# %s = %s # %s\n", f.Name, report.Open(f), f.Doc)
	if o := f.Other(); o != nil {
		sanitize.Fprintf(b, "# %s = %s # %s\n", o.Name, report.Open(o), report.InPlaceOf(f, o))
	}
}

func machineToFill(name string) ([]byte, error) {
	var b bytes.Buffer
	m := spec.Language().Machine
	sanitize.Fprintf(&b, "# What is written here holds for each axis of the folder that does not say otherwise.\nmachine %q {\n", name)
	for _, f := range m.Fields {
		openField(&b, f)
	}
	for _, block := range m.Blocks {
		sanitize.Fprintf(&b, "\n%s { # %s\n", block.Name, block.Doc)
		for _, f := range block.Fields {
			openField(&b, f)
		}
		sanitize.Fprintf(&b, "}\n")
	}
	sanitize.Fprintf(&b, "}\n")
	return laidOut(spec.MachineFile, b.Bytes())
}

func partsToFill(kinds []string) ([]byte, error) {
	all := spec.Language().PartKinds()
	var names []string
	for _, k := range all {
		names = append(names, k.Name)
	}
	if len(kinds) == 0 {
		return nil, fmt.Errorf("new parts needs the kinds of part: %s", strings.Join(names, ", "))
	}
	var b bytes.Buffer
	sanitize.Fprintf(&b, "# Copy a block for each part, name it and fill in the values of its data sheet. An axis refers\n# to it as kind.name.\n")
	for _, kind := range kinds {
		i := slices.Index(names, kind)
		if i < 0 {
			return nil, fmt.Errorf("there is no kind of part %q; the kinds are %s", kind, strings.Join(names, ", "))
		}
		sanitize.Fprintf(&b, "\n# %s %q { # %s\n", kind, "name", all[i].Doc)
		for _, f := range all[i].Fields {
			sanitize.Fprintf(&b, "#   %s = %s # %s\n", f.Name, report.Open(f), f.Doc)
		}
		sanitize.Fprintf(&b, "# }\n")
	}
	return laidOut("new"+spec.PartsSuffix, b.Bytes())
}

func policyToFill() ([]byte, error) {
	var b bytes.Buffer
	sanitize.Fprintf(&b, "# Limits for this folder and all below; what is not set keeps its default, which stands here.\n# A looser limit needs a reason.\n")
	house := rules.Book().NewJudge(time.Time{}, false)
	for _, s := range house.InForce(spec.NewTree(gitfs.NoFiles()).Folder(".")) {
		sanitize.Fprintf(&b, "\n# rule %q { # %s; %s\n", s.Rule.Name, s.Severity, s.Rule.Question)
		for _, l := range s.Limits {
			sanitize.Fprintf(&b, "#   %s = %s # %s; %s\n", l.Limit.Name, limitText(l.Limit), l.Limit.Sense, l.Limit.Doc)
		}
		sanitize.Fprintf(&b, "# }\n")
	}
	return laidOut("new"+spec.PolicySuffix, b.Bytes())
}

// limitText is a limit's default as a policy writes it.
func limitText(l *judge.Limit) string {
	text := unit.FormatExact(l.Default, l.Kind, unit.Metric)
	if l.Spread != "" {
		return "… (" + l.Spread + ")"
	}
	if l.Kind == unit.None {
		return text
	}
	return fmt.Sprintf("%q", text)
}

// laidOut brings a new file into the layout of tidy; it must be one that can be read.
func laidOut(name string, text []byte) ([]byte, error) {
	out, problems := format.Tidy(name, text)
	if len(problems) > 0 {
		return nil, fmt.Errorf("a new file cannot be read: %s", problems[0].Message)
	}
	return out, nil
}
