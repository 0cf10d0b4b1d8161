package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
)

// scene is a computer with a clock that can be set, on a book of Tern Hollow. Halifax's clock changes are those of the IANA time zone
// database: back on 2 November 2025 at 02:00 ADT, forward on 8 March 2026 at 02:00 AST.
type scene struct{ *person }

func newScene(t *testing.T) scene {
	t.Helper()
	p := newPerson(t)
	p.inTTY = false
	return scene{p}
}

// clock sets the clock of the computer.
func (s scene) clock(at string) {
	s.t.Helper()
	now, err := time.Parse(time.RFC3339, at)
	if err != nil {
		s.t.Fatal(err)
	}
	s.now = func() time.Time { return now }
}

// do carries out a command that must succeed, and returns both its streams.
func (s scene) do(args ...string) string {
	s.t.Helper()
	s.run(exitDone, args...)
	return s.out.String() + s.err.String()
}

// says demands texts in what a command prints, with line ends and indents taken for spaces, and not demands that others are not there.
func (s scene) says(said string, texts ...string) {
	s.t.Helper()
	flat := strings.Join(strings.Fields(said), " ")
	for _, x := range texts {
		if want, not := strings.CutPrefix(x, "not: "); strings.Contains(flat, want) == not {
			s.t.Errorf("%q: want it %v in\n%s", want, !not, said)
		}
	}
}

// sound demands that the book is whole, every chain unbroken, ids unique and in order of time.
func (s scene) sound(entries int) {
	s.t.Helper()
	book, err := logbook.Open(s.defaultBook(), logbook.Options{Clock: s.now})
	if err != nil {
		s.t.Fatal(err)
	}
	report, err := book.Check(context.Background(), nil)
	if err != nil || !report.Sound() {
		s.t.Errorf("check: %v, %v", report, err)
	}
	seen, links := map[string]bool{}, map[string]bool{}
	last := ""
	n := 0
	if err := book.Entries(context.Background(), func(e logbook.Entry) error {
		n++
		link := fmt.Sprintf("%x-%d", e.Writer, e.Seq)
		if seen[e.ID] || links[link] || e.ID < last {
			s.t.Errorf("%s (%s) after %s: twice, or out of order", e.ID, link, last)
		}
		seen[e.ID], links[link], last = true, true, e.ID
		return nil
	}); err != nil {
		s.t.Error(err)
	}
	if n != entries {
		s.t.Errorf("the book holds %d entries, want %d", n, entries)
	}
}

const behind = "this clock is behind, or the one that it was written by was ahead; check this one; if it is right, say so with headpond check --clock-right"

// A clock that fell back because its battery is dead: all is kept, in the order of the times that it tells of, the caution comes with
// each save and stands on Now and with each answer, and after the clock is put right one correction makes it all good.
func TestDeadClockBattery(t *testing.T) {
	for _, wrong := range []string{"1970-01-01T00:00:00Z", "1970-01-01T05:03:00Z", "2000-01-01T12:00:00Z", "2025-06-04T12:00:00-03:00", "2025-06-06T11:59:59-03:00"} {
		t.Run(wrong, func(t *testing.T) {
			s := newScene(t)
			s.clock("2025-06-06T12:00:00-03:00")
			s.says(s.do("record", "volts=241", "pond_level_m=-0.1", "running=A", "by=Ro"), "Saved: round of 2025-06-06 12:00", "not: caution")
			s.clock(wrong)
			saves := [][]string{
				{"record", "volts=243", "by=Ro"}, {"record", "volts=244", "by=Imke"}, {"event", "trip", "unit=A", "cause=lightning"}, {"upkeep", "done", "walk", "--by", "Ro"},
				{"record", "time=2025-06-06 11:00", "volts=240"},
			}
			first := ""
			for _, args := range saves {
				said := s.do(args...)
				s.says(said, "Saved: ", "caution: the clock of this computer says ", "but an entry of the book was written at 2025-06-06 12:00 -0300", behind, "the entry is kept", "not: headpond:")
				if first == "" {
					first = entryID.FindString(said)
				}
			}
			s.says(s.do("now"), "DUE The clock of this computer says ", behind)
			for _, ask := range []string{"rounds", "upkeep", "faults"} {
				s.says(s.do(ask), behind)
			}
			s.run(exitFailed, "water") // its only level lies in the future
			s.says(s.err.String(), "the log holds no pond level yet", behind)
			s.says(s.do("now", "--json"), behind)
			s.says(s.do("amend", first, "note=by torchlight", "--why", "forgot", "--by", "Ro"), behind)
			s.says(s.do("check"), "none is missing")
			s.sound(8) // plant, round, five saves, correction

			s.clock("2025-06-07T08:00:00-03:00") // put right
			for _, ask := range []string{"now", "rounds", "water"} {
				s.says(s.do(ask), "not: clock of this computer")
			}
			said := s.do("amend", first, "time=2025-06-07 07:00", "--why", "the clock was wrong", "--by", "Ro")
			s.says(said, "not: caution")
			s.says(s.do("now"), "Last round 1 h ago, 07:00, by Ro")
			lines := strings.Split(strings.TrimSpace(s.do("rounds", "--json")), "\n")
			if !strings.Contains(lines[len(lines)-1], `"2025-06-07T07:00:00-03:00"`) {
				t.Errorf("the corrected round is not the last:\n%s", strings.Join(lines, "\n"))
			}
			s.sound(9)
		})
	}
}

