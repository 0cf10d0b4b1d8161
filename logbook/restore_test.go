package logbook_test

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"example.org/headpond/logbook"
)

// What was written since the backup stays, and a backup that the book holds whole changes nothing at all.
func TestRestoreOverASoundBookTakesNothingAway(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	backup := filepath.Join(t.TempDir(), "backup.book")
	must(b.Backup(t.Context(), backup, false))(t)
	addRounds(t, b, level(noon.Add(time.Second), 2), level(noon.Add(2*time.Second), 3))
	if err := b.SaveDraft(t.Context(), "round", []byte("half")); err != nil {
		t.Fatal(err)
	}
	o := options(t, b.clock, "alder")
	before := bytesOf(t, b.Path())
	r := must(logbook.Restore(t.Context(), backup, b.Path(), o))(t)
	if !r.Whole || r.Saved != 2 || r.Added != 0 || r.Kept != "" || r.Report.Entries != 3 {
		t.Errorf("%+v", r)
	}
	unchanged(t, "a backup that holds nothing more", before, b.Path())
	noLeftovers(t, filepath.Dir(b.Path()), 1)

	// The copy alone, and then back.
	replaced := must(logbook.Replace(t.Context(), backup, b.Path(), o))(t)
	if !replaced.Whole || replaced.Left != 2 || replaced.Saved != 0 || !bytes.Equal(bytesOf(t, replaced.Kept), before) || replaced.Report.Entries != 1 {
		t.Errorf("%+v", replaced)
	}
	addRounds(t, b, level(noon.Add(3*time.Second), 4))
	alone := bytesOf(t, b.Path())
	r = must(logbook.Restore(t.Context(), replaced.Kept, b.Path(), o))(t)
	if !r.Whole || r.Saved != 1 || r.Added != 2 || r.Report.Entries != 4 || !bytes.Equal(bytesOf(t, r.Kept), alone) {
		t.Errorf("%+v", r)
	}
	if h := history(t, b, logbook.HistoryOptions{At: noon.Add(time.Hour)}); levels(h.Rounds) != "1 2 3 4" {
		t.Errorf("the book holds %q", levels(h.Rounds))
	}
	checkSound(t, b.Book)
}

// The draft on the desk is not exchanged for the one of the day of the backup, whose round was saved since.
func TestRestoreOverASoundBookLeavesItsDraft(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	if err := b.SaveDraft(t.Context(), "round", []byte("old")); err != nil {
		t.Fatal(err)
	}
	backup := filepath.Join(t.TempDir(), "backup.book")
	must(b.Backup(t.Context(), backup, false))(t)
	if err := b.SaveDraft(t.Context(), "round", []byte("new")); err != nil {
		t.Fatal(err)
	}
	must(logbook.Restore(t.Context(), backup, b.Path(), options(t, b.clock, "alder")))(t)
	if d, ok, err := b.Draft(t.Context(), "round"); !ok || err != nil || string(d.Data) != "new" {
		t.Errorf("%v %v %q", ok, err, d.Data)
	}
}

// A folder in which nothing may be written is told as such, whatever was to be put there; where the book itself lies is no matter.
func TestCopyIntoAFolderThatMayNotBeWritten(t *testing.T) {
	for _, cause := range []error{syscall.EROFS, syscall.EACCES, fs.ErrPermission} {
		err := logbook.ExplainCopy("making a backup", "/stick/copy.book", &fs.PathError{Op: "open", Path: "/stick/copy.book.1.part", Err: cause})
		if !errors.Is(err, logbook.ErrReadOnly) || !errors.Is(err, logbook.ErrReadOnlyCopy) || !errors.Is(err, cause) ||
			!strings.HasSuffix(err.Error(), "; nothing was changed; name a file in a folder that you may write to") ||
			!strings.HasPrefix(err.Error(), "making a backup: /stick/copy.book: this file or its folder cannot be written: open: ") {
			t.Errorf("%v: %v", cause, err)
		}
	}
	if os.Geteuid() == 0 {
		t.Log("a folder is not tried as root, who may write all the same")
		return
	}
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	dir := filepath.Join(t.TempDir(), "locked")
	if err := os.Mkdir(dir, 0o500); err != nil {
		t.Fatal(err)
	}
	for doing, err := range map[string]error{
		"backing":   second(b.Backup(t.Context(), filepath.Join(dir, "copy.book"), false)),
		"rescuing":  second(logbook.Rescue(t.Context(), b.Path(), filepath.Join(dir, "new.book"), options(t, b.clock, "alder"))),
		"restoring": second(logbook.Restore(t.Context(), b.Path(), filepath.Join(dir, "new.book"), options(t, b.clock, "alder"))),
	} {
		if !errors.Is(err, logbook.ErrReadOnlyCopy) {
			t.Errorf("%s: %v", doing, err)
		}
	}
}

