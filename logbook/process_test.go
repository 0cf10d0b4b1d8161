package logbook_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

// Some tests need other processes that use the same book. They start this test program again with a deed named in the
// environment; the child writes a line for everything that was acknowledged to it.
const (
	envDeed = "LOGBOOK_TEST_DEED"
	envBook = "LOGBOOK_TEST_BOOK"
	envArg  = "LOGBOOK_TEST_ARG"
)

func TestMain(m *testing.M) {
	if deed := os.Getenv(envDeed); deed != "" {
		if err := child(deed); err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// child does one deed until it is done or killed.
func child(deed string) error {
	ctx := context.Background()
	clock := &testClock{noon}
	arg := os.Getenv(envArg)
	o := logbook.Options{Clock: clock.Now, Location: halifax, Writer: writerID(arg), LockWait: 20 * time.Second}
	b, err := logbook.Open(os.Getenv(envBook), o)
	if err != nil {
		return err
	}
	switch deed {
	case "write":
		return childWrites(ctx, b, arg)
	case "hold":
		return childHolds(b)
	case "fill":
		return childFills(ctx, b)
	}
	return fmt.Errorf("no such deed: %s", deed)
}

// childWrites saves some rounds as fast as it can.
func childWrites(ctx context.Context, b *logbook.Book, name string) error {
	for i := range 100 {
		saved, err := b.AddRound(ctx, record.Round{Time: noon.Add(time.Duration(i) * time.Second), By: name}, "")
		if err != nil {
			return err
		}
		fmt.Println("kept", saved.Entry.ID)
	}
	return nil
}

// childHolds keeps the file locked, as a writer does, until it is told to let go.
func childHolds(b *logbook.Book) error {
	release, err := holdLock(b.Path())
	if err != nil {
		return err
	}
	fmt.Println("held")
	_, err = bufio.NewReader(os.Stdin).ReadString('\n') // until the parent says so or ends
	release()
	if errors.Is(err, io.EOF) {
		return nil
	}
	return err
}

// deed starts a child.
func deed(t testing.TB, name, book, arg string) (*exec.Cmd, io.WriteCloser, *bufio.Scanner) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), envDeed+"="+name, envBook+"="+book, envArg+"="+arg)
	cmd.Stderr = os.Stderr
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd, in, bufio.NewScanner(out)
}

func TestTwoProcessesWriteTheSameBook(t *testing.T) {
	b := newBook(t)
	var kept []string
	alder, _, fromAlder := deed(t, "write", b.Path(), "alder")
	birch, _, fromBirch := deed(t, "write", b.Path(), "birch")
	for range 20 { // and this one beside them
		saved := must(b.AddRound(t.Context(), record.Round{Time: noon, By: "here"}, ""))(t)
		kept = append(kept, saved.Entry.ID)
		history(t, b, logbook.HistoryOptions{All: true})
	}
	for _, out := range []*bufio.Scanner{fromAlder, fromBirch} {
		for out.Scan() {
			id, ok := strings.CutPrefix(out.Text(), "kept ")
			if !ok {
				t.Fatalf("the child says %q", out.Text())
			}
			kept = append(kept, id)
		}
	}
	for _, c := range []*exec.Cmd{alder, birch} {
		if err := c.Wait(); err != nil {
			t.Fatal(err)
		}
	}
	there := map[string]bool{}
	for _, r := range history(t, b, logbook.HistoryOptions{At: noon.Add(time.Hour), All: true}).Rounds {
		there[r.ID] = true
	}
	if len(kept) != 220 || len(there) != 220 {
		t.Errorf("%d acknowledged, %d there", len(kept), len(there))
	}
	for _, id := range kept {
		if !there[id] {
			t.Errorf("%s was acknowledged and is not there", id)
		}
	}
}

// lost fails for every acknowledged entry that is not in the book.
func lost(t testing.TB, b *logbook.Book, kept map[string]bool) {
	t.Helper()
	there := map[string]bool{}
	err := b.Entries(t.Context(), func(e logbook.Entry) error { there[e.ID] = true; return nil })
	if err != nil {
		t.Fatal(err)
	}
	for id := range kept {
		if !there[id] {
			t.Errorf("%s was acknowledged and is not there", id)
		}
	}
}

func TestLockThatDoesNotClearIsAClearMessage(t *testing.T) {
	b := newBook(t)
	before := bytesOf(t, b.Path())
	cmd, in, out := deed(t, "hold", b.Path(), "birch")
	if !out.Scan() || out.Text() != "held" {
		t.Fatalf("the child says %q", out.Text())
	}
	o := options(t, b.clock, "alder")
	o.LockWait = 30 * time.Millisecond
	hurried := must(logbook.Open(b.Path(), o))(t)
	_, err := hurried.AddRound(t.Context(), level(noon, 1), "")
	for _, says := range []string{b.Path(), "another Headpond may be writing", "nothing was lost", "30ms"} {
		if !errors.Is(err, logbook.ErrLocked) || !strings.Contains(err.Error(), says) {
			t.Errorf("%v does not say %q", err, says)
		}
	}
	if _, err := hurried.History(t.Context(), logbook.HistoryOptions{}); !errors.Is(err, logbook.ErrLocked) {
		t.Errorf("reading: %v", err)
	}
	if _, err := hurried.Stamp(); err != nil {
		t.Errorf("the stamp needs no lock: %v", err)
	}
	if _, err := logbook.Restore(t.Context(), otherBook(t), b.Path(), o); !errors.Is(err, logbook.ErrLocked) {
		t.Errorf("restoring: %v", err)
	}
	// Giving up ends the wait at once.
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	if _, err := b.AddRound(ctx, level(noon, 1), ""); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("given up: %v", err)
	}
	unchanged(t, "waiting", before, b.Path())
	if _, err := in.Write([]byte("\n")); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Fatal(err)
	}
	if _, err := hurried.AddRound(t.Context(), level(noon, 1), ""); err != nil {
		t.Errorf("after the lock is free: %v", err)
	}
}

func TestKilledHolderFreesTheLock(t *testing.T) {
	b := newBook(t)
	cmd, _, out := deed(t, "hold", b.Path(), "birch")
	if !out.Scan() {
		t.Fatal("the child says nothing")
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	if _, err := b.AddRound(t.Context(), level(noon, 1), ""); err != nil {
		t.Error(err)
	}
}

// otherBook is the path of a small sound book.
func otherBook(t testing.TB) string {
	t.Helper()
	b := newBookOf(t, "cedar", &testClock{noon})
	if _, err := b.AddRound(t.Context(), level(noon, 7), ""); err != nil {
		t.Fatal(err)
	}
	return filepath.Clean(b.Path())
}
