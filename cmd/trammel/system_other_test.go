//go:build !unix

package main

import (
	"errors"
	"os"
)

func mkfifo(string) error { return errors.ErrUnsupported }

func mostMemory(*os.ProcessState) int64 { return 0 }
