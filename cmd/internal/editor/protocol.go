package editor

import "encoding/json"

// What of the Language Server Protocol 3.17 is used here. Fields bear the names of the
// specification.

type documentID struct {
	URI     string `json:"uri"`
	Version *int   `json:"version,omitempty"`
}

type location struct {
	URI   string `json:"uri"`
	Range span   `json:"range"`
}

type textEdit struct {
	Range   span   `json:"range"`
	NewText string `json:"newText"`
	snippet string // in the place of NewText, where the client knows such edits
}

// MarshalJSON writes a SnippetTextEdit of version 3.18 where the edit is one.
func (e textEdit) MarshalJSON() ([]byte, error) {
	if e.snippet == "" {
		type plain textEdit
		return json.Marshal(plain(e))
	}
	return json.Marshal(map[string]any{"range": e.Range, "snippet": map[string]string{"kind": "snippet", "value": e.snippet}})
}

type documentEdit struct {
	TextDocument versionedID `json:"textDocument"`
	Edits        []textEdit  `json:"edits"`
}

// A versionedID is a document as edits name it: with its version, or null for one that
// is not open.
type versionedID struct {
	URI     string `json:"uri"`
	Version *int   `json:"version"`
}

type workspaceEdit struct {
	Changes         map[string][]textEdit `json:"changes,omitempty"`
	DocumentChanges []documentEdit        `json:"documentChanges,omitempty"`
}

type atPosition struct {
	TextDocument documentID `json:"textDocument"`
	Position     position   `json:"position"`
}

type inDocument struct {
	TextDocument documentID `json:"textDocument"`
}

type inRange struct {
	TextDocument documentID `json:"textDocument"`
	Range        span       `json:"range"`
}

// Severities, tags and kinds by their numbers.
const (
	severityError       = 1
	severityWarning     = 2
	severityInformation = 3
	severityHint        = 4

	tagUnnecessary = 1

	symbolModule   = 2
	symbolClass    = 5
	symbolProperty = 7
	symbolObject   = 19
	symbolEvent    = 24

	itemClass    = 7
	itemProperty = 10
	itemUnit     = 11
	itemValue    = 12
	itemKeyword  = 14
	itemConstant = 21
	itemVariable = 6

	snippet = 2
)

type diagnostic struct {
	Range              span         `json:"range"`
	Severity           int          `json:"severity"`
	Code               string       `json:"code,omitempty"`
	Source             string       `json:"source"`
	Message            string       `json:"message"`
	Tags               []int        `json:"tags,omitempty"`
	RelatedInformation []relatedAt  `json:"relatedInformation,omitempty"`
	Data               *findingData `json:"data,omitempty"`
}

type relatedAt struct {
	Location location `json:"location"`
	Message  string   `json:"message"`
}

// findingData tells a code action which finding a diagnostic is.
type findingData struct {
	Axis string `json:"axis,omitempty"`
}

type publishParams struct {
	URI         string       `json:"uri"`
	Version     *int         `json:"version,omitempty"`
	Diagnostics []diagnostic `json:"diagnostics"`
}

type markup struct {
	Kind  string `json:"kind"`
	Value string `json:"value"`
}

type hover struct {
	Contents markup `json:"contents"`
	Range    *span  `json:"range,omitempty"`
}

type codeAction struct {
	Title       string         `json:"title"`
	Kind        string         `json:"kind"`
	Diagnostics []diagnostic   `json:"diagnostics,omitempty"`
	IsPreferred bool           `json:"isPreferred,omitempty"`
	Edit        *workspaceEdit `json:"edit,omitempty"`
}

type codeActionParams struct {
	TextDocument documentID `json:"textDocument"`
	Range        span       `json:"range"`
	Context      struct {
		Diagnostics []diagnostic `json:"diagnostics"`
		Only        []string     `json:"only"`
	} `json:"context"`
}

type completionItem struct {
	Label            string    `json:"label"`
	Kind             int       `json:"kind,omitempty"`
	Detail           string    `json:"detail,omitempty"`
	Documentation    *markup   `json:"documentation,omitempty"`
	SortText         string    `json:"sortText,omitempty"`
	FilterText       string    `json:"filterText,omitempty"`
	InsertTextFormat int       `json:"insertTextFormat,omitempty"`
	TextEdit         *textEdit `json:"textEdit,omitempty"`
}

