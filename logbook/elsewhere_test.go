package logbook_test

import (
	"context"
	"crypto/sha256"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
)

func TestBookRemembersWhereElseCopiesAreKept(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	if e := must(b.Elsewhere(ctx))(t); e != (logbook.Elsewhere{}) {
		t.Errorf("a new book: %+v", e)
	}
	mark := must(b.Mark(ctx))(t)
	for _, want := range []logbook.Elsewhere{
		{Dir: "/media/stick"}, {Dir: "/media/stick", Last: noon, Mark: 857}, {Dir: "D:\\Kopien ü", Last: noon.Add(time.Hour), Mark: 858}, {},
	} {
		if err := b.SetElsewhere(ctx, want); err != nil {
			t.Fatal(err)
		}
		if got := must(b.Elsewhere(ctx))(t); got.Dir != want.Dir || !got.Last.Equal(want.Last) || got.Mark != want.Mark {
			t.Errorf("got %+v, want %+v", got, want)
		}
	}
	if now := must(b.Mark(ctx))(t); now != mark {
		t.Errorf("it counts as %d entries", now-mark)
	}
	if err := b.SetElsewhere(ctx, logbook.Elsewhere{Dir: strings.Repeat("x", 5000)}); !errors.Is(err, logbook.ErrInvalid) {
		t.Errorf("an endless name: %v", err)
	}
	// It is in the file, and so in its backups.
	if err := b.SetElsewhere(ctx, logbook.Elsewhere{Dir: "stick"}); err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(t.TempDir(), "copy.book")
	must(b.Backup(ctx, copied, false))(t)
	if e := must(must(logbook.Open(copied, options(t, b.clock, "birch")))(t).Elsewhere(ctx))(t); e.Dir != "stick" {
		t.Errorf("in the backup: %+v", e)
	}
}

func TestCopyIsTheBookOfOneMoment(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1), level(noon.Add(time.Second), 2))
	c := must(b.Copy(t.Context()))(t)
	addRounds(t, b, level(noon.Add(2*time.Second), 3))
	dst := filepath.Join(t.TempDir(), "copy.book")
	if err := c.Save(t.Context(), dst); err != nil {
		t.Fatal(err)
	}
	if c.Report.Entries != 2 || c.Mark != 2 || c.Sum() != sha256.Sum256(bytesOf(t, dst)) {
		t.Errorf("%+v, mark %d", c.Report, c.Mark)
	}
	checkSound(t, must(logbook.Open(dst, options(t, b.clock, "birch")))(t))
	if err := c.Save(t.Context(), dst); !errors.Is(err, logbook.ErrExists) {
		t.Errorf("once more: %v", err)
	}
	given, stop := context.WithCancel(t.Context())
	stop()
	if err := c.Save(given, dst+"2"); !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
	noLeftovers(t, filepath.Dir(dst), 1)
	if err := os.WriteFile(dst, []byte("time,volts\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := must(logbook.Open(b.Path(), options(t, b.clock, "birch")))(t).Copy(given); !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
}
