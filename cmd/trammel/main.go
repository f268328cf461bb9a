// Command trammel checks machines kept as text: it computes and checks every
// linear axis declared in a folder of spec files.
package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"syscall"

	"github.com/spf13/cobra"
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
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// tuneMemory lets the collector work rarely: a run is short and its files are
// small. A ceiling set by the environment is left alone.
func tuneMemory() {
	if os.Getenv("GOGC") == "" && os.Getenv("GOMEMLIMIT") == "" {
		debug.SetGCPercent(400)
		debug.SetMemoryLimit(440 << 20)
	}
}

func run(args []string, in io.Reader, out, errOut io.Writer) int {
	root := rootCommand()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errOut)
	err := root.Execute()
	var code exitCode
	switch {
	case err == nil:
		return exitClean
	case errors.As(err, &code):
		return int(code)
	case errors.Is(err, syscall.EPIPE):
		return exitFailed // who read has gone; nothing to say to them
	}
	fmt.Fprintln(errOut, "trammel:", err)
	return exitFailed
}

const caution = `trammel computes and compares; it does not make a machine safe. Guarding, safe
stop and lockout belong to the machine's risk assessment (ISO 12100, ISO 13849-1)
and to local rules. Its numbers are a design check, to be signed by the engineer
who is responsible.`

func rootCommand() *cobra.Command {
	root := &cobra.Command{
		Use:   "trammel",
		Short: "Design-rule checks for machine axes kept as text",
		Long: `trammel reads linear axes declared in text files beside the CAD (ball screw, nut,
supports, motor, motion, place, grease), computes each of them and checks what was
declared against what follows.

` + caution,
		Example:       "  trammel check machines/",
		SilenceErrors: true,
		SilenceUsage:  true,
		Version:       version(),
	}
	root.AddCommand(checkCommand(), rulesCommand(), sheetCommand(), sizeCommand(), compareCommand(), tidyCommand(), completionCommand(), manualCommand(), auditCommand(), adoptCommand())
	root.CompletionOptions.DisableDefaultCmd = true // ours names fewer shells
	return root
}

func version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "unknown"
}
