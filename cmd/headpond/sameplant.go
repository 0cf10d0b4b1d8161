package main

import (
	"context"
	"errors"
	"slices"

	"example.org/headpond/logbook"
)

// foreignLog is what is about to be taken into a book: another book or a package.
type foreignLog struct {
	path, verb string   // verb is the command and the flag that take it all the same
	sites      []string // the plant's name in each of its descriptions, the last one in force; none where it has no description
	damaged    bool     // the book itself may be damaged, and what can be read of it tells
	entries    func(context.Context, func(logbook.Entry) error) error
}

// errShared ends a walk at the first entry that both hold.
var errShared = errors.New("shared")

// otherPlantError says that a log is another plant's.
type otherPlantError struct{ path, site, book, own, verb string }

func (e *otherPlantError) Error() string {
	return e.path + ": it is the log of " + e.site + ", but " + e.book + " is that of " + e.own + "; entries are never taken out again, so " + nothingChanged +
		". To look at it: headpond open. To take it all the same: headpond " + e.verb
}

// samePlant refuses a log that has neither an entry nor the plant's name in common with the book. Where either has no
// description of a plant there is nothing to compare.
func samePlant(ctx context.Context, b *logbook.Book, f foreignLog) error {
	revisions, err := b.Revisions(ctx)
	if err != nil || len(revisions) == 0 || len(f.sites) == 0 {
		return err
	}
	for _, r := range revisions {
		if slices.Contains(f.sites, r.Plant.Site.Name) {
			return nil
		}
	}
	ids := map[string]bool{}
	err = b.Entries(ctx, func(e logbook.Entry) error {
		ids[e.ID] = true
		return nil
	})
	if err != nil && !(f.damaged && errors.Is(err, logbook.ErrDamaged)) {
		return err
	}
	err = f.entries(ctx, func(e logbook.Entry) error {
		if ids[e.ID] {
			return errShared
		}
		return nil
	})
	switch {
	case errors.Is(err, errShared):
		return nil
	case err != nil:
		return err
	}
	return &otherPlantError{path: f.path, site: f.sites[len(f.sites)-1], book: b.Path(), own: revisions[len(revisions)-1].Plant.Site.Name, verb: f.verb}
}
