package csvfile_test

import (
	"bytes"
	"context"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/csvfile"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// shelf is a real book and its plant.
type shelf struct {
	t    *testing.T
	book *logbook.Book
	p    *plant.Plant
}

func newShelf(t *testing.T) *shelf {
	t.Helper()
	clock := time.Date(2026, 1, 20, 12, 0, 0, 0, time.UTC)
	p, err := plant.Parse("template", plant.Template())
	if err != nil {
		t.Fatal(err)
	}
	o := logbook.Options{Location: p.Location, Writer: [16]byte{1}, Clock: func() time.Time { clock = clock.Add(time.Minute); return clock }}
	b, err := logbook.Create(context.Background(), filepath.Join(t.TempDir(), "book"), o)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.AddPlant(context.Background(), string(plant.Template()), time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC), "Ro"); err != nil {
		t.Fatal(err)
	}
	return &shelf{t, b, p}
}

func (s *shelf) rounds() []record.Round {
	s.t.Helper()
	h, err := s.book.History(context.Background(), logbook.HistoryOptions{All: true})
	if err != nil {
		s.t.Fatal(err)
	}
	return h.Rounds
}

// take imports a file as the command does, with the book to ask or without, and returns what the two together added.
func (s *shelf) take(file string, ask bool) csvfile.Facts {
	s.t.Helper()
	var o csvfile.Options
	if ask {
		o = o.Against(s.rounds())
	}
	res, err := csvfile.Read(context.Background(), strings.NewReader(file), s.p, o)
	if err != nil {
		s.t.Fatal(err)
	}
	added, already, err := s.book.AddRounds(context.Background(), res.Rounds)
	if err != nil {
		s.t.Fatal(err)
	}
	return res.Facts(added, already)
}

const twoRounds = "time,by,volts,pressure_kpa,screen,note,weather\n" +
	"2026-01-05 07:00,Ro,241.2,19 psi,partly,'=1+1,fog\n" +
	"2026-01-05 18:00,Imke,240,,,\"two\nlines\",\n"

func TestABookTakesAFileOnce(t *testing.T) {
	s := newShelf(t)
	if f := s.take(twoRounds, true); f.Added != 2 || f.Already != 0 || len(f.Bad) != 0 {
		t.Fatalf("first time: %+v", f)
	}
	first := s.rounds()
	for _, ask := range []bool{true, false} {
		if f := s.take(twoRounds, ask); f.Added != 0 || f.Already != 2 || len(f.Bad) != 0 {
			t.Errorf("again, asking %v: %+v", ask, f)
		}
	}
	if _, err := s.book.Amend(context.Background(), first[0].ID, map[string]string{"volts": "242", "time": "2026-01-05T07:30:00-04:00"}, "misread", "Ro", ""); err != nil {
		t.Fatal(err)
	}
	for _, ask := range []bool{true, false} {
		if f := s.take(twoRounds, ask); f.Added != 0 || f.Already != 2 || len(f.Bad) != 0 {
			t.Errorf("after a correction, asking %v: %+v", ask, f)
		}
	}
	if got := len(s.rounds()); got != 2 {
		t.Errorf("the book has %d rounds", got)
	}
}

func TestABooksRoundsGoIntoAnotherAsTheyAre(t *testing.T) {
	s := newShelf(t)
	s.take(twoRounds, true)
	if _, err := s.book.AddRound(context.Background(), record.Round{Time: time.Date(2026, 1, 6, 7, 0, 0, 5e8, time.UTC), Running: &[]string{}, Note: "by hand"}, ""); err != nil {
		t.Fatal(err)
	}
	var file bytes.Buffer
	if err := csvfile.Write(&file, s.rounds(), s.p, csvfile.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	other := newShelf(t)
	if f := other.take(file.String(), true); f.Added != 3 || len(f.Bad) != 0 {
		t.Fatalf("into an empty book: %+v\n%s", f, file.String())
	}
	unwritten := func(rounds []record.Round) []record.Round {
		for i := range rounds {
			rounds[i].WrittenAt = time.Time{} // each book's own
		}
		return rounds
	}
	if diff := cmp.Diff(unwritten(s.rounds()), unwritten(other.rounds())); diff != "" {
		t.Errorf("(-one +other):\n%s", diff)
	}
}
