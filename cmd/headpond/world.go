package main

import (
	"crypto/rand"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/adrg/xdg"
	"github.com/charmbracelet/x/term"
	"github.com/mattn/go-isatty"
)

// world is everything outside the program that a command may touch, files named on the command line excepted. Tests build
// their own.
type world struct {
	args     []string // without the program's name
	in       io.Reader
	out, err io.Writer
	inTTY    bool // a person types
	outTTY   bool // a person reads
	errTTY   bool // a person sees what goes wrong
	environ  []string
	now      func() time.Time
	local    *time.Location // this computer's zone, for books without a plant
	rand     io.Reader
	dataDir  string    // where the default book and this machine's id lie
	tempDir  string    // where the demo's book lies
	screen   io.Writer // the terminal itself, for the screens
	width    int       // of the terminal, in cells; 0 where there is none
	utf8     bool      // letters beyond ASCII can be shown
}

// systemWorld is the only place that reads the process's own surroundings.
func systemWorld() world {
	w := world{
		args:    os.Args[1:],
		in:      os.Stdin,
		out:     os.Stdout,
		err:     os.Stderr,
		inTTY:   isTerminal(os.Stdin),
		outTTY:  isTerminal(os.Stdout),
		errTTY:  isTerminal(os.Stderr),
		environ: os.Environ(),
		now:     time.Now,
		local:   time.Local,
		rand:    rand.Reader,
		dataDir: filepath.Join(xdg.DataHome, "headpond"),
		tempDir: os.TempDir(),
		screen:  os.Stdout,
	}
	if w.outTTY {
		if cells, _, err := term.GetSize(os.Stdout.Fd()); err == nil {
			w.width = cells
		}
	}
	w.utf8 = runtime.GOOS == "windows" || utf8Locale(w.Getenv)
	return w
}

func isTerminal(f *os.File) bool { return isatty.IsTerminal(f.Fd()) || isatty.IsCygwinTerminal(f.Fd()) }

// utf8Locale reads the locale as POSIX orders the variables: the first that is set decides.
func utf8Locale(getenv func(string) string) bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := strings.ToUpper(getenv(name)); v != "" {
			return strings.Contains(v, "UTF-8") || strings.Contains(v, "UTF8")
		}
	}
	return false
}

// Getenv returns an environment variable, "" where it is not set. Of two settings the last holds, as in the os package.
func (w world) Getenv(name string) string {
	for i := len(w.environ) - 1; i >= 0; i-- {
		if value, ok := strings.CutPrefix(w.environ[i], name+"="); ok {
			return value
		}
	}
	return ""
}

// Environ returns the whole environment.
func (w world) Environ() []string { return w.environ }

// person reports whether someone sits at a terminal who can be asked.
func (w world) person() bool { return w.inTTY && w.outTTY }

// clock is now, to the second: what is written down and printed has no finer parts.
func (w world) clock() time.Time { return w.now().Truncate(time.Second) }

// defaultBook is the book that is used when --book names none.
func (w world) defaultBook() string { return filepath.Join(w.dataDir, "headpond.book") }
