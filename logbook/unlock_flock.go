//go:build !windows && !plan9 && !solaris && !aix && !android

package logbook

import (
	"os"
	"syscall"
)

// unlock gives up the lock that the store took on a file, where the store itself cannot be closed any more. The systems are
// those on which the store locks with flock.
func unlock(f *os.File) error { return syscall.Flock(int(f.Fd()), syscall.LOCK_UN) }
