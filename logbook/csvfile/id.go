package csvfile

import (
	"crypto/sha256"
	"fmt"
	"iter"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/oklog/ulid/v2"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// idForm names the canonical form below. It is hashed with the rest, so that a later form cannot give the same ids.
const idForm = "headpond round 1\n"

// DeriveID returns the id of a row that brings none: a ULID whose milliseconds are the round's time, cut to the second, and
// whose other 80 bits are the first of the SHA-256 of the round's canonical form. That is one line each for the time in UTC
// and for every column that holds something, sorted by name, as "name"="text", both quoted as in Go, with the text as
// record.Round.Text gives it; unknown columns among them. How a reading was typed, whether it was confirmed and when it was written down are
// not in it, so that the same round from another file is the same round.
//
// It fails for a time before 1970 or after 9999.
func DeriveID(r record.Round) (string, error) {
	if err := checkYear(r.Time); err != nil {
		return "", err
	}
	var id ulid.ULID
	if err := id.SetTime(uint64(r.Time.Unix()) * 1000); err != nil {
		return "", fmt.Errorf("deriving an id: %w", err)
	}
	sum := sha256.Sum256(canonical(r))
	if err := id.SetEntropy(sum[:10]); err != nil {
		return "", fmt.Errorf("deriving an id: %w", err)
	}
	return id.String(), nil
}

// canonical is the form of which DeriveID takes the hash.
func canonical(r record.Round) []byte {
	cells := make([][2]string, 0, 3+len(r.Values)+len(r.Words)+len(r.Extra))
	for name, text := range eachCell(r) {
		cells = append(cells, [2]string{name, text})
	}
	slices.SortFunc(cells, func(a, b [2]string) int { return strings.Compare(a[0], b[0]) })
	b := make([]byte, 0, 512)
	b = append(b, idForm...)
	b = append(b, `"time"=`...)
	b = strconv.AppendQuote(b, r.Time.UTC().Format(time.RFC3339))
	for _, c := range cells {
		b = append(strconv.AppendQuote(append(b, '\n'), c[0]), '=')
		b = strconv.AppendQuote(b, c[1])
	}
	return b
}

// eachCell gives the columns of a round that hold something, time aside, with their canonical texts, in no order.
func eachCell(r record.Round) iter.Seq2[string, string] {
	return func(yield func(string, string) bool) {
		for _, name := range [...]string{record.ColBy, record.ColRunning, record.ColNote} {
			if text := r.Text(name); text != "" && !yield(name, text) {
				return
			}
		}
		for k, v := range r.Values {
			if !yield(string(k), quantity.Text(v)) {
				return
			}
		}
		for k, w := range r.Words {
			if !yield(string(k), w) {
				return
			}
		}
		for name, text := range r.Extra {
			k := quantity.Key(name)
			if _, value := r.Values[k]; value || r.Words[k] != "" {
				continue // the reading of that name says it
			}
			if !yield(name, text) {
				return
			}
		}
	}
}

// checkYear refuses a time that an id or an RFC 3339 text cannot hold.
func checkYear(t time.Time) error {
	if y := t.UTC().Year(); t.Unix() < 0 || y > 9998 {
		return fmt.Errorf("the year %d is not one from 1970 to 9998", y)
	}
	return nil
}

// readID reads the 26 characters of an id; letter case does not matter.
func readID(text string) (string, bool) {
	id, err := ulid.ParseStrict(strings.ToUpper(text))
	return id.String(), err == nil
}

// idTime is the second that an id was made for.
func idTime(text string) (time.Time, bool) {
	id, err := ulid.ParseStrict(text)
	return time.Unix(int64(id.Time()/1000), 0).UTC(), err == nil
}