// A check that a spoilt page stops says so, since a rescue finds more; one that could read on does not. What is damaged is named by
// its kind and time too.
func TestCheckSaysWhetherItCouldReadOn(t *testing.T) {
	data := usedBook(t)
	path := filepath.Join(t.TempDir(), "spoilt.book")
	report := func(data []byte) *logbook.CheckReport {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return must(must(logbook.Open(path, options(t, &testClock{noon}, "alder")))(t).Check(t.Context(), nil))(t)
	}
	whole := report(data)
	places := placesOf(t, path)
	if whole.Unread || !whole.Sound() {
		t.Errorf("a sound book: %+v", whole)
	}
	flipped := bytes.Clone(data)
	victim := places[len(places)/2]
	flipped[victim.end-1] ^= 1
	r := report(flipped)
	if r.Unread || r.Entries != whole.Entries || len(r.Damaged) == 0 {
		t.Errorf("one flipped bit: %+v", r)
	}
	if d := r.Damaged[0]; d.ID != victim.id || d.Kind != "round" || d.Time == nil || d.Time.Before(noon.AddDate(0, 0, -10)) || d.Time.After(noon) {
		t.Errorf("%+v is not named by its kind and time", d)
	}
	page := bytes.Clone(data)
	clear(page[4096*rootOf(t, path, "entries"):][:4096])
	r = report(page)
	saved := must(logbook.Rescue(t.Context(), path, path+".new", options(t, &testClock{noon}, "alder")))(t)
	if !r.Unread || r.Sound() || r.Entries >= saved.Saved {
		t.Errorf("a cleared page: %+v, and a rescue finds %d", r, saved.Saved)
	}
}

// rootOf is the page at which the tree of a bucket begins, as the store itself says.
func rootOf(t testing.TB, path, bucket string) int {
	t.Helper()
	db := must(bolt.Open(path, 0o600, &bolt.Options{ReadOnly: true}))(t)
	defer db.Close()
	root := 0
	if err := db.View(func(tx *bolt.Tx) error {
		root = int(tx.Bucket([]byte(bucket)).Root())
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	return root
}

// One is one, and several are several.
func TestCautionsCountWhatWasLeftOut(t *testing.T) {
	b := newBook(t)
	for i := range 30 { // as many as fill a page of their own
		addRounds(t, b, level(noon.Add(time.Duration(i-40)*time.Hour), float64(i)))
	}
	places := placesOf(t, b.Path())
	data, path := bytesOf(t, b.Path()), filepath.Join(t.TempDir(), "spoilt.book")
	for n, want := range []string{"a damaged entry was left out, " + places[0].id + ": run headpond check", "2 damaged entries were left out, the first is "} {
		data[places[n].end-1] ^= 1
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		h := must(must(logbook.Open(path, options(t, b.clock, "alder")))(t).History(t.Context(), logbook.HistoryOptions{}))(t)
		if len(h.Cautions) != 1 || !strings.HasPrefix(h.Cautions[0], want) {
			t.Errorf("%q, want %q", h.Cautions, want)
		}
	}
}
