// Package judge says what a rule is, and asks rules of axes and parts. It knows no rule
// of its own: a program hands it a list, and gets a rulebook.
//
//	book := judge.New(rules.All())
//	j := book.NewJudge(today, true)
//	report := j.Judge(judge.NewScratch(), axis, nil)
//
// # Rules
//
// A Rule asks one question. It may ask it in several ways:
//
//   - Tests compare one computed quantity with a limit. The package finds the case within
//     all tolerances and assumptions that is worst, words the finding, and solves for what
//     would make the test hold.
//   - Check looks at declared facts and returns Faults.
//   - Part looks at one part, Parts at all parts of a tree together, Waiver at a waiver
//     once all else is known.
//
// What a rule needs is declared: quantities (Value, Against, Needs), fields it cannot do
// without (Facts) and fields without which it judges only in part (Wants). What is not
// there makes the rule not judged, and is named with the place where it belongs. A rule
// never sees a missing value as a good one, so it need not ask.
//
// Reasons say when the question does not arise. Each is data, for it stands on the rule's
// page too, and must be true of every axis for which it is given.
//
// # How an axis is judged
//
// Load puts the declared values of an axis into the calculation graph of package
// mechanics and runs it once. A View is the axis with everything computed, as rules see
// it. Then each rule is evaluated in turn:
//
//  1. Is it switched off by a policy? Then it is Disabled.
//  2. Does its question arise? If for a reason it does not, it is NotApplicable.
//  3. Is all it needs known? If not, it is Unjudged, and says which lines are missing.
//  4. Is a value it looked at one that could not be read? Which values an answer looks at
//     is watched while it is evaluated, not declared; such an answer is not taken.
//  5. Does the limit hold in the worst case within the tolerances, and at both ends of
//     what is assumed? What holds in the usual case and not at an end is Unjudged: it says
//     from which value on it passes.
//  6. Else it Failed and there is a Finding, with what took part and where that stands.
//
// Rules of the house, written in policies, are compiled with their units (house.go) and
// asked in the same way. Policies (policy.go) are worked out once a folder; the nearest
// wins, field by field. Waivers (waive.go) accept findings and are themselves asked about.
//
// # Fixes
//
// A Parameter is one thing that a designer can change. For each that a test names, the
// least change is sought that makes the test hold, on those quantities only that hang on
// it (solve.go). It is written with few digits on the safe side, put into a copy of the
// axis as the edited text would give it, and the copy is judged again. Only what makes the
// finding go and brings no other is offered (fix.go). Rules may draft fixes that are no
// matter of how far to go; they are tried in the same way.
//
// # What is bounded
//
// An axis comes from a file that a stranger may have written. The search within
// tolerances and for fixes spends from a budget; when it is used up the rule is not
// judged and says why. Nothing here reads a file, and a Judge may serve several goroutines
// as long as each has its own Scratch.
package judge
