// Package document is the one model of what the program writes for people to read and
// keep: calculation sheets, sizings, enquiries, the audit of a fleet, the comparison of
// two states. A document is built once and written as text for a terminal, as Markdown,
// or as one HTML page that needs nothing besides; what a block means in each of the three
// stands in text.go, markdown.go and html.go. It knows nothing of axes and rules.
package document

import (
	"trammel/cmd/internal/formula"
	"trammel/cmd/internal/sanitize"
)

// A Layout is how a document is set.
type Layout int

const (
	Paper   Layout = iota // for paper: numbered sections, listed at its head
	Brief                 // a paper meant for one page: no list of its sections, small in print
	Summary               // for a screen: sections without numbers, text close together
)

// A Document has a title, what heads it, and sections.
type Document struct {
	Layout   Layout
	Title    string
	About    string // below the title, "" for none
	Facts    Facts
	Front    []Section // its first page, without numbers and before the list of sections; nil for none
	Sections []Section
}

// Section finds a section by its ID; nil where there is none.
func (d *Document) Section(id string) *Section {
	for _, list := range [][]Section{d.Front, d.Sections} {
		for i := range list {
			if list[i].ID == id {
				return &list[i]
			}
		}
	}
	return nil
}

// A Section is a part of a document. One without a title goes on where the one before
// it ended.
type Section struct {
	ID, Title string
	Short     string // in the list of sections, where the title is long
	Blocks    []Block
}

// Add puts blocks at the end of a section.
func (s *Section) Add(b ...Block) { s.Blocks = append(s.Blocks, b...) }

// A Block is what sections are made of: a Paragraph, Facts, Steps, a *Table, a *Figure,
// a *Finding, a List, Code, a Widget or, on a first page, a Verdict, a *Drawing, *Bars or a
// Signature.
type Block interface {
	text(*textWriter)
	markdown(*markdownWriter)
	html(*htmlWriter)
}

// A Paragraph is running text.
type Paragraph string

// Facts are names with a value each.
type Facts []Fact

// A Fact is a name with its value. Level is error, warning or note where the value
// counts such; "" otherwise.
type Fact struct{ Name, Value, Level string }

// Add puts a fact at the end.
func (f *Facts) Add(name, value string) { *f = append(*f, Fact{Name: name, Value: value}) }

// Steps are the steps of a calculation.
type Steps []Step

// A Step is one computed quantity.
type Step struct {
	Title, Symbol string
	Formula       *formula.Node
	Values        map[string]string // symbol to value, for putting in
	Assumed       map[string]bool   // the symbols whose values nobody declared
	Result        string
	Note          string // for example that it could not be computed
	Aside         string // why the result does not matter here
	Source        string
}

// SeeTable is the result of a step whose values stand in a table.
const SeeTable = "see table"

// A Table is a table; one without a head is lines in columns.
type Table struct {
	Caption string
	Head    []string
	Symbols []string // of columns that hold a quantity: what stands for their heads where room is short; nil for none
	Number  []bool   // columns that hold numbers; nil for none
	Legend  bool     // two columns, symbols and what they mean: set close on a page
	Named   bool     // the heads are not the program's words for quantities: none is a symbol
	Rows    [][]string
	Marks   map[[2]int]Mark // by row and column
	Rest    string          // what is said below of rows left out
}

// A Mark is what a cell is besides its text.
type Mark struct {
	Strong bool
	Href   string    // where it leads in a page; "" for nowhere
	Data   [2]string // name and value of what the page's script is told with it
}

// Add puts a row at the end.
func (t *Table) Add(cells ...string) { t.Rows = append(t.Rows, cells) }

// Mark marks a cell of the last row.
func (t *Table) Mark(column int, m Mark) {
	if m == (Mark{}) {
		return
	}
	if t.Marks == nil {
		t.Marks = map[[2]int]Mark{}
	}
	t.Marks[[2]int{len(t.Rows) - 1, column}] = m
}

func (t *Table) number(column int) bool { return column < len(t.Number) && t.Number[column] }

// A Figure is a picture with words that say the same.
type Figure struct {
	ID, Title string
	Alt       string                 // what the picture shows, in words
	Draw      func() (string, error) // makes one SVG element; nil where there is nothing to draw
}

// A Finding is what a rule found.
type Finding struct {
	Number        int // by which a drawing names it; 0 for none
	Place         string
	Level         string // error, warning or note
	Message, Rule string
	More          []string // what else is said of it, a line each
}

// A List is a list of items.
type List []Item

// An Item is an entry of a list: its text, the place it is about, "" for none, and what
// stands below it.
type Item struct {
	Text, At string
	Items    []string
}

// ListOf is a list of texts.
func ListOf(texts ...string) List {
	var out List
	for _, t := range texts {
		out = append(out, Item{Text: t})
	}
	return out
}

// Code is lines that keep their form.
type Code []string

// A Widget is HTML of the program's own, which the script of its page makes live. Other
// forms leave it out.
type Widget sanitize.Safe
