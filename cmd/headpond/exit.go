package main

import (
	"context"
	"errors"
	"fmt"
)

// exitCode is the program's exit status.
type exitCode int

// The contract's exit statuses.
const (
	exitDone   exitCode = 0 // it was done
	exitFailed exitCode = 1 // it could not be done; the reason is on standard error
	exitUsage  exitCode = 2 // the command line is wrong
)

// nothingChanged ends every message of a command that did nothing.
const nothingChanged = "nothing was changed"

// usageError marks an error of the command line itself.
type usageError struct{ err error }

func (e usageError) Error() string { return e.err.Error() }
func (e usageError) Unwrap() error { return e.err }

// usagef makes an error that ends the program with exit status 2.
func usagef(format string, args ...any) error {
	return usageError{fmt.Errorf(format, args...)}
}

// quietError ends the program with exit status 1 after everything was said already.
type quietError struct{}

func (quietError) Error() string { return "said already" }

func codeOf(err error) exitCode {
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &usage):
		return exitUsage
	}
	return exitFailed
}

// sentence is an error for people. Giving up on request is not a fault, so it is said in its own words.
func sentence(err error) string {
	if errors.Is(err, context.Canceled) {
		return "stopped as you asked: " + nothingChanged
	}
	return err.Error()
}
