//go:build linux || freebsd

package gitfs

import "syscall"

// withParent has a process end when the program ends, however that does.
func withParent() *syscall.SysProcAttr { return &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL} }
