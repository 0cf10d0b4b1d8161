//go:build linux && (amd64 || arm64)

package crashtest

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"unsafe"
)

// The kernel's interface for being asked before a call of another process (seccomp_unotify(2)). Its numbers are those of
// linux/seccomp.h, linux/prctl.h and linux/filter.h.
const (
	envTap = "CRASHTEST_TAP" // "enter" in the child, "inside" once the filter is laid

	prSetNoNewPrivs  = 38
	seccompSetFilter = 1
	flagNewListener  = 1 << 3
	flagWaitKillable = 1 << 5 // since 5.19: signals do not break off a call that we were asked about
	retUserNotif     = 0x7fc00000
	retAllow         = 0x7fff0000
	ioctlReceive     = 0xc0502100
	ioctlSend        = 0xc0182101
	respContinue     = 1
	tapSocket        = 3 // the first of cmd.ExtraFiles
	atFDCWD          = -100
)

// callKind is how the arguments of a call are read.
type callKind int

const (
	callOther callKind = iota
	callOpen
	callOpenat
	callWrite
	callPwrite
	callSync
	callTruncate
	callRename
	callRenameat
	callLink
	callLinkat
	callRemove
	callRemoveat
)

func calls() map[int]callKind {
	m := map[int]callKind{
		syscall.SYS_OPENAT: callOpenat, syscall.SYS_WRITE: callWrite, syscall.SYS_PWRITE64: callPwrite, syscall.SYS_FSYNC: callSync,
		syscall.SYS_FDATASYNC: callSync, syscall.SYS_FTRUNCATE: callTruncate, syscall.SYS_RENAMEAT: callRenameat, sysRenameat2: callRenameat,
		syscall.SYS_LINKAT: callLinkat, syscall.SYS_UNLINKAT: callRemoveat,
		// No part of the program uses these on a book; should it begin to, the tests must learn them.
		syscall.SYS_TRUNCATE: callOther, syscall.SYS_FALLOCATE: callOther, syscall.SYS_WRITEV: callOther, syscall.SYS_PWRITEV: callOther,
		syscall.SYS_MKDIRAT: callOther, syscall.SYS_SENDFILE: callOther, syscall.SYS_SPLICE: callOther,
	}
	for nr, kind := range oldCalls {
		m[nr] = kind
	}
	return m
}

// noTap is what a child says where the kernel, or the container around it, refuses the filter. Any other failure is the tests' own.
const noTap = "this system lets no filter be laid around a child"

// enterTap lays the filter around the child: it asks the kernel for one, hands the parent the end at which the questions
// arrive, and starts itself again, since a filter holds for the one thread that asked for it and for what it starts.
func enterTap() error {
	if os.Getenv(envTap) != "enter" {
		return nil
	}
	runtime.LockOSThread()
	var prog []syscall.SockFilter
	stmt := func(code uint16, k uint32, jt, jf uint8) {
		prog = append(prog, syscall.SockFilter{Code: code, Jt: jt, Jf: jf, K: k})
	}
	stmt(syscall.BPF_LD|syscall.BPF_W|syscall.BPF_ABS, 0, 0, 0) // the call's number
	for nr := range calls() {
		stmt(syscall.BPF_JMP|syscall.BPF_JEQ|syscall.BPF_K, uint32(nr), 0, 1)
		stmt(syscall.BPF_RET|syscall.BPF_K, retUserNotif, 0, 0)
	}
	stmt(syscall.BPF_RET|syscall.BPF_K, retAllow, 0, 0)
	fprog := syscall.SockFprog{Len: uint16(len(prog)), Filter: &prog[0]}
	if _, _, e := syscall.RawSyscall(syscall.SYS_PRCTL, prSetNoNewPrivs, 1, 0); e != 0 {
		return fmt.Errorf("%s: no_new_privs: %w", noTap, e)
	}
	if err := errors.Join(os.Setenv(envTap, "inside"), os.Setenv("GODEBUG", "asyncpreemptoff=1")); err != nil {
		return err
	}
	self, err := os.Executable()
	if err != nil {
		return err
	}
	fd, _, e := syscall.RawSyscall(sysSeccomp, seccompSetFilter, flagNewListener|flagWaitKillable, uintptr(unsafe.Pointer(&fprog)))
	if e != 0 {
		return fmt.Errorf("%s: seccomp: %w", noTap, e)
	}
	if err := syscall.Sendmsg(tapSocket, []byte{0}, syscall.UnixRights(int(fd)), nil, 0); err != nil {
		return err
	}
	return syscall.Exec(self, os.Args, os.Environ())
}

