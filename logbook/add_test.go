package logbook_test

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

func TestRoundWithAnIDIsKeptOnce(t *testing.T) {
	b := newBook(t)
	r := sample(noon.Add(-time.Hour))
	r.ID = logbook.DeriveID(r)
	if first := must(b.AddRound(t.Context(), r, ""))(t); first.Already || first.Entry.ID != r.ID {
		t.Fatalf("first: %+v", first)
	}
	mark := must(b.Mark(t.Context()))(t)
	b.clock.advance(time.Hour)
	again := must(b.AddRound(t.Context(), r, ""))(t)
	if !again.Already || again.Entry.WrittenAt != noon {
		t.Errorf("again: %+v", again)
	}
	changed := sample(r.Time)
	changed.ID = r.ID
	changed.Values["volts"] = 99
	if _, err := b.AddRound(t.Context(), changed, ""); !errors.Is(err, logbook.ErrExists) || !strings.Contains(err.Error(), r.ID) {
		t.Errorf("other content: %v", err)
	}
	if _, err := b.Amend(t.Context(), r.ID, map[string]string{"volts": "99"}, "misread", "Ro", ""); err != nil {
		t.Fatal(err)
	}
	if s := must(b.AddRound(t.Context(), changed, ""))(t); !s.Already {
		t.Error("the content as corrected is not taken for the same")
	}
	if s := must(b.AddRound(t.Context(), r, ""))(t); !s.Already {
		t.Error("the content as first written is not taken for the same")
	}
	if got := must(b.Mark(t.Context()))(t); got != mark+1 {
		t.Errorf("mark went from %d to %d, want one correction more", mark, got)
	}
}

func TestDerivedIDTellsContentApart(t *testing.T) {
	r := sample(noon)
	same := sample(noon.UTC())
	same.WrittenAt = noon.Add(time.Hour)
	if logbook.DeriveID(r) != logbook.DeriveID(same) {
		t.Error("the zone that a time is written in, or when it was written down, changes the id")
	}
	other := sample(noon)
	other.Values["volts"] = 241.3
	later := sample(noon.Add(time.Second))
	if id := logbook.DeriveID(r); id == logbook.DeriveID(other) || id == logbook.DeriveID(later) {
		t.Error("other readings or another time give the same id")
	}
	if a, b := logbook.DeriveID(r), logbook.DeriveID(later); a >= b {
		t.Errorf("%s of an earlier round does not sort before %s", a, b)
	}
}

func TestAddRoundsIsAllOrNothing(t *testing.T) {
	b := newBook(t)
	good := level(noon, 1)
	good.ID = logbook.DeriveID(good)
	bad := level(noon.Add(time.Minute), 2)
	bad.ID = good.ID
	if _, _, err := b.AddRounds(t.Context(), []record.Round{good, bad}); !errors.Is(err, logbook.ErrExists) {
		t.Fatalf("two rounds of one id: %v", err)
	}
	if h := history(t, b, logbook.HistoryOptions{All: true}); len(h.Rounds) != 0 {
		t.Errorf("%d rounds are there", len(h.Rounds))
	}
	bad.ID = ""
	added, already, err := b.AddRounds(t.Context(), []record.Round{good, bad, good})
	if added != 2 || already != 1 || err != nil {
		t.Errorf("added %d, already %d, %v", added, already, err)
	}
	before := bytesOf(t, b.Path())
	added, already, err = b.AddRounds(t.Context(), []record.Round{good})
	if added != 0 || already != 1 || err != nil {
		t.Errorf("added %d, already %d, %v", added, already, err)
	}
	unchanged(t, "adding what is there", before, b.Path())
}

