package logbook

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sync"
	"time"

	bolt "go.etcd.io/bbolt"

	"example.org/headpond/model/plant"
)

// DefaultLockWait is how long a call waits for another process's transaction before it gives up with ErrLocked.
const DefaultLockWait = 5 * time.Second

// Options are what a Book needs from outside.
type Options struct {
	// Clock tells what time it is. It is asked once for each entry written.
	Clock func() time.Time
	// Location is the plant's time zone: written_at is kept with its offset. nil is UTC.
	Location *time.Location
	// Writer tells this machine and user from all others. Entries of one writer form one chain.
	Writer [16]byte
	// Rand makes ids unique; nil is crypto/rand.
	Rand io.Reader
	// LockWait is how long to wait for another process; zero and less is DefaultLockWait, so that no call waits for ever.
	LockWait time.Duration
	// ReadOnly is for a book that is only looked at: nothing is written to its file, not even what would spare the next reader
	// work, and saving is ErrReadOnly.
	ReadOnly bool
	// MaxSize stops the file from growing beyond so many bytes, with ErrNoSpace; zero is no limit.
	MaxSize int

	// noSync leaves the writing to the disk to the system. Only tests set it, of what does not bear on crashes.
	noSync bool
	// hoursEvery is for how many rounds or events a row of counted hours is kept; zero is the usual number, which only tests change.
	hoursEvery int
}

// Book is a logbook file. It holds nothing open: each method opens the file, does one transaction and closes it. Its
// methods may be called from several goroutines.
type Book struct {
	path string
	o    Options

	mu     sync.Mutex
	plants map[id]*plant.Plant // revisions parsed so far; a revision never changes

	spare sync.Pool // memory of pages, kept from one transaction for the next
}

// Open names a book that exists. It looks at the file's head only, takes no lock and keeps nothing open. The error is an
// *Error: ErrNoBook, ErrNotABook, ErrDamaged (a cut file), ErrReadOnly (may not be read).
func Open(path string, o Options) (*Book, error) {
	b := newBook(path, o)
	f, err := openRegular(path)
	if err == nil {
		err = checkHead(f)
		if cerr := f.Close(); err == nil {
			err = cerr
		}
	}
	if err != nil {
		return nil, explain("opening", path, err)
	}
	return b, nil
}

// Create makes a new, empty book, with its folder where that is missing. The file appears under its name only once it is whole
// and on the disk. ErrExists is returned when anything of that name is there.
func Create(ctx context.Context, path string, o Options) (*Book, error) {
	const doing = "making a logbook"
	if err := ctx.Err(); err != nil {
		return nil, explain(doing, path, err)
	}
	if _, err := os.Lstat(path); err == nil {
		return nil, &Error{Doing: doing, Path: path, Kind: ErrExists, Hint: hintUnchanged}
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return nil, explain(doing, path, err)
	}
	b := newBook(path, o)
	err := writeBeside(path, func(temp string) error { return newBook(temp, o).layOut(ctx) }, renameNew)
	if err != nil {
		return nil, explain(doing, path, err)
	}
	return b, nil
}

// layOut makes an empty book of an empty file.
func (b *Book) layOut(ctx context.Context) error {
	return b.with(ctx, b.path, modeNew, func(_ *os.File, db *bolt.DB) error {
		return db.Update(func(tx *bolt.Tx) error {
			if err := newBuckets(tx); err != nil {
				return err
			}
			return tx.Bucket([]byte(bucketBook)).Put([]byte(keyIndex), indexMark(0))
		})
	})
}

func newBook(path string, o Options) *Book {
	if o.LockWait <= 0 {
		o.LockWait = DefaultLockWait
	}
	if o.Rand == nil {
		o.Rand = rand.Reader
	}
	if o.Location == nil {
		o.Location = time.UTC
	}
	if o.Clock == nil {
		o.Clock = func() time.Time { return time.Time{} }
	}
	return &Book{path: path, o: o, plants: map[id]*plant.Plant{}}
}

// Path returns the file's name as it was given.
func (b *Book) Path() string { return b.path }

// Stamp is a token that differs whenever the file does. Compare two with ==.
type Stamp struct {
	Size    int64
	ModTime int64  // nanoseconds since 1970
	Tx      uint64 // the number of the last transaction
}

// Stamp looks at the file's date and head, without a lock. Screens ask for it often, and read the book again only when it
// differs; see Mark for whether entries were added.
func (b *Book) Stamp() (Stamp, error) {
	f, err := openRegular(b.path)
	if err != nil {
		return Stamp{}, explain("looking at the logbook", b.path, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return Stamp{}, explain("looking at the logbook", b.path, err)
	}
	h, err := readHead(f)
	if err != nil {
		return Stamp{}, explain("looking at the logbook", b.path, err)
	}
	return Stamp{Size: info.Size(), ModTime: info.ModTime().UnixNano(), Tx: h.tx}, nil
}

// Mark returns how many entries were ever put into the book. Unlike Stamp it does not change when a draft is kept.
func (b *Book) Mark(ctx context.Context) (uint64, error) {
	var n uint64
	err := b.view(ctx, "looking at the logbook", func(t *txn) error {
		n = t.entries.Sequence()
		return nil
	})
	return n, err
}

// now is the time of writing, in the plant's zone.
func (b *Book) now() (stamp, error) {
	s, err := stampOf(b.o.Clock().In(b.o.Location))
	if err != nil {
		return stamp{}, fmt.Errorf("this computer's clock: %w", err)
	}
	return s, nil
}
