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
  vim.wait(20000, function() return #vim.diagnostic.get() > 0 end, 20)
  local before, after = {}, {}
  for i in ipairs(files) do before[i] = errors(buffers[i]) end
  local parts = buffers[#files]
  local lines = vim.api.nvim_buf_get_lines(parts, 0, -1, false)
  local inside = false
  for n, line in ipairs(lines) do
    if line:match('^screw "g20x20"') then inside = true elseif line:match('^}') then inside = false end
    if inside and line:match('^  lead ') then
      vim.api.nvim_buf_set_lines(parts, n - 1, n, false, { (line:gsub('20 mm', '7 mm')) })
    end
  end
  local function red()
    local n = 0
    for i = 1, #files - 1 do if errors(buffers[i]) > before[i] then n = n + 1 end end
    return n
  end
  vim.wait(20000, function() return red() >= 2 end, 20)
  local result = { red = red(), taken = '', filetype = vim.bo[buffers[1]].filetype }
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
  vim.cmd('wall')
  vim.fn.writefile({ vim.fn.json_encode(result) }, os.getenv('RESULT'))
end)
if not ok then vim.fn.writefile({ vim.fn.json_encode({ why = tostring(why) }) }, os.getenv('RESULT')) end
vim.cmd('qall!')
`

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
		if strings.Contains(string(src), "screw.g20x20\n") {
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
		Red                                 int
		Taken, Message, File, Filetype, Why string
	}
	if err := json.Unmarshal(text, &got); err != nil || got.Why != "" {
		t.Fatalf("%v: %s", err, text)
	}
	if got.Red < 2 || got.Taken == "" || got.Filetype != "trammel" {
		t.Fatalf("%s", text)
	}
	t.Logf("%d files turned red; at %s was taken: %s", got.Red, got.File, got.Taken)
	after := check(t, dir)[got.File]
	if slices.ContainsFunc(after, func(l string) bool { return strings.Contains(l, got.Message) || strings.Contains(l, "[syntax]") }) {
		t.Errorf("with the fix %s there remains\n%s", got.Taken, strings.Join(after, "\n"))
	}
}
