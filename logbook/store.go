package logbook

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime/debug"
	"time"

	bolt "go.etcd.io/bbolt"
	berrors "go.etcd.io/bbolt/errors"
)

// mode is how a file is opened for one transaction.
type mode int

const (
	modeRead mode = iota
	modeWrite
	modeNew // an empty file made by us
)

// Waiting for another process: the first try again comes soon, because most transactions take a millisecond.
const (
	firstPause = time.Millisecond
	longPause  = 16 * time.Millisecond
)

// fillPercent leaves little room in a page, since entries arrive almost in order of their keys.
const fillPercent = 0.9

// errReplaced tells that another file was put under the name while we waited for the lock.
var errReplaced = errors.New("the file was replaced")

// view runs fn in a read transaction. The file is not written to in any way. Where pages are spoilt, fn runs a second time
// without the index, so that it finds all that can still be read; it looks at t.g.faults for what it should say.
func (b *Book) view(ctx context.Context, doing string, fn func(*txn) error) error {
	err := b.with(ctx, b.path, modeRead, func(f *os.File, _ *bolt.DB) error {
		g, err := newPager(f, &b.spare)
		if err != nil {
			return err
		}
		defer g.release()
		t, err := b.begin(g, nil)
		if err != nil {
			return err
		}
		if err := fn(t); err != nil || len(g.faults) == 0 || t.linked != nil {
			return err
		}
		t.linked = t.link()
		return fn(t)
	})
	return explain(doing, b.path, err)
}

// update runs fn in a write transaction. It returns nil only when all of it is on the disk; otherwise
// nothing of it is, or the error is ErrUncertain.
func (b *Book) update(ctx context.Context, doing string, fn func(*txn) error) error {
	if b.o.ReadOnly {
		return explain(doing, b.path, &Error{Kind: ErrReadOnly, Where: "it is open to be looked at only", Hint: hintReadOnly})
	}
	err := b.with(ctx, b.path, modeWrite, func(f *os.File, db *bolt.DB) error {
		g, err := b.writable(f)
		if err != nil {
			return err
		}
		defer g.release()
		ready := false // all is prepared, and only the writing is left
		err = db.Update(guarded(func(tx *bolt.Tx) error {
			t, err := b.begin(g, tx)
			if err != nil {
				return err
			}
			if err := t.ready(); err != nil {
				return err
			}
			if err := fn(t); err != nil {
				return err
			}
			ready = true
			return g.damage()
		}))
		if err != nil && ready && advanced(f, g.head) {
			return uncertain(err)
		}
		return err
	})
	return explain(doing, b.path, err)
}

// advanced reports whether a file has another head than it had, or one that cannot be read. Where the very last sync of a
// transaction fails, the new head stands in the file for all who read it, but perhaps not on the disk.
func advanced(f *os.File, before head) bool {
	now, err := readHead(f)
	return err != nil || now.tx != before.tx
}

// writable makes sure that a locked file may be written.
//
// A restore puts another file under the name. What was written to the old one would be acknowledged and then not be there,
// so a writer makes sure that the name still means the file that it has locked.
func (b *Book) writable(f *os.File) (*pager, error) {
	now, err := os.Stat(b.path)
	if err != nil {
		return nil, err
	}
	locked, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if !os.SameFile(now, locked) {
		return nil, errReplaced
	}
	g, err := newPager(f, &b.spare)
	if err != nil {
		return nil, err
	}
	return g, checkFree(f, g.head)
}

// with opens and locks a file, lets fn do one transaction and closes it. It waits up to LockWait while another process
// holds the file.
func (b *Book) with(ctx context.Context, path string, m mode, fn func(*os.File, *bolt.DB) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	busy := func(err error) bool { return errors.Is(err, berrors.ErrTimeout) || errors.Is(err, errReplaced) }
	err := b.once(path, m, fn)
	if !busy(err) {
		return err
	}
	limit, cancel := context.WithTimeout(ctx, b.o.LockWait)
	defer cancel()
	for pause := firstPause; ; pause = min(2*pause, longPause) {
		wait := time.NewTimer(pause)
		select {
		case <-wait.C:
		case <-limit.Done():
			wait.Stop()
			if ctx.Err() != nil {
				return ctx.Err()
			}
			return &Error{Kind: ErrLocked, Where: fmt.Sprintf("waited %v", b.o.LockWait), Hint: hintLocked, Err: err}
		}
		if err = b.once(path, m, fn); !busy(err) {
			return err
		}
	}
}

// once tries a single time and never waits: a locked file is berrors.ErrTimeout.
//
// The store panics where a page is not what it expects, or faults when one lies beyond the file's end. Pages are verified
// first, so neither should come; should one come all the same it becomes ErrDamaged: within a transaction at once, so that
// the store ends it and closes as usual; while the store opens, commits or closes only here, with its own locks in doubt, so
// that it is left as it is and the file is unlocked beneath it. (Closing alone would not do: the memory map keeps the lock.)
func (b *Book) once(path string, m mode, fn func(*os.File, *bolt.DB) error) (err error) {
	var file *os.File
	sound := false
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if sound {
			return
		}
		cause := recover()
		if file != nil {
			_ = unlock(file)
			_ = file.Close()
		}
		err = spoiltPage(cause)
	}()
	db, err := bolt.Open(path, 0o600, b.boltOptions(m, &file))
	if err == nil {
		err = fn(file, db)
		if cerr := db.Close(); err == nil {
			err = cerr
		}
	}
	sound = true
	return err
}

// guarded turns a panic or fault within a transaction into ErrDamaged.
func guarded(fn func(*bolt.Tx) error) func(*bolt.Tx) error {
	return func(tx *bolt.Tx) (err error) {
		sound := false
		defer func() {
			if !sound {
				err = spoiltPage(recover())
			}
		}()
		err = fn(tx)
		sound = true
		return err
	}
}

func spoiltPage(cause any) error {
	return damaged("a page is not as it was written", fmt.Errorf("%v", cause))
}

// boltOptions never lets the store create a file, except where that is meant, and checks the head before the store maps the
// file.
func (b *Book) boltOptions(m mode, file **os.File) *bolt.Options {
	return &bolt.Options{
		Timeout: time.Nanosecond, // one try; with waits instead
		// The list is read for each transaction anew, so the kind that is cheap to read is better than the one that is quick to
		// search: with 600 free pages a saving takes 0.5 instead of 0.7 ms.
		FreelistType: bolt.FreelistArrayType,
		ReadOnly:     m == modeRead,
		NoStatistics: true,
		MaxSize:      b.o.MaxSize,
		NoSync:       b.o.noSync,
		OpenFile: func(name string, flag int, perm os.FileMode) (*os.File, error) {
			if err := regular(name); err != nil {
				return nil, err
			}
			f, err := os.OpenFile(name, flag&^os.O_CREATE, perm)
			if err != nil {
				return nil, err
			}
			if m != modeNew {
				err := checkHead(f)
				if err == nil && m == modeWrite {
					err = checkFreeUnlocked(f)
				}
				if err != nil {
					_ = f.Close()
					return nil, err
				}
			}
			*file = f
			return f, nil
		},
	}
}
