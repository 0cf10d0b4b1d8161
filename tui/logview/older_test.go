package logview

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/demo"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/uitest"
)

// longBench has a round on each of the last 400 days, every 50th out of band, and old upkeep and a dead element.
func longBench(t testing.TB, w, h int) *bench {
	t.Helper()
	b := emptyBench(t, uitest.Look{}, w, h)
	var rounds []record.Round
	for i := range 400 {
		r := round(morning.AddDate(0, 0, -i).Add(-time.Hour))
		if i%50 == 49 {
			r.Values["volts"] = 260
		}
		rounds = append(rounds, r)
	}
	if _, _, err := b.book.AddRounds(context.Background(), rounds); err != nil {
		t.Fatal(err)
	}
	b.must(b.book.AddDone(context.Background(), record.Done{Time: morning.AddDate(0, 0, -300), Task: "grease", By: "Tam"}, ""))
	b.must(b.book.AddEvent(context.Background(), record.Event{Time: morning.AddDate(0, 0, -310), Kind: record.ElementOut, Element: "E3"}, ""))
	b.start()
	return b
}

func TestOlderEntriesAreLeftInTheBookUntilAskedFor(t *testing.T) {
	b := longBench(t, 100, 20)
	b.see("122 entries of the last 120 days") // 121 rounds, both ends included, and the plant's description; no upkeep from long before
	b.press("o")
	b.see("403 entries, newest first.")
	b.press("o")
	b.heard("everything is listed already")
	b.press("end")
	b.see("2025-05-01") // 400 days
	b.press("k", "k", "k", "k")
	b.see("grease")
}

func TestGoingPastTheLastEntryReadsOlderOnes(t *testing.T) {
	for _, key := range []string{"end", "pgdown", "down"} {
		b := longBench(t, 100, 20)
		for range 130 {
			b.press(key)
			if b.screen().ledger.h.Complete {
				break
			}
		}
		if !b.screen().ledger.h.Complete || b.screen().table.At != 121 {
			t.Errorf("%s: complete %v, at %d", key, b.screen().ledger.h.Complete, b.screen().table.At)
		}
	}
}

func TestADateBeforeWhatWasReadReadsOlderEntries(t *testing.T) {
	b := longBench(t, 100, 20)
	b.press("d")
	b.typed("2025-07-01")
	b.press("down")
	b.typed("2025-07-31")
	b.press("enter")
	b.see("32 of 403 entries") // 31 rounds and the dead element
	b.see("element out: E3")
}

func TestReadingOlderEntriesShowsProgressAndCanBeStopped(t *testing.T) {
	b := longBench(t, 100, 20)
	b.hold = true
	b.press("o")
	b.see("Reading older entries. Esc stops.")
	b.screen().older.job.read.Store(200)
	b.give(olderTick{b.screen().older.seq})
	b.see("Reading older entries: 200 of about 403")
	b.press("o")
	for _, binding := range b.s.Bindings() {
		if binding.Action == "log.older" && binding.Off != "they are being read" {
			t.Errorf("older is off because %q", binding.Off)
		}
	}
	b.press("esc")
	b.hide("Reading older")
	b.release() // the answer comes too late
	b.heard("was stopped")
	b.see("122 entries of the last 120 days")
	b.hide("could not be read")
}

func TestAFailedReadingIsTold(t *testing.T) {
	b := longBench(t, 100, 20)
	b.hold = true
	b.press("o")
	seq := b.screen().older.seq
	b.held, b.hold = nil, false
	b.give(allRead{seq: seq, err: fmt.Errorf("the logbook is in use")})
	b.heard("The older entries could not be read: the logbook is in use")
	b.see("122 entries of the last 120 days")
}

func TestAllIsReadAgainWhenTheBookChangesAndTheListStandsMeanwhile(t *testing.T) {
	b := longBench(t, 100, 20)
	b.press("o", "end")
	before := b.screen().selected().id
	b.add(round(morning.Add(-time.Minute)))
	b.hold = true
	b.reload()
	b.see("403 entries") // the former list
	b.release()
	b.see("404 entries, newest first.")
	if got := b.screen().selected().id; got != before {
		t.Errorf("chosen %s, before %s", got, before)
	}
}

