//go:build unix

package main

import (
	"os"
	"runtime"
	"syscall"
)

// mkfifo makes a pipe for the user alone.
func mkfifo(name string) error { return syscall.Mkfifo(name, 0o600) }

// mostMemory is how many bytes a process that has ended held at most; 0 where the
// system does not say.
func mostMemory(p *os.ProcessState) int64 {
	u, ok := p.SysUsage().(*syscall.Rusage)
	switch {
	case !ok:
		return 0
	case runtime.GOOS == "darwin":
		return int64(u.Maxrss) // in bytes there, elsewhere in kilobytes
	}
	return int64(u.Maxrss) << 10
}