// answer is what becomes of a call: it is let through, answered with an error, done in part, or the child is killed before it.
type answer struct {
	errno syscall.Errno
	part  bool // of a write only the first half is done
	skip  bool // it is said to be done, and nothing is
	kill  bool
}

// tap runs a child and asks handle about each call that changes a file below dir or says something.
type tap struct {
	dir    string
	handle func(op) answer
	kinds  map[int]callKind
	fd     int
	err    error
}

type notice struct {
	id    uint64
	pid   uint32
	flags uint32
	nr    int32
	arch  uint32
	ip    uint64
	args  [6]uint64
}

type response struct {
	id    uint64
	val   int64
	errno int32
	flags uint32
}

// runTapped runs a child until it ends. It returns the child's own error apart from that of the tap.
func runTapped(t testing.TB, cmd *exec.Cmd, dir string, handle func(op) answer) error {
	t.Helper()
	pair, err := syscall.Socketpair(syscall.AF_UNIX, syscall.SOCK_STREAM|syscall.SOCK_CLOEXEC, 0)
	if err != nil {
		t.Fatal(err)
	}
	theirs := os.NewFile(uintptr(pair[1]), "tap")
	cmd.ExtraFiles = []*os.File{theirs}
	cmd.Env = append(cmd.Env, envTap+"=enter")
	said := &bytes.Buffer{}
	cmd.Stdout = said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	_ = theirs.Close()
	tp := &tap{dir: dir, handle: handle, kinds: calls()}
	tp.fd, err = receiveListener(pair[0])
	_ = syscall.Close(pair[0])
	if err != nil {
		_ = cmd.Wait()
		if why := strings.TrimSpace(said.String()); strings.Contains(why, noTap) {
			t.Skip(why)
		}
		t.Fatalf("no filter came around the child: %v; it said: %s", err, said)
	}
	served := make(chan error, 1)
	go func() { served <- tp.serve(cmd) }()
	childErr := cmd.Wait()
	if childErr != nil {
		all := strings.TrimSpace(said.String())
		childErr = fmt.Errorf("%w, last said: %s", childErr, all[strings.LastIndexByte(all, '\n')+1:])
	}
	if err := <-served; err != nil {
		t.Fatalf("the tap: %v", err)
	}
	_ = syscall.Close(tp.fd)
	return childErr
}

func receiveListener(socket int) (int, error) {
	buf, oob := make([]byte, 1), make([]byte, syscall.CmsgSpace(4))
	_, n, _, _, err := syscall.Recvmsg(socket, buf, oob, syscall.MSG_CMSG_CLOEXEC)
	if err != nil {
		return 0, err
	}
	messages, err := syscall.ParseSocketControlMessage(oob[:n])
	if err != nil || len(messages) == 0 {
		return 0, errors.Join(err, io.ErrUnexpectedEOF)
	}
	fds, err := syscall.ParseUnixRights(&messages[0])
	if err != nil {
		return 0, err
	}
	return fds[0], nil
}

type pollFD struct {
	fd      int32
	events  int16
	revents int16
}

