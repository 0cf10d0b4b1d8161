package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/headpond/logbook/copies"
)

// A copy that a wrong clock kept from being made is made when Now would complain of it, and Now does not complain.
func TestNowMakesTheCopyThatAWrongClockHeldUp(t *testing.T) {
	s := newScene(t)
	s.clock("2025-06-06T12:00:00-03:00")
	s.do("record", "volts=241", "running=A")
	s.clock("2024-05-27T12:00:00-03:00")
	s.do("record", "volts=242")
	s.do("record", "volts=243") // no copy: by this clock the last one is of today
	s.clock("2025-06-06T12:05:00-03:00")
	s.says(s.do("backup", "--list"), "Last copy dated 27 May 2024 12:00 (one that was made before it is dated 6 Jun 2025 12:00: the clock was wrong", "1 entry since")
	before := s.bytes()
	s.says(s.do("now"), "not: last copy of the book")
	if string(before) != string(s.bytes()) {
		t.Error("Now wrote in the book itself")
	}
	s.says(s.do("backup", "--list"), "Last copy 0 min ago, in ", "not: since")

	// Where no copy can be made the caution stays.
	s.clock("2025-08-06T12:00:00-03:00")
	s.do("record", "volts=244")
	s.clock("2025-08-06T12:01:00-03:00")
	s.do("record", "volts=245")
	s.clock("2025-10-06T12:00:00-03:00")
	dir := copies.Beside(s.defaultBook())
	list, err := os.ReadDir(dir)
	if err != nil || len(list) == 0 {
		t.Fatal(err)
	}
	blocked := filepath.Join(t.TempDir(), "gone")
	if err := os.Rename(dir, blocked); err != nil {
		t.Fatal(err)
	}
	s.do("now") // a machine without copies makes none by looking
	if _, err := os.Stat(dir); err == nil {
		t.Error("Now made a folder of copies")
	}
}

// A check that could not read on says so, and sends to the rescue.
func TestCheckOfAClearedPage(t *testing.T) {
	p := newPerson(t)
	p.run(0, "record", "time=2025-06-04 07:30", "volts=241")
	data := p.bytes()
	clear(data[2*4096:]) // all behind the two heads
	path := filepath.Join(t.TempDir(), "spoilt.book")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	p.run(1, "check", "--book", path)
	said := p.out.String() + p.err.String()
	if !strings.Contains(said, "0 entries could be read, by 0 writers") || !strings.Contains(said, "The check could not read on where the file is spoilt. A rescue looks at every byte of it, and may find more entries than these.") {
		t.Errorf("it says %s", said)
	}
}
