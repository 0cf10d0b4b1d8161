package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/record"
)

// packaged is a person with the demo's book, and a package of it.
func packaged(t *testing.T) (p *person, file string) {
	t.Helper()
	p = demoBook(t)
	file = filepath.Join(t.TempDir(), "log.zip")
	p.run(0, "export", file)
	return p, file
}

// At each look at the clock what is in use is measured, after what is no longer needed was let go: with twelve files it is no
// more than with three.
func TestComparingManyFilesNeedsNoMoreMemory(t *testing.T) {
	p, file := packaged(t)
	clock := p.now
	most := func(files int) uint64 {
		var top uint64
		p.now = func() time.Time {
			runtime.GC()
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			top = max(top, m.HeapAlloc)
			return clock()
		}
		args := []string{"compare", "--json"}
		for i := range files {
			args = append(args, []string{file, p.defaultBook()}[i%2])
		}
		if n := strings.Count(p.run(0, args...), `"file":`); n != files {
			t.Fatalf("%d plants for %d files", n, files)
		}
		return top
	}
	most(1) // whatever is made once
	few, many := most(3), most(12)
	if many > few+few/4 {
		t.Errorf("%d bytes in use with 12 files, %d with 3", many, few)
	}
}

// A package shows the plant as its exporter saw it, however long it was under way.
func TestAPackageIsShownAsOfItsExport(t *testing.T) {
	p, file := packaged(t)
	exported := p.now()
	p.now = func() time.Time { return exported.AddDate(0, 3, 0) }
	p.inTTY, p.outTTY = false, false
	p.wants(p.run(0, "open", file, "--json"), `"age_hours":2.`)
	out := p.run(0, "compare", file, "--json")
	p.wants(out, `"age_hours":22`, `"too_old":true`) // but a look at many plants tells of today
	if strings.Contains(out, `"water":`) || strings.Contains(out, `"screen":`) {
		t.Errorf("three months after the last round the water is told: %s", out)
	}
	p.wants(p.run(0, "compare", file), "92 days", "too old", "too old")
	p.now = func() time.Time { return exported }
	if out := p.run(0, "compare", file, "--json"); strings.Contains(out, "too_old") || !strings.Contains(out, `"water":`) {
		t.Errorf("two hours after the last round: %s", out)
	}
	if left, err := os.ReadDir(p.tempDir); err != nil || len(left) != 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// A note with an escape sequence goes out and comes in whole, and is never printed raw.
func TestEscapesInAPackageAreHarmless(t *testing.T) {
	p := newPerson(t)
	p.run(0, "record", "time=2025-06-03 07:30", "volts=241", "note=red \x1b[31malert\x1b[0m")
	file, other := filepath.Join(t.TempDir(), "log.zip"), filepath.Join(t.TempDir(), "other.book")
	p.run(0, "export", file)
	p.run(0, "import", file, "--book", other)
	p.wants(p.run(0, "rounds", "--json", "--book", other), `red \u001b[31malert\u001b[0m`)
	p.inTTY = false
	for _, args := range [][]string{{"open", file}, {"compare", file}, {"rounds", "--book", other}} {
		if out := p.run(0, args...); strings.Contains(out+p.err.String(), "\x1b") {
			t.Errorf("%v prints an escape: %q", args, out)
		}
	}
}

// Given up in the middle, nothing is half-written.
func TestExportAndImportCanBeStopped(t *testing.T) {
	p, file := packaged(t)
	before := p.bytes()
	stopped, stop := context.WithCancel(context.Background())
	stop()
	dir := t.TempDir()
	for _, args := range [][]string{
		{"export", filepath.Join(dir, "x.zip")}, {"import", file, "--book", filepath.Join(dir, "x.book")}, {"import", file}, {"merge", file}, {"open", file}, {"compare", file},
	} {
		p.runIn(stopped, 1, args...)
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 0 || !bytes.Equal(before, p.bytes()) {
		t.Errorf("left behind: %v, %v; the book is the same: %v", left, err, bytes.Equal(before, p.bytes()))
	}
}

// The words of the table, each against what it stands for.
func TestCompareWords(t *testing.T) {
	for hours, want := range map[float64]string{0.4: "0 h", 47: "47 h", 49: "2 days", 24 * 400: "400 days"} {
		if got := ageWords(hours); got != want {
			t.Errorf("%g hours: %s, want %s", hours, got, want)
		}
	}
	head := strings.Split(compareHead(true), "\n")
	row := (&comparison{Plant: strings.Repeat("Tern Hollow ", 9), File: "log.zip"}).text(true)
	if strings.Index(row, "log.zip") != strings.Index(head[0], "File") {
		t.Errorf("a long name moves the columns:\n%s\n%s", head[0], row)
	}
	for line := range strings.SplitSeq(compareHead(false)+"\n"+(&comparison{Plant: strings.Repeat("Tern Hollow ", 9), File: "log.zip", Fault: &compareFault{Fault: "ballast_element_open"}}).text(false), "\n") {
		if len([]rune(line)) > 80 {
			t.Errorf("wider than a terminal: %q", line)
		}
	}
	if got := (&comparison{}).text(true); strings.Contains(got, "0") {
		t.Errorf("what is not known is shown as %q", got)
	}
	if h := compared(t.Context(), &record.History{At: noon}); h.OutShare != nil || h.LastRound != "" {
		t.Errorf("nothing known gives %+v", h)
	}
}