// serve answers until the child has ended.
func (tp *tap) serve(cmd *exec.Cmd) error {
	const pollIn = 1
	for {
		p := pollFD{fd: int32(tp.fd), events: pollIn}
		_, _, e := syscall.Syscall6(syscall.SYS_PPOLL, uintptr(unsafe.Pointer(&p)), 1, 0, 0, 0, 0)
		switch {
		case e == syscall.EINTR:
			continue
		case e != 0:
			return fmt.Errorf("poll: %w", e)
		case p.revents&pollIn == 0:
			return tp.err
		}
		var n notice
		if _, _, e := syscall.Syscall(syscall.SYS_IOCTL, uintptr(tp.fd), ioctlReceive, uintptr(unsafe.Pointer(&n))); e != 0 {
			if e == syscall.ENOENT || e == syscall.EINTR { // the call was broken off
				continue
			}
			return fmt.Errorf("receive: %w", e)
		}
		r := response{id: n.id, flags: respContinue}
		if tp.decide(cmd, &n, &r) {
			continue // killed: no one waits for an answer
		}
		if _, _, e := syscall.Syscall(syscall.SYS_IOCTL, uintptr(tp.fd), ioctlSend, uintptr(unsafe.Pointer(&r))); e != 0 && e != syscall.ENOENT {
			return fmt.Errorf("send: %w", e)
		}
	}
}

// decide finds out what a call would do and asks what shall become of it.
func (tp *tap) decide(cmd *exec.Cmd, n *notice, r *response) (killed bool) {
	o, concerns, err := tp.op(n)
	if err != nil {
		tp.err = errors.Join(tp.err, err)
		return false
	}
	if !concerns {
		return false
	}
	switch a := tp.handle(o); {
	case a.kill:
		_ = cmd.Process.Kill()
		return true
	case a.errno != 0:
		r.flags, r.errno = 0, -int32(a.errno)
	case a.skip:
		r.flags, r.val = 0, 0
	case a.part && o.kind == opWrite && len(o.data) > 1:
		half := o.data[:len(o.data)/2]
		if err := writeFor(n, half, o.at); err != nil {
			tp.err = errors.Join(tp.err, err)
			return false
		}
		r.flags, r.val = 0, int64(len(half))
	}
	return false
}

