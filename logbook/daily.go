package logbook

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"math"

	"example.org/headpond/model/record"
	"example.org/headpond/model/week"
)

// The roll-ups are one row for each whole local day, so that a year is not read round by round. They are derived: whatever is
// wrong with them loses no entry. They stand without a gap from the log's first day up to a frontier. An entry that comes, is
// corrected or is merged at a time that a day depends on moves the frontier back before that day; a new plant revision, another
// zone, another version of the computing, or a program that knows no roll-ups and wrote since, makes all of them stale.
const (
	bucketDaily = "daily"
	keyDaily    = "daily"

	dailyVersion  = 2 // 1 was not pressed together
	dailyKeyLen   = 8
	dailyBasisLen = 16
	dailyMarkLen  = 1 + 8 + 8 + 8 + dailyBasisLen
	dailyMinLen   = 1 + 8 + 4 + crcLen
)

// dailyMark tells how far the roll-ups may be trusted. Rows that begin at or after the frontier count for nothing.
type dailyMark struct {
	entries  uint64 // the count of entries that it stands for
	frontier int64  // end of the last row that counts, ms
	needs    int64  // latest time that any row which counts depends on, ms
	basis    [dailyBasisLen]byte
}

func (m dailyMark) bytes() []byte {
	v := append(make([]byte, 0, dailyMarkLen), dailyVersion)
	v = binary.BigEndian.AppendUint64(v, m.entries)
	v = binary.BigEndian.AppendUint64(v, uint64(m.frontier))
	v = binary.BigEndian.AppendUint64(v, uint64(m.needs))
	return append(v, m.basis[:]...)
}

// dailyMark reads the mark; false where there is none, or it does not stand for all entries of the book.
func (t *txn) dailyMark() (dailyMark, bool) {
	v := t.book.Get([]byte(keyDaily))
	if len(v) != dailyMarkLen || v[0] != dailyVersion || t.daily.missing() {
		return dailyMark{}, false
	}
	m := dailyMark{entries: binary.BigEndian.Uint64(v[1:]), frontier: int64(binary.BigEndian.Uint64(v[9:])), needs: int64(binary.BigEndian.Uint64(v[17:]))}
	copy(m.basis[:], v[25:])
	return m, m.entries == t.entries.Sequence()
}

// noteDaily looks at the mark at the beginning of a writing.
func (t *txn) noteDaily() {
	if m, ok := t.dailyMark(); ok {
		t.mark = &m
	}
}

// outdate moves the frontier back before every day that depends on the time of a row which comes or goes. The usual entry is
// later than all of them, and costs one comparison.
func (t *txn) outdate(r row) {
	if t.mark == nil || r.ms() > t.mark.needs {
		return
	}
	if k := Kind(r.key[0]); k != KindRound && k != KindEvent {
		return // upkeep done is not in them, and a plant revision changes their basis
	}
	c := t.daily.Cursor()
	for k, v := lastBefore(c, dailyKey(t.mark.frontier)); k != nil; k, v = c.Prev() {
		needs, ok := dailyNeeds(k, v)
		if !ok {
			break
		}
		if needs < r.ms() {
			t.mark.needs = needs
			return
		}
		t.mark.frontier = dailyTime(k)
	}
	t.mark = nil // none is left, or one is spoilt: the mark stays behind the count of entries
}

// lastBefore is the last row before a key; nil where there is none.
func lastBefore(c walker, key []byte) (k, v []byte) {
	if k, _ = c.Seek(key); k == nil {
		return c.Last()
	}
	return c.Prev()
}

// keepDaily writes the mark for the entries that the book now holds.
func (t *txn) keepDaily() error {
	if t.mark == nil {
		return nil
	}
	t.mark.entries = t.entries.Sequence()
	return t.book.Put([]byte(keyDaily), t.mark.bytes())
}

func dailyKey(ms int64) []byte { return binary.BigEndian.AppendUint64(nil, uint64(ms)^1<<63) }

func dailyTime(k []byte) int64 { return int64(binary.BigEndian.Uint64(k) ^ 1<<63) }

// dailyNeeds reads from a row the latest time that it depends on.
func dailyNeeds(k, v []byte) (ms int64, ok bool) {
	if len(k) != dailyKeyLen || len(v) < dailyMinLen || v[0] != dailyVersion {
		return 0, false
	}
	return int64(binary.BigEndian.Uint64(v[1:])), true
}

// seal makes a row's value: version, needs, length of the day, day, carry, CRC32C over the key and all of that.
func (z *packer) seal(key []byte, r week.Row) ([]byte, error) {
	day, err := encoder.Marshal(r.Day)
	if err != nil {
		return nil, fmt.Errorf("encoding a day's roll-up: %w", err)
	}
	carry, err := encoder.Marshal(r.Carry)
	if err != nil {
		return nil, fmt.Errorf("encoding a day's roll-up: %w", err)
	}
	v := append(make([]byte, 0, dailyMinLen+len(day)+len(carry)), dailyVersion)
	v = binary.BigEndian.AppendUint64(v, uint64(r.Needs))
	v = binary.BigEndian.AppendUint32(v, 0)
	begin := len(v)
	if v, err = z.pack(v, day); err != nil {
		return nil, fmt.Errorf("packing a day's roll-up: %w", err)
	}
	binary.BigEndian.PutUint32(v[begin-4:], uint32(len(v)-begin))
	if v, err = z.pack(v, carry); err != nil {
		return nil, fmt.Errorf("packing a day's roll-up: %w", err)
	}
	return binary.BigEndian.AppendUint32(v, dailySum(key, v)), nil
}

func dailySum(key, v []byte) uint32 {
	return crc32.Update(crc32.Checksum(key, castagnoli), castagnoli, v)
}

// dailyParts verifies a row and returns its two parts.
func dailyParts(k, v []byte) (day, carry []byte, ok bool) {
	if _, ok := dailyNeeds(k, v); !ok {
		return nil, nil, false
	}
	cut := len(v) - crcLen
	n := int(binary.BigEndian.Uint32(v[9:]))
	if n > cut-13 || binary.BigEndian.Uint32(v[cut:]) != dailySum(k, v[:cut]) {
		return nil, nil, false
	}
	return v[13 : 13+n], v[13+n : cut], true
}

// dailyBasis is what all rows rest on beside the entries: the version of the computing, the zone, and every plant revision.
func dailyBasis(zone string, revisions []record.Revision) [dailyBasisLen]byte {
	h := sha256.New()
	fmt.Fprintf(h, "%d %d %q\n", dailyVersion, week.Version, zone)
	for _, r := range revisions {
		fmt.Fprintf(h, "%s %d %d\n%s", r.ID, r.From.UnixMilli(), len(r.Text), r.Text)
	}
	return [dailyBasisLen]byte(h.Sum(nil)[:dailyBasisLen])
}

// noDays is the frontier where no row counts.
const noDays = math.MinInt64
