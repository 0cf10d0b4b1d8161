package logbook

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"
)

// Restored tells what Restore or Replace did.
type Restored struct {
	Kept   string // where the book that was there is now; "" when there was none, or when it is the book still
	Saved  int    // entries of the book that was there, sound or damaged, that the backup lacked and that are in the book as well
	Added  int    // entries of the backup that the sound book that was there lacked
	Left   int    // entries of the sound book that was there that the backup lacks, and that are in Kept alone now
	Whole  bool   // there was a book, and it was sound
	Report *CheckReport
}

const restoring = "restoring"

// Restore puts a backup back where a book is, or was. The backup is verified first; a damaged one is refused. Nothing that anyone
// wrote is lost: what the book that is there holds and the backup lacks stays.
//
// A sound book gets those entries of the backup that it lacks, as by Merge, and is kept beside, as it was before, under a name with
// the date; where it lacks none it is left as it is. A damaged one is replaced by the backup, kept beside in the same way, and every
// entry of it that is still whole is taken over. For the backup alone there is Replace.
func Restore(ctx context.Context, backup, dst string, o Options) (Restored, error) {
	b := newBook(dst, o)
	s, r, err := b.toRestore(ctx, backup)
	if err != nil {
		return Restored{}, err
	}
	if !there(dst) {
		return r.placed(s.saveNew(ctx, dst), dst)
	}
	present, _, err := b.soundSnapshot(ctx, dst)
	switch {
	case err == nil:
		return r.placed(r.join(ctx, b, present, s), dst)
	case !errors.Is(err, ErrDamaged) && !errors.Is(err, ErrNotABook):
		return Restored{}, explain(restoring, dst, err)
	}
	rest, done, err := b.damagedRest(ctx)
	if err != nil {
		return Restored{}, explain(restoring, dst, err)
	}
	defer done()
	return r.placed(r.replace(ctx, b, s, func(temp string) error {
		if err := rest.without(ctx, s); err != nil {
			return err
		}
		return r.takeOver(ctx, rest, newBook(temp, o))
	}), dst)
}

// Replace puts a backup in the place of a book: what the backup holds, no more and no less. The backup is verified first; a damaged
// one is refused. The book that was there, damaged or not, is kept beside under a name with the date, and nothing that anyone wrote
// is deleted. A Headpond that waits to write goes on with the restored book.
func Replace(ctx context.Context, backup, dst string, o Options) (Restored, error) {
	b := newBook(dst, o)
	s, r, err := b.toRestore(ctx, backup)
	if err != nil {
		return Restored{}, err
	}
	if !there(dst) {
		return r.placed(s.saveNew(ctx, dst), dst)
	}
	if err := r.replace(ctx, b, s, func(string) error { return nil }); err != nil {
		return Restored{}, explainCopy(restoring, dst, err)
	}
	if old, _, err := b.soundSnapshot(ctx, r.Kept); err == nil { // looked at where nobody writes any more
		lacking, err := old.beyond(ctx, s)
		r.Whole, r.Left = err == nil, len(lacking)
	}
	return *r, nil
}

// toRestore reads and verifies the backup, and makes the folder of the book.
func (b *Book) toRestore(ctx context.Context, backup string) (*snapshot, *Restored, error) {
	if same(backup, b.path) {
		return nil, nil, &Error{Doing: restoring, Path: b.path, Kind: ErrExists, Where: "the backup is the book itself", Hint: hintUnchanged}
	}
	s, report, err := b.soundSnapshot(ctx, backup)
	if err != nil {
		return nil, nil, explain(restoring, backup, err)
	}
	if err := os.MkdirAll(filepath.Dir(b.path), 0o700); err != nil {
		return nil, nil, explain(restoring, b.path, err)
	}
	return s, &Restored{Report: report}, nil
}

