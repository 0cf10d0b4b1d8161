package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// Every command that help lists has its page, the pages tell nothing of the computer that made them, and the formatters that
// are on this system have nothing to complain of.
func TestTheManualIsWholeAndWellFormed(t *testing.T) {
	dir := t.TempDir()
	pages := map[string]string{}
	var files []string
	home, err := os.UserHomeDir()
	if err != nil {
		t.Fatalf("without a home folder it cannot be seen whether the pages tell of it: %v", err)
	}
	for _, p := range manual("2026-11-25") {
		pages[p.Name] = string(p.Roff)
		files = append(files, filepath.Join(dir, p.Name))
		if err := os.WriteFile(files[len(files)-1], p.Roff, 0o600); err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(p.Roff), home) {
			t.Errorf("%s tells of %s", p.Name, home)
		}
	}
	for _, name := range []string{"headpond.1", "headpond-record.1", "headpond-plant-load.1", "headpond-upkeep-done.1", "headpond-completion.1"} {
		if pages[name] == "" {
			t.Errorf("there is no %s", name)
		}
	}
	for title := range strings.SplitSeq("NAME SYNOPSIS DESCRIPTION COMMANDS OPTIONS ENVIRONMENT FILES", " ") {
		if !strings.Contains(pages["headpond.1"], "\n.SH "+title+"\n") { // the order and names of sections: man-pages(7), from memory
			t.Errorf("headpond.1 has no section %s", title)
		}
	}
	for name, args := range map[string][]string{"mandoc": {"-T", "lint", "-W", "warning"}, "groff": {"-man", "-Tutf8", "-ww", "-z"}} {
		t.Run(name, func(t *testing.T) {
			if _, err := exec.LookPath(name); err != nil {
				t.Skipf("no %s on this system", name)
			}
			if out, err := exec.Command(name, append(args, files...)...).CombinedOutput(); err != nil || len(out) > 0 {
				t.Errorf("%v\n%s", err, out)
			}
		})
	}
}

func TestTheManualMakesItsFolder(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "share", "man1")
	for range 2 { // and takes one that is there
		if err := writeManual(dir, "2026-11-25"); err != nil {
			t.Fatal(err)
		}
	}
	if page, err := os.ReadFile(filepath.Join(dir, "headpond-restore.1")); err != nil || !strings.Contains(string(page), `\-\-replace`) {
		t.Errorf("%v: %s", err, page)
	}
}
