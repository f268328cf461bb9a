//go:build !unix

package cache

import "io/fs"

func secretAlone(fs.FileInfo) bool { return true }

// ownAlone takes the user's folder for what it is: its permissions are not
// told here.
func ownAlone(fs.FileInfo) bool { return true }
