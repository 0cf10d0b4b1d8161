package logview

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/tui/ui/uitest"
)

// nightBench is a log of the night in which Halifax set its clocks back, on 1 November 2026 at 05:00 UTC (IANA time zone database): two
// rounds at half past one, and one before and after them.
func nightBench(t testing.TB, w int) *bench {
	t.Helper()
	b := emptyBench(t, uitest.Look{}, w, 20)
	for i, at := range []string{"2026-11-01T02:00:00Z", "2026-11-01T04:30:00Z", "2026-11-01T05:30:00Z", "2026-11-01T12:00:00Z"} {
		x, err := time.Parse(time.RFC3339, at)
		if err != nil {
			t.Fatal(err)
		}
		b.now = x.Add(time.Minute)
		r := round(x)
		r.Values["volts"] = 240 + float64(i)
		b.add(r)
	}
	b.start()
	return b
}

// The two rounds of half past one are told apart in the list, on both of its widths, and in the command's text; no other time has its
// zone.
func TestTwoRoundsOfTheHourThatComesTwiceAreToldApart(t *testing.T) {
	for w, want := range map[int][]string{
		80:  {"01 Nov 08:00      ", "01 Nov 01:30 AST  ", "01 Nov 01:30 ADT  ", "31 Oct 23:00      "},
		120: {"Sun 01 Nov 08:00      ", "Sun 01 Nov 01:30 AST  ", "Sun 01 Nov 01:30 ADT  ", "Sat 31 Oct 23:00      "},
	} {
		b := nightBench(t, w)
		got := listed(b)
		for i := range want {
			if i >= len(got) || !strings.HasPrefix(got[i], want[i]) {
				t.Errorf("%d wide: line %d is not %q in\n%s", w, i+1, want[i], b.s.View())
			}
		}
		s := b.s.(Screen)
		h := s.ledger.h
		lines := make([]Line, len(h.Rounds))
		for i := range h.Rounds {
			lines[i] = Line{Round: &h.Rounds[i]}
		}
		page := Text(assess.Of(h), lines, s.Common, w)
		for _, l := range want[:4] {
			if !strings.Contains(page, strings.TrimRight(l, " ")+" ") {
				t.Errorf("the command lacks %q:\n%s", l, page)
			}
		}
	}
}

// So is an entry that is opened, and a search that names it.
func TestAnEntryOfTheHourThatComesTwiceHasItsZone(t *testing.T) {
	b := nightBench(t, 80)
	openAt(b, 1)
	if view := b.s.View(); !strings.Contains(view, "Sun 1 Nov 01:30 AST") {
		t.Errorf("the later one:\n%s", view)
	}
	b = nightBench(t, 80)
	openAt(b, 2)
	if view := b.s.View(); !strings.Contains(view, "Sun 1 Nov 01:30 ADT") {
		t.Errorf("the earlier one:\n%s", view)
	}
}

// A log without such an hour gives no room to zones, and a zone without a name of letters has room for its offset.
func TestTheRoomOfZones(t *testing.T) {
	if form := clockFor(80, false, false); form != clockShort {
		t.Errorf("%q", form)
	}
	howe, err := time.LoadLocation("Australia/Lord_Howe") // +1030 in winter, +11 in summer
	if err != nil {
		t.Fatal(err)
	}
	w := words{loc: howe, now: time.Date(2026, 1, 10, 0, 0, 0, 0, time.UTC)}
	form := clockFor(80, false, true)
	at := time.Date(2026, 4, 4, 15, 10, 0, 0, time.UTC) // ten minutes after the clocks went back by half an hour
	if got := w.clock(at, form); got != "05 Apr 01:40 +1030" || len(got) > w.clockWidth(form) {
		t.Errorf("%q in %d cells", got, w.clockWidth(form))
	}
}
