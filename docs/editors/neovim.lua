-- trammel for neovim 0.7 and later. Put this file, or what is in it, where neovim reads
-- it at start: ~/.config/nvim/plugin/trammel.lua. The program trammel must be on the path;
-- or name it: vim.g.trammel_command = { '/where/it/is/trammel', 'editor' }.

local patterns = { '*.axis.hcl', '*.parts.hcl', '*.policy.hcl' }
local started = {} -- for neovim 0.7: the client of a root

local function root_of(name)
  local dir = vim.fn.fnamemodify(name, ':p:h')
  local git = vim.fn.finddir('.git', vim.fn.escape(dir, ' ,') .. ';')
  if git ~= '' then
    return vim.fn.fnamemodify(git, ':p:h:h')
  end
  return vim.fn.getcwd()
end

local function start(buffer)
  local root = root_of(vim.api.nvim_buf_get_name(buffer))
  local config = {
    name = 'trammel',
    cmd = vim.g.trammel_command or { 'trammel', 'editor' },
    root_dir = root,
    workspace_folders = { { uri = vim.uri_from_fname(root), name = root } },
    init_options = vim.g.trammel_options, -- { notJudged = false, inlayHints = false, codeLens = false, liveSheet = true }
  }
  if vim.lsp.start then
    vim.lsp.start(config, { bufnr = buffer })
    return
  end
  started[root] = started[root] or vim.lsp.start_client(config)
  vim.lsp.buf_attach_client(buffer, started[root])
end

vim.api.nvim_create_autocmd({ 'BufReadPost', 'BufNewFile' }, {
  group = vim.api.nvim_create_augroup('trammel', {}),
  pattern = patterns,
  callback = function(event)
    vim.bo[event.buf].filetype = 'trammel'
    vim.bo[event.buf].commentstring = '# %s'
    start(event.buf)
  end,
})

-- :TrammelSheet opens the sheet of the axis under the cursor in a browser, or shows its
-- address where neovim opens none; it needs liveSheet = true in vim.g.trammel_options.
vim.api.nvim_create_user_command('TrammelSheet', function()
  local at = vim.lsp.util.make_position_params()
  vim.lsp.buf_request(0, 'workspace/executeCommand', {
    command = 'trammel.openSheet',
    arguments = { { uri = at.textDocument.uri, position = at.position } },
  }, function(err)
    if err then
      vim.notify(err.message, vim.log.levels.ERROR)
    end
  end)
end, {})

-- Colours for a neovim that knows no semantic tokens (before 0.9).
vim.api.nvim_create_autocmd('FileType', {
  group = 'trammel',
  pattern = 'trammel',
  callback = function()
    vim.cmd([[
      syntax clear
      syntax match trammelBlock /^\s*\zs\w\+\ze\s*\("[^"]*"\s*\)\?{/
      syntax match trammelField /^\s*\zs\w\+\ze\s*=/
      syntax region trammelText start=/"/ skip=/\\"/ end=/"/ oneline contains=trammelQuantity,trammelGiven
      syntax match trammelQuantity /[-+]\?\d[0-9.eE]*\s*\(±\|…\)\?[^"$]*/ contained
      syntax region trammelGiven start=/\${/ end=/}/ contained
      syntax match trammelNumber /\<-\?\d[0-9.]*\>/
      syntax keyword trammelWord true false null
      syntax match trammelName /\<\(screw\|nut\|support\|motor\|coupling\|grease\|environment\|axis\|given\)\(\.\w\+\|\["[^"]*"\]\)/
      syntax match trammelComment /\(#\|\/\/\).*$/
      syntax region trammelComment start=/\/\*/ end=/\*\//
      highlight default link trammelBlock Keyword
      highlight default link trammelField Identifier
      highlight default link trammelText String
      highlight default link trammelQuantity Number
      highlight default link trammelGiven Special
      highlight default link trammelNumber Number
      highlight default link trammelWord Boolean
      highlight default link trammelName Type
      highlight default link trammelComment Comment
    ]])
  end,
})
