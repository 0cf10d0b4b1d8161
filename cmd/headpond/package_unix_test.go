//go:build unix

package main

import (
	"os"
	"path/filepath"
	"testing"
)

func TestAPackagesScreensAreReadOnlyAndLeaveNothing(t *testing.T) {
	home, dir := t.TempDir(), t.TempDir()
	book, file := filepath.Join(dir, "demo.book"), filepath.Join(dir, "log.zip")
	startOnTerminal(t, dir, "demo", "--book", book, "--at", "2025-11-18 20:15").exits(exitDone)
	startOnTerminal(t, dir, "export", file, "--book", book).exits(exitDone)
	for _, name := range []string{file, book} {
		before, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		term := startOnTerminal(t, home, "open", name, "--at", "2025-11-18 20:15")
		term.expect("Tern Hollow (read only)")
		term.expect("Wants attention")
		term.types("2")
		term.expect("open to be looked at only")
		term.types("6")
		term.expect("write page")
		term.types("p")
		term.expect("Write the page to")
		term.types("\r")
		term.expect("Written") // and not a decision that says what is not written down
		term.types("q")
		term.exits(exitDone)
		if err := os.Remove(filepath.Join(dir, "week-2025-11-18.html")); err != nil {
			t.Errorf("the week's page is not beside the file: %v", err)
		}
		if after, err := os.ReadFile(name); err != nil || string(after) != string(before) {
			t.Errorf("%s was changed, %v", name, err)
		}
		if left, err := os.ReadDir(home); err != nil || len(left) != 0 {
			t.Errorf("in the reader's home were left: %v, %v", left, err)
		}
	}
}
