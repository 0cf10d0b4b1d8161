package logbook_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

func TestBackupIsTheBookAsItWas(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1), level(noon.Add(time.Second), 2))
	dst := filepath.Join(t.TempDir(), "stick.book")
	report := must(b.Backup(t.Context(), dst, false))(t)
	if report.Entries != 2 || !report.Sound() {
		t.Errorf("report = %+v", report)
	}
	addRounds(t, b, level(noon.Add(2*time.Second), 3))
	copied := must(logbook.Open(dst, options(t, b.clock, "alder")))(t)
	checkSound(t, copied)
	if h := history(t, copied, logbook.HistoryOptions{At: noon.Add(time.Hour)}); levels(h.Rounds) != "1 2" {
		t.Errorf("the backup holds %q", levels(h.Rounds))
	}
	if info := must(os.Stat(dst))(t); info.Mode().Perm()&0o077 != 0 {
		t.Errorf("others may read it: %v", info.Mode())
	}
	before := bytesOf(t, dst)
	if _, err := b.Backup(t.Context(), dst, false); !errors.Is(err, logbook.ErrExists) || !strings.Contains(err.Error(), dst) {
		t.Errorf("over a file: %v", err)
	}
	unchanged(t, "refusing", before, dst)
	must(b.Backup(t.Context(), dst, true))(t)
	if bytes.Equal(before, bytesOf(t, dst)) {
		t.Error("it was not replaced though that was asked")
	}
	for name, path := range map[string]string{"itself": b.Path(), "itself by another name": filepath.Join(filepath.Dir(b.Path()), ".", filepath.Base(b.Path()))} {
		if _, err := b.Backup(t.Context(), path, true); !errors.Is(err, logbook.ErrExists) {
			t.Errorf("onto %s: %v", name, err)
		}
	}
	if _, err := b.Backup(t.Context(), filepath.Join(t.TempDir(), "no", "such", "f"), false); !errors.Is(err, logbook.ErrNoFolder) {
		t.Errorf("into no folder: %v", err)
	}
	noLeftovers(t, filepath.Dir(dst), 1)
}

// Only an earlier backup gives way, also one that was cut short; anything else of the name stays.
func TestBackupReplacesNothingButABackup(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	dir := t.TempDir()
	whole := bytesOf(t, b.Path())
	for name, c := range map[string]struct {
		data     []byte
		replaced bool
	}{"letter.txt": {[]byte("Dear Imke"), false}, "empty": {nil, false}, "cut.book": {whole[:len(whole)/2], true}} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, c.data, 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := b.Backup(t.Context(), path, true)
		if c.replaced != (err == nil) || !c.replaced && !errors.Is(err, logbook.ErrExists) {
			t.Errorf("%s: %v", name, err)
		}
		if !c.replaced {
			unchanged(t, "refusing", c.data, path)
		}
	}
	for _, path := range []string{dir, os.DevNull} {
		if _, err := b.Backup(t.Context(), path, true); !errors.Is(err, logbook.ErrExists) {
			t.Errorf("%s: %v", path, err)
		}
	}
	noLeftovers(t, dir, 3)
}

// noLeftovers fails when a folder holds more than the wanted files.
func noLeftovers(t testing.TB, dir string, want int) {
	t.Helper()
	entries := must(os.ReadDir(dir))(t)
	if len(entries) != want {
		t.Errorf("%d files in the folder, want %d: %v", len(entries), want, entries)
	}
}

func TestBackupWhileOthersWrite(t *testing.T) {
	b := newBook(t)
	o := options(t, b.clock, "alder")
	o.LockWait = time.Minute // the writers never rest, and the machine may be busy
	b.Book = must(logbook.Open(b.Path(), o))(t)
	ctx, cancel := context.WithCancel(t.Context())
	var writers sync.WaitGroup
	for range 2 {
		writers.Go(func() {
			for ctx.Err() == nil {
				if _, err := b.AddRound(context.Background(), record.Round{Time: noon}, ""); err != nil {
					t.Error(err)
					return
				}
			}
		})
	}
	dir := t.TempDir()
	last := 0
	for i := range 10 {
		dst := filepath.Join(dir, string(rune('a'+i)))
		report := must(b.Backup(t.Context(), dst, false))(t)
		if report.Entries < last {
			t.Errorf("%d entries after %d", report.Entries, last)
		}
		last = report.Entries
		checkSound(t, must(logbook.Open(dst, options(t, b.clock, "alder")))(t))
	}
	cancel()
	writers.Wait()
	noLeftovers(t, dir, 10)
}