// A clock a year ahead: what is written then is kept, and while the clock is right again it is left out with the reason and found
// again; saving goes on.
func TestClockAYearAhead(t *testing.T) {
	s := newScene(t)
	s.clock("2025-06-06T12:00:00-03:00")
	s.do("record", "volts=241", "running=A", "by=Ro")
	s.clock("2026-06-06T12:00:00-03:00")
	s.says(s.do("record", "volts=245", "by=Imke"), "Saved: round of 2026-06-06 12:00", "not: caution") // nothing tells it yet
	s.says(s.do("now"), "Last round 0 min ago", "not: clock")
	id := entryID.FindString(s.out.String() + s.do("rounds", "--json", "--last", "1"))
	s.clock("2025-06-07T08:00:00-03:00")
	s.says(s.do("now"), "Last round 20 h ago, Fri 6 Jun 12:00, by Ro", "DUE A round dated in the future, 2026-06-06 12:00 -0300, was left out: check the clock of this computer, or correct its time", behind)
	s.says(s.do("record", "volts=240", "by=Ro"), "Saved: round of 2025-06-07 08:00", behind)
	s.says(s.do("amend", id, "time=2025-06-06 18:00", "--why", "the clock was a year ahead"), behind)
	s.says(s.do("rounds"), "not: dated in the future", "Imke")
	s.rounds("2025-06-06T12:00:00-03:00 2025-06-06T18:00:00-03:00 2025-06-07T08:00:00-03:00")
	s.says(s.do("now"), behind) // the hour of writing stays, and only a person can tell which clock was wrong
	s.says(s.do("check", "--clock-right"), "The clock of this computer, 2025-06-07 08:00, is taken as right", "written at 2026-06-06 12:00 stays as it is")
	s.says(s.do("now"), "not: clock of this computer")
	s.says(s.do("record", "volts=240", "by=Ro", "time=2025-06-07 07:59"), "not: caution")
	s.says(s.do("check", "--clock-right"), "No entry was written later than now", "nothing was changed")
	s.run(exitUsage, "check", "--clock-right", "--json")
	s.sound(6)
}

// rounds demands the times of all rounds, in the order in which they are listed.
func (s scene) rounds(want string) {
	s.t.Helper()
	book, err := logbook.Open(s.defaultBook(), logbook.Options{Clock: s.now, Location: noon.Location()})
	if err != nil {
		s.t.Fatal(err)
	}
	h, err := book.History(context.Background(), logbook.HistoryOptions{All: true})
	if err != nil {
		s.t.Fatal(err)
	}
	var got []string
	for _, r := range h.Rounds {
		got = append(got, r.Time.Format(time.RFC3339))
	}
	if strings.Join(got, " ") != want {
		s.t.Errorf("rounds at %s, want %s", strings.Join(got, " "), want)
	}
}

