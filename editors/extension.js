// Starts the language server, and ends it with the editor. All that is answered is the server's.
const { workspace } = require("vscode");
const { LanguageClient } = require("vscode-languageclient/node");

let client;

exports.activate = () => {
  const command = workspace.getConfiguration("coldwright").get("program");
  const server = { command, args: ["language-server"] };
  const documentSelector = [
    { scheme: "file", language: "coldwright" },
    { scheme: "file", pattern: "**/{coldwright,machine}.toml" },
  ];
  const synchronize = { fileEvents: workspace.createFileSystemWatcher("**/*.{asm,toml}") };
  client = new LanguageClient("coldwright", server, { documentSelector, synchronize });
  return client.start();
};

exports.deactivate = () => client?.stop();
