package csvfile

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

func someRound() record.Round {
	return record.Round{
		Time: time.Date(2026, 1, 5, 7, 0, 0, 0, time.FixedZone("", -4*3600)), By: "Ro", Running: &[]string{"A", "B"}, Note: "belt \"A\",\nloud",
		Values: map[quantity.Key]float64{"pond_level_m": -0.42, "A.kw": 5.7}, Words: map[quantity.Key]string{"screen": "partly"}, Extra: map[string]string{"weather": "fog"},
	}
}

// The id was worked out apart from this program, with Python's hashlib, from the canonical form written by hand after
// DeriveID's comment. It must never change: files imported years ago are recognised by it.
func TestDeriveIDIsForEver(t *testing.T) {
	got, err := DeriveID(someRound())
	if want := "01KE6X0NW09886VAA9NCZ6WK0Z"; err != nil || got != want {
		t.Errorf("DeriveID = %s, %v; want %s", got, err, want)
	}
}

func TestDeriveIDTellsRoundsApart(t *testing.T) {
	base, err := DeriveID(someRound())
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		change func(*record.Round)
		same   bool
	}{
		"another zone, the same instant": {func(r *record.Round) { r.Time = r.Time.UTC() }, true},
		"a fraction of a second":         {func(r *record.Round) { r.Time = r.Time.Add(999 * time.Millisecond) }, true},
		"written down later":             {func(r *record.Round) { r.WrittenAt = r.Time.Add(time.Hour) }, true},
		"how it was typed":               {func(r *record.Round) { r.Typed = map[quantity.Key]string{"pond_level_m": "-42 cm"} }, true},
		"confirmed":                      {func(r *record.Round) { r.Confirmed = true }, true},
		"an id":                          {func(r *record.Round) { r.ID = "01ARYZ6S41TSV4RRFFQ69G5FAV" }, true},
		"a second later":                 {func(r *record.Round) { r.Time = r.Time.Add(time.Second) }, false},
		"another reading":                {func(r *record.Round) { r.Values["A.kw"] = 5.8 }, false},
		"one reading less":               {func(r *record.Round) { delete(r.Values, "A.kw") }, false},
		"the same for another unit":      {func(r *record.Round) { delete(r.Values, "A.kw"); r.Values["B.kw"] = 5.7 }, false},
		"another person":                 {func(r *record.Round) { r.By = "Imke" }, false},
		"another note":                   {func(r *record.Round) { r.Note = "" }, false},
		"running not read":               {func(r *record.Round) { r.Running = nil }, false},
		"nothing runs":                   {func(r *record.Round) { r.Running = &[]string{} }, false},
		"an unknown column":              {func(r *record.Round) { r.Extra["weather"] = "rain" }, false},
		"a note that looks like a line": {func(r *record.Round) {
			delete(r.Extra, "weather")
			r.Words["screen"] = "partly\"\n\"weather\"=\"fog"
		}, false},
	} {
		r := someRound()
		c.change(&r)
		if got, err := DeriveID(r); err != nil || (got == base) != c.same || got[:10] != base[:10] && name != "a second later" {
			t.Errorf("%s: %s beside %s, %v", name, got, base, err)
		}
	}
}

func TestAnIDCarriesItsTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := time.Unix(rapid.Int64Range(0, 253370764799).Draw(t, "at"), 0) // to the end of 9998
		id, err := DeriveID(record.Round{Time: at})
		if err != nil {
			t.Fatal(err)
		}
		if got, ok := idTime(id); !ok || !got.Equal(at) {
			t.Fatalf("%s of %s says %s", id, at, got)
		}
		if again, ok := readID(strings.ToLower(id)); !ok || again != id {
			t.Fatalf("%s reads as %s", id, again)
		}
	})
	for _, at := range []time.Time{time.Unix(-1, 0), time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC), {}} {
		if id, err := DeriveID(record.Round{Time: at}); err == nil {
			t.Errorf("%s has the id %s", at, id)
		}
	}
}
