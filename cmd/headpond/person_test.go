package main

import (
	"bytes"
	"context"
	"encoding/hex"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/headpond/tui/ui"
)

func TestAPersonIsAskedAboutWhatIsNotPlausible(t *testing.T) {
	for _, c := range []struct {
		typed string
		code  exitCode
	}{{"", 1}, {"n", 1}, {"no", 1}, {"maybe\nn", 1}, {"y", 0}, {"YES", 0}, {"what\ny", 0}} {
		p := newPerson(t)
		p.types(c.typed)
		before := p.bytes()
		p.run(c.code, "record", "time=2025-06-04 07:30", "volts=2411")
		p.wants(p.out.String(), "Voltage 2411 V is outside what is plausible here (0 to 360 V).", "Is that what was read? y or n [n]: ")
		if saved := !bytes.Equal(before, p.bytes()); saved != (c.code == 0) {
			t.Errorf("typed %q: saved is %v", c.typed, saved)
		}
		if c.code == 1 {
			p.wants(p.err.String(), "not saved, since a value is not what was read; nothing was changed")
			continue
		}
		p.wants(p.run(0, "rounds", "--json"), `"volts":2411`, `"confirmed":true`)
	}
}

func TestEachQuestionIsAskedAndOneNoIsEnough(t *testing.T) {
	p := newPerson(t)
	before := p.bytes()
	p.types("y", "n")
	p.run(1, "record", "volts=2411", "hertz=6.01")
	p.wants(p.out.String(), "Voltage 2411 V", "Frequency 6.01 Hz")
	if !bytes.Equal(before, p.bytes()) {
		t.Error("the book changed")
	}
	p.types("y", "y")
	p.run(0, "record", "volts=2411", "hertz=6.01")
}

func TestAClosedTerminalIsNoAnswer(t *testing.T) {
	p := newPerson(t)
	before := p.bytes()
	p.in = strings.NewReader("")
	p.run(1, "record", "volts=2411")
	if !bytes.Equal(before, p.bytes()) {
		t.Error("the book changed")
	}
}

// stuck is a terminal at which nobody types; it tells when it is waited for.
type stuck struct{ waited func() }

func (s stuck) Read([]byte) (int, error) {
	s.waited()
	select {}
}

func TestCtrlCAtAPromptChangesNothing(t *testing.T) {
	p := newPerson(t)
	before := p.bytes()
	ctx, stop := context.WithCancel(context.Background())
	p.in = stuck{stop}
	p.runIn(ctx, 1, "record", "volts=2411")
	p.wants(p.err.String(), "stopped as you asked: nothing was changed")
	if !bytes.Equal(before, p.bytes()) {
		t.Error("the book changed")
	}
}

