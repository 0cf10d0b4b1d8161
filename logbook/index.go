package logbook

import (
	"bytes"
	"encoding/binary"
	"sort"
	"time"

	"example.org/headpond/model/record"
)

// The index finds entries by the time that holds after corrections, which may differ from the time in their id. It is derived:
// missing or stale, it is made again from the entries. Rounds at the time of their id have no row (see roundScan).
//
// A row's key is the kind, the time and the id; its value is what is looked for without reading the entry: for an event its
// kind, for upkeep done its task, for a round whether it says what ran.
const rowLen = 1 + 8 + idLen

const rowHasRunning = 1 // a round's row: it says which units ran

type row struct {
	key   [rowLen]byte
	value []byte
	// what has been read already, for a round in place
	b       *body
	changes []Amendment
}

func (r row) id() id { return id(r.key[9:]) }

// rowKey puts kind, time and id in order of bytes; times before 1970 would come first.
func rowKey(k Kind, ms int64, key id) [rowLen]byte {
	var r [rowLen]byte
	r[0] = byte(k)
	binary.BigEndian.PutUint64(r[1:], uint64(ms)^1<<63)
	copy(r[9:], key[:])
	return r
}

// rowOf computes the row of an entry of the book.
func (t *txn) rowOf(key id) (row, bool) {
	v := t.get(key)
	if v == nil {
		return row{}, false
	}
	b, err := open(key, v)
	if err != nil {
		return row{}, false
	}
	return rowFor(key, b, t.amendments(key))
}

// rowFor computes an entry's row from its values after corrections; an amendment and a kind of a newer version have none.
// The corrections are written into the body.
func rowFor(key id, b *body, changes []Amendment) (row, bool) {
	ms, value := b.Time.MS, []byte{}
	switch b.Kind {
	case KindRound:
		r := b.round(key, nil)
		applyRound(&r, changes)
		ms, value = r.Time.UnixMilli(), []byte{0}
		if r.Running != nil {
			value[0] |= rowHasRunning
		}
	case KindEvent:
		e := b.event(key, nil)
		applyEvent(&e, changes)
		ms, value = e.Time.UnixMilli(), []byte(e.Kind)
	case KindDone:
		d := b.done(key, nil)
		applyDone(&d, changes)
		ms, value = d.Time.UnixMilli(), []byte(d.Task)
	case KindPlant:
	case KindAmendment:
		return row{}, false
	default:
		return row{}, false
	}
	return row{key: rowKey(b.Kind, ms, key), value: value}, true
}

// effectiveMS is an entry's time after corrections.
func (b *body) effectiveMS(changes []Amendment) int64 {
	at := b.Time.MS
	for _, a := range changes {
		if text, ok := a.Changes[record.ColTime]; ok {
			var t time.Time
			if setTime(&t, text) == nil {
				at = t.UnixMilli()
			}
		}
	}
	return at
}

// unindex takes away the rows of entries that are about to be corrected.
func (t *txn) unindex(keys map[id]bool) error {
	for key := range keys {
		r, ok := t.rowOf(key)
		if ok {
			t.outdate(r)
			t.outdateHours(r)
		}
		if !ok || r.inPlace() {
			continue
		}
		if err := t.index.Delete(r.key[:]); err != nil {
			return err
		}
	}
	return nil
}

// reindex writes the rows of entries that were corrected.
func (t *txn) reindex(keys map[id]bool) error {
	for key := range keys {
		if r, ok := t.rowOf(key); ok {
			if err := t.keepRow(r); err != nil {
				return err
			}
		}
	}
	return nil
}

// keepRow writes one row, unless the entry is found without it.
func (t *txn) keepRow(r row) error {
	t.outdate(r)
	t.outdateHours(r)
	if err := t.noteRan(r); err != nil || r.inPlace() {
		return err
	}
	return t.index.Put(r.key[:], r.value)
}

// amendments returns the corrections of an entry in order of their ids, which every copy of the book has alike. A spoilt one
// is passed over here and reported by Check.
func (t *txn) amendments(target id) []Amendment {
	var list []Amendment
	for _, key := range t.amendmentIDs(target) {
		if b, err := open(key, t.get(key)); err == nil && b.Kind == KindAmendment {
			list = append(list, b.amendment(key, t.loc))
		}
	}
	return list
}

// amendmentIDs returns the ids of an entry's corrections in order.
func (t *txn) amendmentIDs(target id) []id {
	if t.linked != nil {
		return t.linked[target]
	}
	var list []id
	c := t.corrections
	if c == nil || t.tx != nil { // a transaction that writes moves what a walk stands on
		c = t.amends.Cursor()
		t.corrections = c
	}
	for k, _ := c.Seek(target[:]); bytes.HasPrefix(k, target[:]); k, _ = c.Next() {
		if !t.g.sized(bucketAmends, k, 2*idLen) {
			continue
		}
		list = append(list, id(k[idLen:]))
	}
	return list
}

