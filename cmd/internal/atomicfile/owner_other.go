//go:build !unix

package atomicfile

import (
	"io/fs"
	"os"
)

func keepOwner(*os.File, fs.FileInfo) {}
