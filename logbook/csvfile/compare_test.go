package csvfile

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// book is the rounds that a logbook has.
type book []record.Round

func (b book) options() Options { return Options{}.Against(b) }

// The id of a round that was recorded by hand at 07:00 on 5 January 2026, -04:00, and one of another computer.
const (
	ownID   = "01KE6X0NW0ZZZZZZZZZZZZZZZZ"
	otherID = "01KE6X0NW00000000000000000"
)

func bookOf(t *testing.T, rounds ...record.Round) book {
	t.Helper()
	for i := range rounds {
		if rounds[i].Time.IsZero() {
			rounds[i].Time = time.Date(2026, 1, 5, 7, 0, 0, 0, ternHollow(t).Location)
		}
	}
	return rounds
}

func volts(v float64) map[quantity.Key]float64 { return map[quantity.Key]float64{"volts": v} }

func TestRowsBesideTheBook(t *testing.T) {
	corrected := record.Round{ID: ownID, Values: volts(241), By: "Ro", Changes: []record.Change{{Key: "volts", Old: "214", New: "241"}}}
	moved := record.Round{ID: ownID, Values: volts(241), Time: time.Date(2026, 1, 5, 8, 0, 0, 0, time.FixedZone("", -4*3600)),
		Changes: []record.Change{{Key: "time", Old: "2026-01-05T07:00:00-04:00", New: "2026-01-05T08:00:00-04:00"}}}
	for _, c := range []struct {
		name, text string
		book       book
		added      int
		already    int
		problem    string
	}{
		{"a new time", "time,volts\n2026-01-05 09:00,241\n", bookOf(t, record.Round{ID: ownID, Values: volts(241)}), 1, 0, ""},
		{"the same cells", "time,volts,by\n2026-01-05 07:00,241,Ro\n", bookOf(t, record.Round{ID: ownID, Values: volts(241), By: "Ro"}), 0, 1, ""},
		{"the same cells in another unit", "time,volts\n2026-01-05 07:00,0.241 kV\n", bookOf(t, record.Round{ID: ownID, Values: volts(241)}), 0, 1, ""},
		{"the same instant in another zone", "time,volts\n2026-01-05T11:00:00Z,241\n", bookOf(t, record.Round{ID: ownID, Values: volts(241)}), 0, 1, ""},
		{"some of the cells", "time,volts\n2026-01-05 07:00,241\n", bookOf(t, record.Round{ID: ownID, Values: volts(241), By: "Ro", Note: "x"}), 0, 1, ""},
		{"another cell", "time,volts\n2026-01-05 07:00,240\n", bookOf(t, record.Round{ID: ownID, Values: volts(241)}), 0, 0,
			`line 2, column volts: read "240", expected "241", as the book has it for 2026-01-05T07:00:00-04:00; correct that with headpond amend ` + ownID + ` volts=…`},
		{"one cell more", "time,volts,note\n2026-01-05 07:00,241,belt\n", bookOf(t, record.Round{ID: ownID, Values: volts(241)}), 0, 0,
			`line 2, column note: read "belt", expected nothing, as the book has it for 2026-01-05T07:00:00-04:00; correct that with headpond amend ` + ownID + ` note=…`},
		{"as it was before a correction", "time,volts\n2026-01-05 07:00,214\n", bookOf(t, corrected), 0, 1, ""},
		{"as it is since a correction", "time,volts\n2026-01-05 07:00,241\n", bookOf(t, corrected), 0, 1, ""},
		{"neither", "time,volts\n2026-01-05 07:00,240\n", bookOf(t, corrected), 0, 0,
			`line 2, column volts: read "240", expected "241", as the book has it for 2026-01-05T07:00:00-04:00; correct that with headpond amend ` + ownID + ` volts=…`},
		{"one of two rounds of that time", "time,volts\n2026-01-05 07:00,240\n", bookOf(t, record.Round{ID: otherID, Values: volts(240)}, record.Round{ID: ownID, Values: volts(241)}), 0, 1, ""},
		{"its own id", "id,time,volts\n" + ownID + ",2026-01-05 07:00,241\n", bookOf(t, record.Round{ID: ownID, Values: volts(241)}), 0, 1, ""},
		{"its own id, in small letters", "id,time,volts\n" + strings.ToLower(ownID) + ",2026-01-05 07:00,241\n", bookOf(t, record.Round{ID: ownID, Values: volts(241)}), 0, 1, ""},
		{"its own id, another cell", "id,time,volts\n" + ownID + ",2026-01-05 07:00,240\n", bookOf(t, record.Round{ID: ownID, Values: volts(241)}), 0, 0,
			`line 2, column volts: read "240", expected "241", as the book has it for 2026-01-05T07:00:00-04:00; correct that with headpond amend ` + ownID + ` volts=…`},
		{"its own id at a corrected time", "id,time,volts\n" + ownID + ",2026-01-05 08:00,241\n", bookOf(t, moved), 0, 1, ""},
		{"its own id at the time before the correction", "id,time,volts\n" + ownID + ",2026-01-05 07:00,241\n", bookOf(t, moved), 0, 1, ""},
		{"its own id at another time", "id,time,volts\n" + ownID + ",2026-01-05 09:00,241\n", bookOf(t, moved), 0, 0,
			`line 2, column time: read "2026-01-05 09:00", expected "2026-01-05T08:00:00-04:00", as the book has it for 2026-01-05T08:00:00-04:00; correct that with headpond amend ` + ownID + ` time=…`},
		{"another computer's round of that time", "id,time,volts\n" + otherID + ",2026-01-05 07:00,240\n", bookOf(t, record.Round{ID: ownID, Values: volts(241)}), 1, 0, ""},
		{"an id of another time that the book does not have", "id,time,volts\n" + otherID + ",2026-01-05 09:00,240\n", bookOf(t), 0, 0,
			`line 2, column id: read "` + otherID + `", expected an id of the row's time; this one is of 2026-01-05T11:00:00Z and no entry of this book. Leave it blank for a new round`},
	} {
		res := read(t, c.text, c.book.options())
		got := ""
		for _, p := range res.Problems() {
			got += p.Error()
		}
		if len(res.Rounds) != c.added || res.Already != c.already || got != c.problem {
			t.Errorf("%s: %d added, %d already, want %d and %d; problem\n got %s\nwant %s", c.name, len(res.Rounds), res.Already, c.added, c.already, got, c.problem)
		}
	}
}

