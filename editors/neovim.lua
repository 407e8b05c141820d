-- Settings for Neovim, from version 0.7 on: in init.lua, `dofile("/path/to/editors/neovim.lua")`.
-- The program `coldwright` must be found on the path, or its place stands in vim.g.coldwright.

local client

-- What is asked, and with which keys, once the server has said what it answers.
local function attached(_, buffer)
  vim.bo[buffer].omnifunc = "v:lua.vim.lsp.omnifunc"
  local function key(keys, action)
    vim.keymap.set("n", keys, action, { buffer = buffer })
  end
  key("K", vim.lsp.buf.hover)
  key("gd", vim.lsp.buf.definition)
  key("gr", vim.lsp.buf.references)
  key("ga", vim.lsp.buf.code_action)
  key("gn", vim.lsp.buf.rename)
  key("g=", function() (vim.lsp.buf.format or vim.lsp.buf.formatting)() end)
  vim.lsp.codelens.refresh()
  -- A code action changes the text too: a size that was true before it must not stay.
  vim.api.nvim_create_autocmd({ "InsertLeave", "TextChanged", "CursorHold", "BufWritePost" }, {
    buffer = buffer,
    callback = function() vim.lsp.codelens.refresh() end,
  })
end

vim.api.nvim_create_autocmd("FileType", {
  pattern = { "asm", "toml" },
  callback = function(opened)
    -- TOML files that belong to no chain are of other programs.
    if vim.bo.filetype == "toml" and vim.fn.findfile("coldwright.toml", vim.fn.expand("%:p:h") .. ";") == "" then
      return
    end
    local command = { vim.g.coldwright or "coldwright", "language-server" }
    client = client or vim.lsp.start_client({ name = "coldwright", cmd = command, on_attach = attached })
    vim.lsp.buf_attach_client(opened.buf, client)
  end,
})
