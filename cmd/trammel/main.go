// Command trammel checks machines kept as text: it computes and checks every
// linear axis declared in a folder of spec files.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"strconv"
	"strings"
	"syscall"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"trammel/cmd/internal/sanitize"
	"trammel/spec"
)

// Exit statuses.
const (
	exitClean    = 0
	exitFindings = 1
	exitFailed   = 2 // the tool could not do its job
)

// exitCode carries a status up to main without words of its own.
type exitCode int

func (e exitCode) Error() string { return fmt.Sprintf("exit %d", int(e)) }

func main() {
	tuneMemory()
	ctx, _ := stoppedBySignal(context.Background())
	endAfter(ctx, os.Stderr)
	os.Exit(execute(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// tuneMemory lets the collector work more rarely than it does by itself, but for large runs
// as often as it takes to stay below a ceiling; more rarely still, and new memory costs more
// than the collector. A ceiling set by the environment is left alone.
func tuneMemory() {
	if os.Getenv("GOGC") != "" || os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	debug.SetGCPercent(200)
	raiseCeiling(nil)
}

// raiseCeiling puts the ceiling where it leaves room for what is in use, after
// each collection anew: near it, the collector would do nothing but collect.
func raiseCeiling(*[16]byte) {
	live := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
	metrics.Read(live)
	limit := int64(320 << 20)
	if live[0].Value.Kind() == metrics.KindUint64 {
		limit = max(limit, 2*int64(live[0].Value.Uint64())+64<<20)
	}
	debug.SetMemoryLimit(limit)
	runtime.SetFinalizer(new([16]byte), raiseCeiling)
}

func execute(ctx context.Context, args []string, in io.Reader, out, errOut io.Writer) int {
	root := rootCommand()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errOut)
	err := root.ExecuteContext(ctx)
	var code exitCode
	switch {
	case err == nil:
		return exitClean
	case errors.As(err, &code):
		return int(code)
	case errors.Is(err, syscall.EPIPE):
		return exitFailed // who read has gone; nothing to say to them
	}
	complain(errOut, err)
	return exitFailed
}

// complain says why a command did not do its job. Of an error that has several
// lines each is made harmless; any other is one line, whatever it names.
func complain(errOut io.Writer, err error) {
	text := sanitize.Line(err.Error())
	var many manyLines
	if errors.As(err, &many) {
		text = sanitize.Lines(err.Error())
	}
	if first, near, _ := strings.Cut(err.Error(), "\n"); strings.HasPrefix(first, "unknown command ") {
		text = sanitize.Line(unknownCommand(first, near))
	}
	sanitize.Fprintf(errOut, "trammel: %s\n", sanitize.Safe(text))
}

// unknownCommand says in one line what the library of commands says in several.
func unknownCommand(first, near string) string {
	first, _, _ = strings.Cut(first, " for ")
	names := strings.Fields(strings.TrimPrefix(strings.TrimSpace(near), "Did you mean this?"))
	if len(names) == 0 {
		return first + "; trammel --help lists the commands"
	}
	return first + "; did you mean " + strings.Join(names, " or ") + "?"
}

// manyLines is an error of several lines, each of which says one thing.
type manyLines []string

func (m manyLines) Error() string {
	clean := make([]string, len(m))
	for i := range m {
		clean[i] = sanitize.Line(m[i])
	}
	return strings.Join(clean, "\n  ")
}

const caution = `Results are a design check: the responsible engineer confirms and signs them. They
do not make a machine safe. Guarding, safe stop and lockout belong to the machine's
risk assessment (ISO 12100, ISO 13849-1); local rules take precedence.`

func rootCommand() *cobra.Command {
	root := &cobra.Command{
		Use:   "trammel",
		Short: "Check ball-screw axes written as text",
		Long: `trammel checks ball-screw axes that are written as text: screw, nut, supports, motor,
motion, environment, grease. It computes loads, life, critical speed, buckling,
stiffness, accuracy and torque, compares them with what is declared and reports what
fails, with the numbers and the smallest change that fixes it.

trammel manual DIR writes a manual page for each command into a folder: trammel.1,
trammel-check.1 and so on; trammel explain prints the page of a rule.

` + caution,
		Example:       "  trammel check machines/",
		SilenceErrors: true,
		SilenceUsage:  true,
		Version:       about(),
	}
	root.AddCommand(checkCommand(), hookCommand(), newCommand(), explainCommand(), mergeCommand(), rulesCommand(), sheetCommand(), sizeCommand(), enquiryCommand(), compareCommand(), tidyCommand(), completionCommand(), manualCommand(), auditCommand(), adoptCommand(), editorCommand())
	root.SetHelpCommand(helpCommand())
	completeAll(root)
	root.CompletionOptions.DisableDefaultCmd = true // ours names fewer shells
	root.SetFlagErrorFunc(flagError)
	return root
}

// helpCommand takes the place of the library's own, which prints the list of commands for
// an unknown one and ends with status 0.
func helpCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "help [command]",
		Short: "Show the help of a command",
		RunE: func(c *cobra.Command, args []string) error {
			named, _, err := c.Root().Find(args)
			if err != nil {
				return err
			}
			named.InitDefaultHelpFlag()
			named.InitDefaultVersionFlag()
			return named.Help()
		},
		ValidArgsFunction: func(c *cobra.Command, args []string, _ string) (names []cobra.Completion, _ cobra.ShellCompDirective) {
			for _, other := range c.Root().Commands() {
				if len(args) == 0 && other.IsAvailableCommand() {
					names = append(names, cobra.CompletionWithDesc(other.Name(), other.Short))
				}
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
	}
}

// takes is for commands with a number of arguments from least to most; what else is
// given is answered with how the command is called.
func takes(least, most int) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) < least || len(args) > most {
			return fmt.Errorf("%s; write trammel %s", wrongCount(len(args), least, most), c.Use)
		}
		return nil
	}
}

