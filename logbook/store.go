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

// view runs fn in a read transaction. The file is not written to in any way.
func (b *Book) view(ctx context.Context, doing string, fn func(*txn) error) error {
	err := b.with(ctx, b.path, modeRead, func(tx *bolt.Tx) error {
		t, err := b.begin(tx)
		if err != nil {
			return err
		}
		return fn(t)
	})
	return explain(doing, b.path, err)
}

// update runs fn in a write transaction. It returns nil only when all of it is on the disk; otherwise nothing of it is.
func (b *Book) update(ctx context.Context, doing string, fn func(*txn) error) error {
	err := b.with(ctx, b.path, modeWrite, func(tx *bolt.Tx) error {
		t, err := b.begin(tx)
		if err != nil {
			return err
		}
		if err := t.ready(); err != nil {
			return err
		}
		return fn(t)
	})
	return explain(doing, b.path, err)
}

// with opens a file, runs one transaction and closes it. It waits up to LockWait while another process holds the file.
func (b *Book) with(ctx context.Context, path string, m mode, fn func(*bolt.Tx) error) error {
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
// A damaged file makes the store panic, or fault when a page lies beyond the file's end. Both become ErrDamaged here. After
// a panic the store's own locks are in doubt, so the file is closed beneath it, which frees the lock for others.
func (b *Book) once(path string, m mode, fn func(*bolt.Tx) error) (err error) {
	var file *os.File
	sound := false
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if sound {
			return
		}
		cause := recover()
		if file != nil {
			_ = file.Close()
		}
		err = damaged("a page is not as it was written", fmt.Errorf("%v", cause))
	}()
	db, err := bolt.Open(path, 0o600, b.boltOptions(m, &file))
	if err == nil {
		err = run(db, path, file, m, fn)
		if cerr := db.Close(); err == nil {
			err = cerr
		}
	}
	sound = true
	return err
}

// boltOptions never lets the store create a file, except where that is meant, and checks the head before the store maps the
// file.
func (b *Book) boltOptions(m mode, file **os.File) *bolt.Options {
	return &bolt.Options{
		Timeout:      time.Nanosecond, // one try; with waits instead
		FreelistType: bolt.FreelistMapType,
		ReadOnly:     m == modeRead,
		NoStatistics: true,
		MaxSize:      b.o.MaxSize,
		OpenFile: func(name string, flag int, perm os.FileMode) (*os.File, error) {
			f, err := os.OpenFile(name, flag&^os.O_CREATE, perm)
			if err != nil {
				return nil, err
			}
			if m != modeNew {
				if err := checkHead(f); err != nil {
					_ = f.Close()
					return nil, err
				}
			}
			*file = f
			return f, nil
		},
	}
}

// run does the transaction on an open file.
func run(db *bolt.DB, path string, file *os.File, m mode, fn func(*bolt.Tx) error) error {
	if m == modeRead {
		return db.View(fn)
	}
	// A restore puts another file under the name. What was written to the old one would be acknowledged and then not be
	// there, so a writer makes sure that the name still means the file that it has locked.
	now, err := os.Stat(path)
	if err != nil {
		return err
	}
	locked, err := file.Stat()
	if err != nil {
		return err
	}
	if !os.SameFile(now, locked) {
		return errReplaced
	}
	if m == modeWrite {
		h, err := readHead(file)
		if err == nil {
			err = checkFree(file, h)
		}
		if err != nil {
			return err
		}
	}
	return db.Update(fn)
}
