// Package demobook writes the demo plant's story into a book of its own.
package demobook

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"time"

	"github.com/oklog/ulid/v2"

	"example.org/headpond/logbook"
	"example.org/headpond/model/demo"
)

// Write makes a new book at path that holds the story, every entry with the story's time of writing, and all of them in one
// transaction. The entries, their ids included, follow from the story alone: the same story always gives the same book to
// every reader. They form the chain of a writer of the demo's own; o serves for what is written to the book later.
//
// Where anything is at path, the error is logbook.ErrExists and nothing is changed. On any other error no book is left.
func Write(ctx context.Context, path string, s *demo.Story, o logbook.Options) (*logbook.Book, error) {
	entries, err := Entries(s)
	if err != nil {
		return nil, err
	}
	b, err := logbook.Create(ctx, path, o)
	if err != nil {
		return nil, err
	}
	if _, _, err := b.PutEntries(ctx, entries); err != nil {
		_ = os.Remove(path) // it holds nothing yet
		return nil, err
	}
	return b, nil
}

// Entries returns the story as the entries of one chain, in the order in which they were written.
func Entries(s *demo.Story) ([]logbook.Entry, error) {
	c := composer{last: map[uint64]ulid.ULID{}, chance: rand.NewChaCha8(sha256.Sum256(binary.BigEndian.AppendUint64([]byte("Tern Hollow ids "), s.Seed)))}
	for _, w := range writings(s) {
		if err := c.add(w); err != nil {
			return nil, err
		}
	}
	writer := sha256.Sum256(binary.BigEndian.AppendUint64([]byte("Tern Hollow writer "), s.Seed))
	if err := logbook.Chain([16]byte(writer[:16]), c.entries); err != nil {
		return nil, fmt.Errorf("the demo's book: %w", err)
	}
	return c.entries, nil
}

// writing is one entry to be: what its id is made of, and when it was written.
type writing struct {
	entry     logbook.Entry
	amends    int // round that it corrects, -1 for none
	round     int // number of the round that it is, -1 for none
	at        time.Time
	writtenAt time.Time
}

// writings lists everything in the order of writing. A correction comes after its round.
func writings(s *demo.Story) []writing {
	rev := s.Revision
	list := []writing{{entry: logbook.Entry{Revision: &rev}, at: rev.From, writtenAt: rev.WrittenAt, amends: -1, round: -1}}
	for i := range s.Rounds {
		r := &s.Rounds[i]
		list = append(list, writing{entry: logbook.Entry{Round: r}, at: r.Time, writtenAt: r.WrittenAt, amends: -1, round: i})
	}
	for i := range s.Events {
		e := &s.Events[i]
		list = append(list, writing{entry: logbook.Entry{Event: e}, at: e.Time, writtenAt: e.WrittenAt, amends: -1, round: -1})
	}
	for i := range s.Done {
		d := &s.Done[i]
		list = append(list, writing{entry: logbook.Entry{Done: d}, at: d.Time, writtenAt: d.WrittenAt, amends: -1, round: -1})
	}
	for i := range s.Amendments {
		a := &s.Amendments[i]
		list = append(list, writing{entry: logbook.Entry{Amendment: &logbook.Amendment{Changes: a.Changes, Why: a.Why, By: a.By, WrittenAt: a.At}},
			at: a.At, writtenAt: a.At, amends: a.Round, round: -1})
	}
	slices.SortStableFunc(list, func(a, b writing) int { return cmp.Or(a.writtenAt.Compare(b.writtenAt), a.at.Compare(b.at)) })
	return list
}

// composer makes entries with ids.
type composer struct {
	entries []logbook.Entry
	rounds  map[int]string // ids of the rounds so far
	last    map[uint64]ulid.ULID
	chance  *rand.ChaCha8
}

func (c *composer) add(w writing) error {
	id, err := c.id(w.at)
	if err != nil {
		return err
	}
	e := w.entry
	e.ID, e.Time, e.WrittenAt = id.String(), w.at, w.writtenAt
	if w.round >= 0 {
		if c.rounds == nil {
			c.rounds = map[int]string{}
		}
		c.rounds[w.round] = e.ID
	}
	if w.amends >= 0 {
		target, ok := c.rounds[w.amends]
		if !ok {
			return fmt.Errorf("the demo's book: a correction of %s was written before the round number %d that it corrects", w.at.Format(time.RFC3339), w.amends)
		}
		e.Amendment.Target, e.Amendment.ID = target, e.ID
	}
	c.entries = append(c.entries, e)
	return nil
}

// id makes a unique id for a time, later than those of the same millisecond before it.
func (c *composer) id(at time.Time) (ulid.ULID, error) {
	ms := ulid.Timestamp(at)
	id, err := ulid.New(ms, c.chance)
	if err != nil {
		return id, fmt.Errorf("the demo's book: an id for %s: %w", at.Format(time.RFC3339), err)
	}
	if last, ok := c.last[ms]; ok && id.Compare(last) <= 0 {
		id = last
		binary.BigEndian.PutUint64(id[8:], binary.BigEndian.Uint64(last[8:])+1) // 64 bits do not run over in a few entries
	}
	c.last[ms] = id
	return id, nil
}
