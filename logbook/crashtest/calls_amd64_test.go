//go:build linux

package crashtest

import "syscall"

// Numbers of system calls that package syscall does not name, and calls that only this machine still has.
const (
	sysSeccomp   = 317
	sysRenameat2 = 316
)

var oldCalls = map[int]callKind{
	syscall.SYS_OPEN: callOpen, syscall.SYS_CREAT: callOther, syscall.SYS_RENAME: callRename, syscall.SYS_LINK: callLink,
	syscall.SYS_UNLINK: callRemove, syscall.SYS_MKDIR: callOther,
}
