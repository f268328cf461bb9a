package main

import (
	"os"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/editor"
	"trammel/cmd/internal/format"
	"trammel/rules"
)

func editorCommand() *cobra.Command {
	var today string
	c := &cobra.Command{
		Use:   "editor",
		Short: "Serve an editor: findings, numbers and fixes while you type",
		Long: `editor is a language server (LSP 3.17) on standard input and output. An editor starts
it and then shows, while you type, what check finds; the numbers that follow from the
value under the cursor; fixes as edits; and completions. docs/editor.md
says how to set up an editor.

It reads nothing outside the folders that the editor names and the repositories they
belong to, writes no file, and uses no network. Only with the setting liveSheet
does it listen, on 127.0.0.1, so that the sheet of an axis can be opened in a browser on
this computer. Its own messages go to standard error.

The exit status is 0 if the editor asked it to shut down before it ended, 1 if not.

` + caution,
		Example: `  trammel editor`,
		Args:    takes(0, 0),
		RunE: func(c *cobra.Command, _ []string) error {
			if _, err := parseToday(today); err != nil {
				return err
			}
			if os.Getenv("GOGC") == "" {
				debug.SetGCPercent(100) // it runs all day beside other programs; see tuneMemory for those that end
			}
			orderly := editor.Serve(c.Context(), c.InOrStdin(), c.OutOrStdout(), editor.Options{
				Book: rules.Book(), Root: repository, Open: atomicfile.ReadOnly, Prepare: bound, Tidy: format.Tidy,
				Today: func() time.Time { day, _ := parseToday(today); return day },
				Log:   c.ErrOrStderr(), Version: version(),
			})
			if !orderly {
				return exitCode(1)
			}
			return nil
		},
	}
	c.Flags().StringVar(&today, "today", "", "date used to judge waivers (default today)")
	return c
}