func TestAnOldEntryIsFetchedWhenAnotherScreenAsksForIt(t *testing.T) {
	b := longBench(t, 100, 20)
	id := b.history().Rounds[0].ID
	next, cmd := b.screen().Arrive(id)
	b.s = next
	b.run(cmd)
	b.see("Round of Thu 1 May 2025 07:00")
}

func TestACorrectionOfAnOldEntryComesBack(t *testing.T) {
	b := longBench(t, 100, 24)
	b.press("o", "end", "up")
	correct(b, "Voltage")
	b.typed("2")
	b.start()
	b.press("c")
	b.see("Round of")
	b.press("c")
	b.see("Correcting the round of Fri 2 May 2025")
}

func TestRoundsOutOfBandAreFoundPartByPart(t *testing.T) {
	b := longBench(t, 100, 20)
	b.press("o")
	b.hold = true
	b.press("b")
	b.see("Judging older rounds: 0 of 400. Esc stops.")
	b.release()
	if got := len(b.screen().shown); got != 8 {
		t.Errorf("%d found, want 8", got)
	}
	b.hide("Judging")
	b.press("down")
	b.add(round(morning.Add(-time.Minute))) // a book that changes is judged anew
	b.reload()
	if got := len(b.screen().shown); got != 8 || b.screen().table.At != 1 {
		t.Errorf("%d found, want 8; at %d", got, b.screen().table.At)
	}
	b.press("b", "b")
	if got := len(b.screen().shown); got != 8 || b.screen().scan.running() {
		t.Error("what is judged already is judged again")
	}
}

func TestAScanCanBeStopped(t *testing.T) {
	b := longBench(t, 100, 20)
	b.hold = true
	b.press("b", "esc")
	b.hide("Judging")
	if b.screen().filter.out {
		t.Error("the filter stays")
	}
	b.release()
	if n := len(b.screen().shown); n != 122 {
		t.Errorf("%d are shown", n)
	}
}

// A log of thirteen years at two rounds a day. Only what is on show is judged, however far one goes.
func TestALargeLogIsJudgedOnlyWhereItIsSeen(t *testing.T) {
	s := large(10000)
	for _, k := range []string{"pgdown", "down", "end", "up", "home"} {
		s = uitest.Press(t, s, k)
		s.View()
	}
	if n := len(s.(Screen).ledger.judged); n == 0 || n > 5*36 {
		t.Errorf("%d of 10000 rounds were judged for five frames of 36 lines", n)
	}
}

// large is a screen on a complete history of n rounds, without a book.
func large(n int) ui.Screen {
	h := history(n)
	s := New(uitest.Common(uitest.Look{Color: true}, 120, 36, morning), desk.Desk{}).SetSize(120, 36)
	s, _ = s.Update(desk.Loaded{History: h})
	return s
}

func history(n int) *record.History {
	p, err := demo.Plant()
	if err != nil {
		panic(err) // the demo's file is part of the program
	}
	h := &record.History{At: morning, Plant: p, Complete: true, Revisions: []record.Revision{{ID: "01R", From: morning.AddDate(-20, 0, 0), Plant: p}}}
	for i := n; i > 0; i-- {
		r := round(morning.Add(-time.Duration(i) * 12 * time.Hour))
		r.ID = fmt.Sprintf("01%024d", n-i)
		r.Note = []string{"", "leaves", "guests in the house"}[i%3]
		h.Rounds = append(h.Rounds, r)
	}
	return h
}

func TestTextIsOneLineAnEntryInTheOrderGiven(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	h := b.history()
	lines := textLines(h)
	wide := Text(newLedger(h).assessor, lines, uitest.Common(uitest.Look{}, 80, 24, morning), 0)
	got := strings.Split(strings.TrimSuffix(wide, "\n"), "\n")
	if len(got) != len(lines)+1 {
		t.Fatalf("%d lines for %d entries:\n%s", len(got), len(lines), wide)
	}
	for i, want := range []string{
		"id when by kind runs V Hz kPa pond m load kW dump state remarks",
		"01 Jun 20:00 Ro round A 241 60.1 131 -0.30 3.1 43 % in leaves on the screen,\\nraked by hand",
		"02 Jun 08:00 Imke round A 241 60.1 131 -0.30 3.1 43 % in corrected since",
		"02 Jun 20:00 Ro round A 241 57.5 131 -0.30 3.1 43 % near ! frequency 57.5 Hz near",
		"03 Jun 01:00 Ro trip of A (overspeed); saw switched off",
	} {
		line := flat(got[i])
		if i > 0 {
			id, rest, _ := strings.Cut(line, " ")
			if line = rest; !strings.HasPrefix(lines[i-1].id(), id) || len(id) < shortID {
				t.Errorf("line %d begins with the id %q, the entry's is %q", i, id, lines[i-1].id())
			}
		}
		if line != want {
			t.Errorf("line %d is %q, want %q", i, line, want)
		}
	}
}

