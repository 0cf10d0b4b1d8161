package logbook

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"runtime"
	"strings"
	"syscall"

	berrors "go.etcd.io/bbolt/errors"
)

// Errors that can occur when a book is opened. Compare with errors.Is; the error itself is an *Error.
var (
	// ErrNoBook is returned when there is no file at the path.
	ErrNoBook = errors.New("there is no logbook here")
	// ErrNotABook is returned when the file is something else, or empty.
	ErrNotABook = errors.New("this is not a logbook")
	// ErrDamaged is returned when the file is a logbook but part of it is cut off or altered.
	ErrDamaged = errors.New("the logbook is damaged")
	// ErrLocked is returned when another process held the book for longer than Options.LockWait.
	ErrLocked = errors.New("the logbook is in use")
	// ErrNewer is returned when the book was laid out by a newer version, which this one must not write to.
	ErrNewer = errors.New("the logbook was made by a newer Headpond")
)

// Errors that can occur when something is written.
var (
	// ErrNoSpace is returned when the disk or a quota is full. The book is as it was before.
	ErrNoSpace = errors.New("there is no space left on the disk")
	// ErrReadOnly is returned when the file, its folder or its medium may not be written.
	ErrReadOnly = errors.New("the logbook cannot be written here")
	// ErrReadOnlyCopy is ErrReadOnly for a copy of the book, or what was rescued of it: the folder that was named for it may not be written.
	ErrReadOnlyCopy error = readOnlyCopy{}
	// ErrUncertain is returned when all was written, but the disk failed when it was asked to keep it: the entry may be in the
	// book, and may be gone after a power cut.
	ErrUncertain = errors.New("it is not certain that it was kept")
	// ErrNoFolder is returned when a file is to be written to a folder that is not there.
	ErrNoFolder = errors.New("there is no such folder")
	// ErrExists is returned when a file, or an entry of the same id with other content, is there already.
	ErrExists = errors.New("it exists already")
	// ErrInvalid is returned for an entry that cannot be kept, such as one dated before 1970 or a reading that is no number.
	ErrInvalid = errors.New("it cannot be kept")
)

// readOnlyCopy is ErrReadOnly in other words.
type readOnlyCopy struct{}

func (readOnlyCopy) Error() string        { return "this file or its folder cannot be written" }
func (readOnlyCopy) Is(target error) bool { return target == ErrReadOnly }

// Errors that can occur when an entry is asked for.
var (
	// ErrNoEntry is returned when no entry has the id.
	ErrNoEntry = errors.New("there is no such entry")
	// ErrAmbiguous is returned when several entries begin with the short id.
	ErrAmbiguous = errors.New("several entries begin so")
	// ErrNoChange is returned for a correction that would alter nothing.
	ErrNoChange = errors.New("nothing would change")
)

// Error says what could not be done with which book, why, and what a person can do about it. It matches one of the package's
// sentinel errors and whatever lies below.
type Error struct {
	Doing string // "saving a round", "opening"
	Path  string
	Kind  error  // one of the package's sentinels, or nil
	Where string // more about what or where: an id, an offset; may be empty
	Hint  string // what a person can do; may be empty
	Err   error  // the cause; may be nil
}

// Error gives one sentence: what was being done, where, what is wrong, what was expected, and what to do.
func (e *Error) Error() string {
	var s strings.Builder
	if e.Doing != "" {
		s.WriteString(e.Doing + ": ")
	}
	if e.Path != "" {
		s.WriteString(e.Path + ": ")
	}
	switch {
	case e.Kind != nil:
		s.WriteString(e.Kind.Error())
	case e.Err != nil:
		s.WriteString(e.Err.Error())
	}
	if e.Where != "" {
		s.WriteString(": " + e.Where)
	}
	if e.Hint != "" {
		s.WriteString("; " + e.Hint)
	}
	return s.String()
}

// Unwrap returns the sentinel and the cause, so that errors.Is finds either.
func (e *Error) Unwrap() []error {
	var list []error
	for _, err := range []error{e.Kind, e.Err} {
		if err != nil {
			list = append(list, err)
		}
	}
	return list
}

// Hints that several places share.
const (
	hintUnchanged = "nothing was changed"
	hintCheck     = "nothing was changed; headpond restore puts a backup back, and headpond check --rescue FILE saves every entry that is still whole"
	hintLocked    = "another Headpond may be writing; nothing was lost or changed, try again"
	hintUncertain = "it may have been kept: look before you do it again, and take a backup to another disk, for this one fails"
	hintSpace     = "nothing was changed and the book still opens; make room and try again"
	hintReadOnly  = "nothing was changed; copy the book to a folder of your own to write in it"
	hintTarget    = "nothing was changed; name a file in a folder that you may write to"
	hintNewer     = "nothing was changed; use the newer version"
)

