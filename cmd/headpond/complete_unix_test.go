//go:build unix

package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// shells are the real shells that the printed scripts are sourced in. Each is as bare as it comes: bash once without its
// package of completions, so that what stands in for it is tried, and once with it.
var shells = map[string]struct {
	args  []string
	setup string
	ready string
}{
	"bash with its package": {[]string{"--norc", "--noprofile", "-i"}, "bind 'set bell-style none'; PS1='> '; source " + bashPackage + "; source <(headpond completion bash); declare -F _init_completion && echo re''ady\r", "ready"},
	"bash":                  {[]string{"--norc", "--noprofile", "-i"}, "bind 'set bell-style none'; PS1='> '; source <(headpond completion bash); echo re''ady\r", "ready"},
	"zsh":                   {[]string{"-f", "-i"}, "PS1='> '; unsetopt beep; autoload -U compinit && compinit -u -D; source <(headpond completion zsh); echo re''ady\r", "ready"},
	"fish":                  {[]string{"--no-config", "-i"}, "headpond completion fish | source; echo re''ady\r", "ready"},
}

const bashPackage = "/usr/share/bash-completion/bash_completion"

// Each line is typed, Tab and all, and what must then stand on the terminal comes from the plant in the book.
var tabs = []struct{ typed, want string }{
	{"headpond record vo\t", "volts="},
	{"headpond record volts=241 A.ho\t", "A.hours="},
	{"headpond record running=A+\t", "running=A+B"},
	{"headpond record screen=ic\t", "screen=iced"},
	{"headpond event element-o\t", "element-out"},
	{"headpond event element-out element=E\t\t", "E2"},
	{"headpond water --ru\t", "--run"},
	{"headpond water --run n\t", "none"},
	{"headpond upkeep done walk\t", "penstock"},
}

func TestTheShellsCompleteWhatIsInTheBook(t *testing.T) {
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for name, shell := range shells {
		t.Run(name, func(t *testing.T) {
			program, _, packaged := strings.Cut(name, " ")
			path, err := exec.LookPath(program)
			if err != nil {
				t.Skipf("no %s on this system", program)
			}
			if _, err := os.Stat(bashPackage); packaged && err != nil {
				t.Skipf("no %s on this system", bashPackage)
			}
			home := t.TempDir()
			startOnTerminal(t, home, "plant", "load", filepath.Join("testdata", "plant.toml"), "--from", "2025-06-01").exits(exitDone)
			if err := os.Symlink(exe, filepath.Join(home, "headpond")); err != nil {
				t.Fatal(err)
			}
			cmd := exec.Command(path, shell.args...)
			cmd.Dir, cmd.Env = home, append(homeOf(home), "PATH="+home+string(os.PathListSeparator)+os.Getenv("PATH"))
			term := startProgram(t, cmd)
			term.types(shell.setup)
			term.expect(shell.ready)
			for _, c := range tabs {
				term.forget()
				term.types(c.typed)
				term.expect(c.want)
				term.types("\x15") // Ctrl-U takes the line away
			}
		})
	}
}
