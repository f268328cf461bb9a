package spec

import (
	"regexp"
	"strconv"
	"strings"

	"github.com/hashicorp/hcl/v2"
)

// A phrase says in the words of this language what the parser says in its own.
type phrase struct{ message, help string }

// Two ways not to close a text; the second is said of << too.
const openText = "a text is not closed: the quote at its end, or the word that ends it after <<, is missing"
const openQuote = "a text in quotes is not closed on its line"

// phrases has the parser's summaries; a summary with a detail after the bar
// stands for messages whose detail begins so.
var phrases = map[string]phrase{
	"Invalid argument name":                 {"the name before an equals sign is written without quotes", ""},
	"Unclosed configuration block":          {"the block that opens here has no closing brace before the end of the file", "look for a missing } in it"},
	"Unclosed configuration body":           {"the file ends in the middle of a block", "look for a missing }"},
	"Argument or block definition required": {"an attribute (name = value) or a block (name { … }) is expected here", ""},
	"Argument or block definition required|An argument or block definition is required here. To set": {"after this name an equals sign or the opening brace of a block is expected", "write name = value, or name { … }"},
	"Argument definition required":                    {"an attribute (name = value) is expected here", "begin a block on a line of its own"},
	"Missing newline after argument":                  {"after a value the line must end", "begin a new line here; put text, and a number with its unit, in quotes"},
	"Unexpected comma after argument":                 {"there is a comma after a value", "leave it out; each attribute has a line of its own, and a decimal number has a point"},
	"Missing newline after block definition":          {"after the closing brace of a block the line must end", "begin a new line here"},
	"Invalid single-argument block definition":        {"a block on one line holds one attribute only", "write each attribute and the closing brace on lines of their own"},
	"Invalid block definition|The equals":             {"a block is written without an equals sign", "write it as name { … }"},
	"Invalid block definition|A block":                {"after the name of a block its opening brace must follow on the same line", "write it as name { … }"},
	"Invalid block definition|Either":                 {"the opening brace of a block, or its name in quotes, is expected here", ""},
	"Missing false expression in conditional":         {"a condition … ? … : … has no second value", "add : and the value for the other case"},
	"Invalid legacy index syntax":                     {"a name is followed by a number after a point", `write a name that begins with a digit in brackets and quotes, such as screw["20x10"]`},
	"Invalid attribute name":                          {"after the point a name is expected", `write a name that begins with a digit in brackets and quotes, such as screw["20x10"]`},
	"Missing close bracket on index":                  {"a bracket [ is not closed", "add ]"},
	"Unbalanced parentheses":                          {"a parenthesis ( is not closed", "add )"},
	"Missing expression":                              {"the file ends where a value is expected", ""},
	"Invalid expression":                              {"a value is expected here, such as \"20 mm\", 16, true, or screw.g20x10", ""},
	"Invalid number literal":                          {"this number cannot be read", ""},
	"Missing argument separator":                      {"the values in a function's parentheses are separated by commas", ""},
	"Unterminated function call":                      {"a parenthesis ( is not closed before the end of the file", "add )"},
	"Unterminated tuple constructor expression":       {"the list that begins here is not closed before the end of the file", "add ]"},
	"Missing item separator":                          {"the values in a list are separated by commas", "add a comma, or ] where the list ends"},
	"Unterminated string literal":                     {openQuote, "add the closing quote"},
	"Unterminated template string":                    {openText, ""},
	"Invalid multi-line string":                       {openQuote, "add the closing quote"},
	"Unclosed template interpolation sequence":        {"${ in a text is not closed", "add }, or write $${ for the characters themselves"},
	"Extra characters after interpolation expression": {"${ … } holds one value and nothing after it", "write $${ for the characters themselves"},
	"Invalid character|Single quotes":                 {"text needs double quotes, not single ones", ""},
	"Invalid character|\"Curly quotes\"":              {"text needs straight quotes (\"), not curly ones", "replace the quotes on both sides"},
	"Invalid character|The \";\"":                     {"a semicolon has no meaning here", "put each attribute on a line of its own"},
	"Invalid character|The \"`\"":                     {"text needs double quotes, not backticks", ""},
	"Invalid character|This character":                {"this character has no meaning outside quotes and comments", "put text in double quotes, comments after #"},
	"Unsupported operator|\"**\"":                     {"** is no operator here", "multiply instead"},
	"Unsupported operator":                            {"this operator is not part of the language", "use && for and, || for or, ! for not"},
	"Incorrect condition type":                        {"what stands before the ? must be true or false", ""},
	"Invalid escape sequence":                         {"unknown escape after a backslash in a text", `write \\ for a backslash, \" for a quote, \n for a new line`},
	"Invalid string literal|Template":                 {"${ … } and %{ … } are not allowed in a name", ""},
	"Invalid operand":                                 {"these values do not combine: numbers are added, multiplied and compared; true and false are joined with && and ||", ""},
	"Invalid function argument":                       {"this function takes numbers; this is not a number", ""},
	"Too many function arguments":                     {"this function takes fewer values", "abs, ceil and floor take one"},
	"Not enough function arguments":                   {"this function takes more values", ""},
	"Error in function call":                          {"this function has no result for these values", "max and min need at least one number"},
	"Null condition":                                  {"what stands before the ? must be true or false", ""},
	"Inconsistent conditional result types":           {"both results of a condition … ? … : … must be of the same type: two texts or two numbers", ""},
	"Invalid template interpolation value":            {"this value cannot be inserted into a text", "use a text or a number"},
	"Invalid template directive":                      {"%{ … } is not supported in a text", "write %%{ for the characters themselves"},
	"Invalid template control keyword":                {"%{ … } is not supported in a text", "write %%{ for the characters themselves"},
}