// explain turns what the store or the system said into an *Error that names the book. An *Error, and a context's error,
// pass unchanged.
func explain(doing, path string, err error) error {
	var own *Error
	switch {
	case err == nil:
		return nil
	case errors.As(err, &own):
		if own.Path == "" {
			own.Path = path
		}
		if own.Doing == "" {
			own.Doing = doing
		}
		return err
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return fmt.Errorf("%s: %s: given up, %s: %w", doing, path, hintUnchanged, err)
	}
	e := &Error{Doing: doing, Path: path, Err: err}
	e.Hint, e.Kind = classify(err)
	if e.Kind == nil {
		e.Hint = hintUnchanged
	} else if errors.Is(e.Kind, ErrDamaged) || errors.Is(e.Kind, ErrReadOnly) {
		e.Where = plain(err)
	}
	return e
}

// explainCopy is explain for a file that is written beside the book, such as a copy of it: where that may not be written, another place
// for the book is no help.
func explainCopy(doing, path string, err error) error {
	var own *Error
	if err != nil && !errors.As(err, &own) && readOnly(err) {
		return &Error{Doing: doing, Path: path, Kind: ErrReadOnlyCopy, Where: plain(err), Hint: hintTarget, Err: err}
	}
	return explain(doing, path, err)
}

// classify finds the sentinel for an error of the store or the system, nil where there is none.
func classify(err error) (hint string, kind error) {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "name another with --book, or make one with headpond plant load", ErrNoBook
	case errors.Is(err, berrors.ErrTimeout):
		return hintLocked, ErrLocked
	case errors.Is(err, berrors.ErrInvalid):
		return hintUnchanged, ErrNotABook
	case errors.Is(err, berrors.ErrVersionMismatch):
		return hintNewer, ErrNewer
	case errors.Is(err, berrors.ErrChecksum), errors.Is(err, berrors.ErrInvalidMapping):
		return hintCheck, ErrDamaged
	case noSpace(err):
		return hintSpace, ErrNoSpace
	case readOnly(err):
		return hintReadOnly, ErrReadOnly
	}
	return "", nil
}

// noSpace recognises a full disk, a full quota and a file at its greatest size.
func noSpace(err error) bool {
	var number syscall.Errno
	const windowsDiskFull, windowsHandleFull = 112, 39
	if errors.As(err, &number) && runtime.GOOS == "windows" {
		return number == windowsDiskFull || number == windowsHandleFull
	}
	return means(err, syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG, berrors.ErrMaxSizeReached)
}

// readOnly recognises a file, a folder or a medium that may not be written.
func readOnly(err error) bool {
	return errors.Is(err, fs.ErrPermission) || means(err, syscall.EROFS, syscall.EACCES, berrors.ErrDatabaseReadOnly)
}

// means reports whether an error is one of some causes, or ends in the words of one: the store passes some on as text only.
func means(err error, causes ...error) bool {
	for _, c := range causes {
		if errors.Is(err, c) || strings.HasSuffix(err.Error(), c.Error()) {
			return true
		}
	}
	return false
}

// plain strips the path that the system puts in front, since the book's path is named already.
func plain(err error) string {
	var pe *os.PathError
	if errors.As(err, &pe) {
		return pe.Op + ": " + pe.Err.Error()
	}
	return err.Error()
}

// damaged makes the error for something in the book that is not as it was written.
func damaged(where string, cause error) error {
	return &Error{Kind: ErrDamaged, Where: where, Hint: hintCheck, Err: cause}
}

// uncertain makes the error for what was written when the disk failed to keep it.
func uncertain(cause error) error {
	return &Error{Kind: ErrUncertain, Where: plain(cause), Hint: hintUncertain, Err: cause}
}

// invalid makes the error for an entry that cannot be kept.
func invalid(what, expected string) error {
	return &Error{Kind: ErrInvalid, Where: what + ", expected " + expected, Hint: hintUnchanged}
}

// damageText is what is wrong, without the name of the book and the hint, for a list of damages.
func damageText(err error) string {
	var own *Error
	if errors.As(err, &own) && own.Where != "" {
		return own.Where
	}
	return err.Error()
}