// A plant's description that is loaded while the clock is behind never comes into force, since the one of before takes over; that is
// said, and how to put it right.
func TestDescriptionLoadedWithADeadClock(t *testing.T) {
	s := newScene(t)
	s.clock("2025-06-06T12:00:00-03:00")
	s.do("record", "volts=241")
	text, err := os.ReadFile(filepath.Join("testdata", "plant.toml"))
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "new.toml")
	if err := os.WriteFile(file, []byte(strings.Replace(string(text), "per_kwh = 0.13", "per_kwh = 0.14", 1)), 0o600); err != nil {
		t.Fatal(err)
	}
	s.clock("1970-01-02T00:03:00Z")
	s.says(s.do("plant", "load", file), "It holds from 1970-01-01 20:03", behind, `it holds until 2025-06-01 00:00 only, when another description in the book takes over; if this one shall take its place, load it again with --from "2025-06-01 00:00"`)
	s.clock("2025-06-06T13:00:00-03:00")
	s.says(s.do("plant", "show"), "per_kwh = 0.13")
	s.says(s.do("plant", "load", file, "--from", "2025-06-01 00:00"), "It holds from 2025-06-01 00:00", "not: until")
	s.says(s.do("plant", "show"), "per_kwh = 0.14")
	s.sound(4)
}