func (l Line) id() string {
	if l.Round != nil {
		return l.Round.ID
	}
	return l.Event.ID
}

func textLines(h *record.History) []Line {
	var lines []Line
	for i := range h.Rounds {
		lines = append(lines, Line{Round: &h.Rounds[i]})
		if i == 2 {
			lines = append(lines, Line{Event: &h.Events[0]})
		}
	}
	return lines
}

func TestTextFitsTheWidthAndIsHarmless(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	r := round(morning.Add(-time.Hour))
	r.Note = "\x1b[31mred\u202e\x07 and more of it, and still more of it, and more"
	b.add(r)
	h := b.history()
	for _, w := range []int{0, 40, 80, 132} {
		got := Text(newLedger(h).assessor, textLines(h), uitest.Common(uitest.Look{}, 80, 24, morning), w)
		if strings.ContainsAny(got, "\x1b\x07") || strings.ContainsRune(got, '\u202e') {
			t.Errorf("at %d it acts: %q", w, got)
		}
		if err := uitest.Fits(strings.TrimSuffix(got, "\n"), max(w, 400*(1-min(w, 1))), 100); err != nil {
			t.Errorf("at %d: %v", w, err)
		}
	}
	if got := Text(newLedger(h).assessor, nil, uitest.Common(uitest.Look{}, 80, 24, morning), 80); got != "No entry.\n" {
		t.Errorf("nothing gives %q", got)
	}
}

// What the command judged already is not judged again, and shows the same.
func TestTextTakesJudgementsOver(t *testing.T) {
	b := newBench(t, uitest.Look{}, 80, 20)
	h := b.history()
	a := newLedger(h).assessor
	lines := textLines(h)
	want := Text(a, lines, uitest.Common(uitest.Look{}, 80, 24, morning), 100)
	for i := range lines {
		if r := lines[i].Round; r != nil {
			lines[i].Judged = a.Judge(*r)
		}
	}
	if got := Text(a, lines, uitest.Common(uitest.Look{}, 80, 24, morning), 100); got != want {
		t.Errorf("judged before:\n%s\nand not:\n%s", got, want)
	}
}

func TestIDsAreAsLongAsTheyNeed(t *testing.T) {
	items := []item{{id: "01KT7VE4C08KNV33NEZJKQ51G1"}, {id: "01KT7VE4C08KXX33NEZJKQ51G1"}, {id: "01KT9"}}
	if got := strings.Join(shortIDs(items), " "); got != "01KT7VE4C08KN 01KT7VE4C08KX 01KT9" {
		t.Errorf("short ids %q", got)
	}
}

func BenchmarkStepInTenThousandRounds(b *testing.B) {
	s := large(10000)
	for b.Loop() {
		s, _ = s.Update(tea.KeyMsg{Type: tea.KeyPgDown})
		if s.(Screen).table.At == s.(Screen).table.Len-1 {
			s, _ = s.Update(tea.KeyMsg{Type: tea.KeyHome})
		}
		_ = s.View()
	}
}

func BenchmarkFindInTenThousandRounds(b *testing.B) {
	s := large(10000)
	s, _ = s.Update(uitest.Key(b, "/"))
	for b.Loop() {
		s, _ = s.Update(uitest.Key(b, "l"))
		s, _ = s.Update(tea.KeyMsg{Type: tea.KeyBackspace})
		_ = s.View()
	}
}

func BenchmarkLedgerOfTenThousandRounds(b *testing.B) {
	h := history(10000)
	for b.Loop() {
		newLedger(h).warm()
	}
}

func BenchmarkScanOfTenThousandRounds(b *testing.B) {
	s := large(10000).(Screen)
	for b.Loop() {
		s.ledger.judged = map[string]judgement{}
		s.filter.out = true
		s, _ = s.startScan()
		for s.scan.running() {
			s, _ = s.scanned(s.scan.part()().(scanned))
		}
	}
}
