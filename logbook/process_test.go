package logbook_test

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
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

// The long run is go test -run Killed ./logbook -crash.kills 1000.
var (
	crashKills = flag.Int("crash.kills", 20, "how many times TestNothingIsLostWhenKilled kills")
	crashSeed  = flag.Uint64("crash.seed", 1, "seed of the instants at which it kills")
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
	case "work":
		return childWorks(ctx, b)
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

// childWorks does everything that writes, without end.
func childWorks(ctx context.Context, b *logbook.Book) error {
	for i := 0; ; i++ {
		text := strings.Repeat(strconv.Itoa(i)+" ", i%200+1)
		if err := b.SaveDraft(ctx, "round", []byte(text)); err != nil {
			return err
		}
		fmt.Println("draft", text)
		fmt.Println("saving")
		saved, err := b.AddRound(ctx, record.Round{Time: noon.Add(time.Duration(i) * time.Second), Note: text}, "round")
		if err != nil {
			return err
		}
		fmt.Println("kept", saved.Entry.ID)
		switch i % 5 {
		case 1:
			a, err := b.Amend(ctx, saved.Entry.ID, map[string]string{"note": "corrected " + strconv.Itoa(i)}, "typing", "Ro", "")
			if err != nil {
				return err
			}
			fmt.Println("kept", a.Entry[0].Amendment)
		case 3:
			var rounds []record.Round
			for j := range 50 {
				r := record.Round{Time: noon.AddDate(-1, 0, i).Add(time.Duration(j) * time.Second)}
				r.ID = logbook.DeriveID(r)
				rounds = append(rounds, r)
			}
			if _, _, err := b.AddRounds(ctx, rounds); err != nil {
				return err
			}
			for _, r := range rounds {
				fmt.Println("kept", r.ID)
			}
		case 4:
			if _, err := b.Backup(ctx, b.Path()+".backup", true); err != nil {
				return err
			}
			fmt.Println("backup", saved.Entry.ID)
			if _, _, err := b.Merge(ctx, b.Path()+".backup"); err != nil {
				return err
			}
		}
	}
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

func TestNothingIsLostWhenKilled(t *testing.T) {
	b := newBook(t)
	random := rand.New(rand.NewPCG(*crashSeed, 9))
	kept := map[string]bool{}
	backedUp := map[string]bool{}
	for range *crashKills {
		cmd, _, out := deed(t, "work", b.Path(), "alder")
		draft, saving := "", false
		lines, n := 1+random.IntN(60), 0
		for out.Scan() {
			word, rest, _ := strings.Cut(out.Text(), " ")
			switch word {
			case "kept":
				kept[rest], draft, saving = true, "", false
			case "draft":
				draft = rest
			case "saving":
				saving = true
			case "backup":
				backedUp = cloneMap(kept)
			case "error":
				t.Fatalf("the child says %q", out.Text())
			}
			if n++; n == lines { // somewhere within the deed that follows this line
				for range random.IntN(500_000) { // about a millisecond
					_ = random.Uint64()
				}
				if err := cmd.Process.Kill(); err != nil {
					t.Fatal(err)
				}
			}
		}
		_ = cmd.Wait() // killed
		lost(t, b.Book, kept)
		d, ok, err := b.Draft(t.Context(), "round")
		if err != nil {
			t.Fatal(err)
		}
		// At most one keystroke behind: the acknowledged draft is there, or the next one, or the round that it became.
		if draft != "" && !saving && (!ok || string(d.Data) != draft) {
			t.Errorf("the draft is %q, acknowledged was %q", d.Data, draft)
		}
		if report := must(b.Check(t.Context(), nil))(t); !report.Sound() {
			t.Fatalf("after a kill: %+v", report)
		}
		if _, err := os.Stat(b.Path() + ".backup"); err == nil {
			copied := must(logbook.Open(b.Path()+".backup", options(t, b.clock, "alder")))(t)
			checkSound(t, copied)
			lost(t, copied, backedUp)
		}
		// Work goes on.
		saved := must(b.AddRound(t.Context(), record.Round{Time: noon.AddDate(1, 0, 0)}, ""))(t)
		kept[saved.Entry.ID] = true
	}
	if len(kept) < *crashKills {
		t.Errorf("only %d entries were acknowledged", len(kept))
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
