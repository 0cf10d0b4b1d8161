package logbook

import (
	"bytes"
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// none is a book without ids.
func none(uint64) (id, bool) { return id{}, false }

func TestIDIsTheOneOfThePublishedForm(t *testing.T) {
	// github.com/ulid/spec: 01ARYZ6S41 are the ten characters of 1469918176385 ms; the greatest id is 7ZZZZZZZZZZZZZZZZZZZZZZZZZ.
	n, err := newID(1469918176385, id{}, bytes.NewReader(make([]byte, 10)), none)
	if err != nil || n.String() != "01ARYZ6S410000000000000000" {
		t.Errorf("%s, %v", n, err)
	}
	greatest := id(bytes.Repeat([]byte{0xff}, idLen))
	if greatest.String() != "7ZZZZZZZZZZZZZZZZZZZZZZZZZ" {
		t.Errorf("greatest: %s", greatest)
	}
	if back, err := parseID(greatest.String()); err != nil || back != greatest {
		t.Errorf("%s, %v", back, err)
	}
}

func TestNewIDComesAfterWhatItMust(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ms := rapid.Uint64Range(0, 1<<47).Draw(t, "ms")
		last, floor := genID(t, "last"), genID(t, "floor")
		if err := last.SetTime(ms); err != nil {
			t.Fatal(err)
		}
		// Half the time the unique part of the last id is nearly used up.
		if rapid.Bool().Draw(t, "nearly full") {
			copy(last[6:], bytes.Repeat([]byte{0xff}, 8))
		}
		n, err := newID(ms, floor, bytes.NewReader(genBytes(t, "random", 10)), func(at uint64) (id, bool) { return last, at == ms })
		if err != nil {
			if !strings.Contains(err.Error(), "is full") {
				t.Fatal(err)
			}
			return
		}
		if n.Compare(floor) <= 0 || n.Time() == ms && n.Compare(last) <= 0 {
			t.Fatalf("%s after last %s and floor %s", n, last, floor)
		}
		if want := max(ms, floor.Time()); n.Time() != want {
			t.Fatalf("time %d, want %d", n.Time(), want)
		}
	})
}

func TestNewIDSaysWhyItCannotBeMade(t *testing.T) {
	full := id(bytes.Repeat([]byte{0xff}, idLen))
	for name, err := range map[string]error{
		"no random numbers": second(newID(1, id{}, strings.NewReader("short"), none)),
		"full":              second(newID(1, full, bytes.NewReader(make([]byte, 10)), none)),
		"beyond 10889":      second(newID(1<<48, id{}, bytes.NewReader(make([]byte, 10)), none)),
	} {
		if err == nil || !strings.Contains(err.Error(), "making an id") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestShortIDsCoverExactlyTheIDsThatBeginSo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := genID(t, "id")
		text := n.String()
		length := rapid.IntRange(minPrefix, len(text)).Draw(t, "length")
		// As people type it: small letters, and letters that look like digits.
		typed := strings.NewReplacer("1", "l", "0", "o").Replace(strings.ToLower(text[:length]))
		low, high, err := prefixRange(" " + typed + " ")
		if err != nil {
			t.Fatal(err)
		}
		if low.Compare(n) > 0 || high.Compare(n) < 0 {
			t.Fatalf("%s is not from %s to %s", n, low, high)
		}
		other := genID(t, "other")
		inside := low.Compare(other) <= 0 && other.Compare(high) <= 0
		if begins := strings.HasPrefix(other.String(), text[:length]); inside != begins {
			t.Fatalf("%s: inside %v, begins so %v", other, inside, begins)
		}
	})
}

func TestTimesOutsideOfWhatAnIDHolds(t *testing.T) {
	for name, c := range map[string]struct {
		at time.Time
		ok bool
	}{
		"first":  {time.Unix(0, 0), true},
		"before": {time.Unix(-1, 0), false},
		"zero":   {time.Time{}, false},
		"last":   {time.UnixMilli(1<<48 - 1), true},
		"after":  {time.UnixMilli(1 << 48), false},
	} {
		if _, err := millis(c.at); (err == nil) != c.ok || err != nil && !errors.Is(err, ErrInvalid) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestTimesKeepTheirOffset(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := genTime(t, "time")
		s, err := stampOf(at.Add(time.Duration(rapid.IntRange(0, 999_999_999).Draw(t, "ns"))))
		if err != nil {
			t.Fatal(err)
		}
		loc := rapid.SampledFrom([]*time.Location{nil, time.UTC, time.FixedZone("", 3600)}).Draw(t, "location")
		if got := s.clockTime(loc).Format(time.RFC3339); got != at.Format(time.RFC3339) {
			t.Fatalf("%s, want %s", got, at.Format(time.RFC3339))
		}
	})
}

func second[T any](_ T, err error) error { return err }
