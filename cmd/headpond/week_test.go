package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/week"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
)

// The screen and the command tell the same review: of the period that ends now and of one that is looked back at, of each span,
// with and without the forecasts.
func TestTheWeekScreenAndItsCommandTellTheSame(t *testing.T) {
	p := demoBook(t)
	p.run(0, "record", "--yes", "volts=240", "time=2025-11-20 08:00") // a slip of the date, of which both must caution
	d := deskOf(t, p)
	l := d.Load(t.Context(), 1)
	if l.Err != nil {
		t.Fatal(l.Err)
	}
	back := "2025-11-10 00:00"
	end := time.Date(2025, 11, 10, 0, 0, 0, 0, d.Location)
	for _, c := range []struct {
		name string
		args []string
		of   desk.ReviewOf
	}{
		{"this week", nil, desk.ReviewOf{Span: week.Week, Full: true}},
		{"without forecasts", []string{"--no-forecast"}, desk.ReviewOf{Span: week.Week}},
		{"an earlier week", []string{"--to", back}, desk.ReviewOf{Span: week.Week, End: end, Full: true}},
		{"an earlier month", []string{"--to", back, "--month", "--no-forecast"}, desk.ReviewOf{Span: week.Month, End: end}},
		{"an earlier year", []string{"--to", back, "--year", "--no-forecast"}, desk.ReviewOf{Span: week.Year, End: end}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p.t = t
			said := p.run(0, append([]string{"week", "--json"}, c.args...)...)
			c.of.Loaded, c.of.Now = l.History, l.Facts
			if c.of.Full && c.of.End.IsZero() {
				w, ok := d.WaterOf(t.Context(), 1, l.History)().(desk.Water)
				if !ok || w.Err != nil {
					t.Fatal(w.Err)
				}
				c.of.Water = w.Facts
			}
			shown := d.Reviewed(t.Context(), c.of)
			if shown.Err != nil {
				t.Fatal(shown.Err)
			}
			data, err := json.Marshal(shown.Review)
			if err != nil {
				t.Fatal(err)
			}
			if a, b := plainJSON(t, data), plainJSON(t, []byte(said)); a != b {
				t.Errorf("the screen tells\n%s\nand the command\n%s", a, b)
			}
		})
	}
}

// The page that p writes on the screen says when the forecast had not come yet.
func TestAPageWrittenEarlySaysWhatIsMissing(t *testing.T) {
	p := demoBook(t)
	d := deskOf(t, p)
	l := d.Load(t.Context(), 1)
	r := d.Reviewed(t.Context(), desk.ReviewOf{Span: week.Week, Loaded: l.History, Now: l.Facts})
	write := pageWriter(p.defaultBook(), ui.Common{Now: p.now, Location: d.Location, Units: quantity.Metric})
	for _, r.Pending = range []bool{true, false} {
		path, err := write(t.Context(), r, "")
		if err != nil {
			t.Fatal(err)
		}
		data, err := os.ReadFile(path)
		if err != nil || filepath.Base(path) != "week-2025-11-18.html" {
			t.Fatalf("%s: %v", path, err)
		}
		if strings.Contains(string(data), "How long the water lasts is not in this page") != r.Pending {
			t.Errorf("pending %v: the page says otherwise", r.Pending)
		}
	}
}

