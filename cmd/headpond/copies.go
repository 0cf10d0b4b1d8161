package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/copies"
	"example.org/headpond/model/assess"
	"example.org/headpond/tui/ui/text"
)

// keeper keeps copies of a book on behalf of this machine.
func (c *command) keeper(b *logbook.Book, writer [16]byte, loc *time.Location) copies.Keeper {
	return copies.Keeper{Book: b, Writer: writer, Now: c.clock, Location: loc}
}

// keepCopies makes the copies that are due once a command has written and its answer is out. What fails here undoes nothing, so
// it is said and the command is done all the same.
func (c *command) keepCopies(ctx context.Context) {
	s := c.wrote
	if s == nil || c.visitor || ctx.Err() != nil {
		return
	}
	writer, err := c.machineID()
	if err != nil {
		return // it was said when the entry was written
	}
	made, err := c.keeper(s.book, writer, s.loc).MakeDue(ctx)
	if err == nil {
		err = made.Err()
	}
	if err != nil && !errors.Is(err, context.Canceled) {
		c.tell("caution: no copy of the book was kept: %v", err)
	}
}

// copyStatus tells how well a book is copied; nil where this machine never wrote, so that it keeps no copies.
func (c *command) copyStatus(ctx context.Context, b *logbook.Book, loc *time.Location) (*copies.Status, error) {
	writer, err := readMachine(filepath.Join(c.dataDir, "machine"))
	if err != nil || c.visitor {
		return nil, nil
	}
	s, err := c.keeper(b, writer, loc).Status(ctx)
	if err != nil {
		return nil, err
	}
	return &s, nil
}

// withCopies adds to what wants attention that the copies of the book are too old, if they are.
func (c *command) withCopies(ctx context.Context, s *session, n *assess.Now) *assess.Now {
	if c.at != "" {
		return n // the state of the copies is that of today
	}
	status, err := c.copyStatus(ctx, s.book, s.loc)
	if err != nil || status == nil {
		return n
	}
	if status.Overdue() {
		status = c.overdueCopy(ctx, s, status)
	}
	return n.WithNotice(assess.UrgentDue, "plant", status.Caution())
}

// overdueCopy makes the copy that is cautioned about, such as where a wrong clock kept it from being made, instead of only saying so. It
// returns how the book is copied then; what fails here leaves the caution as it was.
func (c *command) overdueCopy(ctx context.Context, s *session, was *copies.Status) *copies.Status {
	writer, err := c.machineID()
	if err != nil || c.looking {
		return was
	}
	if _, err := c.keeper(s.book, writer, s.loc).MakeDue(ctx); err != nil {
		return was
	}
	if now, err := c.copyStatus(ctx, s.book, s.loc); err == nil && now != nil {
		return now
	}
	return was
}

// newestCopy is the newest whole copy that lies with the book, for when the book itself cannot say.
func (c *command) newestCopy() (copies.Copy, bool) {
	return copies.Newest(copies.Beside(c.bookPath()), c.bookPath())
}

// copyWords says which copy it is.
func (c *command) copyWords(k copies.Copy) string {
	return fmt.Sprintf("%s, of %s, with %d %s", k.Path, shortTime(k.Time, c.local), k.Mark, plural(int(k.Mark), "entry", "entries"))
}

// restoreLine is the command line that puts a copy back.
func (c *command) restoreLine(path string) string {
	if c.book != "" {
		return "headpond restore " + path + " --book " + c.book
	}
	return "headpond restore " + path
}

// withNewestCopy adds to the error of a book that does not open, or that is gone, which copy of it is the newest.
func (c *command) withNewestCopy(err error) error {
	var own *logbook.Error
	if !errors.As(err, &own) || own.Path != c.bookPath() ||
		!errors.Is(err, logbook.ErrDamaged) && !errors.Is(err, logbook.ErrNotABook) && !errors.Is(err, logbook.ErrNoBook) {
		return err
	}
	if k, ok := c.newestCopy(); ok {
		return fmt.Errorf("%w. The newest copy of it is %s: %s", err, c.copyWords(k), c.restoreLine(k.Path))
	}
	if info, serr := os.Stat(c.bookPath()); serr == nil && info.Mode().IsRegular() && info.Size() == 0 {
		return fmt.Errorf("%w; headpond restore FILE puts a backup back", err)
	}
	return err
}

// keepIn carries out backup --keep: from now on copies are kept in a folder too.
func (c *command) keepIn(ctx context.Context, dir string) error {
	s, err := c.write(ctx)
	if err != nil {
		return err
	}
	c.wrote = nil // the copy is made here
	writer, err := c.machineID()
	if err != nil {
		return err
	}
	k := c.keeper(s.book, writer, s.loc)
	if dir == keepNone {
		dir = ""
	}
	if _, err := k.Use(ctx, dir); err != nil {
		return err
	}
	return c.listCopies(ctx)
}

// keepNone is the word for keeping copies nowhere but beside the book; a folder of that name is ./none.
const keepNone = "none"

// listCopies carries out backup --list.
func (c *command) listCopies(ctx context.Context) error {
	s, err := c.read(ctx)
	if err != nil {
		return err
	}
	status, err := c.copyStatus(ctx, s.book, s.loc)
	if err != nil {
		return err
	}
	if c.json {
		if status == nil {
			status = &copies.Status{Places: []copies.Place{}}
		}
		return c.printJSON(status)
	}
	c.copiesText(status)
	return nil
}

// copiesText says for each place how old its last copy is.
func (c *command) copiesText(s *copies.Status) {
	if s == nil {
		c.say("This computer has not written to %s yet, and so keeps no copies of it; to make one: headpond backup FILE", text.Show(c.bookPath()))
		return
	}
	for _, line := range s.Lines() {
		c.say("%s.", text.Show(line))
	}
	if caution := s.Caution(); caution != "" {
		c.say("%s", text.Show(fmt.Sprintf("Caution: %s.", caution)))
	}
}

// screenCopies is what keeps copies while the screens are open; nil for the demo's book.
func (c *command) screenCopies(s *session) (*copies.Keeper, error) {
	if c.visitor {
		return nil, nil
	}
	writer, err := c.machineID()
	if err != nil {
		return nil, err
	}
	k := c.keeper(s.book, writer, s.loc)
	return &k, nil
}
