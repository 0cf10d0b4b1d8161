package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// session is a book whose plant and time zone are known. It holds nothing open.
type session struct {
	c         *command
	book      *logbook.Book
	loc       *time.Location
	plant     *plant.Plant // in force now; nil while the book has none
	revisions []record.Revision
}

// errNoPlant is said where a command needs the plant's description.
func (s *session) errNoPlant() error {
	return fmt.Errorf("%s holds no plant description yet; put one in with: headpond plant load FILE; %s", s.book.Path(), nothingChanged)
}

// bookOptions are what a book needs from this world, for reading.
func (c *command) bookOptions(loc *time.Location) logbook.Options {
	return logbook.Options{Clock: c.clock, Location: loc, Rand: c.rand, ReadOnly: c.looking}
}

// writing is bookOptions for a book that is written to.
func (c *command) writing(loc *time.Location) (logbook.Options, error) {
	o := c.bookOptions(loc)
	var err error
	if c.visitor {
		o.Writer, err = c.newMachine()
	} else {
		o.Writer, err = c.machineID()
	}
	return o, err
}

// read opens the book for reading.
func (c *command) read(ctx context.Context) (*session, error) {
	return c.session(ctx, func(loc *time.Location) (logbook.Options, error) { return c.bookOptions(loc), nil })
}

// write opens the book for writing.
func (c *command) write(ctx context.Context) (s *session, err error) {
	if s, err = c.session(ctx, c.writing); err == nil {
		c.wrote = s
	}
	return s, err
}

// session opens the book twice: the first look tells the zone in which the second one reads and writes times.
func (c *command) session(ctx context.Context, options func(*time.Location) (logbook.Options, error)) (*session, error) {
	s := &session{c: c, loc: c.local}
	first, err := logbook.Open(c.bookPath(), c.bookOptions(c.local))
	if err != nil {
		return nil, err
	}
	if s.revisions, err = first.Revisions(ctx); err != nil {
		return nil, err
	}
	if n := len(s.revisions); n > 0 {
		s.plant = (&record.History{Revisions: s.revisions}).PlantAt(c.clock())
		s.loc = s.plant.Location
	}
	o, err := options(s.loc)
	if err != nil {
		return nil, err
	}
	s.book, err = logbook.Open(c.bookPath(), o)
	return s, err
}

// needPlant is an error where the book has no plant.
func (s *session) needPlant() error {
	if s.plant == nil {
		return s.errNoPlant()
	}
	return nil
}

// plantAt is the revision in force at a time.
func (s *session) plantAt(t time.Time) *plant.Plant {
	return (&record.History{Revisions: s.revisions, Plant: s.plant}).PlantAt(t)
}

// now is the plant's clock.
func (s *session) now() time.Time { return s.c.clock().In(s.loc) }

// readPlanted opens the book to be read and brings its history, which must hold a plant: what every command that answers needs.
func (c *command) readPlanted(ctx context.Context) (*session, *record.History, error) {
	return c.readHistory(ctx, logbook.HistoryOptions{})
}

// readHistory is readPlanted for more or less of the book.
func (c *command) readHistory(ctx context.Context, o logbook.HistoryOptions) (*session, *record.History, error) {
	s, err := c.read(ctx)
	if err != nil {
		return nil, nil, err
	}
	h, err := s.history(ctx, o)
	if err != nil {
		return nil, nil, err
	}
	if h.Plant == nil {
		return nil, nil, s.errNoPlant()
	}
	return s, h, nil
}

// history reads the book up to --at, or up to now, with all times on the plant's clock.
func (s *session) history(ctx context.Context, o logbook.HistoryOptions) (*record.History, error) {
	if s.c.at != "" {
		at, err := s.at()
		if err != nil {
			return nil, err
		}
		o.At = at
	}
	h, err := s.book.History(ctx, o)
	if err != nil {
		return nil, err
	}
	s.localise(h)
	return h, nil
}

// at is what --at says, or now.
func (s *session) at() (time.Time, error) {
	if s.c.at == "" {
		return s.now(), nil
	}
	at, err := localtime.End(s.c.at, s.now(), s.loc)
	if err != nil {
		return at, usagef("--at: %w", err)
	}
	return at.In(s.loc), nil
}

// localise brings every time to the plant's zone. Entries keep the offset that they were written with; answers are in the
// zone of the plant.
func (s *session) localise(h *record.History) {
	h.At = h.At.In(s.loc)
	for i := range h.Rounds {
		r := &h.Rounds[i]
		r.Time, r.WrittenAt = r.Time.In(s.loc), r.WrittenAt.In(s.loc)
		s.localiseChanges(r.Changes)
	}
	for i := range h.Events {
		e := &h.Events[i]
		e.Time, e.WrittenAt = e.Time.In(s.loc), e.WrittenAt.In(s.loc)
		s.localiseChanges(e.Changes)
	}
	for i := range h.Done {
		d := &h.Done[i]
		d.Time, d.WrittenAt = d.Time.In(s.loc), d.WrittenAt.In(s.loc)
	}
	for i := range h.Revisions {
		r := &h.Revisions[i]
		r.From, r.WrittenAt = r.From.In(s.loc), r.WrittenAt.In(s.loc)
	}
}

func (s *session) localiseChanges(changes []record.Change) {
	for i := range changes {
		changes[i].At = changes[i].At.In(s.loc)
	}
}

// moment reads the time of an entry as typed. A day alone is no moment.
func (s *session) moment(text string) (time.Time, error) {
	t, err := localtime.Moment(text, s.now(), s.loc)
	if err != nil {
		return time.Time{}, usagef("time: %w; %s", err, nothingChanged)
	}
	return t, nil
}

// bound reads --from or --to; an empty text is no bound.
func (s *session) bound(flag, text string, read func(string, time.Time, *time.Location) (time.Time, error)) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	t, err := read(text, s.now(), s.loc)
	if err != nil {
		return time.Time{}, usagef("--%s: %w", flag, err)
	}
	return t.In(s.loc), nil
}

// future is the caution for an entry that is dated after now.
func (s *session) future(t time.Time) []string {
	if !t.After(s.now()) {
		return nil
	}
	return []string{fmt.Sprintf("it is dated in the future, %s: it is left out of every answer until then; if that is a slip, correct it with headpond amend", shortTime(t, s.loc))}
}

// noBook reports whether an error says that there is no book yet.
func noBook(err error) bool { return errors.Is(err, logbook.ErrNoBook) }
