package logview

import (
	"os"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/form"
	"example.org/headpond/tui/ui/uitest"
)

// ways are the word itself and the shortest of its beginnings that belongs to no other of the words; those between are the form's own
// test.
func ways(words []string, word string) []string {
	out := []string{word}
	for n := 1; n < len(word); n++ {
		mine := true
		for _, w := range words {
			mine = mine && (w == word || !strings.HasPrefix(strings.ToLower(w), strings.ToLower(word[:n])))
		}
		if mine {
			return append(out, word[:n])
		}
	}
	return out
}

// every checks each word of a choice, typed in each way into a form that open has just opened at that field.
func every(t *testing.T, words []string, field string, open func() *bench) {
	t.Helper()
	if len(words) < 2 {
		t.Fatalf("%s has the words %q only", field, words)
	}
	b := open()
	for _, w := range words {
		for _, keys := range ways(words, w) {
			b.focus(field)
			b.press("backspace")
			b.typed(keys)
			f, _ := b.screen().typing()
			if got := f.value(field); got != w {
				t.Errorf("%s: %q typed letter by letter chooses %q, want %q", field, keys, got, w)
				b = open()
			}
		}
	}
}

// offered is what a choice of the open form offers.
func offered(t *testing.T, b *bench, field string) []string {
	t.Helper()
	f, _ := b.screen().typing()
	x, ok := f.form.Field(field)
	if !ok || x.Kind != form.Choice {
		t.Fatalf("%s is no choice of the form", field)
	}
	return x.Words
}

// A kind of event that is typed out, as people do, is the one that is stored: never another.
func TestAKindThatIsTypedIsTheOneThatIsStored(t *testing.T) {
	open := func() *bench {
		b := newBench(t, uitest.Look{}, 80, 20)
		b.press("e")
		return b
	}
	every(t, offered(t, open(), record.ColKind), record.ColKind, open)
	element := func() *bench {
		b := open()
		b.typed("element-out")
		return b
	}
	every(t, offered(t, element(), record.ColElement), record.ColElement, element)
	b := open()
	b.typed("stop")
	b.press("f2")
	events := b.history().Events
	if e := events[len(events)-1]; e.Kind != record.Stop {
		t.Errorf("stored a %s", e.Kind)
	}
}

// So is what a correction is of, for every kind of entry, and its new value where that is a word.
func TestWhatIsCorrectedIsTheWordThatIsTyped(t *testing.T) {
	for _, down := range []int{0, 1, 3, 4} { // a round, upkeep, a start, a trip
		open := func() *bench {
			b := newBench(t, uitest.Look{}, 80, 20)
			for range down {
				b.press("down")
			}
			b.press("c")
			b.focus(fieldColumn)
			return b
		}
		every(t, offered(t, open(), fieldColumn), fieldColumn, open)
	}
	for label, down := range map[string]int{"Screen": 0, "Screen cleared": 0, "Kind": 4} {
		open := func() *bench {
			b := newBench(t, uitest.Look{}, 80, 20)
			for range down {
				b.press("down")
			}
			correct(b, label)
			return b
		}
		every(t, offered(t, open(), fieldValue), fieldValue, open)
	}
}

// Where the computer's zone is not the plant's, a kept event comes back with the plant's time, and is saved with it.
func TestAKeptEventComesBackWithThePlantsTime(t *testing.T) {
	for _, zone := range []*time.Location{time.UTC, time.FixedZone("east", 11*3600), halifax} {
		b := newBench(t, uitest.Look{}, 80, 20)
		b.now = morning.In(zone)
		b.start()
		b.press("e")
		b.typed("trip")
		b.now = b.now.Add(20 * time.Minute)
		b.start()
		b.press("e")
		b.see("2026-06-04 08:00")
		b.press("f2")
		events := b.history().Events
		if e := events[len(events)-1]; e.Kind != record.Trip || !e.Time.Equal(morning) {
			t.Errorf("%v: saved a %s of %v\n%s", zone, e.Kind, e.Time, b.s.View())
		}
	}
}