// wrongCount says how many arguments were found and how many are expected.
func wrongCount(n, least, most int) string {
	needed := fmt.Sprintf("%d to %d", least, most)
	switch {
	case most == 0:
		needed = "none"
	case least == most:
		needed = strconv.Itoa(least)
	case least+1 == most:
		needed = fmt.Sprintf("%d or %d", least, most)
	case most == math.MaxInt:
		needed = fmt.Sprintf("at least %d", least)
	}
	given := "no argument"
	if n > 0 {
		given = sanitize.Count(n, "argument", "arguments")
	}
	return given + " given, " + needed + " needed"
}

// flagError adds the option that is most like one that is not known.
func flagError(c *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	var value *pflag.InvalidValueError
	var bare *pflag.ValueRequiredError
	switch {
	case errors.As(err, &bare) && bare.GetFlag() != nil:
		return fmt.Errorf("--%s needs a value: %s", bare.GetFlag().Name, bare.GetFlag().Usage)
	case errors.As(err, &unknown):
		var names []string
		c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, f.Name) })
		near := spec.Nearest(unknown.GetSpecifiedName(), names)
		if near == "" {
			return fmt.Errorf("%w; %s --help lists the options", err, c.CommandPath())
		}
		return fmt.Errorf("%w; did you mean --%s?", err, near)
	case errors.As(err, &value):
		return fmt.Errorf("--%s cannot be %q; expected: %s", value.GetFlag().Name, value.GetValue(), value.GetFlag().Usage)
	}
	return err
}

// What .ci/dist writes into the program: version, commit and day of the commit.
var builtVersion, builtCommit, builtDay string

// about is the version with what it was built from.
func about() string {
	out, from, at := version(), builtCommit, builtDay
	if info, ok := debug.ReadBuildInfo(); ok && from == "" {
		for _, s := range info.Settings {
			switch s.Key {
			case "vcs.revision":
				from = s.Value[:min(12, len(s.Value))]
			case "vcs.time":
				at, _, _ = strings.Cut(s.Value, "T")
			}
		}
	}
	if from != "" {
		out += " (commit " + from + " of " + at + ")"
	}
	return out
}

func version() string {
	if builtVersion != "" {
		return builtVersion
	}
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "unknown"
}
