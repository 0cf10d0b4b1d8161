//go:build linux && (amd64 || arm64)

package crashtest

import (
	"bytes"

	"math/rand/v2"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// fault is a way in which the disk fails.
type fault struct {
	name   string
	hits   func(op) bool
	answer answer
	stays  bool   // it lasts to the child's end, as a full disk does
	says   string // in the message
}

func changes(o op) bool { return o.kind != opSay }
func isWrite(o op) bool { return o.kind == opWrite || o.kind == opTruncate || o.kind == opCreate }
func isSync(o op) bool  { return o.kind == opSync || o.kind == opSyncFolder }
func grows(o op) bool   { return isWrite(o) || o.kind == opLink || o.kind == opRename }
func opens(o op) bool   { return changes(o) || bytes.Equal(o.data, []byte(openToWrite)) }

func faults() []fault {
	return []fault{
		{"one call fails", changes, answer{errno: syscall.EIO}, false, "input/output error"},
		{"one sync fails", isSync, answer{errno: syscall.EIO}, false, "input/output error"},
		{"the disk fails for good", changes, answer{errno: syscall.EIO}, true, "input/output error"},
		{"no space for one call", grows, answer{errno: syscall.ENOSPC}, false, "there is no space left on the disk"},
		{"the disk is full", grows, answer{errno: syscall.ENOSPC}, true, "there is no space left on the disk"},
		{"the quota is used up", grows, answer{errno: syscall.EDQUOT}, true, "there is no space left on the disk"},
		{"one write is cut short", isWrite, answer{part: true}, false, ""},
		{"the medium has become read-only", opens, answer{errno: syscall.EROFS}, true, "read-only file system"},
		{"the folder may not be written", func(o op) bool { return o.kind == opCreate || o.kind == opLink || o.kind == opRename }, answer{errno: syscall.EACCES}, true, "cannot be written here"},
		{"no second names, as on a memory stick", func(o op) bool { return o.kind == opLink }, answer{errno: syscall.EPERM}, true, ""},
	}
}

// run lets a child do everything once while the n-th call that a fault can hit fails. It reports whether there was such a call.
func (f fault) run(t testing.TB, n int, seed uint64) bool {
	t.Helper()
	path := newBook(t).Path()
	l := newLedger(t, path)
	count, hit := 0, op{}
	err := runTapped(t, childCommand("each", path, seed), filepath.Dir(path), func(o op) answer {
		if o.kind == opSay && !bytes.Equal(o.data, []byte(openToWrite)) {
			for word, rest := range lines(bytes.NewReader(o.data)) {
				if err := l.hear(word, rest); err != nil {
					t.Errorf("%v", err)
				}
			}
			return answer{}
		}
		if !f.hits(o) {
			return answer{}
		}
		if count++; count == n+1 || f.stays && count > n {
			if count == n+1 {
				hit = o
			}
			return f.answer
		}
		return answer{}
	})
	where := func() string { return f.name + ", beginning with " + hit.String() }
	if err != nil || !l.done {
		t.Errorf("%s: the child ended: %v", where(), err)
		return false
	}
	f.judge(t, l, path, where())
	return count > n
}

// judge looks at what is left once the fault is over.
func (f fault) judge(t testing.TB, l *ledger, path, where string) {
	t.Helper()
	book, err := l.verify(t, path)
	if err == nil {
		err = worksOn(t, path)
	}
	if err != nil {
		t.Errorf("%s: %v", where, err)
	}
	for note, said := range l.failed {
		switch {
		case !strings.Contains(said, f.says) && !strings.Contains(said, "there is no logbook here"):
			t.Errorf("%s: it is not said what failed: %s", where, said)
		case strings.Contains(said, "goroutine") || !strings.Contains(said, "nothing was changed") && !strings.Contains(said, "may have been kept"):
			t.Errorf("%s: it is not said what became of the book: %s", where, said)
		case strings.Contains(said, "nothing was changed") && book.notes[note]:
			t.Errorf("%s: the round is in the book, but it is said: %s", where, said)
		}
	}
}

// Whatever call fails, and however: nothing that was acknowledged is lost, the message says what failed and what became of it,
// and the book opens again and works.
func TestFaultOfAnyCallLosesNothing(t *testing.T) {
	t.Logf("seed %d", *crashSeed)
	random := rand.New(rand.NewPCG(*crashSeed, 5))
	runs := 0
	for _, f := range faults() {
		if *faultAll {
			n := 0
			for f.run(t, n, *crashSeed*1_000_000+uint64(n)) {
				n++
			}
			t.Logf("%s: %d calls", f.name, n)
			runs += n
			continue
		}
		for range 3 {
			f.run(t, random.IntN(60), *crashSeed)
			runs++
		}
	}
	t.Logf("%d runs", runs)
}
