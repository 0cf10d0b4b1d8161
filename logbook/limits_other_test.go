//go:build !linux

package logbook_test

import (
	"context"
	"errors"

	"example.org/headpond/logbook"
)

// childFills needs a limit on the size of files that only some systems have.
func childFills(context.Context, *logbook.Book) error { return errors.New("not on this system") }
