package logbook_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

// childFills lets the system refuse to let files grow beyond 200 kB, which looks to the store as a full disk does, and writes
// until that is said. Then it shows that the book still reads.
func childFills(ctx context.Context, b *logbook.Book) error {
	signal.Ignore(syscall.SIGXFSZ)
	limit := syscall.Rlimit{Cur: 200 << 10, Max: 200 << 10}
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
		return err
	}
	for i := range 10000 {
		saved, err := b.AddRound(ctx, record.Round{Time: noon.Add(time.Duration(i-20000) * time.Second), Note: strings.Repeat("x", 500)}, "")
		if errors.Is(err, logbook.ErrNoSpace) {
			fmt.Println("full", strings.ReplaceAll(err.Error(), "\n", " "))
			return nil
		}
		if err != nil {
			return err
		}
		fmt.Println("kept", saved.Entry.ID)
	}
	return errors.New("the limit was not met")
}

func TestFullDiskLosesNothingAndIsSaid(t *testing.T) {
	b := newBook(t)
	cmd, _, out := deed(t, "fill", b.Path(), "alder")
	kept, said := map[string]bool{}, ""
	for out.Scan() {
		word, rest, _ := strings.Cut(out.Text(), " ")
		switch word {
		case "kept":
			kept[rest] = true
		default:
			said = out.Text()
		}
	}
	if err := cmd.Wait(); err != nil {
		t.Fatalf("%v: %s", err, said)
	}
	if !strings.Contains(said, "no space left") || !strings.Contains(said, "the book still opens") || len(kept) < 10 {
		t.Errorf("%d kept, then %q", len(kept), said)
	}
	lost(t, b.Book, kept)
	if _, err := b.AddRound(t.Context(), level(noon, 1), ""); err != nil {
		t.Errorf("after room was made: %v", err)
	}
}

func TestFolderThatMayNotBeWrittenIsSaid(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	dir := filepath.Dir(b.Path())
	if err := os.Chmod(b.Path(), 0o400); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(dir, 0o500); err != nil {
		t.Fatal(err)
	}
	defer func() {
		_ = os.Chmod(dir, 0o700)
		_ = os.Chmod(b.Path(), 0o600)
	}()
	before := bytesOf(t, b.Path())
	if h := history(t, b, logbook.HistoryOptions{}); len(h.Rounds) != 1 {
		t.Error("it cannot be read")
	}
	checkSound(t, b.Book)
	if os.Geteuid() == 0 {
		t.Log("writing is not tried as root, who may write all the same")
		return
	}
	for doing, err := range map[string]error{
		"saving":    second(b.AddRound(t.Context(), level(noon, 2), "")),
		"drafting":  b.SaveDraft(t.Context(), "round", []byte("x")),
		"backing":   second(b.Backup(t.Context(), filepath.Join(dir, "copy"), false)),
		"creating":  second(logbook.Create(t.Context(), filepath.Join(dir, "new.book"), options(t, b.clock, "alder"))),
		"restoring": second(logbook.Restore(t.Context(), otherBook(t), b.Path(), options(t, b.clock, "alder"))),
	} {
		if !errors.Is(err, logbook.ErrReadOnly) || !strings.Contains(err.Error(), "nothing was changed") {
			t.Errorf("%s: %v", doing, err)
		}
	}
	unchanged(t, "refused writing", before, b.Path())
}