// The hour that comes twice and the one that does not come: every way to give a time asks instead of guessing, and takes the answer
// that it names; the two hours stay apart in order and in words.
func TestTheHourThatComesTwiceAndTheOneThatDoesNot(t *testing.T) {
	s := newScene(t)
	s.clock("2025-11-02T03:30:00-04:00")
	twice, gone := "2025-11-02 01:30", "2026-03-08 02:30"
	csv := filepath.Join(t.TempDir(), "r.csv")
	for _, args := range [][]string{{"record", "volts=241", "time=TIME"}, {"event", "note", "note=x", "time=TIME"}, {"upkeep", "done", "walk", "--time", "TIME"}, {"rounds", "--from", "TIME"}, {"rounds", "--to", "TIME"}, {"now", "--at", "TIME"}, {"water", "--at", "TIME"}, {"water", "--until", "TIME"}} {
		for typed, want := range map[string]string{twice: "happens twice, because the clocks are set back: write 2025-11-02T01:30:00-03:00 or 2025-11-02T01:30:00-04:00", gone: "does not exist, because the clocks are set forward from 02:00 -04:00 to 03:00 -03:00"} {
			line := slices.Clone(args)
			for i := range line {
				line[i] = strings.Replace(line[i], "TIME", typed, 1)
			}
			before := s.bytes()
			s.run(exitUsage, line...)
			s.says(s.err.String(), want)
			if string(before) != string(s.bytes()) {
				t.Errorf("%q changed the book", line)
			}
		}
	}
	for _, c := range []struct{ row, want string }{{twice, "2025-11-02T01:30:00-03:00 or 2025-11-02T01:30:00-04:00"}, {"2025-03-09 02:30", "a time that exists"}} {
		if err := os.WriteFile(csv, []byte("time,volts\n"+c.row+",241\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		s.run(exitFailed, "import", csv)
		s.says(s.err.String(), c.want, "nothing was imported")
	}
	later, earlier := "2025-11-02T01:30:00-04:00", "2025-11-02T01:30:00-03:00"
	s.says(s.do("record", "volts=242", "time="+later), "Saved: round of "+later)
	s.says(s.do("record", "volts=241", "time="+earlier), "Saved: round of "+earlier)
	s.says(s.do("event", "stop", "unit=A", "time="+later), "Saved: ")
	if err := os.WriteFile(csv, []byte("time,volts\n2025-11-02T01:40:00-04:00,238\n2025-11-02T01:40:00-03:00,239\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	s.says(s.do("import", csv), "2 rounds added")
	s.rounds("2025-11-02T01:30:00-03:00 2025-11-02T01:40:00-03:00 2025-11-02T01:30:00-04:00 2025-11-02T01:40:00-04:00")
	id := entryID.FindString(s.do("rounds", "--json", "--last", "1"))
	s.run(exitUsage, "amend", id, "time="+twice, "--why", "x")
	s.says(s.err.String(), "happens twice")
	s.says(s.do("amend", id, "time="+earlier, "--why", "it was summer time"), "not: caution")
	s.sound(7) // plant, two rounds, stop, two imported, correction
}

// Two computers whose clocks differ by hours, and a third in another zone: each keeps writing, and after merges both ways the books hold
// the same entries in the same order, with nothing lost and every chain whole.
func TestTwoComputersWhoseClocksDiffer(t *testing.T) {
	one, two := newScene(t), newScene(t)
	two.rand = rand.NewChaCha8([32]byte{9})
	two.local = time.FixedZone("", 9*3600)
	two.dataDir = filepath.Join(t.TempDir(), "two")
	copied := filepath.Join(t.TempDir(), "copy.book")
	one.clock("2025-06-06T08:00:00-03:00")
	one.do("record", "volts=240", "by=Ro")
	one.do("backup", copied)
	two.clock("2025-06-06T13:00:00-03:00") // five hours ahead
	two.do("restore", copied)
	hour := func(h int) string { return fmt.Sprintf("2025-06-06T%02d:00:00-03:00", h) }
	for i := range 4 {
		one.clock(hour(9 + i))
		one.do("record", fmt.Sprintf("volts=%d", 241+i), "by=Ro")
		two.clock(hour(14 + i))
		two.do("record", fmt.Sprintf("volts=%d", 231+i), "by=Imke")
	}
	one.clock("2025-06-06T12:30:00-03:00")
	one.says(one.do("merge", two.defaultBook()), "4 ")
	one.says(one.do("now"), "DUE 4 rounds dated in the future were left out, the first at 2025-06-06 14:00 -0300", behind, "Last round 30 min ago, 12:00, by Ro")
	one.says(one.do("record", "volts=250", "by=Ro"), "Saved: ", behind)
	two.clock("2025-06-06T17:30:00-03:00")
	two.do("merge", one.defaultBook())
	two.says(two.do("now"), "not: clock of this computer")
	one.do("merge", two.defaultBook())
	one.clock("2025-06-06T18:00:00-03:00")
	two.clock("2025-06-06T18:00:00-03:00")
	if a, b := one.do("rounds", "--json"), two.do("rounds", "--json"); a != b || strings.Count(a, "\n") != 10 {
		t.Errorf("the two books differ or lack rounds:\n%s\n%s", a, b)
	}
	one.says(one.do("merge", two.defaultBook()), "0 ")
	for _, s := range []scene{one, two} {
		s.sound(11)
	}
}

// Another zone on the computer changes nothing: times are the plant's.
func TestTheComputersZoneDoesNotMatter(t *testing.T) {
	var want string
	for _, zone := range []*time.Location{time.UTC, time.FixedZone("", 14*3600), time.FixedZone("", -12*3600), noon.Location()} {
		s := newScene(t)
		s.local = zone
		at := time.Date(2025, 11, 2, 7, 30, 0, 0, time.UTC).In(zone)
		s.now = func() time.Time { return at }
		got := s.do("record", "volts=241", "time=02:30", "by=Ro") + s.do("rounds") + s.do("now") + s.do("event", "note", "note=x", "time=yesterday 18:00")
		if want == "" {
			want = got
		}
		if got != want {
			t.Errorf("in the zone %s:\n%s\nelsewhere:\n%s", zone, got, want)
		}
		s.sound(3)
	}
}

// A clock that jumps to and fro at random: nothing is refused, nothing lost, and the order is that of the times told.
func TestClockThatJumps(t *testing.T) {
	s := newScene(t)
	rng := rand.New(rand.NewPCG(3, 3))
	for i := range 60 {
		at := time.Unix(rng.Int64N(2e9), 0)
		s.now = func() time.Time { return at }
		switch i % 4 {
		case 0, 1:
			s.says(s.do("record", "volts=241", "by=Ro"), "Saved: ", "not: headpond:")
		case 2:
			s.says(s.do("event", "note", "note=x"), "Saved: ")
		default:
			s.says(s.do("upkeep", "done", "walk"), "Saved: ")
		}
		s.do("now")
		s.do("upkeep")
	}
	s.sound(61)
}
