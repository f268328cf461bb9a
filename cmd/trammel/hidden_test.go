package main

import "testing"

// TestHookHidden: the cases of house rules, which fail on purpose, are not judged when a
// framework names all files.
func TestHookHidden(t *testing.T) {
	inBakery(t)
	ends(t, 0, []string{"!lifting-life.axis.hcl"}, "hook", ".cases/lifting-life.axis.hcl")
	ends(t, 1, []string{"!lifting-life.axis.hcl", "machines/tipper/hoist.axis.hcl"}, "hook", ".cases/lifting-life.axis.hcl", "machines/tipper/hoist.axis.hcl")
}
