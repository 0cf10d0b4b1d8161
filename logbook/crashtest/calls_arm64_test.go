//go:build linux

package crashtest

// Numbers of system calls that package syscall does not name, and calls that only this machine still has.
const (
	sysSeccomp   = 277
	sysRenameat2 = 276
)

var oldCalls = map[int]callKind{}