type completionList struct {
	IsIncomplete bool             `json:"isIncomplete"`
	Items        []completionItem `json:"items"`
}

type documentSymbol struct {
	Name           string           `json:"name"`
	Detail         string           `json:"detail,omitempty"`
	Kind           int              `json:"kind"`
	Range          span             `json:"range"`
	SelectionRange span             `json:"selectionRange"`
	Children       []documentSymbol `json:"children,omitempty"`
}

type symbolInformation struct {
	Name          string   `json:"name"`
	Kind          int      `json:"kind"`
	Location      location `json:"location"`
	ContainerName string   `json:"containerName,omitempty"`
}

type foldingRange struct {
	StartLine int    `json:"startLine"`
	EndLine   int    `json:"endLine"`
	Kind      string `json:"kind,omitempty"`
}

type selectionRange struct {
	Range  span            `json:"range"`
	Parent *selectionRange `json:"parent,omitempty"`
}

type inlayHint struct {
	Position    position `json:"position"`
	Label       string   `json:"label"`
	PaddingLeft bool     `json:"paddingLeft"`
	Tooltip     string   `json:"tooltip,omitempty"`
}

type codeLens struct {
	Range   span    `json:"range"`
	Command command `json:"command"`
}

type command struct {
	Title     string            `json:"title"`
	Command   string            `json:"command"`
	Arguments []json.RawMessage `json:"arguments,omitempty"`
}

type folder struct {
	URI string `json:"uri"`
}

// initializeParams is what is looked at of what a client says of itself.
type initializeParams struct {
	RootURI               *string         `json:"rootUri"`
	RootPath              *string         `json:"rootPath"`
	WorkspaceFolders      []folder        `json:"workspaceFolders"`
	InitializationOptions json.RawMessage `json:"initializationOptions"`
	Capabilities          struct {
		General struct {
			PositionEncodings []string `json:"positionEncodings"`
		} `json:"general"`
		Workspace struct {
			WorkspaceEdit struct {
				DocumentChanges    bool `json:"documentChanges"`
				SnippetEditSupport bool `json:"snippetEditSupport"`
			} `json:"workspaceEdit"`
			DidChangeWatchedFiles struct {
				DynamicRegistration bool `json:"dynamicRegistration"`
			} `json:"didChangeWatchedFiles"`
		} `json:"workspace"`
		Window struct {
			ShowDocument struct {
				Support bool `json:"support"`
			} `json:"showDocument"`
		} `json:"window"`
		TextDocument struct {
			Hover struct {
				ContentFormat []string `json:"contentFormat"`
			} `json:"hover"`
			Completion struct {
				CompletionItem struct {
					SnippetSupport      bool     `json:"snippetSupport"`
					DocumentationFormat []string `json:"documentationFormat"`
				} `json:"completionItem"`
			} `json:"completion"`
			DocumentSymbol struct {
				Hierarchical bool `json:"hierarchicalDocumentSymbolSupport"`
			} `json:"documentSymbol"`
			PublishDiagnostics *publishCapabilities `json:"publishDiagnostics"`
		} `json:"textDocument"`
	} `json:"capabilities"`
}

// publishCapabilities say what a client makes of the diagnostics it is sent.
type publishCapabilities struct {
	RelatedInformation bool            `json:"relatedInformation"`
	VersionSupport     bool            `json:"versionSupport"`
	TagSupport         json.RawMessage `json:"tagSupport"`
}

// settings are what a user can switch, as initializationOptions, or under "trammel" in
// the configuration. What is not given is on.
type settings struct {
	NotJudged  *bool `json:"notJudged"`
	InlayHints *bool `json:"inlayHints"`
	CodeLens   *bool `json:"codeLens"`
	LiveSheet  bool  `json:"liveSheet"` // off unless it is given at the start: see openSheet
}

func on(b *bool) bool { return b == nil || *b }