func TestDamagedBookReplacesNoBackup(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	dst := filepath.Join(t.TempDir(), "copy.book")
	must(b.Backup(t.Context(), dst, false))(t)
	good := bytesOf(t, dst)
	spoilt := filepath.Join(t.TempDir(), "spoilt.book")
	data := bytes.ReplaceAll(bytesOf(t, b.Path()), []byte("pond_level_m"), []byte("pond_level_n"))
	if err := os.WriteFile(spoilt, data, 0o600); err != nil {
		t.Fatal(err)
	}
	s := must(logbook.Open(spoilt, options(t, b.clock, "alder")))(t)
	if _, err := s.Backup(t.Context(), dst, true); !errors.Is(err, logbook.ErrDamaged) {
		t.Errorf("%v", err)
	}
	unchanged(t, "a damaged book", good, dst)
	if _, err := logbook.Restore(t.Context(), spoilt, b.Path(), options(t, b.clock, "alder")); !errors.Is(err, logbook.ErrDamaged) || !strings.Contains(err.Error(), spoilt) {
		t.Errorf("restoring it: %v", err)
	}
	// The damaged book is replaced by the backup, and kept.
	r := must(logbook.Restore(t.Context(), dst, spoilt, options(t, b.clock, "alder")))(t)
	if !strings.HasSuffix(r.Kept, "spoilt.book.replaced-20260203-120000") || !bytes.Equal(bytesOf(t, r.Kept), data) {
		t.Errorf("kept as %s", r.Kept)
	}
	checkSound(t, s)
}

func TestReplaceKeepsWhatItReplaces(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	backup := filepath.Join(t.TempDir(), "backup.book")
	must(b.Backup(t.Context(), backup, false))(t)
	addRounds(t, b, level(noon.Add(time.Second), 2))
	o := options(t, b.clock, "alder")
	later := bytesOf(t, b.Path())
	first := must(logbook.Replace(t.Context(), backup, b.Path(), o))(t)
	if !bytes.Equal(bytesOf(t, first.Kept), later) || first.Report.Entries != 1 {
		t.Errorf("restored = %+v", first)
	}
	if h := history(t, b, logbook.HistoryOptions{At: noon.Add(time.Hour)}); levels(h.Rounds) != "1" {
		t.Errorf("the book holds %q", levels(h.Rounds))
	}
	second := must(logbook.Replace(t.Context(), backup, b.Path(), o))(t)
	if second.Kept != first.Kept+"-2" {
		t.Errorf("in the same second it is kept as %s", second.Kept)
	}
	// What was written after the backup comes back by merging.
	if added, _, err := b.Merge(t.Context(), first.Kept); added != 1 || err != nil {
		t.Errorf("added %d, %v", added, err)
	}
	fresh := filepath.Join(t.TempDir(), "a", "b", "new.book")
	if r := must(logbook.Replace(t.Context(), backup, fresh, o))(t); r.Kept != "" {
		t.Errorf("nothing was there, but %s was kept", r.Kept)
	}
	if _, err := logbook.Replace(t.Context(), fresh, fresh, o); !errors.Is(err, logbook.ErrExists) {
		t.Errorf("onto itself: %v", err)
	}
	noLeftovers(t, filepath.Dir(b.Path()), 3)
}

func TestWriterThatWaitsWhileABookIsRestoredWritesInTheRestoredOne(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	backup := filepath.Join(t.TempDir(), "backup.book")
	must(b.Backup(t.Context(), backup, false))(t)
	stop := make(chan struct{})
	kept := map[string]bool{}
	var done sync.WaitGroup
	done.Go(func() {
		for {
			select {
			case <-stop:
				return
			default:
			}
			saved, err := b.AddRound(context.Background(), record.Round{Time: noon}, "")
			if err != nil {
				t.Error(err)
				return
			}
			kept[saved.Entry.ID] = true
		}
	})
	var replaced []string
	for range 10 {
		r := must(logbook.Replace(t.Context(), backup, b.Path(), options(t, b.clock, "alder")))(t)
		replaced = append(replaced, r.Kept)
	}
	close(stop)
	done.Wait()
	// Every acknowledged round is in a file that was kept, or in the book.
	for _, path := range replaced {
		if _, _, err := b.Merge(t.Context(), path); err != nil {
			t.Fatal(err)
		}
	}
	lost(t, b.Book, kept)
}

func TestCreateLeavesWhatIsThere(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "deep", "er", "plant.book")
	o := options(t, &testClock{noon}, "alder")
	b := must(logbook.Create(t.Context(), path, o))(t)
	if b.Path() != path {
		t.Errorf("path %s", b.Path())
	}
	if info := must(os.Stat(path))(t); info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v", info.Mode())
	}
	before := bytesOf(t, path)
	if _, err := logbook.Create(t.Context(), path, o); !errors.Is(err, logbook.ErrExists) {
		t.Errorf("again: %v", err)
	}
	unchanged(t, "making it again", before, path)
	noLeftovers(t, filepath.Dir(path), 1)
	cancelled, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := logbook.Create(cancelled, filepath.Join(dir, "x"), o); !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
	if _, err := logbook.Open(filepath.Join(dir, "none"), o); !errors.Is(err, logbook.ErrNoBook) {
		t.Errorf("missing: %v", err)
	}
	if _, err := logbook.Open(dir, o); err == nil {
		t.Error("a folder opens as a book")
	}
	noLeftovers(t, dir, 1)
}
