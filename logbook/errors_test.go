package logbook

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"syscall"
	"testing"

	berrors "go.etcd.io/bbolt/errors"
)

func TestErrorsOfTheStoreAndTheSystemAreExplained(t *testing.T) {
	path := "plant.book"
	onPath := func(err error) error { return &os.PathError{Op: "open", Path: path, Err: err} }
	for name, c := range map[string]struct {
		err  error
		kind error
		says []string
	}{
		"missing":           {onPath(syscall.ENOENT), ErrNoBook, []string{"no logbook here", "--book"}},
		"locked":            {berrors.ErrTimeout, ErrLocked, []string{"in use", "another Headpond", "try again"}},
		"not of the store":  {berrors.ErrInvalid, ErrNotABook, []string{"not a logbook", "nothing was changed"}},
		"newer store":       {berrors.ErrVersionMismatch, ErrNewer, []string{"newer Headpond", "use the newer version"}},
		"head spoilt":       {berrors.ErrChecksum, ErrDamaged, []string{"damaged", "headpond check"}},
		"disk full":         {onPath(syscall.ENOSPC), ErrNoSpace, []string{"no space", "still opens"}},
		"quota":             {onPath(syscall.EDQUOT), ErrNoSpace, []string{"make room"}},
		"file at its limit": {onPath(syscall.EFBIG), ErrNoSpace, []string{"make room"}},
		"growth, text only": {fmt.Errorf("file resize error: %s", syscall.ENOSPC), ErrNoSpace, []string{"no space"}},
		"greatest size":     {berrors.ErrMaxSizeReached, ErrNoSpace, []string{"no space"}},
		"not allowed":       {onPath(syscall.EACCES), ErrReadOnly, []string{"cannot be written here", "permission denied"}},
		"read-only medium":  {onPath(syscall.EROFS), ErrReadOnly, []string{"copy the book to a folder of your own"}},
		"given up":          {context.Canceled, context.Canceled, []string{"given up", "nothing was changed"}},
		"something else":    {errors.New("the bus is off"), nil, []string{"the bus is off", "nothing was changed"}},
	} {
		got := explain("saving a round", path, c.err)
		if c.kind != nil && !errors.Is(got, c.kind) || !errors.Is(got, c.err) {
			t.Errorf("%s: %v is neither of its kind nor its cause", name, got)
		}
		for _, says := range append(c.says, "saving a round", path) {
			if !strings.Contains(got.Error(), says) {
				t.Errorf("%s: %q does not say %q", name, got, says)
			}
		}
		if again := explain("other", "elsewhere", got); again.Error() != got.Error() && c.kind != context.Canceled {
			t.Errorf("%s: explained twice it says %q", name, again)
		}
	}
	if explain("saving", path, nil) != nil {
		t.Error("no error was explained")
	}
	if !errors.Is(explain("opening", path, onPath(syscall.ENOENT)), fs.ErrNotExist) {
		t.Error("a caller can no longer ask for fs.ErrNotExist")
	}
}

func TestKindsAreNamed(t *testing.T) {
	for k, want := range map[Kind]string{KindRound: "round", KindEvent: "event", KindAmendment: "amendment", KindPlant: "plant", KindDone: "upkeep done", 77: "unknown kind 77"} {
		if k.String() != want {
			t.Errorf("%d is %q, want %q", k, k, want)
		}
	}
}
