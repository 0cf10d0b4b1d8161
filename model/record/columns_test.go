package record

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // the test must not depend on the machine's zone files

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
)

var units = []string{"A", "B"}

func TestSet(t *testing.T) {
	for _, c := range []struct {
		key, text string
		bare      quantity.System
		want      Round
	}{
		{"volts", "241.2", quantity.Metric, Round{Values: map[quantity.Key]float64{"volts": 241.2}}},
		{"volts", "0", quantity.Metric, Round{Values: map[quantity.Key]float64{"volts": 0}}}, // zero is a reading
		{"volts", "", quantity.Metric, Round{}},                                              // blank is none
		{"volts", "  ", quantity.Metric, Round{}},
		{"a.kw", "5,7", quantity.Metric, Round{Values: map[quantity.Key]float64{"A.kw": 5.7}}},
		{"pressure_kpa", "19 psi", quantity.Metric, Round{Values: map[quantity.Key]float64{"pressure_kpa": 131.00038857}, Typed: map[quantity.Key]string{"pressure_kpa": "19 psi"}}},
		{"pressure_kpa", "19", quantity.US, Round{Values: map[quantity.Key]float64{"pressure_kpa": 131.00038857}, Typed: map[quantity.Key]string{"pressure_kpa": "19 psi"}}},
		{"screen", "Part", quantity.Metric, Round{Words: map[quantity.Key]string{"screen": "partly"}}},
		{"running", "none", quantity.Metric, Round{Running: &[]string{}}},
		{"Running", " B + a ", quantity.Metric, Round{Running: &[]string{"B", "A"}}},
		{"running", "", quantity.Metric, Round{}},
		{"by", " Ro ", quantity.Metric, Round{By: "Ro"}},
		{"note", "belt\r\nsqueals\rtoday\n", quantity.Metric, Round{Note: "belt\nsqueals\ntoday"}},
	} {
		var r Round
		if err := r.Set(c.key, c.text, units, c.bare); err != nil {
			t.Errorf("%s=%s: %v", c.key, c.text, err)
		}
		if diff := cmp.Diff(c.want, dropEmpty(r)); diff != "" {
			t.Errorf("%s=%q (-want +got):\n%s", c.key, c.text, diff)
		}
	}
}

// dropEmpty makes an emptied map the same as none.
func dropEmpty(r Round) Round {
	if len(r.Values) == 0 {
		r.Values = nil
	}
	if len(r.Words) == 0 {
		r.Words = nil
	}
	if len(r.Typed) == 0 {
		r.Typed = nil
	}
	return r
}

func TestSetTellsWhatIsWrongAndChangesNothing(t *testing.T) {
	for _, c := range []struct{ key, text, want string }{
		{"volts", "abc", `volts: "abc" is not a number in V (or with its unit, such as kV)`},
		{"volts", "-", `volts: "-" is not a number in V (or with its unit, such as kV)`},
		{"screen", "muddy", `screen: "muddy" is not one of clear, partly, blocked, iced`},
		{"running", "A+C", `running: "A+C" is not none, or unit ids joined by + (this plant has A, B)`},
		{"running", "A+A", `running: "A+A" is not none, or unit ids joined by + (this plant has A, B)`},
		{"running", "A+none", `running: "A+none" is not none, or unit ids joined by + (this plant has A, B)`},
		{"running", "+", `running: "+" is not none, or unit ids joined by + (this plant has A, B)`},
		{"vlots", "241", "vlots is not a reading that is known here; did you mean volts?"},
		{"runing", "A", "runing is not a reading that is known here; did you mean running?"},
		{"time", "now", "time is not a reading that is known here; did you mean time?"},
		{"A.volts.x", "1", "A.volts.x is not a reading that is known here; did you mean A.volts?"},
		{"note", "caf\xe9", `note: "caf\xe9" is not text in UTF-8`},
		{"by", strings.Repeat("é", 4001), `by: "` + strings.Repeat("é", 60) + `"… is not a text of at most 4000 characters`},
	} {
		full := func() Round {
			r := Round{By: "Imke", Note: "quiet", Running: &[]string{"A"}}
			for key, text := range map[string]string{"volts": "240", "screen": "clear", "pressure_kpa": "19 psi"} {
				if err := r.Set(key, text, units, quantity.Metric); err != nil {
					t.Fatal(err)
				}
			}
			return r
		}
		r := full()
		err := r.Set(c.key, c.text, units, quantity.Metric)
		var bad *FieldError
		if !errors.As(err, &bad) || bad.Expected == "" {
			t.Errorf("%s=%s: %v, want a *FieldError that says what was expected", c.key, c.text, err)
			continue
		}
		if c.key != "time" && err.Error() != c.want {
			t.Errorf("%s=%s:\n got %s\nwant %s", c.key, c.text, err, c.want)
		}
		if diff := cmp.Diff(full(), r); diff != "" {
			t.Errorf("%s=%s changed the round (-want +got):\n%s", c.key, c.text, diff)
		}
	}
	if err := new(Round).Set("note", strings.Repeat("é", 4000), units, quantity.Metric); err != nil {
		t.Errorf("4000 characters are allowed: %v", err)
	}
}

func TestAnewSetReadingForgetsHowTheOldOneWasTyped(t *testing.T) {
	var r Round
	for _, text := range []string{"19 psi", "130"} {
		if err := r.Set("pressure_kpa", text, units, quantity.Metric); err != nil {
			t.Fatal(err)
		}
	}
	if r.Values["pressure_kpa"] != 130 || len(r.Typed) != 0 {
		t.Errorf("after 130: %+v", r)
	}
}

