package logbook_test

import (
	"bytes"
	"errors"
	"os"
	"testing"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
	"example.org/headpond/model/week"
)

// A book that is only looked at keeps its every byte, also where a review would like to keep its roll-ups for the next time.
func TestABookThatIsLookedAtIsNotWritten(t *testing.T) {
	b := newBook(t)
	must(b.AddPlant(t.Context(), dailyPlant(t, "0.13", "60", false), noon.AddDate(0, 0, -60), ""))(t)
	for i := range 60 {
		must(b.AddRound(t.Context(), record.Round{Time: noon.AddDate(0, 0, -i)}, ""))(t)
	}
	o := options(t, b.clock, "birch")
	o.ReadOnly = true
	seen := must(logbook.Open(b.Path(), o))(t)
	before := must(os.ReadFile(b.Path()))(t)
	for _, span := range []week.Span{week.Week, week.Year} {
		must(seen.Week(t.Context(), week.Of{Span: span, At: noon}))(t)
	}
	if _, err := seen.AddRound(t.Context(), record.Round{Time: noon}, ""); !errors.Is(err, logbook.ErrReadOnly) {
		t.Errorf("a round was taken: %v", err)
	}
	if err := seen.SaveDraft(t.Context(), "round", []byte("x")); !errors.Is(err, logbook.ErrReadOnly) {
		t.Errorf("a draft was taken: %v", err)
	}
	if after := must(os.ReadFile(b.Path()))(t); !bytes.Equal(before, after) {
		t.Error("looking at the book changed its file")
	}
	must(b.Week(t.Context(), week.Of{Span: week.Year, At: noon}))(t)
	if after := must(os.ReadFile(b.Path()))(t); bytes.Equal(before, after) {
		t.Error("the review keeps nothing in a book that may be written: the test above would find nothing")
	}
}
