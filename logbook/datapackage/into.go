package datapackage

import (
	"cmp"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"slices"

	"example.org/headpond/logbook"
)

// Into puts every entry of the package into a book: all of them, or none. Doing it again adds nothing, and packages may come in
// any order: it is a merge (logbook.Book.Merge).
//
// A part of a log whose gaps the book does not fill is put in under chains of its own; see the package's comment.
func (p *Package) Into(ctx context.Context, b *logbook.Book) (added, already int, err error) {
	if p.About.Chain == Partial {
		list, same, err := p.chained(ctx, b)
		if err != nil {
			return 0, 0, err
		}
		added, already, err = b.PutEntries(ctx, list)
		return added, already + same, err
	}
	added, already, err = b.PutStream(ctx, func(yield func(logbook.Entry) error) error { return p.Entries(ctx, yield) }, p.gaps...)
	var own *Error
	if errors.As(err, &own) { // the book had no part in it
		return 0, 0, own
	}
	return added, already, err
}

// Verify reads every entry and forgets it: a package that passes goes into a book unless the disk or the file fails.
//
// progress, where it is not nil, is told now and then how many entries were read.
func (p *Package) Verify(ctx context.Context, progress func(done int)) error {
	done := 0
	return p.Entries(ctx, func(logbook.Entry) error {
		if done++; done%256 == 0 && progress != nil {
			progress(done)
		}
		return nil
	})
}

// NewBook makes a new book at path that holds the package. On an error no book is left.
func (p *Package) NewBook(ctx context.Context, path string, o logbook.Options) (*logbook.Book, error) {
	b, err := logbook.Create(ctx, path, o)
	if err != nil {
		return nil, err
	}
	if _, _, err := p.Into(ctx, b); err != nil {
		_ = os.Remove(path) // it holds nothing yet
		return nil, err
	}
	return b, nil
}

// maxPart bounds the entries of a part of a log, which are in memory together: a decade of ten rounds a day.
const maxPart = 50_000

// link names an entry by its writer and hash, as the one after it does.
type link struct {
	writer [16]byte
	hash   [32]byte
}

// chained reads a part of a log and gives its entries the places that they can have in a book. same counts those that the
// book holds already with other places.
func (p *Package) chained(ctx context.Context, b *logbook.Book) (list []logbook.Entry, same int, err error) {
	err = p.Entries(ctx, func(e logbook.Entry) error {
		if len(list) == maxPart {
			return &Error{What: fmt.Sprintf("this part of a log holds more than %d entries", maxPart), Expected: "less, or the whole log"}
		}
		// The bytes are a tenth of what they say; only one entry at a time is spread out.
		list = append(list, logbook.Entry{ID: e.ID, Kind: e.Kind, Writer: e.Writer, Seq: e.Seq, Prev: e.Prev, Hash: e.Hash, Raw: e.Raw})
		return nil
	})
	if err != nil {
		return nil, 0, err
	}
	there, ids := map[link]bool{}, map[string]bool{}
	err = b.Entries(ctx, func(e logbook.Entry) error {
		there[link{e.Writer, e.Hash}], ids[e.ID] = true, true
		return nil
	})
	if err != nil {
		return nil, 0, err
	}
	known := map[link]bool{}
	for _, e := range list {
		known[link{e.Writer, e.Hash}] = true
	}
	if !slices.ContainsFunc(list, func(e logbook.Entry) bool {
		before := link{e.Writer, e.Prev}
		return e.Seq > 1 && !there[before] && !known[before]
	}) {
		return list, 0, nil
	}
	fresh := slices.DeleteFunc(list, func(e logbook.Entry) bool { return ids[e.ID] })
	same = len(known) - len(fresh)
	list, err = rechain(fresh)
	return list, same, err
}

// rechain makes of a part of a log chains that begin with it. Their writers follow from the writer and the hash before each
// gap, so that the same part always gives the same chains.
func rechain(list []logbook.Entry) ([]logbook.Entry, error) {
	slices.SortStableFunc(list, func(a, b logbook.Entry) int { return cmp.Or(cmp.Compare(a.Seq, b.Seq), cmp.Compare(a.ID, b.ID)) })
	type end struct {
		writer [16]byte
		seq    uint64
		hash   [32]byte
	}
	ends := map[link]end{} // the new place of each old one
	out := make([]logbook.Entry, len(list))
	for i, old := range list {
		before, ok := ends[link{old.Writer, old.Prev}]
		if !ok {
			sum := sha256.Sum256(slices.Concat([]byte("headpond part 1\n"), old.Writer[:], old.Prev[:], old.Hash[:]))
			before = end{writer: [16]byte(sum[:16])}
		}
		e, err := logbook.OpenEntry(old.ID, old.Raw)
		if err != nil {
			return nil, err
		}
		if err := e.Place(before.writer, before.seq+1, before.hash); err != nil {
			return nil, err
		}
		ends[link{old.Writer, old.Hash}] = end{e.Writer, e.Seq, e.Hash}
		out[i] = logbook.Entry{ID: e.ID, Kind: e.Kind, Hash: e.Hash, Raw: e.Raw}
	}
	return out, nil
}
