package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/demobook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/demo/demotest"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/uitest"
)

// besieged is a person whose every free text is hostile: the book's, the plant file's, the package's, the CSV's, and the names of files.
type besieged struct {
	*person
	dir      string
	looks    []string // never, always: colours; ascii
	commands map[string]bool
	seen     strings.Builder
}

func newBesieged(t *testing.T) *besieged {
	t.Helper()
	b := &besieged{person: newPerson(t), dir: t.TempDir(), looks: []string{"never"}, commands: map[string]bool{}}
	b.inTTY = false
	end := time.Date(2026, 11, 25, 10, 5, 0, 0, noon.Location())
	loc, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	story, err := demo.History(demo.Seed, end.In(loc), loc)
	if err != nil {
		t.Fatal(err)
	}
	if err := demotest.MakeHostile(story); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(b.file("plant.toml"), []byte(story.Revision.Text), 0o600); err != nil {
		t.Fatal(err)
	}
	b.now = func() time.Time { return end }
	o := logbook.Options{Clock: b.now, Location: loc, Writer: [16]byte{2}}
	b.dataDir = filepath.Join(b.dir, "data")
	if _, err := demobook.Write(context.Background(), b.defaultBook(), story, o); err != nil {
		t.Fatal(err)
	}
	return b
}

func (b *besieged) file(name string) string { return filepath.Join(b.dir, name) }

// try runs a command in each look, whatever comes of it, and holds both its streams to what is harmless: no escape at all without
// colours, none but the looks of the program's own with them, and with --ascii nothing beyond that.
func (b *besieged) try(args ...string) {
	b.t.Helper()
	for _, look := range b.looks {
		w := b.world
		var out, said bytes.Buffer
		w.in, w.out, w.err, w.screen = strings.NewReader(""), &out, &said, os.Stdout
		w.args = append([]string{"--color", look}, args...)
		if look == "ascii" {
			w.args = append([]string{"--ascii", "--color", "never"}, args...)
		}
		code := execute(context.Background(), w)
		if strings.Contains(said.String(), "fault of its own") {
			b.t.Errorf("headpond %q crashed: %s", args, &said)
		}
		if out.Len()+said.Len() == 0 {
			b.t.Errorf("headpond %q ends with %d and says nothing", args, code)
		}
		for name, stream := range map[string]string{"output": out.String(), "error": said.String()} {
			if err := uitest.Harmless(stream, look == "always"); err != nil {
				b.t.Errorf("headpond %q, %s, colours %s: %v", args, name, look, err)
			}
			i := strings.IndexFunc(stream, func(r rune) bool { return r > '~' })
			if look == "ascii" && i >= 0 && !strings.Contains(strings.Join(args, " "), "json") {
				b.t.Errorf("headpond --ascii %q, %s: %+q", args, name, stream[max(0, i-30):min(len(stream), i+20)])
			}
		}
		b.seen.WriteString(out.String())
		b.seen.WriteString(said.String())
	}
	for _, word := range args {
		b.commands[word] = true
	}
}

// Every command that reads the book, on a book whose every free text is hostile.
func TestNoAnswerLetsHostileTextThrough(t *testing.T) {
	b := newBesieged(t)
	b.looks = []string{"never", "always", "ascii"}
	for _, line := range []string{
		"now", "now --json", "rounds", "rounds --last 60", "rounds --out --json", "rounds --events --json", "ballast", "ballast --json", "water", "water --json", "expect running=A", "expect --json",
		"faults", "faults --json", "week", "week --json", "week --month", "week --year", "upkeep", "upkeep --json", "checklist", "checklist --json", "checklist CL", "checklist --toml",
		"check", "check --json", "backup --list", "plant show", "plant show --page", "plant show --json", "plant fit", "plant fit --json",
	} {
		b.try(strings.Fields(line)...)
	}
	for _, mark := range strings.Fields("RB RN XK XV WD RU EB EN EC EK EU EE Te CL CC CS DT") {
		if !strings.Contains(b.seen.String(), mark) {
			t.Errorf("no text with the mark %s was printed: the test shows nothing about it", mark)
		}
	}
}

