package logbook

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
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
	return explainCopy(copying, dst, err)
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
