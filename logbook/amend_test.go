package logbook_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

func TestAmendRefuses(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	round := must(b.AddRound(ctx, sample(noon), ""))(t).Entry.ID
	event := must(b.AddEvent(ctx, record.Event{Time: noon.Add(time.Hour), Kind: record.Trip, Units: []string{"A"}}, ""))(t).Entry.ID
	done := must(b.AddDone(ctx, record.Done{Time: noon.Add(2 * time.Hour), Task: "grease"}, ""))(t).Entry.ID
	plant := must(b.AddPlant(ctx, testPlant(t, "1.4"), noon.AddDate(-1, 0, 0), ""))(t).Entry.ID
	correction := must(b.Amend(ctx, round, map[string]string{"volts": "240"}, "misread", "Ro", ""))(t).Entry[0].Amendment
	mark := must(b.Mark(ctx))(t)
	for name, c := range map[string]struct {
		id   string
		key  string
		text string
		kind error
		says string
	}{
		"no such entry":          {"01ZZZZZZZZ", "volts", "1", logbook.ErrNoEntry, "no id begins with 01ZZZZZZZZ"},
		"too short an id":        {round[:5], "volts", "1", logbook.ErrNoEntry, "at least 6"},
		"no letters of an id":    {"01KGHM!!", "volts", "1", logbook.ErrNoEntry, "letters and digits"},
		"a correction":           {correction, "why", "x", logbook.ErrInvalid, round},
		"a plant":                {plant, "note", "x", logbook.ErrInvalid, "headpond plant load"},
		"unknown column":         {round, "vlots", "240", logbook.ErrInvalid, "vlots"},
		"a word for a number":    {round, "volts", "high", logbook.ErrInvalid, "a number"},
		"not finite":             {round, "volts", "NaN", logbook.ErrInvalid, "a number"},
		"a word not of the list": {round, "screen", "dirty", logbook.ErrInvalid, "clear, partly"},
		"blank is not withdrawn": {round, "volts", "", logbook.ErrInvalid, "- to withdraw"},
		"blank running":          {round, "running", "", logbook.ErrInvalid, "- to withdraw"},
		"no time":                {round, "time", "yesterday", logbook.ErrInvalid, "2026-02-03"},
		"time withdrawn":         {round, "time", "-", logbook.ErrInvalid, "2026-02-03"},
		"time before 1970":       {event, "time", "1950-01-01T00:00:00Z", logbook.ErrInvalid, "time"},
		"reading of an event":    {event, "volts", "240", logbook.ErrInvalid, "no column of an event"},
		"event without kind":     {event, "kind", "-", logbook.ErrInvalid, "without a kind"},
		"reading of upkeep":      {done, "volts", "240", logbook.ErrInvalid, "no column of upkeep done"},
		"step of no checklist":   {done, "step.1", "done", logbook.ErrInvalid, "no column of upkeep done"},
		"blank task":             {done, "task", "", logbook.ErrInvalid, "- to take it back"},
		"as it is":               {round, "volts", "240", logbook.ErrNoChange, "says so already"},
		"withdraw the unread":    {round, "rain_mm", "-", logbook.ErrNoChange, "says so already"},
	} {
		_, err := b.Amend(ctx, c.id, map[string]string{c.key: c.text}, "why not", "Ro", "")
		if !errors.Is(err, c.kind) || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), "nothing was changed") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := b.Amend(ctx, round, map[string]string{"volts": "1"}, "  ", "Ro", ""); !errors.Is(err, logbook.ErrInvalid) {
		t.Errorf("without a reason: %v", err)
	}
	if n := must(b.Mark(ctx))(t); n != mark {
		t.Errorf("%d entries were written all the same", n-mark)
	}
}

func TestAmbiguousIDsAreListed(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	var ids []string
	for i := range 10 {
		ids = append(ids, must(b.AddRound(ctx, level(noon.Add(time.Duration(i)*time.Second), float64(i)), ""))(t).Entry.ID)
	}
	_, err := b.Amend(ctx, ids[0][:6], map[string]string{"note": "x"}, "why", "Ro", "")
	if !errors.Is(err, logbook.ErrAmbiguous) || !strings.Contains(err.Error(), ids[0]) || !strings.Contains(err.Error(), "or 2 more") {
		t.Errorf("%v", err)
	}
	e, err := b.Entry(ctx, strings.ToLower(ids[3]))
	if err != nil || e.ID != ids[3] || e.Round == nil {
		t.Errorf("small letters: %+v, %v", e, err)
	}
}

