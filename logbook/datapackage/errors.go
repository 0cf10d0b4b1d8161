package datapackage

import (
	"errors"
	"strings"

	"example.org/headpond/logbook/csvfile"
)

// ErrNotPackage is returned for a file that is no export package at all.
var ErrNotPackage = errors.New("this is no export package")

// Error says why a package is refused. Nothing of it was used.
type Error struct {
	File     string // within the package; "" for the package itself
	What     string
	Expected string
	Kind     error // ErrNotPackage or nil
	Err      error // the cause, where there is one
}

// Error names the file, what is wrong with it and what was expected.
func (e *Error) Error() string {
	var s strings.Builder
	if e.File != "" {
		s.WriteString(shortened(e.File) + " in the package: ")
	}
	s.WriteString(e.What)
	if e.Expected != "" {
		s.WriteString("; expected " + e.Expected)
	}
	if e.Err != nil {
		s.WriteString(": " + strings.TrimSuffix(e.Err.Error(), "; nothing was imported"))
	}
	return s.String() + "; nothing was changed"
}

// Unwrap returns the kind and the cause.
func (e *Error) Unwrap() []error {
	var list []error
	for _, err := range []error{e.Kind, e.Err} {
		if err != nil {
			list = append(list, err)
		}
	}
	return list
}

// shortened makes a name from a stranger fit for a message.
func shortened(name string) string {
	const most = 80
	name = csvfile.Harmless(name)
	for i := range name {
		if i >= most {
			return name[:i] + "…"
		}
	}
	return name
}
