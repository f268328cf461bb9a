package editor

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"trammel/spec/amount"
)

// TestMain lets the test binary be the server that a real editor starts.
func TestMain(m *testing.M) {
	if root := os.Getenv("TRAMMEL_TEST_EDITOR"); root != "" {
		if Serve(context.Background(), os.Stdin, os.Stdout, options(os.Stderr, root)) {
			os.Exit(0)
		}
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// inNeovim changes a lead in a parts file, waits until axes of several machines are red,
// takes the fix that is offered at one, and saves all.
const inNeovim = `
local ok, why = pcall(function()
  vim.opt.swapfile = false
  vim.g.trammel_command = { os.getenv('SERVER') }
  vim.g.trammel_options = { liveSheet = true }
  local told = {}
  vim.lsp.handlers['window/showMessage'] = function(_, m) table.insert(told, m.message) end
  dofile(os.getenv('CONFIG'))
  local files = vim.fn.json_decode(os.getenv('FILES'))
  local buffers = {}
  for i, name in ipairs(files) do
    vim.cmd('edit ' .. name)
    buffers[i] = vim.fn.bufnr(name)
  end
  local severity = vim.diagnostic.severity.ERROR
  local function errors(buffer) return #vim.diagnostic.get(buffer, { severity = severity }) end
  assert(vim.wait(20000, function()
    local clients = vim.lsp.get_active_clients()
    return #clients == 1 and clients[1].server_capabilities.hoverProvider
  end, 20), 'no server')
  for _, b in ipairs(buffers) do -- the answer comes behind what is shown
    vim.lsp.buf_request_sync(b, 'textDocument/diagnostic', { textDocument = { uri = vim.uri_from_bufnr(b) } }, 20000)
  end
  vim.wait(200, function() return false end, 20)
  local before, after = {}, {}
  for i in ipairs(files) do before[i] = errors(buffers[i]) end
  local parts = buffers[#files]
  local lines = vim.api.nvim_buf_get_lines(parts, 0, -1, false)
  local inside = false
  for n, line in ipairs(lines) do
    if line:match('^screw "r32x20"') then inside = true elseif line:match('^}') then inside = false end
    if inside and line:match('^  lead ') then
      vim.api.nvim_buf_set_lines(parts, n - 1, n, false, { (line:gsub('20 mm', '10 mm')) })
    end
  end
  local function red()
    local list = {}
    for i = 1, #files - 1 do if errors(buffers[i]) > before[i] then table.insert(list, files[i]) end end
    return list
  end
  vim.wait(20000, function() return #red() >= 3 end, 20)
  local result = { red = red(), taken = '', filetype = vim.bo[buffers[1]].filetype }
  -- The screen as the designer has it: the parts, and beside them two axes.
  vim.opt.columns, vim.opt.lines, vim.opt.laststatus, vim.opt.signcolumn = 176, 32, 2, 'no'
  local function show(name)
    local buffer = vim.fn.bufnr(name)
    vim.cmd('buffer ' .. buffer)
    vim.wo.signcolumn = 'no'
    local first = vim.diagnostic.get(buffer, { severity = severity })[1]
    if first then vim.api.nvim_win_set_cursor(0, { first.lnum + 1, 0 }) else vim.fn.search('^screw "r32x20"', 'w') end
    vim.cmd('normal! zz')
  end
  vim.cmd('only')
  show(files[#files])
  vim.cmd('botright vsplit')
  vim.cmd('vertical resize 118')
  show(result.red[1])
  vim.cmd('belowright split')
  show(result.red[2])
  vim.cmd('redraw!')
  result.screen, result.errors = {}, {}
  for row = 1, vim.o.lines do
    local line = {}
    for column = 1, vim.o.columns do line[column] = vim.fn.screenstring(row, column) end
    result.screen[row] = table.concat(line)
  end
  for _, d in ipairs(vim.diagnostic.get(nil, { severity = severity })) do table.insert(result.errors, d.message) end
  for i = 1, #files - 1 do
    for _, d in ipairs(vim.diagnostic.get(buffers[i], { severity = severity })) do
      if result.taken == '' then
        local at = { line = d.lnum, character = d.col }
        local answers = vim.lsp.buf_request_sync(buffers[i], 'textDocument/codeAction', {
          textDocument = { uri = vim.uri_from_bufnr(buffers[i]) }, range = { start = at, ['end'] = at }, context = { diagnostics = {} } }, 20000)
        for id, answer in pairs(answers or {}) do
          for _, action in ipairs(answer.result or {}) do
            if result.taken == '' and action.kind == 'quickfix' and not action.title:match('^accept') and not action.title:match(' in ') then
              vim.lsp.util.apply_workspace_edit(action.edit, vim.lsp.get_client_by_id(id).offset_encoding)
              result.taken, result.message, result.file = action.title, action.diagnostics[1].message, files[i]
            end
          end
        end
      end
    end
  end
  vim.cmd('buffer ' .. buffers[1])
  vim.fn.search('^axis ', 'w')
  vim.cmd('TrammelSheet')
  vim.wait(20000, function() return #told > 0 end, 20)
  result.sheet = told[1]
  vim.cmd('wall')
  vim.fn.writefile({ vim.fn.json_encode(result) }, os.getenv('RESULT'))
end)
if not ok then vim.fn.writefile({ vim.fn.json_encode({ why = tostring(why) }) }, os.getenv('RESULT')) end
vim.cmd('qall!')
`

var update = flag.Bool("update", false, "draw the picture of the documentation anew")

// ofTwoMachines reports whether the files are three axes of two machines.
func ofTwoMachines(files []string) bool {
	machines := map[string]bool{}
	for _, f := range files {
		machines[filepath.Dir(f)] = true
	}
	return len(files) == 3 && len(machines) == 2
}

// picture draws what stands on a screen. What the editor put behind a line is in colour:
// that of an error, or another one.
func picture(screen, errors []string) []byte {
	const wide, high = 6.6, 14
	var b strings.Builder
	most := 0
	for _, row := range screen {
		most = max(most, utf8.RuneCountInString(strings.TrimRight(row, " ")))
	}
	fmt.Fprintf(&b, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %.0f %d\" font-family=\"monospace\" font-size=\"11\">\n<rect width=\"100%%\" height=\"100%%\" fill=\"#fbfbf8\"/>\n", wide*float64(most)+16, high*len(screen)+12)
	put := func(row, column int, colour, text string) {
		if text = strings.TrimRight(text, " "); text != "" {
			lead := utf8.RuneCountInString(text) - utf8.RuneCountInString(strings.TrimLeft(text, " "))
			text = strings.TrimLeft(text, " ")
			fmt.Fprintf(&b, "<text x=\"%.1f\" y=\"%d\" fill=\"%s\" textLength=\"%.1f\" xml:space=\"preserve\">%s</text>\n", 8+wide*float64(column+lead), high*row+16, colour, wide*float64(utf8.RuneCountInString(text)), html.EscapeString(text))
		}
	}
	for y, row := range screen {
		at := 0
		for _, window := range strings.SplitAfter(row, "│") {
			before, behind, found := strings.Cut(window, "■")
			put(y, at, "#1a1d21", before)
			if found {
				words, colour := strings.TrimLeft(strings.TrimRight(behind, " │"), "■ "), "#8a5300"
				if slices.ContainsFunc(errors, func(e string) bool { return words != "" && strings.HasPrefix(e, words) }) {
					colour = "#a31621"
				}
				put(y, at+utf8.RuneCountInString(before), colour, "■"+strings.TrimSuffix(behind, "│"))
				if strings.HasSuffix(behind, "│") {
					put(y, at+utf8.RuneCountInString(window)-1, "#1a1d21", "│")
				}
			}
			at += utf8.RuneCountInString(window)
		}
	}
	b.WriteString("</svg>\n")
	return []byte(b.String())
}

// usersOfScrew is a repository with the demo, and its files with axes of several machines
// that use one screw.
func usersOfScrew(t *testing.T) (dir string, users []string) {
	t.Helper()
	dir = tree(t, "bakery", nil)
	if err := os.Mkdir(filepath.Join(dir, ".git"), 0o755); err != nil {
		t.Fatal(err)
	}
	machines := map[string]bool{}
	for _, name := range specFiles(t, dir) {
		src, _ := os.ReadFile(filepath.Join(dir, name))
		if strings.Contains(string(src), "screw.r32x20\n") {
			users = append(users, name)
			machines[filepath.Dir(name)] = true
		}
	}
	if len(machines) < 2 {
		t.Fatalf("the screw is used by %v", users)
	}
	return dir, users
}

// TestLongNeovim: a real editor with the configuration of the documentation.
func TestLongNeovim(t *testing.T) {
	t.Parallel()
	amount.Long(t)
	nvim, err := exec.LookPath("nvim")
	if err != nil {
		t.Skip("neovim is not installed (package neovim)")
	}
	dir, users := usersOfScrew(t)
	own := t.TempDir()
	script, result := filepath.Join(own, "do.lua"), filepath.Join(own, "result")
	if err := os.WriteFile(script, []byte(inNeovim), 0o644); err != nil {
		t.Fatal(err)
	}
	config, _ := filepath.Abs("../../../docs/editors/neovim.lua")
	server, _ := filepath.Abs(os.Args[0])
	files, _ := json.Marshal(append(users, screws))
	ctx, stop := context.WithTimeout(context.Background(), 2*time.Minute)
	defer stop()
	cmd := exec.CommandContext(ctx, nvim, "--clean", "--headless", "-c", "luafile "+script)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "TRAMMEL_TEST_EDITOR="+dir, "SERVER="+server, "CONFIG="+config, "FILES="+string(files), "RESULT="+result, "HOME="+own, "XDG_STATE_HOME="+own)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	text, err := os.ReadFile(result)
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Red, Screen, Errors                 []string
		Taken, Message, File, Filetype, Why string
		Sheet                               string
	}
	if err := json.Unmarshal(text, &got); err != nil || got.Why != "" {
		t.Fatalf("%v: %s", err, text)
	}
	if !ofTwoMachines(got.Red) || got.Taken == "" || got.Filetype != "trammel" || !strings.Contains(got.Sheet, ": http://127.0.0.1:") {
		t.Fatalf("%s", text)
	}
	if *update {
		if err := os.WriteFile("../../../docs/editors/neovim.svg", picture(got.Screen, got.Errors), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%q turned red; at %s was taken: %s", got.Red, got.File, got.Taken)
	after := check(t, dir)[got.File]
	if slices.ContainsFunc(after, func(l string) bool { return strings.Contains(l, got.Message) || strings.Contains(l, "[syntax]") }) {
		t.Errorf("with the fix %s there remains\n%s", got.Taken, strings.Join(after, "\n"))
	}
}
