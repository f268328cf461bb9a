package main

import (
	"bytes"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"trammel/cmd/internal/atomicfile"
)

// shells are those for which there is a completion script.
var shells = []struct {
	name, help string
	write      func(*cobra.Command, io.Writer) error
}{
	{"bash", "source <(trammel completion bash)", func(c *cobra.Command, w io.Writer) error { return c.GenBashCompletionV2(w, true) }},
	{"zsh", "trammel completion zsh > \"${fpath[1]}/_trammel\"", func(c *cobra.Command, w io.Writer) error { return c.GenZshCompletion(w) }},
	{"fish", "trammel completion fish | source", func(c *cobra.Command, w io.Writer) error { return c.GenFishCompletion(w, true) }},
}

func completionCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "completion shell",
		Short: "Write a completion script for bash, zsh or fish",
		Long: `completion prints a script that lets the shell complete commands and options of
trammel. In bash it needs the package bash-completion.`,
		Args:                  takes(1, 1),
		DisableFlagsInUseLine: true,
		RunE: func(c *cobra.Command, args []string) error {
			for _, s := range shells {
				if s.name == args[0] {
					return s.write(c.Root(), c.OutOrStdout())
				}
			}
			return fmt.Errorf("completion does not support %q; choose bash, zsh or fish", args[0])
		},
	}
	var lines []string
	for _, s := range shells {
		c.ValidArgs = append(c.ValidArgs, s.name)
		lines = append(lines, "  "+s.help)
	}
	c.Example = strings.Join(lines, "\n")
	return c
}

func manualCommand() *cobra.Command {
	return &cobra.Command{
		Use:    "manual folder",
		Short:  "Write the manual pages",
		Long:   "manual writes one manual page for each command into a folder, in the man format.\nThe pages have no date: the same program writes the same bytes.",
		Hidden: true, // for those who make packages
		Args:   takes(1, 1),
		RunE: func(c *cobra.Command, args []string) error {
			dir, err := atomicfile.OpenFolder(args[0], 0o777)
			if err != nil {
				return fmt.Errorf("%s: %w", args[0], atomicfile.Reason(err))
			}
			defer dir.Close()
			for _, p := range manualPages(c.Root()) {
				if c.Context().Err() != nil {
					return errInterrupted
				}
				if err := notWritten(filepath.Join(args[0], p.name), dir.WriteFile(p.name, p.text)); err != nil {
					return err
				}
			}
			return nil
		},
	}
}

type manualPage struct {
	name string
	text []byte
}

// manualPages makes the pages of a command and all below it.
func manualPages(c *cobra.Command) []manualPage {
	out := []manualPage{{pageName(c) + ".1", manualOf(c)}}
	for _, sub := range c.Commands() {
		if shownInManual(sub) {
			out = append(out, manualPages(sub)...)
		}
	}
	return out
}

func shownInManual(c *cobra.Command) bool {
	return c.IsAvailableCommand() && c.Name() != "help"
}

func pageName(c *cobra.Command) string { return strings.ReplaceAll(c.CommandPath(), " ", "-") }

