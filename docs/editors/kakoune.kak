# trammel for kakoune with kakoune-lsp 17 or later. Source this file from kakrc, behind
# the lines that load kakoune-lsp.

hook global BufCreate .*\.(axis|parts|policy)\.hcl %{
    set-option buffer filetype trammel
}

hook global BufSetOption filetype=trammel %{
    set-option buffer comment_line '#'
    set-option buffer lsp_servers %{
        [trammel]
        root_globs = [".git"]
        command = "trammel"
        args = ["editor"]
    }
}

# Between § and not braces: one of the patterns has a single brace.
hook global WinSetOption filetype=trammel %§
    lsp-enable-window
    lsp-inlay-hints-enable window
    add-highlighter window/trammel regions
    add-highlighter window/trammel/comment region '(#|//)' '$' fill comment
    add-highlighter window/trammel/text region '"' '(?<!\\)(\\\\)*"' group
    add-highlighter window/trammel/text/ fill string
    add-highlighter window/trammel/text/ regex '"\h*[-+]?\d[^"\n$]*"' 0:value
    add-highlighter window/trammel/code default-region group
    add-highlighter window/trammel/code/ regex '^\h*(\w+)\h*(?=[{"])' 1:keyword
    add-highlighter window/trammel/code/ regex '^\h*(\w+)\h*=' 1:variable
    add-highlighter window/trammel/code/ regex '\b(true|false|null)\b' 0:value
    hook -once -always window WinSetOption filetype=.* %{ remove-highlighter window/trammel }
§