// deskOf is what a person's screens ask, of the same book and by the same clock.
func deskOf(t *testing.T, p *person) desk.Desk {
	t.Helper()
	loc := time.UTC
	book, err := logbook.Open(p.defaultBook(), logbook.Options{Clock: p.now, Location: loc, ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	revisions, err := book.Revisions(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var plants []*plant.Plant
	for _, r := range revisions {
		plants = append(plants, r.Plant)
	}
	loc = plants[len(plants)-1].Location
	if book, err = logbook.Open(p.defaultBook(), logbook.Options{Clock: p.now, Location: loc, ReadOnly: true}); err != nil {
		t.Fatal(err)
	}
	return desk.Desk{Book: book, Now: p.now, Location: loc}
}

// plainJSON lays an object out anew, so that two of them can be compared line by line.
func plainJSON(t *testing.T, data []byte) string {
	t.Helper()
	var v any
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatal(err)
	}
	out, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

// A week that is looked back at knows the round after its end; asked as if it were then, it does not; and it is the column of the
// week before of the week after.
func TestALookBackFromTheShell(t *testing.T) {
	p := demoBook(t)
	type told struct {
		To     time.Time   `json:"to"`
		Rounds int         `json:"rounds"`
		Hours  float64     `json:"hours_covered"`
		Energy week.Energy `json:"energy_kwh"`
		Known  *time.Time  `json:"known_to"`
		Before *told       `json:"before"`
	}
	ask := func(args ...string) (r told) {
		t.Helper()
		if err := json.Unmarshal([]byte(p.run(0, append([]string{"week", "--json", "--no-forecast"}, args...)...)), &r); err != nil {
			t.Fatal(err)
		}
		return r
	}
	back, then, after := ask("--to", "2025-11-10 00:00"), ask("--at", "2025-11-10 00:00"), ask("--to", "2025-11-17 00:00")
	if back.Hours <= then.Hours || back.Energy.Generated.Value <= then.Energy.Generated.Value {
		t.Errorf("looked back at, %g h are known and %+v; as if it were then %g h and %+v", back.Hours, back.Energy.Generated, then.Hours, then.Energy.Generated)
	}
	if after.Before == nil || *after.Before.Energy.Generated != *back.Energy.Generated || after.Before.Hours != back.Hours {
		t.Errorf("the week after tells of it %+v, it tells of itself %+v", after.Before, back)
	}
	if back.Known == nil || then.Known != nil || back.Rounds != then.Rounds {
		t.Errorf("known to %v and %v, %d and %d rounds", back.Known, then.Known, back.Rounds, then.Rounds)
	}
	// As if it were the 10th at noon, the night after the week is known by that morning's round already.
	if noon := ask("--to", "2025-11-10 00:00", "--at", "2025-11-10 12:00"); noon.Hours != back.Hours {
		t.Errorf("at noon %g h are known, later %g", noon.Hours, back.Hours)
	}
	p.run(2, "week", "--to", "2025-11-20")
	if out := p.err.String(); !strings.Contains(out, "still to come") || !strings.Contains(out, "expected a time up to") {
		t.Errorf("an end that is still to come: %q", out)
	}
	if r := ask("--to", "2025-11-18"); !r.To.Equal(p.now()) || r.Known != nil {
		t.Errorf("the week to the end of today ends at %v", r.To)
	}
}

// A page of the demo without a name is written to the current folder, where it stays, and over no file that is not a page.
func TestThePageOfTheDemoStays(t *testing.T) {
	p := demoBook(t)
	d := deskOf(t, p)
	l := d.Load(t.Context(), 1)
	r := d.Reviewed(t.Context(), desk.ReviewOf{Span: week.Week, Loaded: l.History, Now: l.Facts})
	here := t.TempDir()
	t.Chdir(here)
	w := p.world
	c := &command{world: w, book: filepath.Join(t.TempDir(), "demo.book")}
	if c.pagesPlace() != "" || c.pagesBeside() != c.book {
		t.Errorf("a book of one's own has its pages beside %q, %q", c.pagesBeside(), c.pagesPlace())
	}
	c.visitor = true
	if c.pagesPlace() != "in the current folder" {
		t.Errorf("the field says %q", c.pagesPlace())
	}
	write := pageWriter(c.pagesBeside(), ui.Common{Now: p.now, Location: d.Location, Units: quantity.Metric})
	path, err := write(t.Context(), r, "")
	if err != nil || !filepath.IsAbs(path) {
		t.Fatalf("%q: %v", path, err)
	}
	if _, err := os.Stat(filepath.Join(here, "week-2025-11-18.html")); err != nil || filepath.Base(path) != "week-2025-11-18.html" {
		t.Errorf("%q: %v", path, err)
	}
	if err := os.WriteFile(path, []byte("not a page"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := write(t.Context(), r, ""); err == nil || !strings.Contains(err.Error(), "it exists and is no page") {
		t.Errorf("a foreign file: %v", err)
	}
}
