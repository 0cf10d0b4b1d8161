package main

import (
	"os"
	"path/filepath"
	"time"

	"example.org/headpond/cmd/headpond/manpage"
)

// manual makes the manual's pages. Only the generator (man.go) and tests call it, so the linker leaves it out of the program.
// The pages tell no place of the computer that they are made on.
func manual(date string) []manpage.Page {
	c := &command{world: world{dataDir: "~/.local/share/headpond", local: time.UTC, now: func() time.Time { return time.Time{} }}}
	return manpage.Pages(newRoot(c), date, "headpond "+version, []manpage.Section{
		{Title: "ENVIRONMENT", Items: []string{
			"NO_COLOR\tIf it is set to anything, no colours are used, unless --color always stands on the command line.",
			"XDG_DATA_HOME\tThe folder below which the book lies where --book names none (default: ~/.local/share; on macOS ~/Library/Application Support).",
			"LOCALAPPDATA\tThe same on Windows.",
			"LC_ALL, LC_CTYPE, LANG\tThe first that is set tells whether letters beyond ASCII can be shown.",
		}},
		{Title: "FILES", Items: []string{
			"~/.local/share/headpond/headpond.book\tThe book: one file, only ever added to. Copy it with headpond backup, which may run while the book is in use.",
		}},
		{Title: "EXIT STATUS", Items: []string{
			"0\tIt was done.",
			"1\tIt could not be done; the reason is on standard error.",
			"2\tThe command line is wrong; the reason is on standard error.",
		}},
	})
}

// writeManual writes the pages into a folder, which it makes where it is missing.
func writeManual(dir, date string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	for _, page := range manual(date) {
		if err := os.WriteFile(filepath.Join(dir, page.Name), page.Roff, 0o644); err != nil {
			return err
		}
	}
	return nil
}
