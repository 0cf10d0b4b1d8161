package logbook

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"
)

// Backup copies the book to dst while others may write in it. The copy is what the book was at one moment; it is verified,
// read back, and only then given its name. A file that is there already is ErrExists unless replace is set and it is an earlier
// backup, whole or damaged: nothing else is ever replaced. A damaged book is not backed up (ErrDamaged), so that no good copy gives way to a bad one.
//
// The book is locked only while it is copied into memory, not while dst, which may be a slow memory stick, is written.
func (b *Book) Backup(ctx context.Context, dst string, replace bool) (*CheckReport, error) {
	const doing = copying
	if same(b.path, dst) {
		return nil, &Error{Doing: doing, Path: dst, Kind: ErrExists, Where: "this is the book itself", Hint: hintUnchanged}
	}
	if info, err := os.Lstat(dst); err == nil {
		if !replace {
			return nil, &Error{Doing: doing, Path: dst, Kind: ErrExists, Hint: "name another file, or say that it may be replaced; nothing was changed"}
		}
		if !info.Mode().IsRegular() || !isBook(dst) {
			return nil, &Error{Doing: doing, Path: dst, Kind: ErrExists, Where: "it is no logbook, and only an earlier backup is replaced", Hint: "name another file; nothing was changed"}
		}
	}
	c, err := b.Copy(ctx)
	if err != nil {
		return nil, err
	}
	name := renameNew
	if replace {
		name = os.Rename
	}
	return c.Report, c.save(ctx, dst, name)
}

// isBook reports whether a file is a logbook by its head, whole or damaged.
func isBook(path string) bool {
	f, err := openRegular(path)
	if err != nil {
		return false
	}
	defer f.Close()
	return !errors.Is(checkHead(f), ErrNotABook)
}

// Copy is a whole book as it was at one moment, verified, in memory.
type Copy struct {
	Report *CheckReport
	Mark   uint64 // how many entries were ever put into the book: see Book.Mark
	data   []byte
}

// Copy reads and verifies the book. The error is ErrDamaged for one that is not sound.
func (b *Book) Copy(ctx context.Context) (*Copy, error) {
	s, report, err := b.soundSnapshot(ctx, b.path)
	if err != nil {
		return nil, explain(copying, b.path, err)
	}
	return &Copy{Report: report, Mark: s.buckets()[bucketEntries].sequence, data: s.data}, nil
}

const copying = "making a backup"

// Sum is the SHA-256 of the bytes that Save writes.
func (c *Copy) Sum() [sha256.Size]byte { return sha256.Sum256(c.data) }

// Save writes the copy into a new file, reads it back, and only then gives it its name; what it has not finished is taken away
// again. A file that is there already is ErrExists.
func (c *Copy) Save(ctx context.Context, dst string) error { return c.save(ctx, dst, renameNew) }

func (c *Copy) save(ctx context.Context, dst string, name func(temp, path string) error) error {
	err := writeBeside(dst, func(temp string) error { return writeBack(ctx, temp, c.data) }, name)
	return explain(copying, dst, err)
}

// soundSnapshot reads and verifies a whole book.
func (b *Book) soundSnapshot(ctx context.Context, path string) (*snapshot, *CheckReport, error) {
	s, err := b.takeSnapshot(ctx, path)
	if err != nil {
		return nil, nil, err
	}
	report, err := checkSnapshot(ctx, s, nil)
	if err != nil {
		return nil, nil, err
	}
	if !report.Sound() {
		return nil, nil, damaged(fmt.Sprintf("%d damages, the first: %s", len(report.Damaged), report.Damaged[0]), nil)
	}
	return s, report, nil
}

// writeBack fills a file in pieces, so that it can be given up on a slow stick, and reads it again, for a stick that lies.
func writeBack(ctx context.Context, path string, data []byte) error {
	const piece = 1 << 20
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_TRUNC, 0)
	if err != nil {
		return err
	}
	for rest := data; len(rest) > 0 && err == nil; rest = rest[min(piece, len(rest)):] {
		if err = ctx.Err(); err == nil {
			_, err = f.Write(rest[:min(piece, len(rest))])
		}
	}
	if err == nil {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return err
	}
	got, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	if !bytes.Equal(got, data) {
		return damaged("the copy does not read back as it was written: do not trust this medium", nil)
	}
	return nil
}

// Restored tells what Restore did.
type Restored struct {
	Kept   string // where the replaced book is now; "" when there was none
	Saved  int    // entries of the replaced book, which was damaged, that the backup lacked and that were taken over
	Report *CheckReport
}

// Restore puts a backup in the place of a book. The backup is verified first; a damaged one is refused. The book that was
// there, damaged or not, is kept beside under a name with the date, and nothing that anyone wrote is deleted. A Headpond that
// waits to write goes on with the restored book.
//
// A sound book is replaced by what the backup holds, no more and no less. Of a damaged one every entry that is still whole and
// that the backup lacks is taken over, so that what was written since the backup is lost only where the damage lies.
func Restore(ctx context.Context, backup, dst string, o Options) (Restored, error) {
	const doing = "restoring"
	b := newBook(dst, o)
	if same(backup, dst) {
		return Restored{}, &Error{Doing: doing, Path: dst, Kind: ErrExists, Where: "the backup is the book itself", Hint: hintUnchanged}
	}
	s, report, err := b.soundSnapshot(ctx, backup)
	if err != nil {
		return Restored{}, explain(doing, backup, err)
	}
	if err := os.MkdirAll(filepath.Dir(dst), 0o700); err != nil {
		return Restored{}, explain(doing, dst, err)
	}
	r := Restored{Report: report}
	name := renameNew
	var rest *survey
	if _, err := os.Lstat(dst); err == nil {
		damaged, close, err := b.damagedRest(ctx)
		if err != nil {
			return Restored{}, explain(doing, dst, err)
		}
		defer close()
		rest = damaged
		if r.Kept, err = b.keptName(); err != nil {
			return Restored{}, explain(doing, dst, err)
		}
		name = func(temp, dst string) error { return b.swap(ctx, temp, r.Kept) }
	}
	err = writeBeside(dst, func(temp string) error {
		if err := writeBack(ctx, temp, s.data); err != nil || rest == nil {
			return err
		}
		if err := rest.without(ctx, s); err != nil {
			return err
		}
		return r.takeOver(ctx, rest, newBook(temp, o))
	}, name)
	if err != nil {
		return Restored{}, explain(doing, dst, err)
	}
	return r, nil
}

// damagedRest looks at the book that is to be replaced. Of a sound one nothing is wanted: the survey is nil.
func (b *Book) damagedRest(ctx context.Context) (v *survey, close func(), err error) {
	close = func() {}
	_, _, err = b.soundSnapshot(ctx, b.path)
	if !errors.Is(err, ErrDamaged) && !errors.Is(err, ErrNotABook) {
		return nil, close, err
	}
	f, err := openRegular(b.path)
	if err != nil {
		return nil, close, err
	}
	close = func() { _ = f.Close() }
	v, err = surveyFile(ctx, f, b.o)
	return v, close, err
}

// without takes off the list of lost entries those that a backup holds.
func (v *survey) without(ctx context.Context, backup *snapshot) error {
	c := &checker{ctx: ctx, report: &CheckReport{}}
	c.pages(backup)
	err := c.entries()
	for _, s := range c.sealed {
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

// Reindex makes the derived lists of the book again from its entries. It is needed only where Check says so.
func (b *Book) Reindex(ctx context.Context) error {
	return b.update(ctx, "making the index again", (*txn).rebuild)
}

// same reports whether two names mean one file.
func same(a, b string) bool {
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}