func TestCorrectedTimeMovesTheRoundAndKeepsItsID(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	id := must(b.AddRound(ctx, level(noon.AddDate(1, 0, 0), 1), ""))(t).Entry.ID // a year wrong
	addRounds(t, b, level(noon.Add(-2*time.Hour), 2), level(noon.Add(-time.Hour), 3))
	if _, err := b.Amend(ctx, id, map[string]string{"time": noon.Add(-90 * time.Minute).Format(time.RFC3339)}, "wrong year", "Imke", ""); err != nil {
		t.Fatal(err)
	}
	h := history(t, b, logbook.HistoryOptions{})
	if got := levels(h.Rounds); got != "2 1 3" || len(h.Cautions) > 0 {
		t.Errorf("rounds %q, cautions %q", got, h.Cautions)
	}
	if r := h.Rounds[1]; r.ID != id || r.Changes[0].Old != "2027-02-03T12:00:00-04:00" {
		t.Errorf("round = %+v", r)
	}
	e := must(b.Entry(ctx, id))(t)
	if !e.Time.Equal(noon.AddDate(1, 0, 0)) || len(e.Corrections) != 1 || e.Corrections[0].Why != "wrong year" {
		t.Errorf("entry = %+v", e)
	}
}

func TestEventAndUpkeepCorrections(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	event := must(b.AddEvent(ctx, record.Event{Time: noon.Add(-time.Hour), Kind: record.Trip, Units: []string{"A", "B"}, Cause: "fuse", By: "Ro"}, ""))(t).Entry.ID
	changes := map[string]string{"kind": "note", "unit": "-", "cause": "-", "note": "a test of the alarm", "by": "Imke", "element": "E1"}
	if _, err := b.Amend(ctx, event, changes, "no trip", "Imke", ""); err != nil {
		t.Fatal(err)
	}
	done := must(b.AddDone(ctx, record.Done{Time: noon.Add(-time.Hour), Task: "grease", Note: "x"}, ""))(t).Entry.ID
	if _, err := b.Amend(ctx, done, map[string]string{"time": noon.AddDate(0, 0, -1).Format(time.RFC3339), "note": "-", "by": "Ro"}, "day before", "Ro", ""); err != nil {
		t.Fatal(err)
	}
	h := history(t, b, logbook.HistoryOptions{})
	e := h.Events[0]
	if e.Kind != record.NoteEvent || len(e.Units) > 0 || e.Cause != "" || e.By != "Imke" || e.Note != "a test of the alarm" || e.Element != "E1" || len(e.Changes) != 6 {
		t.Errorf("event = %+v", e)
	}
	if d := h.Done[0]; !d.Time.Equal(noon.AddDate(0, 0, -1)) || d.Note != "" || d.By != "Ro" || len(d.Changes) != 3 || d.Changes[1].Old != "x" || d.Changes[1].Why != "day before" {
		t.Errorf("done = %+v", d)
	}
}

func TestLaterCorrectionWinsThoughTheClockFellBack(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	id := must(b.AddRound(ctx, sample(noon), ""))(t).Entry.ID
	for i, text := range []string{"230", "231", "232", "233"} {
		b.clock.now = noon.AddDate(-5*i, 0, 0)
		if _, err := b.Amend(ctx, id, map[string]string{"volts": text}, "again", "Ro", ""); err != nil {
			t.Fatal(err)
		}
	}
	b.clock.now = noon
	r := history(t, b, logbook.HistoryOptions{}).Rounds[0]
	var olds []string
	for _, c := range r.Changes {
		olds = append(olds, c.Old)
	}
	if r.Values["volts"] != 233 || strings.Join(olds, " ") != "241.2 230 231 232" {
		t.Errorf("volts %v, old values %q", r.Values["volts"], olds)
	}
}

func TestWithdrawnReadingCanBeGivenAgain(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	id := must(b.AddRound(ctx, sample(noon), ""))(t).Entry.ID
	for _, c := range []map[string]string{{"pressure_kpa": "-", "running": "-", "weather": "-"}, {"pressure_kpa": "129.5", "running": "A+B", "screen": "clear", "A.volts": "239"}} {
		if _, err := b.Amend(ctx, id, c, "note was wet", "Ro", ""); err != nil {
			t.Fatal(err)
		}
	}
	r := history(t, b, logbook.HistoryOptions{}).Rounds[0]
	if r.Values["pressure_kpa"] != 129.5 || strings.Join(*r.Running, "+") != "A+B" || r.Words["screen"] != "clear" || r.Values["A.volts"] != 239 || len(r.Extra) > 0 {
		t.Errorf("round = %+v", r)
	}
	if _, typed := r.Typed["pressure_kpa"]; typed {
		t.Error("what was typed for the old value stands beside the new one")
	}
	if len(r.Changes) != 7 {
		t.Errorf("%d changes", len(r.Changes))
	}
}