// Every command that takes a file or words, given hostile files, names of files and words.
func TestNoComplaintLetsHostileTextThrough(t *testing.T) {
	b := newBesieged(t)
	csv := b.file("rounds.csv")
	rows := "time,volts,by,note," + demotest.Evil("COL", 0) + "," + strings.ReplaceAll(demotest.Evil("COM", 6), ",", "") + "\n"
	for n := range 12 {
		q := func(s string) string { return `"` + strings.ReplaceAll(s, `"`, `""`) + `"` }
		rows += fmt.Sprintf("2026-11-2%d 07:00,%s,%s,%s,%s,x\n", n%5, q(demotest.Evil("24", n)), q(demotest.Evil("CB", n)), q(demotest.Evil("CN", n)), q(demotest.Evil("CX", n)))
	}
	files := map[string]string{"rounds.csv": rows, "bad.toml": "[site]\nname = \"" + demotest.Evil("F", 6) + "\"\n" + demotest.Evil("K", 0) + " = 1\n[\"" + demotest.Evil("S", 6) + "\"]\nx=1\n", "bad.zip": "PK\x03\x04" + demotest.Evil("Z", 4)}
	for name, text := range files {
		if err := os.WriteFile(b.file(name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	b.run(0, "export", b.file("log.zip"))
	b.run(0, "backup", b.file("copy.book"))
	b.try("import", csv)
	b.try("import", "--keep-good", csv)
	for _, args := range [][]string{
		{"plant", "check", b.file("plant.toml")}, {"plant", "check", b.file("bad.toml")}, {"plant", "check", "--json", b.file("bad.toml")}, {"plant", "load", b.file("bad.toml")}, {"plant", "load", b.file("plant.toml")},
		{"import", b.file("bad.zip")}, {"open", b.file("log.zip")}, {"open", "--json", b.file("log.zip")}, {"open", b.file("copy.book")}, {"open", b.file("bad.zip")}, {"compare", b.file("log.zip"), b.file("copy.book"), b.file("bad.zip")},
		{"compare", "--json", b.file("log.zip")}, {"import", b.file("log.zip")}, {"merge", b.file("copy.book")}, {"merge", b.file("bad.toml")}, {"restore", b.file("bad.toml")}, {"demo"}, {"plant", "new"}, {"export", b.file("copy.book")},
	} {
		b.try(args...)
	}
	for _, n := range []int{4, 6, 8, 10} { // 4 has all of them in it
		x := demotest.Evil("ARG", n)
		name := b.file(strings.ReplaceAll(strings.ReplaceAll(x, "/", ""), "\x00", ""))
		for _, args := range [][]string{
			{x}, {"--" + x}, {"-" + x}, {"record", x}, {"record", "volts=" + x}, {"record", x + "=1"}, {"record", "time=" + x}, {"record", "running=" + x}, {"record", "volts=2410", "note=" + x, "by=" + x},
			{"record", "hertz=60", "note=" + x, "by=" + x}, {"event", x}, {"event", "trip", "cause=" + x, "by=" + x}, {"event", "element-out", "element=" + x}, {"event", "start", "unit=" + x}, {"amend", x, "volts=1", "--why", x},
			{"upkeep", "done", x}, {"upkeep", "done", "walk the penstock", "--by", x, "--note", x}, {"rounds", "--from", x}, {"now", "--at", x}, {"water", "--at", x}, {"water", "--until", x}, {"expect", "running=" + x}, {"checklist", x}, {"week", x},
			{"week", "--at", x}, {"import", name}, {"open", name}, {"compare", name}, {"merge", name}, {"restore", name}, {"backup", filepath.Join(name, "x")}, {"plant", "check", name}, {"plant", "load", name}, {"plant", "new", filepath.Join(name, "x")},
			{"--book", name, "now"}, {"--book", name, "record", "volts=1"}, {"--color", x, "now"}, {"export", filepath.Join(name, "x")}, {"check", "--rescue", filepath.Join(name, "x")}, {"help", x}, {"completion", x}, {"backup", "--keep", name, "--list"},
		} {
			b.try(args...)
		}
		if err := os.WriteFile(name, []byte("no book"), 0o600); err == nil { // some names are too long for a file
			for _, args := range [][]string{{"--book", name, "now"}, {"--book", name, "check"}, {"import", name}, {"open", name}, {"plant", "check", name}, {"restore", name}, {"plant", "new", name}, {"backup", name}} {
				b.try(args...)
			}
		}
	}
	b.amends()
	for group, list := range commands() {
		for _, add := range list {
			if name := add(&command{world: b.world}).Name(); !b.commands[name] && !map[string]bool{"now": true, "ballast": true, "faults": true}[name] {
				t.Errorf("the command %s (%s) was not tried", name, group)
			}
		}
	}
}

// amends corrects an entry with hostile words.
func (b *besieged) amends() {
	b.t.Helper()
	book, err := logbook.Open(b.defaultBook(), logbook.Options{Clock: b.now})
	if err != nil {
		b.t.Fatal(err)
	}
	h, err := book.History(context.Background(), logbook.HistoryOptions{})
	if err != nil {
		b.t.Fatal(err)
	}
	var last record.Round
	for _, last = range h.Rounds {
	}
	for n := range 5 {
		x := demotest.Evil("AMD", n)
		b.try("amend", last.ID, "note="+x, "--why", x, "--by", x)
		b.try("amend", last.ID, "volts="+x, "--why", x)
		b.try("amend", last.ID, x+"=1", "--why", x, "--json")
	}
}
