package logbook

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/oklog/ulid/v2"
)

// id is an entry's key: 48 bits of milliseconds since 1970 of the time it tells of, then 80 bits that make it unique.
// Sorted as bytes, or as the 26 letters and digits that people see, ids are in order of time.
type id = ulid.ULID

// minPrefix is the least number of characters of an id that may stand for it: six name a quarter of an hour.
const minPrefix = 6

// newID makes an id for a time. It comes after every id of the same millisecond in the book that last returns, so that what
// was written later also sorts later; and after floor, where that is given.
//
// A correction passes the latest correction of the same entry as floor: otherwise a computer whose clock has fallen back
// would have its corrections overruled by the ones that they correct.
func newID(ms uint64, floor id, random io.Reader, last func(ms uint64) (id, bool)) (id, error) {
	if ms < floor.Time() {
		ms = floor.Time()
	}
	var n id
	if err := n.SetTime(ms); err != nil {
		return id{}, fmt.Errorf("making an id: %w", err)
	}
	if _, err := io.ReadFull(random, n[6:]); err != nil {
		return id{}, fmt.Errorf("making an id: no random numbers: %w", err)
	}
	after := floor
	if l, ok := last(ms); ok && l.Compare(after) > 0 {
		after = l
	}
	if n.Compare(after) > 0 {
		return n, nil
	}
	return successor(after, binary.BigEndian.Uint64(n[8:])>>20)
}

// successor adds 1 + step to the unique part of an id. Two copies of a book take different steps, with a chance of one in
// 2^44 that they do not. It fails where the unique part is used up.
func successor(n id, step uint64) (id, error) {
	low := binary.BigEndian.Uint64(n[8:])
	sum := low + step + 1
	binary.BigEndian.PutUint64(n[8:], sum)
	if sum > low {
		return n, nil
	}
	high := binary.BigEndian.Uint16(n[6:]) + 1
	binary.BigEndian.PutUint16(n[6:], high)
	if high == 0 {
		return id{}, errors.New("making an id: this millisecond is full")
	}
	return n, nil
}

// parseID reads the 26 characters of an id. Letter case does not matter, and I, L and O stand for the digits they look like.
func parseID(s string) (id, error) {
	n, err := ulid.ParseStrict(readable(s))
	if err != nil {
		return id{}, &Error{Kind: ErrNoEntry, Where: fmt.Sprintf("%q", s), Hint: "an id has 26 letters and digits; nothing was changed"}
	}
	return n, nil
}

// prefixRange returns the least and the greatest id that begin with a short id.
func prefixRange(s string) (low, high id, err error) {
	s = readable(s)
	if len(s) < minPrefix || len(s) > ulid.EncodedSize {
		return id{}, id{}, &Error{Kind: ErrNoEntry, Where: fmt.Sprintf("%q", s),
			Hint: fmt.Sprintf("give at least %d characters of the id; nothing was changed", minPrefix)}
	}
	pad := ulid.EncodedSize - len(s)
	if low, err = parseID(s + strings.Repeat("0", pad)); err != nil {
		return id{}, id{}, err
	}
	high, err = parseID(s + strings.Repeat("Z", pad))
	return low, high, err
}

func readable(s string) string {
	return strings.NewReplacer("I", "1", "L", "1", "O", "0").Replace(strings.ToUpper(strings.TrimSpace(s)))
}

// millis returns a time's milliseconds since 1970, or an error for a time that an id cannot hold.
func millis(t time.Time) (uint64, error) {
	ms := t.UnixMilli()
	if ms < 0 || uint64(ms) > ulid.MaxTime() {
		return 0, invalid("the time "+t.Format(time.RFC3339), "one from 1970 to 10889")
	}
	return uint64(ms), nil
}
