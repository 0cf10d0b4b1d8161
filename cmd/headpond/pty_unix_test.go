//go:build unix

package main

import (
	"bytes"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/creack/pty"
)

// terminal is the whole program as a process of its own on a terminal that answers no questions.
type terminal struct {
	t    *testing.T
	cmd  *exec.Cmd
	pty  *os.File
	mu   sync.Mutex
	seen bytes.Buffer
	news chan struct{}
	done chan error
}

// startOnTerminal runs headpond in a home of its own.
func startOnTerminal(t *testing.T, home string, args ...string) *terminal {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return startProgram(t, &exec.Cmd{Path: exe, Args: append([]string{"headpond"}, args...), Env: homeOf(home)})
}

// homeOf is the environment of a program whose user's files lie in a folder of the test.
func homeOf(home string) []string {
	return []string{"HOME=" + home, "XDG_DATA_HOME=" + filepath.Join(home, "data"), "TERM=xterm-256color", "LC_ALL=C.UTF-8"}
}

// startProgram runs any program on a terminal.
func startProgram(t *testing.T, cmd *exec.Cmd) *terminal {
	t.Helper()
	if ours, theirs, err := pty.Open(); err != nil {
		t.Skipf("this system gives no terminal: %v", err)
	} else if err := errors.Join(ours.Close(), theirs.Close()); err != nil {
		t.Fatal(err)
	}
	f, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		t.Fatalf("%s: %v", cmd, err)
	}
	term := &terminal{t: t, cmd: cmd, pty: f, news: make(chan struct{}, 1), done: make(chan error, 1)}
	go term.read()
	go func() { term.done <- cmd.Wait() }()
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = f.Close()
	})
	return term
}

func (term *terminal) read() {
	buf := make([]byte, 4096)
	for {
		n, err := term.pty.Read(buf)
		term.mu.Lock()
		term.seen.Write(buf[:n])
		term.mu.Unlock()
		select {
		case term.news <- struct{}{}:
		default:
		}
		if err != nil {
			return
		}
	}
}

func (term *terminal) text() string {
	term.mu.Lock()
	defer term.mu.Unlock()
	return term.seen.String()
}

// forget drops what has been shown so far.
func (term *terminal) forget() {
	term.mu.Lock()
	defer term.mu.Unlock()
	term.seen.Reset()
}

// patience is how long anything may take on a very busy machine. It is below the five seconds that the screens' library
// would wait for an answer of the terminal.
const patience = 4500 * time.Millisecond

// expect waits until a text stands on the terminal.
func (term *terminal) expect(text string) {
	term.t.Helper()
	late := time.After(patience)
	for !strings.Contains(term.text(), text) {
		select {
		case <-term.news:
		case <-late:
			term.t.Fatalf("%q did not come; the terminal shows:\n%s", text, term.text())
		}
	}
}

func (term *terminal) types(keys string) {
	term.t.Helper()
	if _, err := io.WriteString(term.pty, keys); err != nil {
		term.t.Fatal(err)
	}
}

// exits waits for the end and demands the exit status.
func (term *terminal) exits(want exitCode) {
	term.t.Helper()
	select {
	case <-term.done:
		if got := exitCode(term.cmd.ProcessState.ExitCode()); got != want {
			term.t.Errorf("exit status %d, want %d; the terminal shows:\n%s", got, want, term.text())
		}
	case <-time.After(patience):
		term.t.Fatalf("it does not end; the terminal shows:\n%s", term.text())
	}
}

func TestASilentTerminalDoesNotHoldUpACommand(t *testing.T) {
	term := startOnTerminal(t, t.TempDir(), "--version")
	term.expect("headpond " + version)
	term.exits(exitDone)
}

