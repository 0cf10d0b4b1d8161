package logbook_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"example.org/headpond/logbook"
)

// rescuedFrom opens what a rescue saved.
func rescuedFrom(t testing.TB, data []byte) (*logbook.Book, *logbook.RescueReport) {
	t.Helper()
	dir := t.TempDir()
	report, _ := rescueBytes(t, dir, data)
	return must(logbook.Open(filepath.Join(dir, "saved.book"), options(t, &testClock{noon}, "alder")))(t), report
}

func TestUnfinishedFormsAreSavedWhereTheTreeLeadsNowhere(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	for i, text := range []string{"v", "vo", "volts=24"} {
		b.clock.advance(time.Duration(i) * time.Second)
		if err := b.SaveDraft(t.Context(), "round", []byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	if err := b.SaveDraft(t.Context(), "event", bytes.Repeat([]byte("trip "), 600)); err != nil { // too long for its parent's page
		t.Fatal(err)
	}
	whole := bytesOf(t, b.Path())
	noHeads := bytes.Clone(whole)
	clear(noHeads[:8192])
	for name, data := range map[string][]byte{"whole": whole, "both heads zeroed": noHeads} {
		saved, report := rescuedFrom(t, data)
		if list := must(saved.Drafts(t.Context()))(t); report.Drafts != 2 || len(list) != 2 {
			t.Errorf("%s: %d drafts saved: %q", name, report.Drafts, list)
		}
		if d, ok, err := saved.Draft(t.Context(), "round"); !ok || err != nil || string(d.Data) != "volts=24" {
			t.Errorf("%s: the newest draft is wanted, got %q, %v", name, d.Data, err)
		}
		if d, ok, err := saved.Draft(t.Context(), "event"); !ok || err != nil || len(d.Data) != 3000 {
			t.Errorf("%s: the long draft has %d bytes, %v", name, len(d.Data), err)
		}
	}
}

// Rows of the derived list "daily" of an earlier version (its layout: a version byte 1, a time of 8 bytes, content,
// CRC32C over key and value) pass a draft's checksum, which is made by the same rule. They are no drafts.
func TestRowsOfDerivedListsAreNoDrafts(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	inBolt(t, b.Path(), false, func(tx *bolt.Tx) error {
		daily, err := tx.CreateBucketIfNotExists([]byte("daily"))
		for day := range 118 {
			key := binary.BigEndian.AppendUint64(nil, uint64(noon.AddDate(0, 0, -day).UnixMilli())^1<<63)
			value := binary.BigEndian.AppendUint64([]byte{1}, uint64(noon.UnixMilli()))
			value = append(value, make([]byte, 200)...)
			value = binary.BigEndian.AppendUint32(value, crc32.Checksum(append(bytes.Clone(key), value...), crc32.MakeTable(crc32.Castagnoli)))
			err = errors.Join(err, daily.Put(key, value))
		}
		return err
	})
	if err := b.SaveDraft(t.Context(), "round", []byte("volts=24")); err != nil {
		t.Fatal(err)
	}
	noHeads := bytesOf(t, b.Path())
	clear(noHeads[:8192])
	saved, report := rescuedFrom(t, noHeads)
	list := must(saved.Drafts(t.Context()))(t)
	if report.Drafts != 1 || len(list) != 1 || list[0].Form != "round" || string(list[0].Data) != "volts=24" {
		t.Errorf("%d drafts saved: %q", report.Drafts, list)
	}
	// A form is named after a task of the plant's file, whatever that is called: what is typed into it must be kept.
	for _, name := range []string{"upkeep: " + strings.Repeat("grease ", 60), "upkeep: a\tb", "checklist: \x1b[2J"} {
		if err := b.SaveDraft(t.Context(), name, []byte("by=Ro")); err != nil {
			t.Errorf("a form named %q: %v", name, err)
		}
	}
	for _, name := range []string{"", strings.Repeat("x", 5<<10)} {
		if err := b.SaveDraft(t.Context(), name, nil); !errors.Is(err, logbook.ErrInvalid) {
			t.Errorf("a form named %.20q: %v", name, err)
		}
	}
}

// What a writing that failed has left is saved, and told apart.
func TestEntryThatNothingLeadsToIsSavedAsUncertain(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1), level(noon.Add(time.Second), 2))
	other := newBookOf(t, "birch", b.clock)
	for i := range 20 { // so many that they have a page of their own
		addRounds(t, other, level(noon.Add(time.Duration(i)*time.Minute), 3))
	}
	p := placesOf(t, other.Path())[0]
	left := append(bytesOf(t, b.Path()), bytesOf(t, other.Path())[p.start:p.end]...)
	saved, report := rescuedFrom(t, left)
	if report.Saved != 3 || report.Uncertain != 1 || report.LostEntries != 0 || len(report.Damaged) != 0 {
		t.Errorf("%+v", report)
	}
	if r := must(saved.Check(t.Context(), nil))(t); !r.Sound() || r.Entries != 3 {
		t.Errorf("%+v", r)
	}
}

// An entry that a newer version wrapped otherwise is found by the tree, since its wrapping is all that may have changed; its
// checksum is made by the rule that holds for every version (FORMAT.md).
func TestEntryOfANewerVersionIsSaved(t *testing.T) {
	b := newBook(t)
	addRounds(t, b, level(noon, 1))
	p := placesOf(t, b.Path())[0]
	db := must(bolt.Open(b.Path(), 0o600, nil))(t)
	var newer []byte
	err := db.Update(func(tx *bolt.Tx) error {
		entries := tx.Bucket([]byte("entries"))
		k, v := entries.Cursor().First()
		key := bytes.Clone(k)
		newer = append([]byte{2}, v[1:len(v)-4]...)
		sum := crc32.Checksum(append(bytes.Clone(key), newer...), crc32.MakeTable(crc32.Castagnoli))
		newer = binary.BigEndian.AppendUint32(newer, sum)
		return entries.Put(key, newer)
	})
	if err = errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	o := options(t, b.clock, "alder")
	report := must(logbook.Rescue(t.Context(), b.Path(), filepath.Join(dir, "saved.book"), o))(t)
	saved := must(logbook.Open(filepath.Join(dir, "saved.book"), o))(t)
	if there := rescued(t, saved); !there[p.id+string(newer)] {
		t.Errorf("it was not saved: %+v", report)
	}
	// The older wrapping of the same entry lies in a free page, and is another version of it: the last one that was acknowledged.
	if report.Saved != 2 || report.Uncertain != 0 {
		t.Errorf("%+v", report)
	}
	if err := removeAndMakeAnew(t, b); err != nil {
		t.Fatal(err)
	}
}

// removeAndMakeAnew leaves a sound book for the check at the test's end.
func removeAndMakeAnew(t testing.TB, b *testBook) error {
	t.Helper()
	return errors.Join(os.Remove(b.Path()), second(logbook.Create(t.Context(), b.Path(), options(t, b.clock, "alder"))))
}
