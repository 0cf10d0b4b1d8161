package logbook_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/headpond/logbook"
)

// What a person gives for a book by mistake is named, with what it is for; no number of ours is shown. A zip begins with PK 03 04
// or, when empty, PK 05 06 (APPNOTE.TXT 6.3.10, 4.3.7 and 4.3.16).
func TestWhatIsNoBookIsNamed(t *testing.T) {
	dir := t.TempDir()
	for name, c := range map[string]struct {
		data []byte
		want string
	}{
		"empty":       {nil, "the file is empty; nothing was changed"},
		"package":     {append([]byte("PK\x03\x04"), make([]byte, 5000)...), "headpond open looks at a package, headpond import takes it"},
		"cut package": {[]byte("PK\x03\x04\x14"), "it is a zip file"},
		"no files":    {[]byte("PK\x05\x06"), "it is a zip file"},
		"rounds":      {[]byte("time,volts\n2025-06-01 07:30,240\n"), "headpond import FILE"},
		"plant":       {[]byte("# Ours\n[site]\nname = \"Tern Hollow\"\n"), "headpond plant load FILE"},
		"letter":      {[]byte(strings.Repeat("Drøbak\n", 2000)), "it is a text file; nothing was changed"},
		"noise":       {bytes.Repeat([]byte{0xff, 0, 7}, 5000), "check --rescue FILE looks for entries in all of it"},
	} {
		path := filepath.Join(dir, "x")
		if err := os.WriteFile(path, c.data, 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := logbook.Open(path, options(t, &testClock{noon}, "alder"))
		if !errors.Is(err, logbook.ErrNotABook) || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "ed0cdaed") {
			t.Errorf("%s: %v", name, err)
		}
		unchanged(t, "opening", c.data, path)
	}
}

// A book of which the heads are zeroed is a damaged book, and what saves it is said.
func TestBookWithoutHeadsIsADamagedBook(t *testing.T) {
	data := usedBook(t)
	clear(data[:8192])
	path := filepath.Join(t.TempDir(), "spoilt.book")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := logbook.Open(path, options(t, &testClock{noon}, "alder"))
	if !errors.Is(err, logbook.ErrDamaged) || !strings.Contains(err.Error(), "check --rescue FILE") {
		t.Errorf("got %v", err)
	}
}
