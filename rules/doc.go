// Package rules holds the questions put to an axis, one file each, with
// what the rules share: the fixes they offer (fixes.go), the cautions that go with
// them (caution.go) and what no rule looks at yet (unseen.go). What a rule is and how
// it is evaluated is told in package judge, which knows none of these.
//
// A rule is one value: its name, the question, when the question does not arise, what
// it must know, the limit, how serious it is, its words and its source. It reads
// declared values and computed quantities and does not compute: formulas belong in
// mechanics, tables of standards in tables.
//
// All lists the rules as they are declared; Book is all of them, ready to be asked.
package rules
