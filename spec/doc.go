// Package spec is the language in which machine builders declare linear axes:
// which files there are, what they may say, and every value with the place of
// its text and where it came from.
//
// A Tree reads files below one root through an fs.FS and never reads outside
// it. It computes nothing: what follows from the values is not its business.
// Problems of the text are collected, not returned one by one; reading goes on
// behind each.
//
// The package keeps no state of its own. A Tree may be used by several
// goroutines at once.
package spec
