;;; trammel.el --- trammel for emacs with eglot (part of emacs 29; a package before) -*- lexical-binding: t -*-
;; Load this file from your init file. The program trammel must be on the path; or name
;; it: (setq trammel-command '("/where/it/is/trammel" "editor")).

(require 'eglot)

(defvar trammel-command '("trammel" "editor")
  "How the language server is started.
Settings follow: (\"trammel\" \"editor\" :initializationOptions (:liveSheet t)).")

(defvar trammel-font-lock
  '(("^[ \t]*\\([[:alnum:]_]+\\)[ \t]*\\(?:\"[^\"\n]*\"[ \t]*\\)?{" 1 font-lock-keyword-face)
    ("^[ \t]*\\([[:alnum:]_]+\\)[ \t]*=" 1 font-lock-variable-name-face)
    ("\"[ ]*[-+]?[0-9][^\"\n$]*\"" 0 font-lock-constant-face t)
    ("\\_<\\(?:screw\\|nut\\|support\\|motor\\|coupling\\|grease\\|environment\\|axis\\|given\\)\\.[[:alnum:]_]+" 0 font-lock-type-face)
    ("\\_<\\(?:true\\|false\\|null\\)\\_>" 0 font-lock-constant-face))
  "What is coloured in a spec file.")

(define-derived-mode trammel-mode prog-mode "trammel"
  "For the spec files of trammel."
  (setq-local comment-start "# ")
  (setq-local comment-start-skip "\\(?:#\\|//\\)[ \t]*")
  (setq-local indent-tabs-mode nil)
  (setq-local tab-width 2)
  (modify-syntax-entry ?# "<" trammel-mode-syntax-table)
  (modify-syntax-entry ?\n ">" trammel-mode-syntax-table)
  (modify-syntax-entry ?_ "_" trammel-mode-syntax-table)
  (setq font-lock-defaults '(trammel-font-lock)))

(add-to-list 'auto-mode-alist '("\\.\\(?:axis\\|parts\\|policy\\)\\.hcl\\'" . trammel-mode))
(add-to-list 'eglot-server-programs (cons 'trammel-mode (lambda (&rest _) trammel-command)))
(add-hook 'trammel-mode-hook #'eglot-ensure)

(defun trammel-sheet ()
  "Open the sheet of the axis at point in a browser.
It needs the setting :liveSheet, see `trammel-command'."
  (interactive)
  (let* ((server (eglot--current-server-or-lose))
         (address (jsonrpc-request server :workspace/executeCommand
                                   (list :command "trammel.openSheet"
                                         :arguments (vector (append (eglot--TextDocumentPositionParams)
                                                                    (eglot--TextDocumentIdentifier)))))))
    (unless (plist-get (plist-get (plist-get (eglot-client-capabilities server) :window) :showDocument) :support)
      (browse-url address))))

(provide 'trammel)
;;; trammel.el ends here