// roff writes text so that no part of it is taken for a request.
func roff(s string) string {
	s = strings.NewReplacer(`\`, `\e`, "-", `\-`, "`", `\(ga`, "^", `\(ha`, "~", `\(ti`, "\t", "    ").Replace(s)
	if strings.HasPrefix(s, ".") || strings.HasPrefix(s, "'") {
		s = `\&` + s
	}
	return s
}

type manualWriter struct{ bytes.Buffer }

func (w *manualWriter) section(name string) { fmt.Fprintf(w, ".SH %s\n", name) }

// code writes lines that keep their form.
func (w *manualWriter) code(lines []string) {
	w.WriteString(".RS 4\n.nf\n")
	for _, l := range lines {
		fmt.Fprintln(w, roff(strings.TrimSpace(l)))
	}
	w.WriteString(".fi\n.RE\n")
}

// paragraphs writes text whose paragraphs are parted by empty lines; a
// paragraph that is indented is code.
func (w *manualWriter) paragraphs(list []string) {
	for i, p := range list {
		lines := strings.Split(p, "\n")
		if i > 0 {
			w.WriteString(".PP\n")
		}
		if strings.HasPrefix(p, "\t") || strings.HasPrefix(p, "  ") {
			w.code(lines)
			continue
		}
		for _, l := range lines {
			fmt.Fprintln(w, roff(strings.TrimSpace(l)))
		}
	}
}

func (w *manualWriter) options(title string, set *pflag.FlagSet) {
	if !set.HasAvailableFlags() {
		return
	}
	w.section(title)
	set.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		value, usage := pflag.UnquoteUsage(f)
		name := `\fB` + roff("--"+f.Name) + `\fR`
		if f.Shorthand != "" {
			name = `\fB` + roff("-"+f.Shorthand) + `\fR, ` + name
		}
		if value != "" {
			name += ` \fI` + roff(value) + `\fR`
		}
		switch f.DefValue {
		case "", "false", "0", "[]":
		default:
			usage += " (default " + f.DefValue + ")"
		}
		fmt.Fprintf(w, ".TP\n%s\n%s\n", name, roff(usage))
	})
}

// manualOf is the page of one command.
func manualOf(c *cobra.Command) []byte {
	c.InitDefaultHelpFlag()
	w := &manualWriter{}
	fmt.Fprintf(w, ".TH %s 1 \"\" trammel \"Manual of trammel\"\n", roff(strings.ToUpper(pageName(c))))
	w.section("NAME")
	fmt.Fprintf(w, "%s \\- %s\n", roff(pageName(c)), roff(strings.ToLower(c.Short[:1])+c.Short[1:]))
	w.section("SYNOPSIS")
	use := c.UseLine()
	if c.HasAvailableSubCommands() {
		use = c.CommandPath() + " command [flags]"
	}
	rest := strings.TrimPrefix(use, c.CommandPath())
	fmt.Fprintf(w, "\\fB%s\\fR%s\n", roff(c.CommandPath()), roff(rest))
	long := c.Long
	if long == "" {
		long = c.Short + "."
	}
	var text, status []string
	for _, p := range strings.Split(strings.Trim(long, "\n"), "\n\n") {
		if s, ok := strings.CutPrefix(p, "Exit status: "); ok {
			status = append(status, s)
		} else if p = strings.Trim(p, "\n"); p != "" {
			text = append(text, p)
		}
	}
	w.section("DESCRIPTION")
	w.paragraphs(text)
	var subs []*cobra.Command
	for _, s := range c.Commands() {
		if shownInManual(s) {
			subs = append(subs, s)
		}
	}
	if len(subs) > 0 {
		w.section("COMMANDS")
		for _, s := range subs {
			fmt.Fprintf(w, ".TP\n\\fB%s\\fR\n%s\n", roff(s.Name()), roff(s.Short))
		}
	}
	w.options("OPTIONS", c.NonInheritedFlags())
	w.options("OPTIONS OF ALL COMMANDS", c.InheritedFlags())
	if c.Example != "" {
		w.section("EXAMPLES")
		w.code(strings.Split(strings.Trim(c.Example, "\n"), "\n"))
	}
	if status == nil {
		status = []string{"0 done, 2 the tool could not do its job."}
	}
	w.section("EXIT STATUS")
	w.paragraphs(status)
	var also []string
	if p := c.Parent(); p != nil {
		also = append(also, p.CommandPath())
		for _, s := range p.Commands() {
			if s != c && shownInManual(s) {
				also = append(also, s.CommandPath())
			}
		}
	}
	for _, s := range subs {
		also = append(also, s.CommandPath())
	}
	if len(also) > 0 {
		w.section("SEE ALSO")
		for i, a := range also {
			end := ","
			if i == len(also)-1 {
				end = ""
			}
			fmt.Fprintf(w, ".BR %s (1)%s\n", roff(strings.ReplaceAll(a, " ", "-")), end)
		}
	}
	return w.Bytes()
}