var alreadySet = regexp.MustCompile(`^The argument ("(?:[^"\\]|\\.)*") was already set at .*:(\d+),(\d+)-(?:(\d+),)?(\d+)\.`)

// syntaxProblem words what the parser or evaluator found in src.
func syntaxProblem(path string, src []byte, d *hcl.Diagnostic) Problem {
	p := Problem{Rule: "syntax", Place: Place{File: path, Line: 1, Col: 1, EndLine: 1, EndCol: 1}}
	if d.Subject != nil {
		p.Place = placeOf(path, *d.Subject)
	}
	if m := alreadySet.FindStringSubmatch(d.Detail); m != nil && d.Summary == "Attribute redefined" {
		name, err := strconv.Unquote(m[1])
		if err == nil {
			p.Rule = "duplicate-name"
			p.Message, p.Help = clip(name)+" is set twice in this block", "keep one of the two"
			first := Place{File: path, Line: atoi(m[2]), Col: atoi(m[3]), EndLine: atoi(m[2]), EndCol: atoi(m[5])}
			p.Related = []Related{{first, "first set here"}}
			return p
		}
	}
	if at := int(p.Place.Byte); d.Summary == "Argument or block definition required" && at < len(src) && src[at] == '}' {
		p.Message, p.Help = "this closing brace closes nothing", "look for one too many above, or delete it"
		return p
	}
	said, ok := phrases[d.Summary]
	for key, ph := range phrases {
		if summary, detail, cut := strings.Cut(key, "|"); cut && summary == d.Summary && strings.HasPrefix(d.Detail, detail) {
			said, ok = ph, true
		}
	}
	if ok {
		p.Message, p.Help = said.message, said.help
		hint(src, int(p.Place.Byte), &p, d.Summary)
		return p
	}
	p.Message = clip(d.Summary)
	if detail, _, _ := strings.Cut(d.Detail, "\n"); detail != "" {
		p.Message += ": " + clipTo(detail, 300)
	}
	return p
}

func atoi(s string) int32 {
	n, _ := strconv.ParseInt(s, 10, 32)
	return int32(n)
}
