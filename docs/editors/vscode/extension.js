// Starts the language server and hands it the files of the language.
const { commands, window, workspace } = require("vscode");
const { LanguageClient } = require("vscode-languageclient/node");

let client;

// sheet opens the sheet of the axis under the cursor in a browser.
const sheet = () => {
  const editor = window.activeTextEditor;
  if (!editor) return;
  const place = { uri: editor.document.uri.toString(), position: editor.selection.active };
  return client.sendRequest("workspace/executeCommand", { command: "trammel.openSheet", arguments: [place] });
};

exports.activate = (context) => {
  const settings = workspace.getConfiguration("trammel");
  const { notJudged, inlayHints, codeLens, liveSheet } = settings;
  client = new LanguageClient(
    "trammel",
    "trammel",
    { command: settings.get("command"), args: ["editor"] },
    {
      documentSelector: [{ scheme: "file", language: "trammel" }],
      initializationOptions: { notJudged, inlayHints, codeLens, liveSheet },
      synchronize: { configurationSection: "trammel" },
    },
  );
  context.subscriptions.push(commands.registerCommand("trammel.sheet", sheet));
  return client.start();
};

exports.deactivate = () => client && client.stop();
