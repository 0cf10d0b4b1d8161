package logbook

import (
	"encoding/binary"
	"fmt"
	"time"

	bolt "go.etcd.io/bbolt"
)

// The buckets of the file (FORMAT.md).
const (
	bucketBook    = "headpond" // the file's mark and format number
	bucketEntries = "entries"  // id → value
	bucketTwins   = "twins"    // id, hash → value: other versions of an entry of the same id
	bucketHeads   = "heads"    // writer, hash → the last entries of each chain
	bucketIndex   = "index"    // derived: kind, effective time, id → what is looked for
	bucketAmends  = "amends"   // derived: target id, amendment id
	bucketDrafts  = "drafts"   // form → what was typed
)

// Keys of the book's own bucket, and the numbers they hold.
const (
	keyFormat  = "format"
	keyIndex   = "index"
	keyWritten = "written"

	formatVersion = 1
	indexVersion  = 1
)

// txn is the book within one transaction. It never leaves the package, and what is read from it is copied.
type txn struct {
	tx    *bolt.Tx
	loc   *time.Location
	book  *bolt.Bucket
	heads *bolt.Bucket
	// entries is nil in no sound book; twins, index, amends and drafts may be nil while reading an older one
	entries *bolt.Bucket
	twins   *bolt.Bucket
	index   *bolt.Bucket
	amends  *bolt.Bucket
	drafts  *bolt.Bucket
	// linked stands for the derived buckets where they are stale: the corrections of each entry, in order
	linked map[id][]id
}

// newBuckets lays out an empty book.
func newBuckets(tx *bolt.Tx) (*txn, error) {
	for _, name := range []string{bucketBook, bucketEntries, bucketTwins, bucketHeads, bucketIndex, bucketAmends, bucketDrafts} {
		if _, err := tx.CreateBucketIfNotExists([]byte(name)); err != nil {
			return nil, fmt.Errorf("making bucket %s: %w", name, err)
		}
	}
	t := bucketsOf(tx)
	if err := t.book.Put([]byte(keyFormat), []byte{formatVersion}); err != nil {
		return nil, err
	}
	return t, t.markIndex()
}

func bucketsOf(tx *bolt.Tx) *txn {
	get := func(name string) *bolt.Bucket {
		b := tx.Bucket([]byte(name))
		if b != nil {
			b.FillPercent = fillPercent
		}
		return b
	}
	return &txn{tx: tx, book: get(bucketBook), entries: get(bucketEntries), twins: get(bucketTwins), heads: get(bucketHeads),
		index: get(bucketIndex), amends: get(bucketAmends), drafts: get(bucketDrafts)}
}

// begin finds the buckets and refuses a file that is no book, or that was laid out by a newer version.
func (b *Book) begin(tx *bolt.Tx) (*txn, error) {
	t := bucketsOf(tx)
	t.loc = b.o.Location
	if t.book == nil {
		return nil, &Error{Kind: ErrNotABook, Where: "the mark of a logbook is missing", Hint: hintUnchanged}
	}
	format := t.book.Get([]byte(keyFormat))
	switch {
	case len(format) != 1:
		return nil, damaged("the format number", nil)
	case format[0] > formatVersion:
		return nil, &Error{Kind: ErrNewer, Where: fmt.Sprintf("format %d, this version knows up to %d", format[0], formatVersion), Hint: hintNewer}
	case t.entries == nil || t.heads == nil:
		return nil, damaged("the entries are missing", nil)
	}
	if !t.indexed() {
		t.linked = t.link()
	}
	return t, nil
}

// ready makes what an older version did not have, before anything is written.
func (t *txn) ready() error {
	if t.twins == nil || t.index == nil || t.amends == nil || t.drafts == nil {
		loc := t.loc
		full, err := newBuckets(t.tx)
		if err != nil {
			return err
		}
		*t = *full
		t.loc, t.linked = loc, map[id][]id{}
		if err := t.book.Delete([]byte(keyIndex)); err != nil {
			return err
		}
	}
	if t.indexed() {
		return nil
	}
	return t.rebuild()
}

// indexed reports whether the index stands for all entries that the book holds.
func (t *txn) indexed() bool {
	mark := t.book.Get([]byte(keyIndex))
	return t.index != nil && t.amends != nil && len(mark) == 9 && mark[0] == indexVersion &&
		binary.BigEndian.Uint64(mark[1:]) == t.entries.Sequence()
}

// markIndex notes that the index is up to date.
func (t *txn) markIndex() error {
	return t.book.Put([]byte(keyIndex), binary.BigEndian.AppendUint64([]byte{indexVersion}, t.entries.Sequence()))
}

// get returns an entry's value, which is only valid within the transaction, or nil.
func (t *txn) get(key id) []byte { return t.entries.Get(key[:]) }

// lastOf returns the greatest id of a millisecond in the book.
func (t *txn) lastOf(ms uint64) (id, bool) {
	var next id
	if next.SetTime(ms+1) != nil {
		return id{}, false
	}
	c := t.entries.Cursor()
	k, _ := c.Seek(next[:])
	if k == nil {
		k, _ = c.Last()
	} else {
		k, _ = c.Prev()
	}
	if len(k) != idLen {
		return id{}, false
	}
	last := id(k)
	return last, last.Time() == ms
}
