//go:build unix

package quiet_test

import (
	"bufio"
	"errors"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/creack/pty"

	_ "example.org/headpond/tui/quiet"
)

// childMark makes the test binary print one line and stop, as a plain command of the program would.
const childMark = "HEADPOND_QUIET_CHILD"

func TestMain(m *testing.M) {
	if os.Getenv(childMark) != "" {
		// A value of bubbletea's keeps the package linked, and so initialised, in this binary.
		os.Stdout.WriteString("ready " + tea.KeyEnter.String() + "\n")
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// The limit is far above a slow machine's start and below the five seconds that the unprevented question costs; measured
// on a terminal that answers nothing: 5.0 s without the package, under 0.1 s with it.
func TestFirstOutputIsNotStalledByASilentTerminal(t *testing.T) {
	const limit = 4 * time.Second
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for _, term := range []string{"xterm-256color", "linux"} {
		t.Run(term, func(t *testing.T) {
			if ours, theirs, err := pty.Open(); err != nil {
				t.Skipf("this machine gives no pseudo-terminal: %v", err)
			} else if err := errors.Join(ours.Close(), theirs.Close()); err != nil {
				t.Fatal(err)
			}
			cmd := exec.Command(exe)
			cmd.Env = append(silentEnv(os.Environ()), "TERM="+term, childMark+"=1")
			start := time.Now()
			tty, err := pty.Start(cmd)
			if err != nil {
				t.Fatal(err)
			}
			defer tty.Close()
			line, err := bufio.NewReader(tty).ReadString('\n')
			took := time.Since(start)
			_ = cmd.Wait()
			if !strings.HasPrefix(line, "ready enter") {
				t.Fatalf("first output is %q (%v), want the ready line; a question to the terminal would stand before it", line, err)
			}
			if took > limit {
				t.Errorf("first output after %v, want less than %v: is the terminal being asked?", took, limit)
			}
		})
	}
}

// silentEnv leaves out what would make the libraries not ask at all, which would let the test pass for nothing.
func silentEnv(env []string) []string {
	return slices.DeleteFunc(slices.Clone(env), func(kv string) bool {
		name, _, _ := strings.Cut(kv, "=")
		return slices.Contains([]string{"CI", "NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLORFGBG", "TERM", "GOOGLE_CLOUD_SHELL"}, name)
	})
}
