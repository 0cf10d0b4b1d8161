package logbook

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"slices"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
)

// Counted hours are what the plant's tasks by hours had run up to some instants, so that a task that was not done for years is
// not counted from all rounds since. They are derived, as the roll-ups are, but stand for themselves: a row rests on nothing but
// the rounds and events before its instant. Rows stand up to a frontier. An entry that comes, is corrected or is merged at an
// older time moves the frontier back to the last row that it leaves right; a program that knows no counted hours and wrote since
// makes all of them stale.
const (
	bucketHours = "hours"
	keyHours    = "hours"

	hoursVersion = 2 // not 1: that is a draft's, whose checksum is made by the same rule
	hoursKeyLen  = 8
	hoursMarkLen = 1 + 1 + 8 + 8 + crcLen

	hoursStep = 250 // a row for so many rounds or events; twice as many must have been read that it is worth keeping rows
)

// hoursMark tells how far the counted hours may be trusted. Rows after the frontier count for nothing.
type hoursMark struct {
	entries  uint64 // the count of entries that it stands for
	frontier int64  // instant of the last row that counts, ms
}

func (m hoursMark) bytes() []byte {
	v := append(make([]byte, 0, hoursMarkLen), hoursVersion, upkeep.CountVersion)
	v = binary.BigEndian.AppendUint64(v, m.entries)
	v = binary.BigEndian.AppendUint64(v, uint64(m.frontier))
	return binary.BigEndian.AppendUint32(v, dailySum([]byte(keyHours), v))
}

// hoursMark reads the mark; false where there is none, or it does not stand for all entries of the book.
func (t *txn) hoursMark() (hoursMark, bool) {
	v := t.book.Get([]byte(keyHours))
	if len(v) != hoursMarkLen || t.hours.missing() {
		return hoursMark{}, false
	}
	m := hoursMark{entries: binary.BigEndian.Uint64(v[2:]), frontier: int64(binary.BigEndian.Uint64(v[10:]))}
	return m, bytes.Equal(v, m.bytes()) && m.entries == t.entries.Sequence()
}

// noteHours looks at the mark at the beginning of a writing.
func (t *txn) noteHours() {
	if m, ok := t.hoursMark(); ok {
		t.counted = &m
	}
}

// outdateHours moves the frontier back before the time of a row which comes or goes. The usual entry is later, and costs one
// comparison.
func (t *txn) outdateHours(r row) {
	if t.counted == nil || r.ms() >= t.counted.frontier {
		return
	}
	if k := Kind(r.key[0]); k != KindRound && k != KindEvent {
		return // upkeep done and a plant revision say what is counted, not how far it has come
	}
	k, _ := lastBefore(t.hours.Cursor(), dailyKey(r.ms()+1))
	if len(k) != hoursKeyLen {
		t.counted = nil // none is left: the mark stays behind the count of entries
		return
	}
	t.counted.frontier = dailyTime(k)
}

// markHours writes the mark for the entries that the book now holds.
func (t *txn) markHours() error {
	if t.counted == nil {
		return nil
	}
	t.counted.entries = t.entries.Sequence()
	return t.book.Put([]byte(keyHours), t.counted.bytes())
}

// hoursQuery is the reading of what running hours need from before a history's own rounds.
type hoursQuery struct {
	reader
	countings []record.Counting
	asked     HistoryOptions
	every     int   // a row for so many rounds or events
	end       int64 // exclusive end of the entries that count, ms

	from     int64           // what is older was not read
	kept     *record.Counted // instead of what is older; nil: nothing of it counts
	sequence uint64
	seen     map[Kind]int
	cuts     []time.Time // instants, one for some hundred entries that were read
	keep     bool        // rows are to be kept at these instants
}

// reach is how far back anything is needed, ms.
func (q *hoursQuery) reach() int64 {
	from := int64(maxMS)
	for _, g := range q.countings {
		from = min(from, g.Look.UnixMilli())
	}
	return from
}