// Asked whether it was yesterday, y saves yesterday's time, t today's as it is typed, and n nothing, even where the time has come by
// the time of the answer.
func TestEachAnswerAboutYesterdayDoesWhatItSays(t *testing.T) {
	typed := time.Date(2026, 6, 4, 11, 11, 0, 0, halifax)
	for key, want := range map[string]time.Time{"y": typed.AddDate(0, 0, -1), "t": typed, "n": {}} {
		for _, later := range []time.Duration{0, 4 * time.Hour} {
			b := newBench(t, uitest.Look{}, 80, 20)
			before := len(b.history().Events)
			b.press("e")
			b.typed("trip")
			b.focus(record.ColTime)
			b.typed("11:11")
			b.press("f2")
			b.see("11:11 today has not come yet (it is 08:00). Was it yesterday, Wed 3 Jun 11:11?", "y yes, save it as yesterday's", "t no, save it as typed", "n no, go back")
			b.now = b.now.Add(later)
			b.press(key)
			h, err := b.book.History(t.Context(), logbook.HistoryOptions{All: true, Later: true})
			b.must(h, err)
			events := h.Events
			if h.Later != nil {
				events = append(events, h.Later.Events...)
			}
			switch {
			case want.IsZero() && len(events) != before:
				t.Errorf("%s saved %+v", key, events[before:])
			case !want.IsZero() && (len(events) != before+1 || !saidAt(events, want)):
				t.Errorf("%s after %s: no event of %s among %+v", key, later, want, events[before-1:])
			}
		}
	}
}

func saidAt(events []record.Event, at time.Time) bool {
	for _, e := range events {
		if e.Time.Equal(at) {
			return true
		}
	}
	return false
}

// Nobody is told that a draft is kept when the disk did not take it: not on leaving, and not when the saving fails too.
func TestADraftThatIsNotOnDiskIsNotSaidToBe(t *testing.T) {
	for open, form := range map[string]string{"e": formEvent, "c": formAmend} {
		b := newBench(t, uitest.Look{}, 80, 20)
		b.press("down", "down", open)
		if open == "c" {
			b.focus(fieldWhy)
		}
		away := b.book.Path() + ".away"
		b.must(nil, os.Rename(b.book.Path(), away))
		b.typed("trip")
		if open == "c" {
			b.focus(fieldValue)
			b.typed("247")
		}
		b.said = nil
		b.press("f2")
		b.heard("The draft is NOT on disk either. Leave the program open")
		b.press("esc")
		b.heard("The draft is NOT on disk: keeping a draft")
		for _, s := range b.said {
			if strings.Contains(strings.ToLower(s), "draft kept") || strings.Contains(s, "draft is kept") {
				t.Errorf("%s: said %q", form, s)
			}
		}
		b.must(nil, os.Rename(away, b.book.Path()))
		b.press(open)
		b.focus(map[string]string{"e": record.ColNote, "c": fieldWhy}[open])
		b.typed("x")
		b.press("esc")
		b.heard("Draft kept: " + open + " goes on with it")
		if b.draft(form) == "" {
			t.Errorf("%s: no draft on disk", form)
		}
	}
}

// beside is another window on the same book.
func (b *bench) beside() *bench {
	o := &bench{t: b.t, book: b.book, now: b.now, w: b.w, h: b.h, look: b.look}
	o.start()
	return o
}

// Two windows with the same form: saving, or throwing away, in one leaves what the other typed, whoever typed last.
func TestTwoWindowsDoNotLoseEachOthersDrafts(t *testing.T) {
	for _, end := range [][]string{{"f2"}, {"f8", "y"}} {
		for _, first := range []bool{false, true} {
			one := newBench(t, uitest.Look{}, 80, 20)
			two := one.beside()
			one.press("e")
			two.press("e")
			type1 := func() { one.typed("trip"); one.focus(record.ColNote); one.typed("here") }
			type2 := func() { two.typed("alarm"); two.focus(record.ColNote); two.typed("there") }
			if first {
				type1()
				type2()
			} else {
				type2()
				type1()
			}
			one.press(end...)
			two.reload() // as the App does when the book has changed
			if d := two.draft(formEvent); !strings.Contains(d, "there") {
				t.Errorf("%v, typed first %v: the disk has %q", end, first, d)
			}
			two.press("f2")
			if d := two.draft(formEvent); d != "" {
				t.Errorf("%v, typed first %v: after both are done the disk has %q", end, first, d)
			}
			events := two.history().Events
			if e := events[len(events)-1]; e.Note != "there" && events[len(events)-2].Note != "there" {
				t.Errorf("%v, typed first %v: saved %+v", end, first, e)
			}
		}
	}
}