// writeFor writes in the child's place.
func writeFor(n *notice, data []byte, at int64) error {
	f, err := os.OpenFile(fdPath(n, n.args[0]), os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	_, err = f.WriteAt(data, at)
	return errors.Join(err, f.Close())
}

func fdPath(n *notice, fd uint64) string { return fmt.Sprintf("/proc/%d/fd/%d", n.pid, int32(fd)) }

// op reads what a call is about to do. Calls that do not concern the book's folder are none of ours.
func (tp *tap) op(n *notice) (o op, concerns bool, err error) {
	m := memory{pid: n.pid}
	a := n.args
	switch tp.kinds[int(n.nr)] {
	case callOpen:
		return tp.opening(n, m.text(a[0]), a[1])
	case callOpenat:
		return tp.opening(n, m.at(n, a[0], a[1]), a[2])
	case callWrite, callPwrite:
		return tp.writing(n, &m)
	case callSync:
		path, ok := tp.file(n, a[0])
		o = op{kind: opSync, path: path}
		if path == tp.dir {
			o.kind = opSyncFolder
		}
		return o, ok, nil
	case callTruncate:
		path, ok := tp.file(n, a[0])
		return op{kind: opTruncate, path: path, at: int64(a[1])}, ok, nil
	case callRename:
		o = op{kind: opRename, path: m.text(a[0]), to: m.text(a[1])}
	case callRenameat:
		o = op{kind: opRename, path: m.at(n, a[0], a[1]), to: m.at(n, a[2], a[3])}
	case callLink:
		o = op{kind: opLink, path: m.text(a[0]), to: m.text(a[1])}
	case callLinkat:
		o = op{kind: opLink, path: m.at(n, a[0], a[1]), to: m.at(n, a[2], a[3])}
	case callRemove:
		o = op{kind: opRemove, path: m.text(a[0])}
	case callRemoveat:
		o = op{kind: opRemove, path: m.at(n, a[0], a[1])}
	case callOther:
		if path, ok := tp.file(n, a[0]); ok {
			return o, false, fmt.Errorf("call %d on %s: the tap does not know what it does", n.nr, path)
		}
		return o, false, nil
	}
	return o, tp.inside(o.path) || tp.inside(o.to), m.err
}

func (tp *tap) inside(path string) bool { return path == tp.dir || strings.HasPrefix(path, tp.dir+"/") }

// file is the path of an open file, if it lies in the folder.
func (tp *tap) file(n *notice, fd uint64) (string, bool) {
	path, err := os.Readlink(fdPath(n, fd))
	return path, err == nil && tp.inside(path)
}

// opening concerns us only where a file is made or emptied.
func (tp *tap) opening(_ *notice, path string, flags uint64) (op, bool, error) {
	if !tp.inside(path) {
		return op{}, false, nil
	}
	_, err := os.Lstat(path)
	switch {
	case err != nil && flags&syscall.O_CREAT != 0:
		return op{kind: opCreate, path: path}, true, nil
	case err == nil && flags&syscall.O_TRUNC != 0:
		return op{kind: opTruncate, path: path}, true, nil
	case err == nil && flags&(syscall.O_WRONLY|syscall.O_RDWR) != 0:
		return op{kind: opSay, path: path, data: []byte(openToWrite)}, true, nil
	}
	return op{}, false, nil
}

// openToWrite marks the opening of a file for writing, which changes nothing yet but can be refused.
const openToWrite = "\x00open to write"

func (tp *tap) writing(n *notice, m *memory) (op, bool, error) {
	if n.args[0] == 1 {
		return op{kind: opSay, data: m.bytes(n.args[1], n.args[2])}, m.err == nil, m.err
	}
	path, ok := tp.file(n, n.args[0])
	if !ok {
		return op{}, false, nil
	}
	o := op{kind: opWrite, path: path, data: m.bytes(n.args[1], n.args[2]), at: int64(n.args[3])}
	if tp.kinds[int(n.nr)] == callWrite {
		at, err := position(n, n.args[0])
		if err != nil {
			return o, false, err
		}
		o.at = at
	}
	return o, true, m.err
}

// position is where the next write to an open file goes.
func position(n *notice, fd uint64) (int64, error) {
	info, err := os.ReadFile(fmt.Sprintf("/proc/%d/fdinfo/%d", n.pid, int32(fd)))
	if err != nil {
		return 0, err
	}
	for line := range strings.SplitSeq(string(info), "\n") {
		if rest, ok := strings.CutPrefix(line, "pos:"); ok {
			return strconv.ParseInt(strings.TrimSpace(rest), 10, 64)
		}
	}
	return 0, errors.New("no position")
}

// memory reads the memory of the child. Its first error stays.
type memory struct {
	pid uint32
	err error
}

func (m *memory) bytes(at, n uint64) []byte {
	data := make([]byte, n)
	f, err := os.Open(fmt.Sprintf("/proc/%d/mem", m.pid))
	if err == nil {
		var got int
		got, err = f.ReadAt(data, int64(at))
		if got == len(data) {
			err = nil
		}
		err = errors.Join(err, f.Close())
	}
	m.err = errors.Join(m.err, err)
	return data
}

// text reads up to the closing zero, page by page, since the page behind may not be there.
func (m *memory) text(at uint64) string {
	var s []byte
	for m.err == nil && len(s) < 4096 {
		piece := m.bytes(at, 4096-at%4096)
		if end := bytes.IndexByte(piece, 0); end >= 0 {
			return string(append(s, piece[:end]...))
		}
		s, at = append(s, piece...), at+uint64(len(piece))
	}
	return string(s)
}

// at is a path that may be relative to an open folder.
func (m *memory) at(n *notice, dir, path uint64) string {
	s := m.text(path)
	if filepath.IsAbs(s) {
		return s
	}
	if int32(dir) == atFDCWD {
		base, err := os.Readlink(fmt.Sprintf("/proc/%d/cwd", n.pid))
		m.err = errors.Join(m.err, err)
		return filepath.Join(base, s)
	}
	base, err := os.Readlink(fdPath(n, dir))
	m.err = errors.Join(m.err, err)
	return filepath.Join(base, s)
}
