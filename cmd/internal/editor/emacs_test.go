package editor

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"trammel/spec/amount"
)

// inEmacs does with eglot what inNeovim does there.
const inEmacs = `;;; -*- lexical-binding: t -*-
(setq trammel-command (list (getenv "SERVER") :initializationOptions '(:liveSheet t)) browse-url-browser-function (lambda (url &rest _) (setq opened url)) make-backup-files nil create-lockfiles nil debug-on-error t
      eglot-autoshutdown nil eglot-confirm-server-initiated-edits nil eglot-connect-timeout 60)
(require 'cl-lib)
(defvar opened nil)
(require 'json)
(advice-add 'eglot-ensure :override #'ignore) ; it waits for a command, and there is none here
(load (getenv "CONFIG"))
(defvar found (make-hash-table :test 'equal))
(cl-defmethod eglot-handle-notification :after (_server (_method (eql textDocument/publishDiagnostics)) &key uri diagnostics &allow-other-keys)
  (puthash (eglot--uri-to-path uri) (append diagnostics nil) found))
(defun errors (file) (cl-count-if (lambda (d) (eql 1 (plist-get d :severity))) (gethash (file-truename file) found)))
(defun wait-for (what test)
  (let ((until (+ (float-time) 40)))
    (while (not (funcall test))
      (when (> (float-time) until) (error "never: %s" what))
      (accept-process-output nil 0.02))))
(let* ((root default-directory)
       (files (mapcar #'expand-file-name (append (json-read-from-string (getenv "FILES")) nil)))
       (parts (car (last files))) (axes (butlast files)) before (result nil))
  (find-file (car files))
  (apply #'eglot--connect (eglot--guess-contact))
  (dolist (f files)
    (find-file f)
    (unless (bound-and-true-p eglot--managed-mode) (eglot--maybe-activate-editing-mode)))
  (wait-for "diagnostics" (lambda () (cl-every (lambda (f) (not (eq 'none (gethash (file-truename f) found 'none)))) axes)))
  (setq before (mapcar #'errors axes))
  (with-current-buffer (find-file-noselect parts)
    (goto-char (point-min))
    (re-search-forward "^screw \"r32x20\"")
    (re-search-forward "^  lead .*\"20 mm\"")
    (replace-match (replace-regexp-in-string "20 mm" "10 mm" (match-string 0)) t t)
    (eglot--signal-textDocument/didChange))
  (let ((red (lambda () (cl-loop for f in axes for n in before when (> (errors f) n) collect (file-relative-name f root)))))
    (wait-for "red axes" (lambda () (>= (length (funcall red)) 3)))
    (push (cons 'red (vconcat (funcall red))) result))
  (cl-block taken
    (dolist (f axes)
      (dolist (d (gethash (file-truename f) found))
        (when (eql 1 (plist-get d :severity))
          (with-current-buffer (find-file-noselect f)
            (let ((at (plist-get (plist-get d :range) :start)))
              (dolist (a (append (jsonrpc-request (eglot--current-server-or-lose) :textDocument/codeAction
                                   (list :textDocument (eglot--TextDocumentIdentifier) :range (list :start at :end at) :context (list :diagnostics []))) nil))
                (let ((title (plist-get a :title)))
                  (when (and (equal "quickfix" (plist-get a :kind)) (not (string-prefix-p "accept" title)) (not (string-match " in " title)))
                    (eglot--apply-workspace-edit (plist-get a :edit))
                    (push (cons 'taken title) result)
                    (push (cons 'message (plist-get (aref (plist-get a :diagnostics) 0) :message)) result)
                    (push (cons 'file (file-relative-name f root)) result)
                    (cl-return-from taken))))))))))
  (with-current-buffer (find-file-noselect (car files))
    (goto-char (point-min))
    (re-search-forward "^axis ")
    (trammel-sheet))
  (push (cons 'sheet opened) result)
  (push (cons 'mode (with-current-buffer (find-file-noselect parts) (symbol-name major-mode))) result)
  (dolist (f files) (with-current-buffer (find-file-noselect f) (save-buffer)))
  (with-temp-file (getenv "RESULT") (insert (json-encode result)))
  (eglot-shutdown (with-current-buffer (find-file-noselect parts) (eglot--current-server-or-lose))))
`

// TestLongEmacs: a real editor with the configuration of the documentation.
func TestLongEmacs(t *testing.T) {
	t.Parallel()
	amount.Long(t)
	emacs, err := exec.LookPath("emacs")
	if err != nil || exec.Command(emacs, "--batch", "--eval", "(require 'eglot)").Run() != nil {
		t.Skip("emacs with eglot is not installed (packages emacs-nox and elpa-eglot)")
	}
	dir, users := usersOfScrew(t)
	if err := exec.Command("git", "init", "-q", dir).Run(); err != nil { // eglot asks git which files it is to watch
		t.Skip("git is not installed")
	}
	own := t.TempDir()
	script, result := filepath.Join(own, "do.el"), filepath.Join(own, "result")
	if err := os.WriteFile(script, []byte(inEmacs), 0o644); err != nil {
		t.Fatal(err)
	}
	config, _ := filepath.Abs("../../../docs/editors/emacs.el")
	server, _ := filepath.Abs(os.Args[0])
	files, _ := json.Marshal(append(users, screws))
	ctx, stop := context.WithTimeout(context.Background(), 2*time.Minute)
	defer stop()
	cmd := exec.CommandContext(ctx, emacs, "--batch", "-l", script)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "TRAMMEL_TEST_EDITOR="+dir, "SERVER="+server, "CONFIG="+config, "FILES="+string(files), "RESULT="+result, "HOME="+own)
	out, err := cmd.CombinedOutput()
	text, no := os.ReadFile(result)
	if err != nil || no != nil {
		t.Fatalf("%v %v\n%s", err, no, out)
	}
	var got struct {
		Red                        []string
		Taken, Message, File, Mode string
		Sheet                      string
	}
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	if !ofTwoMachines(got.Red) || got.Taken == "" || got.Mode != "trammel-mode" || !strings.HasPrefix(got.Sheet, "http://127.0.0.1:") {
		t.Fatalf("%s\n%s", text, out)
	}
	t.Logf("%q turned red; at %s was taken: %s", got.Red, got.File, got.Taken)
	after := check(t, dir)[got.File]
	if slices.ContainsFunc(after, func(l string) bool { return strings.Contains(l, got.Message) || strings.Contains(l, "[syntax]") }) {
		t.Errorf("with the fix %s there remains\n%s", got.Taken, strings.Join(after, "\n"))
	}
}