func TestCtrlCBeforeAnythingChangesNothing(t *testing.T) {
	p := newPerson(t)
	p.run(0, "record", "time=2025-06-04 07:30", "volts=241", "pond_level_m=-0.1", "running=A", "load_kw=3", "dump_kw=2")
	before := p.bytes()
	stopped, stop := context.WithCancel(context.Background())
	stop()
	csv := filepath.Join(t.TempDir(), "rounds.csv")
	if err := os.WriteFile(csv, []byte("time,volts\n2025-06-03 07:30,240\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"record", "volts=240"}, {"event", "trip"}, {"import", csv}, {"now"}, {"water"}, {"ballast"}, {"expect"}, {"rounds"}, {"check"}, {"upkeep"},
		{"backup", csv + ".book"}, {"merge", csv + ".book"}, {"demo", "--book", csv + ".demo"}, {"plant", "load", filepath.Join("testdata", "plant.toml"), "--from", "now"},
	} {
		p.runIn(stopped, 1, args...)
		if out := p.out.String(); out != "" {
			t.Errorf("%v printed %q", args, out)
		}
		if strings.Count(p.err.String(), "\n") != 1 || strings.Contains(p.err.String(), "context canceled") {
			t.Errorf("%v said %q, not one sentence", args, &p.err)
		}
	}
	if !bytes.Equal(before, p.bytes()) {
		t.Error("the book changed")
	}
	for _, made := range []string{csv + ".book", csv + ".demo"} {
		if _, err := os.Stat(made); err == nil {
			t.Errorf("%s was left", made)
		}
	}
}

func TestAFaultOfOurOwnIsOneSentenceAndATraceInAFile(t *testing.T) {
	p := newPerson(t)
	calls := 0
	p.now = func() time.Time {
		if calls++; calls == 1 {
			panic("a fault\x1b[31m")
		}
		return noon
	}
	p.run(1, "record", "volts=240")
	said := p.err.String()
	p.wants(said, "headpond: Headpond had to stop because of a fault of its own. What was saved is safe. Please send the file ")
	if strings.Contains(said, "goroutine") || strings.Count(said, "\n") != 1 {
		t.Errorf("not one sentence: %s", said)
	}
	trace, err := os.ReadFile(filepath.Join(p.dataDir, "fault-20250605T150000Z.txt"))
	if err != nil || !bytes.Contains(trace, []byte("goroutine")) || !bytes.Contains(trace, []byte("headpond "+version)) {
		t.Errorf("the trace is %q, %v", trace, err)
	}
}

func TestAnAnswerThatCannotBeWrittenIsAFailure(t *testing.T) {
	p := newPerson(t)
	w := p.world
	w.args, w.out, w.err = []string{"plant", "show"}, full{}, &p.err
	if got := execute(context.Background(), w); got != exitFailed {
		t.Errorf("exit status %d", got)
	}
	p.wants(p.err.String(), "the answer could not be written")
}

func TestMachineIDIsMadeOnTheFirstWriteAndStays(t *testing.T) {
	p := newPerson(t)
	path := filepath.Join(p.dataDir, "machine")
	first, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if raw, err := hex.DecodeString(strings.TrimSpace(string(first))); err != nil || len(raw) != 16 {
		t.Fatalf("machine holds %q", first)
	}
	p.run(0, "record", "volts=240")
	if again, err := os.ReadFile(path); err != nil || !bytes.Equal(first, again) {
		t.Errorf("the id changed from %q to %q, %v", first, again, err)
	}
	p.wants(p.run(0, "check"), "by 1 writer")

	// A spoilt one gives way to a new one.
	if err := os.WriteFile(path, []byte("torn"), 0o600); err != nil {
		t.Fatal(err)
	}
	p.run(0, "record", "volts=240")
	p.run(0, "record", "volts=240")
	p.wants(p.run(0, "check"), "by 2 writers")
}

func TestWithoutAFolderForItTheMachineIDIsAnyAndTheRoundIsSaved(t *testing.T) {
	p := newPerson(t)
	book := p.defaultBook()
	p.dataDir = filepath.Join(book, "below-a-file") // where no folder can be
	p.run(0, "record", "--book", book, "volts=240")
	p.run(0, "record", "--book", book, "volts=241")
	p.wants(p.run(0, "check", "--book", book), "3 entries by 3 writers")
}

func TestReadingMakesNoMachineID(t *testing.T) {
	p := newPerson(t)
	if err := os.Remove(filepath.Join(p.dataDir, "machine")); err != nil {
		t.Fatal(err)
	}
	p.run(0, "rounds")
	p.run(0, "plant", "show")
	if _, err := os.Stat(filepath.Join(p.dataDir, "machine")); err == nil {
		t.Error("a reading command wrote the machine's id")
	}
}

func TestAClockThatHasFallenBackIsSaid(t *testing.T) {
	p := newPerson(t)
	p.now = func() time.Time { return noon.Add(-2 * time.Hour) }
	p.run(0, "record", "time=2025-06-05 08:00", "volts=240")
	p.wants(p.err.String(), "caution: ", "clock")
	p.run(0, "rounds", "--json")
	p.wants(p.err.String(), "caution: ", "clock")
}

func TestTextFromOutsideNeverReachesTheTerminalRaw(t *testing.T) {
	p := newPerson(t)
	evil := "a\x1b]0;title\x07b\u202ec"
	p.run(0, "record", "time=2025-06-04 07:30", "volts=240", "note="+evil, "by="+evil)
	p.run(0, "event", "trip", "time=2025-06-04 08:30", "cause="+evil, "by="+evil)
	p.wants(p.run(0, "rounds", "--json", "--events"), `"by":"a\u001b]0;title\u0007b`)
	for _, args := range [][]string{{"rounds"}, {"now"}, {"plant", "show"}, {"upkeep"}, {"record", evil}, {"record", evil + "=1"}, {"event", evil},
		{"amend", evil, "volts=1", "--why", evil}, {"import", evil}, {"plant", "check", evil}, {"backup", "/no/" + evil}, {evil}, {"--" + evil}, {"upkeep", "done", evil}} {
		w := p.world
		p.out.Reset()
		p.err.Reset()
		w.args, w.out, w.err = args, &p.out, &p.err
		execute(context.Background(), w)
		for _, s := range []string{p.out.String(), p.err.String()} {
			if strings.ContainsAny(s, "\x1b\x07\u202e") {
				t.Errorf("%q printed %q", args, s)
			}
		}
	}
}

func TestEveryCommandHasAHelpThatNeedsNoBook(t *testing.T) {
	p := newPerson(t)
	p.dataDir = t.TempDir()
	var all [][]string
	for _, sub := range newRoot(&command{world: p.world}).Commands() {
		all = append(all, []string{sub.Name(), "--help"})
		for _, below := range sub.Commands() {
			all = append(all, []string{sub.Name(), below.Name(), "--help"})
		}
	}
	if len(all) < 16 {
		t.Fatalf("only %d commands", len(all))
	}
	for _, args := range all {
		p.wants(p.run(0, args...), "Usage:", "headpond")
	}
}

func TestTheShellIsOfferedThePlantsColumns(t *testing.T) {
	p := newPerson(t)
	out := p.run(0, "__complete", "record", "")
	p.wants(out, "time=", "running=", "B.volts=")
	if strings.Contains(out, "C.volts=") {
		t.Error("a unit that the plant does not have is offered")
	}
}

func TestVersionIsThatOfTheChanges(t *testing.T) {
	changes, err := os.ReadFile(filepath.Join("..", "..", "CHANGELOG.md"))
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.SplitSeq(string(changes), "\n") {
		heading, ok := strings.CutPrefix(line, "## ")
		if !ok || strings.HasPrefix(heading, "Unreleased") {
			continue
		}
		if !strings.HasPrefix(heading, version) {
			t.Errorf("the newest release of CHANGELOG.md is %s, the program's version is %s", heading, version)
		}
		return
	}
}

func TestTheBackgroundIsWhatTheTerminalSays(t *testing.T) {
	for said, want := range map[string]ui.Background{
		"": ui.AnyBackground, "15;0": ui.DarkBackground, "0;15": ui.LightBackground, "0;default;7": ui.LightBackground, "12;8": ui.DarkBackground,
		"0;": ui.AnyBackground, "0;white": ui.AnyBackground, "0;16": ui.AnyBackground, "15": ui.AnyBackground,
	} {
		if got := background(said); got != want {
			t.Errorf("COLORFGBG=%s gives %v, want %v", said, got, want)
		}
	}
}

func TestTheLocaleDecidesWhetherLettersBeyondASCIIAreShown(t *testing.T) {
	for _, c := range []struct {
		environ []string
		want    bool
	}{
		{nil, false}, {[]string{"LANG=C"}, false}, {[]string{"LANG=en_CA.UTF-8"}, true}, {[]string{"LANG=en_CA.utf8"}, true},
		{[]string{"LANG=en_CA.UTF-8", "LC_ALL=C"}, false}, {[]string{"LC_CTYPE=C.UTF-8", "LANG=C"}, true}, {[]string{"LC_ALL=", "LANG=C.UTF-8"}, true},
		{[]string{"LANG=C", "LANG=C.UTF-8"}, true},
	} {
		if got := utf8Locale(world{environ: c.environ}.Getenv); got != c.want {
			t.Errorf("%v: %v", c.environ, got)
		}
	}
}