// rebuild makes both derived buckets again from the entries.
func (t *txn) rebuild() error {
	// The store frees all pages of a bucket that is deleted, so all of them must be fit to be read.
	if !t.entries.tree.verifyAll() || !t.index.tree.verifyAll() || !t.amends.tree.verifyAll() {
		return t.g.damage()
	}
	for _, b := range []struct {
		name string
		to   **bucket
	}{{bucketIndex, &t.index}, {bucketAmends, &t.amends}} {
		if err := t.tx.DeleteBucket([]byte(b.name)); err != nil {
			return err
		}
		w, err := t.tx.CreateBucket([]byte(b.name))
		if err != nil {
			return err
		}
		w.FillPercent = fillPercent
		*b.to = &bucket{tree: tree{g: t.g, none: true}, w: w}
	}
	if err := t.links(func(link []byte) error { return t.amends.Put(link, []byte{}) }); err != nil {
		return err
	}
	for _, r := range t.allRows() {
		if err := t.keepRow(r); err != nil {
			return err
		}
	}
	return t.markIndex()
}

// links hands out target and amendment id of every correction.
func (t *txn) links(fn func(link []byte) error) error {
	c := t.entries.Cursor()
	for k, v := c.First(); k != nil; k, v = c.Next() {
		if !t.g.sized(bucketEntries, k, idLen) {
			continue
		}
		b, err := open(id(k), v)
		if err != nil || b.Kind != KindAmendment {
			continue
		}
		if err := fn(append(append([]byte(nil), b.Target...), k...)); err != nil {
			return err
		}
	}
	return nil
}

// allRows computes every row, in order.
func (t *txn) allRows() []row {
	var rows []row
	c := t.entries.Cursor()
	for k, _ := c.First(); k != nil; k, _ = c.Next() {
		if !t.g.sized(bucketEntries, k, idLen) {
			continue
		}
		if r, ok := t.rowOf(id(k)); ok {
			rows = append(rows, r)
		}
	}
	sort.Slice(rows, func(i, j int) bool { return bytes.Compare(rows[i].key[:], rows[j].key[:]) < 0 })
	return rows
}

// scan is a walk over one kind's rows in the order of their time, from the index or, where that is stale and the book
// may not be written, from rows made for this transaction.
type scan interface {
	// between calls fn for the rows with low ≤ key < high until it returns false.
	between(low, high [rowLen]byte, fn func(row) bool)
	// descend calls fn for the rows with time < to, the latest first, until it returns false.
	descend(k Kind, to int64, fn func(row) bool)
}

// ascend calls fn for the rows with from ≤ time < to until it returns false.
func ascend(s scan, k Kind, from, to int64, fn func(row) bool) {
	s.between(rowKey(k, from, id{}), rowKey(k, to, id{}), fn)
}

// rows chooses how the index is walked.
func (t *txn) rows() scan {
	if t.linked == nil {
		return bucketScan{t}
	}
	return listScan(t.allRows())
}

// link finds the corrections of every entry without the derived buckets.
func (t *txn) link() map[id][]id {
	m := map[id][]id{}
	_ = t.links(func(link []byte) error { // cannot fail: the function that it is given does not
		target := id(link[:idLen])
		m[target] = append(m[target], id(link[idLen:]))
		return nil
	})
	return m
}

type bucketScan struct{ t *txn }

func (s bucketScan) between(low, high [rowLen]byte, fn func(row) bool) {
	if Kind(low[0]) == KindRound {
		roundScan(s).between(low, high, fn)
		return
	}
	c := s.t.index.Cursor()
	for key, v := c.Seek(low[:]); key != nil && bytes.Compare(key, high[:]) < 0; key, v = c.Next() {
		if s.t.g.sized(bucketIndex, key, rowLen) && !fn(row{key: [rowLen]byte(key), value: v}) {
			return
		}
	}
}

func (s bucketScan) descend(k Kind, to int64, fn func(row) bool) {
	if k == KindRound {
		roundScan(s).descend(k, to, fn)
		return
	}
	high := rowKey(k, to, id{})
	c := s.t.index.Cursor()
	step := c.Prev
	if key, _ := c.Seek(high[:]); key == nil {
		step = c.Last
	}
	for key, v := step(); len(key) > 0 && Kind(key[0]) == k; key, v = c.Prev() {
		if s.t.g.sized(bucketIndex, key, rowLen) && !fn(row{key: [rowLen]byte(key), value: v}) {
			return
		}
	}
}

type listScan []row

func (s listScan) find(key [rowLen]byte) int {
	return sort.Search(len(s), func(i int) bool { return bytes.Compare(s[i].key[:], key[:]) >= 0 })
}

func (s listScan) between(low, high [rowLen]byte, fn func(row) bool) {
	for i, end := s.find(low), s.find(high); i < end; i++ {
		if !fn(s[i]) {
			return
		}
	}
}

func (s listScan) descend(k Kind, to int64, fn func(row) bool) {
	for i := s.find(rowKey(k, to, id{})) - 1; i >= 0 && Kind(s[i].key[0]) == k; i-- {
		if !fn(s[i]) {
			return
		}
	}
}

// eventKind is the kind that an event's row tells.
func (r row) eventKind() record.EventKind { return record.EventKind(r.value) }

// ms is the effective time of a row.
func (r row) ms() int64 { return int64(binary.BigEndian.Uint64(r.key[1:]) ^ 1<<63) }