// fill reads what is needed from before the history's own rounds, from where rows that may be trusted leave off.
func (q *hoursQuery) fill(own int64, h *record.History) {
	q.from, q.sequence, q.seen = q.reach(), q.t.entries.Sequence(), map[Kind]int{}
	if q.from >= own {
		return
	}
	if m, ok := q.t.hoursMark(); ok && q.t.linked == nil {
		q.findRow(min(own, m.frontier))
	}
	if q.kept == nil && !q.asked.Upkeep {
		return
	}
	h.Earlier = q.earlier(own, h)
	q.keep = q.t.linked == nil && q.worth()
}

// worth reports whether so much was read that it should not be read again, and all of it could be.
func (q *hoursQuery) worth() bool {
	return q.walked() >= 2*q.every && q.current() && len(q.bad) == 0 && len(q.t.g.faults) == 0
}

// walked is how many rounds and events were walked over.
func (q *hoursQuery) walked() int { return q.seen[KindRound] + q.seen[KindEvent] }

// current reports whether the question is about the book as it stands, and not about an earlier time, at which other hours
// may be asked for.
func (q *hoursQuery) current() bool {
	if q.asked.At.IsZero() {
		return true
	}
	last := true
	for _, k := range []Kind{KindRound, KindEvent, KindDone} {
		ascend(q.rows, k, q.end, maxMS, func(row) bool {
			last = false
			return false
		})
	}
	return last
}

// findRow takes the last row, at or before a time, that brings all that is needed. A spoilt one is passed over.
func (q *hoursQuery) findRow(limit int64) {
	c := q.t.hours.Cursor()
	for k, v := lastBefore(c, dailyKey(limit+1)); len(k) == hoursKeyLen && dailyTime(k) > q.from; k, v = c.Prev() {
		if n, ok := countedOf(k, v, q.t.loc); ok && upkeep.Brings(n, q.countings) {
			q.kept, q.from = n, dailyTime(k)
			return
		}
	}
}

// pass notes an instant for each so many rounds, and likewise events, that are walked over.
func (q *hoursQuery) pass(w row) {
	k := Kind(w.key[0])
	q.seen[k]++
	if q.seen[k]%q.every == 0 {
		q.cuts = append(q.cuts, time.UnixMilli(w.ms()).In(q.t.loc))
	}
}

// keepHours writes rows behind the one that was used, where no entry came meanwhile and nobody else holds the book. What cannot
// be kept is counted again the next time.
func (b *Book) keepHours(ctx context.Context, q *hoursQuery, h *record.History) {
	slices.SortFunc(q.cuts, time.Time.Compare)
	rows := upkeep.CountUp(h, slices.CompactFunc(q.cuts, time.Time.Equal))
	if len(rows) == 0 {
		return
	}
	ctx, cancel := context.WithTimeout(ctx, rollUpWait)
	defer cancel()
	_ = b.update(ctx, "keeping running hours", func(t *txn) error {
		if t.entries.Sequence() != q.sequence {
			return errNothing
		}
		if t.hours.missing() {
			if _, err := t.tx.CreateBucketIfNotExists([]byte(bucketHours)); err != nil {
				return err
			}
			t.locate()
		}
		if err := t.dropHours(q); err != nil {
			return err
		}
		for _, n := range rows {
			key := dailyKey(n.Until.UnixMilli())
			v, err := hoursValue(key, n)
			if err != nil {
				return err
			}
			if err := t.hours.Put(key, v); err != nil {
				return err
			}
		}
		t.counted = &hoursMark{frontier: rows[len(rows)-1].Until.UnixMilli()}
		return t.markHours()
	})
}

// dropHours takes away the rows behind the one that was used, or all where none could be.
func (t *txn) dropHours(q *hoursQuery) error {
	var old [][]byte
	c := t.hours.Cursor()
	k, _ := c.First()
	if q.kept != nil {
		k, _ = c.Seek(dailyKey(q.from + 1))
	}
	for ; k != nil; k, _ = c.Next() {
		old = append(old, bytes.Clone(k))
	}
	for _, k := range old {
		if err := t.hours.Delete(k); err != nil {
			return err
		}
	}
	return nil
}

