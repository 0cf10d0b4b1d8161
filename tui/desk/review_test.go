package desk

import (
	"context"
	"errors"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/demobook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/water"
	"example.org/headpond/model/week"
)

// demoDesk is a desk on the demo's book, and what it says now.
func demoDesk(tb testing.TB) (Desk, Loaded) {
	tb.Helper()
	p, err := demo.Plant()
	if err != nil {
		tb.Fatal(err)
	}
	now := time.Date(2026, 11, 25, 10, 5, 0, 0, p.Location)
	story, err := demo.History(demo.Seed, now, p.Location)
	if err != nil {
		tb.Fatal(err)
	}
	o := logbook.Options{Clock: func() time.Time { return now }, Location: p.Location, Writer: [16]byte{2}}
	book, err := demobook.Write(context.Background(), filepath.Join(tb.TempDir(), "demo.book"), story, o)
	if err != nil {
		tb.Fatal(err)
	}
	d := Desk{Book: book, Now: o.Clock, Location: p.Location, Forecast: water.Options{Members: 50, Horizon: 30 * 24 * time.Hour}}
	return d, d.Load(context.Background(), 1)
}

func ask(tb testing.TB, d Desk, q ReviewOf) Review {
	tb.Helper()
	r, ok := d.ReviewCmd(context.Background(), q)().(Review)
	switch {
	case !ok:
		tb.Fatal("the command brings no review")
	case r.Err != nil:
		tb.Fatal(r.Err)
	case r.Review == nil || r.Plant == nil:
		tb.Fatalf("half a review: %+v", r)
	}
	return r
}

func TestAReviewComesFirstWithoutAndThenWithForecasts(t *testing.T) {
	d, l := demoDesk(t)
	q := ReviewOf{Version: 1, Span: week.Week, Loaded: l.History, Now: l.Facts}
	quick := ask(t, d, q)
	if quick.Review.Forecast != nil && quick.Review.Forecast.Then != nil {
		t.Error("the quick review makes forecasts")
	}
	if quick.Review.Rounds != 14 || !quick.Review.To.Equal(l.History.At) || len(quick.Review.Points) != 14 {
		t.Errorf("%d rounds, %d points, to %v; the story has two a day", quick.Review.Rounds, len(quick.Review.Points), quick.Review.To)
	}
	w, ok := d.WaterOf(context.Background(), 1, l.History)().(Water)
	if !ok || w.Err != nil {
		t.Fatalf("no forecast: %v", w.Err)
	}
	q.Full, q.Water = true, w.Facts
	full := ask(t, d, q).Review
	f := full.Forecast
	if f == nil || f.Then == nil || f.Now == nil || f.Facts != w.Facts {
		t.Fatalf("the full review has %+v", f)
	}
	if !f.Then.Time.Equal(full.From) || !f.Now.Time.Equal(full.To) || !slices.Equal(f.Now.Run, l.Facts.Running) {
		t.Errorf("forecasts of %v and %v for %v", f.Then.Time, f.Now.Time, f.Now.Run)
	}
}

// A past week holds no round that came later, and what is told of its end, the forecast with it, rests on nothing later.
func TestAPastReviewKnowsNothingOfLater(t *testing.T) {
	d, l := demoDesk(t)
	end := l.History.At.AddDate(0, 0, -30)
	r := ask(t, d, ReviewOf{Version: 1, Span: week.Week, End: end, Full: true, Loaded: l.History, Now: l.Facts}).Review
	if !r.To.Equal(end) {
		t.Errorf("it ends at %v, want %v", r.To, end)
	}
	for _, p := range r.Points {
		if p.Time.After(end) {
			t.Errorf("a round of %v is in it", p.Time)
		}
	}
	if f := r.Forecast; f == nil || f.Now == nil || !f.Now.Time.Equal(end) {
		t.Errorf("the forecast is of another time: %+v", r.Forecast)
	}
	if f := r.Forecast; f != nil && f.Now != nil && f.Facts.LastLevel != nil && f.Facts.LastLevel.Time.After(end) {
		t.Errorf("the forecast rests on a level of %v", f.Facts.LastLevel.Time)
	}
}

// The first round after a past week tells of its last stretch, as the week before has it on the screen of the week after.
func TestAPastReviewKnowsItsLastStretch(t *testing.T) {
	d, l := demoDesk(t)
	end := l.History.At.AddDate(0, 0, -21)
	q := ReviewOf{Version: 1, Span: week.Week, End: end, Loaded: l.History, Now: l.Facts}
	r := ask(t, d, q).Review
	q.End = end.AddDate(0, 0, 7)
	if b := ask(t, d, q).Review.Before; b == nil || *b.EnergyKWh.Generated != *r.EnergyKWh.Generated || b.HoursCovered != r.HoursCovered {
		t.Errorf("by itself %+v over %g h, beside the week after %+v", r.EnergyKWh.Generated, r.HoursCovered, b)
	}
	in, err := d.Book.Week(t.Context(), week.Of{Span: week.Week, At: end})
	if err != nil {
		t.Fatal(err)
	}
	then, err := week.Report(t.Context(), in)
	if err != nil || then.HoursCovered >= r.HoursCovered || r.KnownTo == nil {
		t.Errorf("as if it were then %g h are known, looked back at %g: %v", then.HoursCovered, r.HoursCovered, err)
	}
}

func TestAYearComesByDays(t *testing.T) {
	d, l := demoDesk(t)
	r := ask(t, d, ReviewOf{Version: 1, Span: week.Year, Full: true, Loaded: l.History, Now: l.Facts}).Review
	if r.Points != nil || len(r.Days) < 365 {
		t.Errorf("%d points, %d days", len(r.Points), len(r.Days))
	}
}

func TestAReviewThatCannotBeMadeSaysWhy(t *testing.T) {
	d, l := demoDesk(t)
	q := ReviewOf{Version: 3, Span: "decade", Loaded: l.History, Now: l.Facts}
	if r, ok := d.ReviewCmd(context.Background(), q)().(Review); !ok || r.Err == nil || r.Review != nil || r.Of.Version != 3 {
		t.Errorf("a span that there is not: %+v", r)
	}
}

func TestAReviewThatNobodyWantsAnyMoreEnds(t *testing.T) {
	d, l := demoDesk(t)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	r, ok := d.ReviewCmd(ctx, ReviewOf{Version: 1, Span: week.Week, Full: true, Loaded: l.History, Now: l.Facts})().(Review)
	if !ok || !errors.Is(r.Err, context.Canceled) {
		t.Errorf("cancelled, it brings %+v", r)
	}
}

func BenchmarkReviewed(b *testing.B) {
	d, l := demoDesk(b)
	d.Forecast = water.Options{} // as everybody sees it
	for name, q := range map[string]ReviewOf{
		"week":                {Span: week.Week},
		"year":                {Span: week.Year},
		"week with forecasts": {Span: week.Week, Full: true, Water: &water.Facts{}},
		"past week":           {Span: week.Week, End: l.History.At.AddDate(0, 0, -14)},
	} {
		q.Loaded, q.Now = l.History, l.Facts
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				ask(b, d, q)
			}
		})
	}
}
