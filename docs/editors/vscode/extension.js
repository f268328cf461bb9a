// Starts the language server and hands it the files of the language.
const { workspace } = require("vscode");
const { LanguageClient } = require("vscode-languageclient/node");

let client;

exports.activate = () => {
  const settings = workspace.getConfiguration("trammel");
  const { notJudged, inlayHints, codeLens } = settings;
  client = new LanguageClient(
    "trammel",
    "trammel",
    { command: settings.get("command"), args: ["editor"] },
    {
      documentSelector: [{ scheme: "file", language: "trammel" }],
      initializationOptions: { notJudged, inlayHints, codeLens },
      synchronize: { configurationSection: "trammel" },
    },
  );
  return client.start();
};

exports.deactivate = () => client && client.stop();