// genCell draws a column and a text that can stand in it.
func genCell(t *rapid.T) (col, text string) {
	col = rapid.SampledFrom(Columns(units)[1:]).Draw(t, "column")
	switch col {
	case ColBy, ColNote:
		text = strings.ToValidUTF8(rapid.String().Draw(t, "text"), "")
	case ColRunning:
		text = rapid.SampledFrom([]string{"", "none", "A", "B", "A+B", "B+A"}).Draw(t, "running")
	default:
		_, info, err := quantity.ParseKey(col, units)
		if err != nil {
			t.Fatal(err)
		}
		if !info.Number() {
			return col, rapid.SampledFrom(append([]string{""}, info.Words...)).Draw(t, "word")
		}
		x := rapid.OneOf(rapid.Float64Range(-1e4, 1e4), rapid.Float64Range(-1e12, 1e12)).Draw(t, "number")
		if math.Abs(x) < 1e-9 { // finer than any gauge; kept as 0, or too long to be read
			x = 0
		}
		text = quantity.Text(x)
	}
	return col, text
}

func TestSetAndTextAreInverse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var r Round
		for range rapid.IntRange(1, 5).Draw(t, "cells") {
			col, text := genCell(t)
			if err := r.Set(col, text, units, quantity.Metric); err != nil {
				t.Fatal(err)
			}
		}
		var again Round
		for _, col := range Columns(units)[1:] {
			if err := again.Set(col, r.Text(col), units, quantity.Metric); err != nil {
				t.Fatalf("%s=%q: %v", col, r.Text(col), err)
			}
			if a, b := r.Text(col), again.Text(col); a != b {
				t.Fatalf("%s: %q became %q", col, a, b)
			}
		}
		if diff := cmp.Diff(dropEmpty(r), dropEmpty(again)); diff != "" {
			t.Fatalf("the round changed (-first +second):\n%s", diff)
		}
	})
}

func TestTimeText(t *testing.T) {
	halifax, err := time.LoadLocation("America/Halifax")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		at   time.Time
		want string
	}{
		{time.Date(2026, 1, 5, 7, 0, 0, 0, halifax), "2026-01-05T07:00:00-04:00"},
		{time.Date(2026, 7, 5, 7, 0, 0, 0, halifax), "2026-07-05T07:00:00-03:00"},
		{time.Date(2026, 7, 5, 7, 0, 0, 0, time.UTC), "2026-07-05T07:00:00Z"},
		{time.Date(2026, 7, 5, 7, 0, 0, 999e6, time.UTC), "2026-07-05T07:00:00Z"},
		// Monrovia's offset was -0:44:30 until 1972 (IANA tz database): the same instant, to the minute of the offset.
		{time.Date(1971, 1, 1, 0, 0, 0, 0, time.FixedZone("MMT", -(44*60+30))), "1971-01-01T00:00:30-00:44"},
	} {
		got := Round{Time: c.at}.Text(ColTime)
		if got != c.want {
			t.Errorf("%s is written %s, want %s", c.at, got, c.want)
		}
		if back, err := time.Parse(time.RFC3339, got); err != nil || back.Unix() != c.at.Unix() {
			t.Errorf("%s reads back as %s, %v", got, back, err)
		}
	}
}

func TestColumnsCoverWhatARoundCanHold(t *testing.T) {
	got := Columns(units)
	if got[0] != ColTime || got[len(got)-1] != ColNote {
		t.Errorf("columns begin with %s and end with %s", got[0], got[len(got)-1])
	}
	seen := map[string]bool{}
	for _, c := range got {
		if seen[c] {
			t.Errorf("%s stands twice", c)
		}
		seen[c] = true
	}
	for _, c := range []string{"by", "running", "volts", "A.volts", "B.kw", "note"} {
		if !seen[c] {
			t.Errorf("%s is missing", c)
		}
	}
	if (Round{By: "Ro"}).Empty() != true || (Round{Running: &[]string{}}).Empty() || (Round{Note: "x"}).Empty() {
		t.Error("a round with a name alone is empty; one that says that nothing runs is not")
	}
}

func FuzzSet(f *testing.F) {
	for _, c := range [][2]string{{"volts", "241"}, {"A.kw", "5.7 hp"}, {"running", "A+B"}, {"running", "none"}, {"note", "=1+1\r\n"}, {"screen", "b"}, {"pond_level_m", "−0 ft 6 in"}, {"a.volts", "1\xff"}, {"by", "\x1b[2J"}, {"", ""}} {
		f.Add(c[0], c[1], false)
		f.Add(c[0], c[1], true)
	}
	f.Fuzz(func(t *testing.T, key, text string, us bool) {
		bare := quantity.Metric
		if us {
			bare = quantity.US
		}
		var r Round
		if err := r.Set(key, text, units, bare); err != nil {
			var bad *FieldError
			if !errors.As(err, &bad) || bad.Expected == "" || err.Error() == "" {
				t.Fatalf("%q=%q: %#v", key, text, err)
			}
			if !cmp.Equal(Round{}, dropEmpty(r)) {
				t.Fatalf("%q=%q failed and left %+v", key, text, r)
			}
			return
		}
		var again Round
		for _, col := range Columns(units)[1:] {
			if err := again.Set(col, r.Text(col), units, quantity.Metric); err != nil {
				t.Fatalf("%q=%q: %s does not read back: %v", key, text, col, err)
			}
		}
		r.Typed = nil // the unit is not in Text
		if diff := cmp.Diff(dropEmpty(r), dropEmpty(again)); diff != "" {
			t.Fatalf("%q=%q (-first +second):\n%s", key, text, diff)
		}
	})
}