func there(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// saveNew writes the book into a file that is not there yet.
func (s *snapshot) saveNew(ctx context.Context, path string) error {
	return writeBeside(path, func(temp string) error { return writeBack(ctx, temp, s.data) }, renameNew)
}

// placed is what is told once the book is in its place, or is not.
func (r *Restored) placed(err error, dst string) (Restored, error) {
	if err != nil {
		return Restored{}, explainCopy(restoring, dst, err)
	}
	return *r, nil
}

// join puts into a sound book those entries of a backup that it lacks. It is one transaction on the book's own file, so that a
// Headpond that writes meanwhile loses nothing.
func (r *Restored) join(ctx context.Context, b *Book, present, backup *snapshot) error {
	r.Whole = true
	lacking, err := backup.beyond(ctx, present)
	if err != nil {
		return err
	}
	before := r.Report.Entries
	if len(lacking) > 0 {
		if r.Kept, err = b.keptName(); err != nil {
			return err
		}
		if err := present.saveNew(ctx, r.Kept); err != nil {
			return err
		}
		gaps := (&checker{buckets: backup.buckets()}).gaps()
		if _, _, err := b.putWith(ctx, restoring, eachOf(lacking), gaps); err != nil {
			if !errors.Is(err, ErrUncertain) {
				_ = os.Remove(r.Kept)
			}
			return err
		}
		r.Added = len(lacking)
	}
	_, report, err := b.soundSnapshot(ctx, b.path)
	if err != nil {
		return err
	}
	r.Report, r.Saved = report, report.Entries-before
	return nil
}

// beyond lists the entries of one book that another one lacks, other versions of an entry included.
func (s *snapshot) beyond(ctx context.Context, other *snapshot) ([]sealed, error) {
	theirs, err := other.sealed(ctx)
	if err != nil {
		return nil, err
	}
	held := make(map[link]bool, len(theirs))
	for _, e := range theirs {
		held[e.own()] = true
	}
	mine, err := s.sealed(ctx)
	return slices.DeleteFunc(mine, func(e sealed) bool { return held[e.own()] }), err
}

// sealed reads every entry of a sound book.
func (s *snapshot) sealed(ctx context.Context) ([]sealed, error) {
	c := &checker{ctx: ctx, report: &CheckReport{}}
	c.pages(s)
	err := c.entries()
	return c.sealed, err
}

// replace puts a backup in the place of a book, once more has added what else belongs to it, and keeps the book that was there.
func (r *Restored) replace(ctx context.Context, b *Book, s *snapshot, more func(temp string) error) error {
	kept, err := b.keptName()
	if err != nil {
		return err
	}
	r.Kept = kept
	return writeBeside(b.path, func(temp string) error {
		if err := writeBack(ctx, temp, s.data); err != nil {
			return err
		}
		return more(temp)
	}, func(temp, _ string) error { return b.swap(ctx, temp, kept) })
}

// damagedRest looks at a damaged book that is to be replaced. Its file is open until done.
func (b *Book) damagedRest(ctx context.Context) (v *survey, done func(), err error) {
	f, err := openRegular(b.path)
	if err != nil {
		return nil, nil, err
	}
	done = func() { _ = f.Close() }
	if v, err = surveyFile(ctx, f, b.o); err != nil {
		done()
	}
	return v, done, err
}

// without takes off the list of lost entries those that a backup holds.
func (v *survey) without(ctx context.Context, backup *snapshot) error {
	list, err := backup.sealed(ctx)
	for _, s := range list {
		delete(v.gaps, s.own())
	}
	return err
}

// takeOver adds what is whole in a damaged book to the file of the restored one.
func (r *Restored) takeOver(ctx context.Context, rest *survey, b *Book) error {
	if len(rest.kept) == 0 {
		return nil
	}
	before := r.Report.Entries
	if err := rest.putInto(ctx, b); err != nil {
		return err
	}
	_, report, err := b.soundSnapshot(ctx, b.path)
	if err != nil {
		return err
	}
	r.Report, r.Saved = report, report.Entries-before
	return nil
}

// swap gives the book's name to a new file and another to the old one, while no one can write in it.
func (b *Book) swap(ctx context.Context, temp, kept string) error {
	rename := func() error { return swapNames(b.path, temp, kept) }
	if runtime.GOOS == "windows" { // which does not rename a file that is open
		return rename()
	}
	held := false
	err := b.with(ctx, b.path, modeRead, func(*os.File, *bolt.DB) error {
		held = true
		return rename()
	})
	if !held && (errors.Is(err, ErrDamaged) || errors.Is(err, ErrNotABook) || errors.Is(err, berrors.ErrChecksum)) {
		return rename() // no one can write in a book that does not open
	}
	return err
}

// swapNames gives the new file the book's name and the old one another.
//
// The old file gets its second name first, so that at no moment there is no book. Some file systems, such as those of memory
// sticks, know no second names. The name is brought to the disk before the other one changes its meaning: a file system that
// keeps no order would else lose the old book in a power cut. What fails is undone.
func swapNames(path, temp, kept string) error {
	undo := func() { _ = os.Remove(kept) }
	if os.Link(path, kept) != nil {
		if err := os.Rename(path, kept); err != nil {
			return err
		}
		undo = func() { _ = os.Rename(kept, path) }
	}
	err := syncFolder(filepath.Dir(path))
	if err == nil {
		err = os.Rename(temp, path)
	}
	if err != nil {
		undo()
	}
	return err
}

// keptName is the name for a replaced book: with the date, and a number where that is taken.
func (b *Book) keptName() (string, error) {
	now, err := b.now()
	if err != nil {
		return "", err
	}
	base := b.path + ".replaced-" + now.clockTime(b.o.Location).Format("20060102-150405")
	for name, n := base, 2; ; name, n = fmt.Sprintf("%s-%d", base, n), n+1 {
		switch _, err := os.Lstat(name); {
		case errors.Is(err, fs.ErrNotExist):
			return name, nil
		case err != nil:
			return "", err
		}
	}
}
