//go:build !linux && !freebsd

package gitfs

import "syscall"

// withParent asks for nothing where a system has no signal for a parent's end:
// there the end of a pipe, or the context, ends a process.
func withParent() *syscall.SysProcAttr { return nil }