func TestWhatCannotBeKeptIsRefusedWithTheReason(t *testing.T) {
	b := newBook(t)
	ctx := t.Context()
	round := func(alter func(*record.Round)) error {
		r := sample(noon)
		alter(&r)
		_, err := b.AddRound(ctx, r, "")
		return err
	}
	cancelled, cancel := context.WithCancel(ctx)
	cancel()
	for name, c := range map[string]struct {
		err  error
		kind error
		says string
	}{
		"not a number":        {round(func(r *record.Round) { r.Values["volts"] = math.NaN() }), logbook.ErrInvalid, "volts = NaN"},
		"infinite":            {round(func(r *record.Round) { r.Values["hertz"] = math.Inf(-1) }), logbook.ErrInvalid, "hertz = -Inf"},
		"before 1970":         {round(func(r *record.Round) { r.Time = time.Date(1969, 12, 31, 0, 0, 0, 0, time.UTC) }), logbook.ErrInvalid, "1970 to 10889"},
		"no time":             {round(func(r *record.Round) { r.Time = time.Time{} }), logbook.ErrInvalid, "1970 to 10889"},
		"odd id":              {round(func(r *record.Round) { r.ID = "no-id" }), logbook.ErrNoEntry, "26 letters and digits"},
		"event without kind":  {second(b.AddEvent(ctx, record.Event{Time: noon}, "")), logbook.ErrInvalid, "without a kind"},
		"done without task":   {second(b.AddDone(ctx, record.Done{Time: noon, Task: " "}, "")), logbook.ErrInvalid, "without a task"},
		"empty plant":         {second(b.AddPlant(ctx, "", noon, "")), logbook.ErrInvalid, "empty plant"},
		"draft without name":  {b.SaveDraft(ctx, "", nil), logbook.ErrInvalid, "without a name"},
		"draft of two MiB":    {b.SaveDraft(ctx, "round", make([]byte, 2<<20)), logbook.ErrInvalid, "1 MiB"},
		"note of twenty MiB":  {round(func(r *record.Round) { r.Note = strings.Repeat("x", 20<<20) }), logbook.ErrInvalid, "at most"},
		"given up beforehand": {second(b.AddRound(cancelled, sample(noon), "")), context.Canceled, "given up"},
	} {
		if !errors.Is(c.err, c.kind) || c.err == nil || !strings.Contains(c.err.Error(), c.says) ||
			!strings.Contains(c.err.Error(), "nothing was changed") || !strings.Contains(c.err.Error(), b.Path()) {
			t.Errorf("%s: %v", name, c.err)
		}
	}
	if n := must(b.Mark(ctx))(t); n != 0 {
		t.Errorf("%d entries were written all the same", n)
	}
}

func TestTextThatIsNotUTF8IsKeptReadable(t *testing.T) {
	b := newBook(t)
	r := level(noon, math.Copysign(0, -1))
	r.Note, r.Extra = "caf\xe9 \x1b[31m", map[string]string{"a\xff": "b\xff"}
	r.Values[quantity.Key("volts")] = math.Copysign(0, -1)
	if _, err := b.AddRound(t.Context(), r, ""); err != nil {
		t.Fatal(err)
	}
	got := history(t, b, logbook.HistoryOptions{}).Rounds[0]
	if got.Note != "caf\uFFFD \x1b[31m" || got.Extra["a\uFFFD"] != "b\uFFFD" || math.Signbit(got.Values["volts"]) {
		t.Errorf("%q %q %g", got.Note, got.Extra, got.Values["volts"])
	}
}

func second[T any](_ T, err error) error { return err }

func TestFileDoesNotGrowBeyondItsGreatestSize(t *testing.T) {
	b := newBook(t)
	o := options(t, b.clock, "alder")
	o.MaxSize = 128 << 10
	small := must(logbook.Open(b.Path(), o))(t)
	var err error
	kept := 0
	for err == nil && kept < 10000 {
		r := level(noon.Add(time.Duration(kept-20000)*time.Second), float64(kept))
		r.Note = strings.Repeat("leaves ", 100)
		if _, err = small.AddRound(t.Context(), r, ""); err == nil {
			kept++
		}
	}
	if !errors.Is(err, logbook.ErrNoSpace) || !strings.Contains(err.Error(), "the book still opens") {
		t.Errorf("after %d rounds: %v", kept, err)
	}
	if h := history(t, small, logbook.HistoryOptions{All: true}); len(h.Rounds) != kept || kept < 20 {
		t.Errorf("%d rounds are there, %d were acknowledged", len(h.Rounds), kept)
	}
	if _, err := b.AddRound(t.Context(), level(noon, 1), ""); err != nil {
		t.Errorf("without the limit: %v", err)
	}
}
