//go:build unix

package main

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// Nobody fills the pipe, so that opening it would never end; a device and a folder are no files either.
func TestWhatIsNoFileIsRefusedAtOnce(t *testing.T) {
	p := newPerson(t)
	dir := t.TempDir()
	pipe := filepath.Join(dir, "pipe")
	if err := syscall.Mkfifo(pipe, 0o600); err != nil {
		t.Fatal(err)
	}
	before := string(p.bytes())
	limited, stop := context.WithTimeout(t.Context(), 20*time.Second)
	defer stop()
	for _, path := range []string{pipe, os.DevNull, dir} {
		for _, args := range [][]string{
			{"open", path}, {"import", path}, {"compare", path}, {"restore", path}, {"merge", path}, {"check", "--book", path}, {"now", "--book", path},
			{"check", "--rescue", filepath.Join(dir, "new.book"), "--book", path}, {"backup", path, "--replace"}, {"export", path, "--replace"},
			{"restore", p.defaultBook(), "--book", path}, {"week", "--html", path},
		} {
			p.runIn(limited, 1, args...)
			if !strings.Contains(p.err.String(), "no file") && !strings.Contains(p.err.String(), "exists already") && !strings.Contains(p.err.String(), "no package") {
				t.Errorf("%v: %s", args, p.err.String())
			}
		}
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 1 || before != string(p.bytes()) {
		t.Errorf("left behind: %v, %v", left, err)
	}
}