// hoursRow is a row's content. The numbers are never reused.
type hoursRow struct {
	Running map[string]int8 `cbor:"1,keyasint"` // 0 unknown, 1 off, 2 on
	Counts  []hoursCount    `cbor:"2,keyasint"`
}

type hoursCount struct {
	Meter       string   `cbor:"1,keyasint"`
	Units       []string `cbor:"2,keyasint"`
	From        int64    `cbor:"3,keyasint"`
	Look        int64    `cbor:"4,keyasint"`
	Readings    int      `cbor:"5,keyasint,omitempty"`
	Last        int64    `cbor:"6,keyasint,omitempty"`
	LastHours   float64  `cbor:"7,keyasint,omitempty"`
	Hours       float64  `cbor:"8,keyasint,omitempty"`
	Known       bool     `cbor:"9,keyasint,omitempty"`
	Jumped      bool     `cbor:"10,keyasint,omitempty"`
	Open        float64  `cbor:"11,keyasint,omitempty"`
	OpenKnown   bool     `cbor:"12,keyasint,omitempty"`
	Before      float64  `cbor:"13,keyasint,omitempty"`
	BeforeKnown bool     `cbor:"14,keyasint,omitempty"`
}

// hoursValue makes a row's value: version, content, CRC32C over the key and both.
func hoursValue(key []byte, n record.Counted) ([]byte, error) {
	r := hoursRow{Running: map[string]int8{}}
	for unit, state := range n.Running {
		r.Running[unit] = int8(state)
	}
	for _, c := range n.Counts {
		x := hoursCount{Meter: string(c.Meter), Units: c.Units, From: c.From.UnixMilli(), Look: c.Look.UnixMilli(), Readings: c.Readings, LastHours: c.LastHours,
			Hours: c.Hours, Known: c.Known, Jumped: c.Jumped, Open: c.Open, OpenKnown: c.OpenKnown, Before: c.Before, BeforeKnown: c.BeforeKnown}
		if c.Readings > 0 {
			x.Last = c.Last.UnixMilli()
		}
		r.Counts = append(r.Counts, x)
	}
	content, err := encoder.Marshal(r)
	if err != nil {
		return nil, fmt.Errorf("encoding running hours: %w", err)
	}
	v := append([]byte{hoursVersion}, content...)
	return binary.BigEndian.AppendUint32(v, dailySum(key, v)), nil
}

// countedOf verifies and reads a row.
func countedOf(k, v []byte, loc *time.Location) (n *record.Counted, ok bool) {
	cut := len(v) - crcLen
	if cut < 1 || v[0] != hoursVersion || binary.BigEndian.Uint32(v[cut:]) != dailySum(k, v[:cut]) {
		return nil, false
	}
	var r hoursRow
	if lenient.Unmarshal(v[1:cut], &r) != nil {
		return nil, false
	}
	at := func(ms int64) time.Time { return time.UnixMilli(ms).In(loc) }
	n = &record.Counted{Until: at(dailyTime(k)), Running: make(map[string]record.Running, len(r.Running))}
	for unit, state := range r.Running {
		n.Running[unit] = record.Running(state)
	}
	for _, x := range r.Counts {
		c := record.Count{Counting: record.Counting{Meter: quantity.Key(x.Meter), Units: x.Units, From: at(x.From), Look: at(x.Look)}, Readings: x.Readings, LastHours: x.LastHours,
			Hours: x.Hours, Known: x.Known, Jumped: x.Jumped, Open: x.Open, OpenKnown: x.OpenKnown, Before: x.Before, BeforeKnown: x.BeforeKnown}
		if x.Readings > 0 {
			c.Last = at(x.Last)
		}
		n.Counts = append(n.Counts, c)
	}
	return n, true
}
