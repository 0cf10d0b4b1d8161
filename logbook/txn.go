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
	keyRan     = "ran"
	keyCopies  = "copies"

	formatVersion = 1
	indexVersion  = 1
)

// txn is the book within one transaction. It never leaves the package, and what is read from it is copied. Its buckets are
// never nil, but may be missing in the file of an older version.
type txn struct {
	g       *pager
	tx      *bolt.Tx // nil in a read transaction
	loc     *time.Location
	book    *bucket
	entries *bucket
	twins   *bucket
	heads   *bucket
	index   *bucket
	amends  *bucket
	drafts  *bucket
	daily   *bucket
	hours   *bucket
	mark    *dailyMark // in a write transaction: how far the roll-ups may be trusted; nil: not at all
	counted *hoursMark // likewise the counted hours
	// linked stands for the derived buckets where they are stale or spoilt: the corrections of each entry, in order
	linked map[id][]id
	// corrections is the walk over amends that is used again for each entry of a long read
	corrections walker
}

// allBuckets are the buckets of a complete book.
func allBuckets() []string {
	return []string{bucketBook, bucketEntries, bucketTwins, bucketHeads, bucketIndex, bucketAmends, bucketDrafts}
}

// newBuckets makes the buckets that are not there yet and writes the mark of a book.
func newBuckets(tx *bolt.Tx) error {
	for _, name := range allBuckets() {
		if _, err := tx.CreateBucketIfNotExists([]byte(name)); err != nil {
			return fmt.Errorf("making bucket %s: %w", name, err)
		}
	}
	return tx.Bucket([]byte(bucketBook)).Put([]byte(keyFormat), []byte{formatVersion})
}

// begin finds the buckets and refuses a file that is no book, or that was laid out by a newer version. tx is nil for reading.
func (b *Book) begin(g *pager, tx *bolt.Tx) (*txn, error) {
	t := &txn{g: g, tx: tx, loc: b.o.Location}
	if tx != nil && !g.rootTree().verifyAll() {
		return nil, g.damage()
	}
	t.locate()
	if tx != nil && len(g.faults) > 0 { // a spoilt inline bucket: the store must not so much as look at it
		return nil, g.damage()
	}
	if t.book.missing() {
		if err := g.damage(); err != nil {
			return nil, err
		}
		return nil, &Error{Kind: ErrNotABook, Where: "the mark of a logbook is missing", Hint: hintUnchanged}
	}
	format := t.book.Get([]byte(keyFormat))
	switch {
	case len(format) != 1:
		return nil, damaged("the format number", nil)
	case format[0] > formatVersion:
		return nil, &Error{Kind: ErrNewer, Where: fmt.Sprintf("format %d, this version knows up to %d", format[0], formatVersion), Hint: hintNewer}
	case t.entries.missing() || t.heads.missing():
		return nil, damaged("the entries are missing", nil)
	}
	if t.outdated() {
		g.fault("an older page stands in the place of the entries' first one: entries are missing")
		if tx != nil {
			return nil, g.damage()
		}
	}
	if tx == nil && !t.indexed() {
		t.linked = t.link()
	}
	return t, nil
}

// locate opens the buckets as they are now.
func (t *txn) locate() {
	get := func(name string) *bucket {
		b := &bucket{tree: t.g.bucket(name)}
		if t.tx != nil && !b.tree.spoilt {
			if b.w = t.tx.Bucket([]byte(name)); b.w != nil {
				b.w.FillPercent = fillPercent
			}
		}
		return b
	}
	t.book, t.entries, t.twins, t.heads = get(bucketBook), get(bucketEntries), get(bucketTwins), get(bucketHeads)
	t.index, t.amends, t.drafts = get(bucketIndex), get(bucketAmends), get(bucketDrafts)
	t.daily, t.hours = get(bucketDaily), get(bucketHours)
}

// ready makes what an older version did not have, or what is stale, before anything is written.
func (t *txn) ready() error {
	t.noteDaily()
	t.noteHours()
	for _, b := range []*bucket{t.twins, t.index, t.amends, t.drafts} {
		if b.missing() {
			if err := newBuckets(t.tx); err != nil {
				return err
			}
			t.locate()
			return t.rebuild()
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
	return !t.index.missing() && !t.amends.missing() && len(mark) == 9 && mark[0] == indexVersion &&
		binary.BigEndian.Uint64(mark[1:]) == t.entries.Sequence()
}

// markIndex notes that the index is up to date.
func (t *txn) markIndex() error {
	if err := t.book.Put([]byte(keyIndex), indexMark(t.entries.Sequence())); err != nil {
		return err
	}
	if err := t.keepDaily(); err != nil {
		return err
	}
	return t.markHours()
}

func indexMark(entries uint64) []byte {
	return binary.BigEndian.AppendUint64([]byte{indexVersion}, entries)
}

// get returns an entry's value, which is only valid within the transaction, or nil.
func (t *txn) get(key id) []byte { return t.entries.Get(key[:]) }

// lastOf returns the greatest id of a millisecond in the book as it was when the transaction began.
func (t *txn) lastOf(ms uint64) (id, bool) {
	var next id
	if next.SetTime(ms+1) != nil {
		return id{}, false
	}
	c := t.entries.tree.cursor()
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
