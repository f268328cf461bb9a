package spec

import (
	"slices"

	"github.com/hashicorp/hcl/v2/hclsyntax"
)

// A PolicyFile is what one policy file says.
type PolicyFile struct {
	Path    string
	Rules   []*PolicyRule
	Waivers []*Waiver
	House   []*HouseRule
}

// A PolicyRule sets limits and severity of one rule.
type PolicyRule struct {
	Rule     string
	Place    Place // of the rule's name
	Limits   []PolicyLimit
	Severity *Value // nil where not given
	Reason   *Value
}

// A PolicyLimit is one limit as written: text with a unit, or a bare number.
type PolicyLimit struct {
	Name      string
	NamePlace Place
	Text      string
	Number    float64
	IsText    bool
	Place     Place
}

// A HouseRule is a condition of the house.
type HouseRule struct {
	Name      string
	Place     Place
	That      *Expr
	When      *Expr // nil: always
	Message   string
	Severity  string
	Reason    string
	ThatPlace Place
}

func (t *Tree) readPolicy(f *Folder, d *decoder, body *hclsyntax.Body) {
	pf := &PolicyFile{Path: d.path}
	if body != nil {
		seen := map[string]Place{}
		once := func(b *Block, blk *hclsyntax.Block) bool {
			at := d.place(blk.LabelRanges[0])
			key := b.Name + " " + blk.Labels[0]
			first, again := seen[key]
			if again {
				p := d.report("duplicate-name", at, "", "%s %q appears twice in this file", b.Name, blk.Labels[0])
				p.Related = []Related{{first, "first declared here"}}
			}
			seen[key] = at
			return !again
		}
		d.entries(body, theSchema.PolicyFile, "a policy file", nil, func(b *Block, blk *hclsyntax.Block) {
			switch b.Name {
			case "rule":
				if once(b, blk) {
					pf.Rules = append(pf.Rules, d.policyRule(b, blk))
				}
			case "require":
				if once(b, blk) {
					if h := d.houseRule(b, blk); h != nil {
						pf.House = append(pf.House, h)
					}
				}
			case "waive":
				pf.Waivers = append(pf.Waivers, d.waiver(b, blk))
			}
		}, nil)
	}
	f.Policies = append(f.Policies, pf)
	f.Problems = append(f.Problems, d.sorted()...)
}

// policyRule reads a rule block. Which limits a rule has is for the rules to
// say; here every attribute but severity and reason is one.
func (d *decoder) policyRule(b *Block, blk *hclsyntax.Block) *PolicyRule {
	r := &PolicyRule{Rule: blk.Labels[0], Place: d.place(blk.LabelRanges[0])}
	if d.tooMany(blk.Body) {
		return r
	}
	for _, inner := range blk.Body.Blocks {
		d.report("unknown-name", d.place(inner.TypeRange), "", "rule holds attributes only, found block %q", clip(inner.Type))
	}
	for name, a := range blk.Body.Attributes {
		switch name {
		case "severity":
			r.Severity = d.value(b.field(name), a)
		case "reason":
			r.Reason = d.value(b.field(name), a)
		default:
			c, s, isText, ok := d.literal(a.Expr)
			if !ok {
				continue
			}
			l := PolicyLimit{Name: name, NamePlace: d.place(a.NameRange), Text: s, IsText: isText, Place: d.place(a.Expr.Range())}
			if !isText {
				n, fine := asNumber(c)
				if !fine {
					d.report("value", l.Place, "", "%s is a number, or text with a unit", clip(name))
					continue
				}
				l.Number = n
			}
			r.Limits = append(r.Limits, l)
		}
	}
	slices.SortFunc(r.Limits, func(a, b PolicyLimit) int { return ComparePlaces(a.NamePlace, b.NamePlace) })
	return r
}