func TestARoundIsAskedOnARealTerminalAndCtrlCKeepsTheAnswers(t *testing.T) {
	home := t.TempDir()
	term := startOnTerminal(t, home, "plant", "load", filepath.Join("testdata", "plant.toml"), "--from", "2025-06-01")
	term.exits(exitDone)

	term = startOnTerminal(t, home, "record")
	term.expect("Pond level, m")
	term.types("-0,15\n")
	term.expect("Screen (clear, partly, blocked, iced)")
	term.types("\x03")
	term.exits(exitFailed)
	term.expect("not saved; what was answered is kept as a draft")

	term = startOnTerminal(t, home, "record")
	term.expect("Pond level, m (kept -0,15")
	term.types(".\n")
	term.expect("By (who walked the round)")
	term.types("Ro\n")
	term.expect("The whole round")
	term.expect("Save this round of")
	term.types("y\n")
	term.expect("Saved: round of")
	term.exits(exitDone)
}

func TestTheDemosScreensOpenOnASilentTerminalAndLeaveNothing(t *testing.T) {
	home := t.TempDir()
	term := startOnTerminal(t, home, "demo")
	term.expect("Tern Hollow (demo)")
	term.expect("Wants attention")
	term.types("q")
	term.exits(exitDone)
	if left, err := os.ReadDir(home); err != nil || len(left) != 0 {
		t.Errorf("in the user's home were left: %v, %v", left, err)
	}
}

func TestColoursAreForTerminalsThatWantThem(t *testing.T) {
	home := t.TempDir()
	startOnTerminal(t, home, "plant", "load", filepath.Join("testdata", "plant.toml"), "--from", "2025-06-01").exits(exitDone)
	startOnTerminal(t, home, "record", "time=2025-06-03 07:30", "volts=200").exits(exitDone)
	for _, c := range []struct {
		args     []string
		coloured bool
	}{
		{[]string{"now", "--at", "2025-06-03"}, true},
		{[]string{"now", "--at", "2025-06-03", "--color", "never"}, false},
		{[]string{"now", "--at", "2025-06-03", "--json"}, false},
	} {
		term := startOnTerminal(t, home, c.args...)
		term.exits(exitDone)
		term.expect("out of band")
		if got := strings.Contains(term.text(), "\x1b["); got != c.coloured {
			t.Errorf("%v: coloured is %v", c.args, got)
		}
	}
}

func TestARoundRecordedElsewhereShowsOnOpenScreens(t *testing.T) {
	home := t.TempDir()
	startOnTerminal(t, home, "plant", "load", filepath.Join("testdata", "plant.toml"), "--from", "2025-06-01").exits(exitDone)
	startOnTerminal(t, home, "record", "volts=241", "running=A", "by=Ro").exits(exitDone)
	screens := startOnTerminal(t, home)
	screens.expect("241 V")
	startOnTerminal(t, home, "record", "volts=233", "by=Imke").exits(exitDone)
	screens.expect("233 V")
	screens.types("q")
	screens.exits(exitDone)
}

func TestWithoutABookAPlantFileMakesOneByKeys(t *testing.T) {
	home := t.TempDir()
	file, err := os.ReadFile(filepath.Join("testdata", "plant.toml"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(home, "plant.toml"), file, 0o600); err != nil {
		t.Fatal(err)
	}
	term := startOnTerminal(t, home)
	term.expect("There is no logbook yet")
	term.types("1")
	term.expect("Which plant file?")
	term.types("\x7f\x7f\x7f\x7f\x7f\x7f\x7f\x7f\x7f\x7f~/plant.toml\r")
	term.expect("Tern Hollow")
	if _, err := os.Stat(filepath.Join(home, "data", "headpond", "headpond.book")); err == nil {
		t.Error("the book was made before it was asked for")
	}
	term.types("\r")
	term.expect("1 Now")
	term.types("q")
	term.exits(exitDone)
	startOnTerminal(t, home, "check").exits(exitDone)
}

func TestWithoutABookOneCanLeaveAndNothingIsWritten(t *testing.T) {
	home := t.TempDir()
	term := startOnTerminal(t, home)
	term.expect("There is no logbook yet")
	term.types("q")
	term.exits(exitDone)
	if left, err := os.ReadDir(home); err != nil || len(left) != 0 {
		t.Errorf("in the user's home were left: %v, %v", left, err)
	}
}
