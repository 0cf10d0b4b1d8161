package week

import (
	"context"
	"errors"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/model/water"
)

// Of is which period is reviewed, and what is known of it.
//
// With End before At somebody looks back from At: the readings after the period's end tell of its last stretch, as they do of the
// last stretch of the period before. With At alone the review is as it would have been then: nothing later is known.
type Of struct {
	Span Span
	At   time.Time // up to when the log is known; zero is now
	End  time.Time // of the period; zero, or a time after At, is At
}

// Settled is the same with all times told, now being what it is.
func (o Of) Settled(now time.Time) Of {
	if o.At.IsZero() {
		o.At = now
	}
	if o.End.IsZero() || o.End.After(o.At) {
		o.End = o.At
	}
	return o
}

// Input is what a review is worked out from. The logbook's Book.Week(ctx, of) gives one, with the roll-ups that it keeps, and
// From one from a whole history; the caller adds Now and Water where it has them, and hands it to Report.
type Input struct {
	Of // settled, and in the plant's zone

	// History holds the plant at the period's end, its revisions, and the events and upkeep done of both periods.
	History *record.History

	Days       []Day   // of the period, oldest first, the first and last perhaps in part
	BeforeDays []Day   // of the period before
	Points     []Point // rounds of the period, for charts; nil for a year
	UsedSoFar  Sum     // the energy used since the log began
	Begin      time.Time

	// Now is the plant at End, and as far as it was known then, where it was worked out already: it brings the ballast, the screen's next clearing and upkeep.
	Now *assess.Now
	// Water is the forecast at End and WaterThen the one at the period's beginning, where they were made: each costs much more
	// than the review.
	Water, WaterThen *water.Facts
	RunThen          []string // what ran at the period's beginning; nil: not known
}

// ErrNoPlant tells that the book has no plant description.
var ErrNoPlant = errors.New("the book has no plant description; load one with: headpond plant load FILE")

// Report works out the review. Errors: ErrNoPlant, a span that is not known, or the context's.
func Report(ctx context.Context, in Input) (*Review, error) {
	if in.History == nil || in.History.Plant == nil {
		return nil, ErrNoPlant
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	p := in.History.Plant
	from, before, err := Bounds(in.Span, in.End, p.Location)
	if err != nil {
		return nil, err
	}
	if in.Now != nil && in.Water != nil && in.Now.Water == nil {
		in.Now = in.Now.WithWater(in.Water)
	}
	r := &Review{Plant: p.Site.Name, Span: in.Span, Period: in.period(from, in.End, in.Days)}
	if in.At.After(in.End) {
		r.KnownTo = &in.At
	}
	r.Points = in.Points
	if in.Begin.Before(from) {
		b := in.period(before, from, in.BeforeDays)
		r.Before = &b
	}
	r.Payback = in.payback()
	r.Forecast = in.forecasts()
	if in.Now != nil {
		r.UpkeepDue = append([]upkeep.Task{}, in.Now.Upkeep...)
		r.Cautions = append(r.Cautions, in.Now.Cautions...)
	} else {
		r.Cautions = append(r.Cautions, in.History.Cautions...)
	}
	if s := r.setAside(); s != "" {
		r.Cautions = append(r.Cautions, s)
	}
	in.decide(r)
	r.Verdict = r.verdict()
	return r, nil
}

// forecasts sets the forecast of then beside that of now, each for what ran at its time.
func (in *Input) forecasts() *Forecasts {
	var running []string
	if in.Now != nil {
		running = in.Now.Running
	}
	f := &Forecasts{Facts: in.Water, Then: forecastOf(in.WaterThen, in.RunThen), Now: forecastOf(in.Water, running)}
	if f.Then == nil && f.Now == nil {
		return nil
	}
	return f
}

func forecastOf(f *water.Facts, running []string) *Forecast {
	if f == nil {
		return nil
	}
	out := &Forecast{Time: f.At, LevelM: f.LevelM, Run: running}
	for _, w := range f.Ways {
		if w.Plan == nil && running != nil && record.FormatRunning(w.Run) == record.FormatRunning(running) {
			out.Outcome, out.Hours, out.FilledFirst, out.Standing = w.Outcome, w.Hours, w.FilledFirst, w.Standing
		}
	}
	return out
}
