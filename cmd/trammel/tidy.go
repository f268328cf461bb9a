package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"trammel/cmd/internal/atomicfile"
	"trammel/cmd/internal/format"
	"trammel/cmd/internal/sanitize"
	"trammel/rules/judge"
	"trammel/spec"
)

func tidyCommand() *cobra.Command {
	var t tidier
	c := &cobra.Command{
		Use:   "tidy [path...]",
		Short: "Format spec files",
		Long: `tidy formats the given spec files, or those in the given folders and subfolders: two
spaces of indentation; equals signs, trailing comments and columns of a series aligned;
one blank line between blocks; no blank lines at braces, no spaces at line ends; LF
line ends (CRLF is converted); no byte order mark.

Order, comments, units and numbers do not change, nor does the text of a heredoc.

tidy prints the names of the files it changes and keeps their permissions. A file with
syntax errors is reported and left alone. A link is never replaced: if named it is an
error, if found in a folder it is skipped. With - tidy reads standard input and writes
standard output, or nothing if there are syntax errors.

Exit status: 0 all files are tidy; 1 a file has syntax errors or, with --check, would
change; 2 a file could not be read or written.`,
		Example: `  trammel tidy machines/
  trammel tidy --check machines/ parts/
  trammel tidy - < draft.hcl`,
		RunE: func(c *cobra.Command, args []string) error {
			t.in, t.out, t.errOut = c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr()
			return t.run(c.Context(), args)
		},
	}
	c.Flags().BoolVar(&t.check, "check", false, "change nothing; print the names of files that would change")
	return c
}

// A tidier lays out files and remembers the worst that happened.
type tidier struct {
	check       bool
	in          io.Reader
	out, errOut io.Writer
	status      exitCode
	broken      error // of the output
}

func (t *tidier) run(ctx context.Context, args []string) error {
	t.status, t.broken = exitClean, nil
	for _, arg := range args {
		if arg == "-" {
			if len(args) > 1 {
				return errors.New("- (standard input) cannot be combined with files; give one or the other")
			}
			return t.result(until(ctx, t.stream))
		}
	}
	if len(args) == 0 {
		args = []string{"."}
	}
	// A path that fails does not keep the others from being done.
	var fine []string
	for _, arg := range args {
		if err := writable(arg, t.check); err != nil {
			t.fail(arg, err)
		} else {
			fine = append(fine, arg)
		}
	}
	if len(fine) == 0 {
		return t.result(nil)
	}
	var jobs []*job
	err := until(ctx, func() (err error) {
		if jobs, err = plan(fine, "", nil); err != nil {
			jobs = t.planEach(fine)
		}
		return nil
	})
	if err != nil {
		return err
	}
	files := 0
	for _, j := range jobs {
		files += len(j.files) + len(j.problems)
		for _, p := range j.problems {
			t.problem(j.Show(p.Place), p)
		}
		for _, name := range j.files {
			if ctx.Err() != nil {
				return errInterrupted
			}
			t.file(j, name)
		}
	}
	if files == 0 && t.status == exitClean {
		sanitize.Fprintf(t.errOut, "trammel: %s\n", noSpecFiles)
	}
	return t.result(nil)
}

// planEach plans what can be planned and reports the paths that cannot.
func (t *tidier) planEach(args []string) []*job {
	var fine []string
	for _, arg := range args {
		if _, err := plan([]string{arg}, "", nil); err != nil {
			t.worst(exitFailed)
			complain(t.errOut, err)
		} else {
			fine = append(fine, arg)
		}
	}
	if len(fine) == 0 {
		return nil
	}
	jobs, err := plan(fine, "", nil)
	if err != nil {
		t.worst(exitFailed)
		complain(t.errOut, err)
	}
	return jobs
}

// writable reports by an error that what a path leads to is not written; where
// it is only looked at, a folder may be a link.
func writable(path string, looked bool) error {
	switch {
	case isLink(path):
		return errors.New("it is a link, and links are not replaced; name the file it points to")
	case looked:
		return nil
	}
	return atomicfile.Allowed(path)
}

// isLink reports whether a path is a link to something other than a folder.
func isLink(path string) bool {
	link, err := os.Lstat(path)
	if err != nil || link.Mode()&os.ModeSymlink == 0 {
		return false
	}
	target, err := os.Stat(path)
	return err != nil || !target.IsDir()
}

func (t *tidier) file(j *job, name string) {
	if isLink(filepath.Join(j.root, filepath.FromSlash(name))) {
		return // found in a folder: where it leads is for others to say
	}
	shown := j.Show(spec.Place{File: name}).File
	src, p := j.tree.Read(name)
	if p != nil {
		t.problem(j.Show(p.Place), *p)
		return
	}
	text, problems := format.Tidy(shown, src)
	for _, p := range problems {
		t.problem(p.Place, p)
	}
	if bytes.Equal(text, src) {
		return
	}
	if t.check {
		t.worst(exitFindings)
	} else if err := j.replace(name, src, text); err != nil {
		t.fail(shown, err)
		return
	}
	t.print(sanitize.Line(shown) + "\n")
}

// stream lays out standard input.
func (t *tidier) stream() error {
	src, err := io.ReadAll(io.LimitReader(t.in, spec.MaxFileSize+1))
	if err != nil {
		return fmt.Errorf("standard input: %w", atomicfile.Reason(err))
	}
	text, problems := format.Tidy("-", src)
	for _, p := range problems {
		t.problem(p.Place, p)
	}
	switch {
	case len(problems) > 0:
	case !t.check:
		t.print(string(text))
	case !bytes.Equal(text, src):
		t.worst(exitFindings)
		t.print("-\n")
	}
	return nil
}

func (t *tidier) result(err error) error {
	switch {
	case err != nil:
		return err
	case t.broken != nil:
		return t.broken
	case t.status == exitClean:
		return nil
	}
	return t.status
}

func (t *tidier) worst(code exitCode) { t.status = max(t.status, code) }

func (t *tidier) print(s string) {
	if _, err := io.WriteString(t.out, s); err != nil && t.broken == nil {
		t.broken = err
	}
}

func (t *tidier) fail(path string, err error) {
	t.worst(exitFailed)
	sanitize.Fprintf(t.errOut, "trammel: %s: not written: %v\n", path, atomicfile.Reason(err))
}

// problem reports what is wrong with a file in the form check uses.
func (t *tidier) problem(at spec.Place, p spec.Problem) {
	code := exitCode(exitFindings)
	if p.Rule == "file" {
		code = exitFailed
	}
	t.worst(code)
	f := judge.FindingOf(p)
	sanitize.Fprintf(t.errOut, "%s: %s: %s [%s]\n", at, f.Severity, f.Message, f.Rule)
}