func TestACorrectionInAnotherFileExplainsAnId(t *testing.T) {
	text := "id,time,volts\n" + otherID + ",2026-01-05 09:00,240\n"
	for _, o := range []Options{{}, bookOf(t).options()} {
		if res := read(t, text, o); res.Good() {
			t.Error("nothing explains the id")
		}
		o.TimeAmended = func(id string) bool { return id == otherID }
		if res := read(t, text, o); !res.Good() || res.Rounds[0].ID != otherID {
			t.Errorf("%+v, %v", res.Rounds, res.Problems())
		}
	}
}

func TestRowsBesideEachOther(t *testing.T) {
	for _, c := range []struct {
		name, text     string
		added, already int
		problem        string
	}{
		{"twice", "time,volts\n2026-01-05 07:00,241\n2026-01-05 07:00,241.0 V\n", 1, 1, ""},
		{"the same with fewer cells", "time,volts,by\n2026-01-05 07:00,241,Ro\n2026-01-05 07:00,241,\n", 1, 1, ""},
		{"another reading", "time,volts\n2026-01-05 07:00,241\n2026-01-05 07:00,240\n", 1, 0,
			`line 3, column volts: read "240", expected "241", as in line 2, which is the same round; one of the two rows must go`},
		{"one cell more", "time,volts,by\n2026-01-05 07:00,241,\n2026-01-05 07:00,241,Ro\n", 1, 0,
			`line 3, column by: read "Ro", expected nothing, as in line 2, which is the same round; one of the two rows must go`},
		{"two ids", "id,time,volts\n" + ownID + ",2026-01-05 07:00,241\n" + otherID + ",2026-01-05 07:00,240\n", 2, 0, ""},
		{"one id twice", "id,time,volts\n" + ownID + ",2026-01-05 07:00,241\n" + ownID + ",2026-01-05 07:00,241\n", 1, 1, ""},
		{"one id for two", "id,time,volts\n" + ownID + ",2026-01-05 07:00,241\n" + ownID + ",2026-01-05 07:00,240\n", 1, 0,
			`line 3, column volts: read "240", expected "241", as in line 2, which is the same round; one of the two rows must go`},
		{"one with an id and one without", "id,time,volts\n" + ownID + ",2026-01-05 07:00,241\n,2026-01-05 07:00,240\n", 1, 0,
			`line 3, column volts: read "240", expected "241", as in line 2, which is the same round; one of the two rows must go`},
		{"an unknown column tells them apart", "time,fog,volts\n2026-01-05 07:00,thick,240\n2026-01-05 07:00,thin,240\n", 1, 0,
			`line 3, column fog: read "thin", expected "thick", as in line 2, which is the same round; one of the two rows must go`},
	} {
		res := read(t, c.text, Options{})
		got := ""
		for _, p := range res.Problems() {
			got += p.Error()
		}
		if len(res.Rounds) != c.added || res.Already != c.already || got != c.problem {
			t.Errorf("%s: %d added, %d already, want %d and %d; problem\n got %s\nwant %s", c.name, len(res.Rounds), res.Already, c.added, c.already, got, c.problem)
		}
	}
}

// "Importing the same file twice adds nothing."
func TestImportingTwiceAddsNothing(t *testing.T) {
	text := "time,volts,pressure_kpa,note,fog\n2026-01-05 07:00,241,19 psi,'=1,x\n2026-01-05 18:00,240,,\"a\nb\",\n"
	first := read(t, text, Options{})
	second := read(t, text, book(first.Rounds).options())
	if len(first.Rounds) != 2 || len(second.Rounds) != 0 || second.Already != 2 || !second.Good() {
		t.Errorf("second time: %d rounds, %d already, %v", len(second.Rounds), second.Already, second.Problems())
	}
	// Without a book to ask, and with its columns in another order, the ids still are the same.
	third := read(t, "fog,note,pressure_kpa,volts,time\nx,=1,131.00038857,241.0,2026-01-05T11:00:00Z\n,\"a\r\nb\",,240,2026-01-05T18:00:00-04:00\n", Options{})
	for i := range first.Rounds {
		if diff := cmp.Diff(first.Rounds[i].ID, third.Rounds[i].ID); diff != "" {
			t.Errorf("row %d (-first +third):\n%s", i+1, diff)
		}
	}
}

func TestTheBooksErrorsAreHandedOn(t *testing.T) {
	damaged := errors.New("the book is damaged")
	for _, o := range []Options{
		{Existing: func(context.Context, time.Time) ([]record.Round, error) { return nil, damaged }},
		{Entry: func(context.Context, string) (record.Round, bool, error) { return record.Round{}, false, damaged }},
	} {
		res, err := Read(context.Background(), strings.NewReader("id,time\n"+ownID+",2026-01-05 07:00\n"), ternHollow(t), o)
		if !errors.Is(err, damaged) || res != nil || !strings.Contains(err.Error(), "line 2") || !strings.Contains(err.Error(), "nothing was imported") {
			t.Errorf("%v, %v", res, err)
		}
	}
}
