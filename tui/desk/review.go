package desk

import (
	"context"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
	"example.org/headpond/model/week"
)

// ReviewOf says which review is asked for.
type ReviewOf struct {
	Version int
	Span    week.Span
	End     time.Time // of the period; zero is the end of the load, up to which the log is known for a period that ends before too
	Full    bool      // with the forecasts, which take longer than all the rest

	Loaded *record.History // the load, whose end is now
	Now    *assess.Now     // what was worked out for it
	Water  *water.Facts    // and its forecast, where that has come
}

// Review brings a review that was asked for.
type Review struct {
	Of     ReviewOf
	Review *week.Review
	Plant  *plant.Plant // in force at the period's end
	Err    error

	Pending bool // the forecasts are still worked out: set by the screen for a page that is written before they come
	LeftOut bool // they were stopped: set by the screen likewise
}

// ReviewCmd works out a review outside the drawing loop, until the context ends.
func (d Desk) ReviewCmd(ctx context.Context, q ReviewOf) tea.Cmd {
	return func() tea.Msg { return d.Reviewed(ctx, q) }
}

// Reviewed works a review out: for the screen off the drawing loop, and for the command, so that both tell the same.
func (d Desk) Reviewed(ctx context.Context, q ReviewOf) Review {
	out := Review{Of: q}
	of := week.Of{Span: q.Span, End: q.End}
	if q.Loaded != nil {
		of.At = q.Loaded.At
	}
	in, err := d.Book.Week(ctx, of)
	if err != nil {
		out.Err = err
		return out
	}
	at := in.End
	if q.End.IsZero() {
		in.Now, in.Water = q.Now, q.Water
	} else {
		in.Now, in.Water = d.then(ctx, at, q.Full)
	}
	if out.Review, out.Err = week.Report(ctx, in); out.Err != nil {
		return out
	}
	if q.Full && q.Span != week.Year { // a year's first forecast says nothing any more
		var then *assess.Now
		if then, in.WaterThen = d.then(ctx, out.Review.From, true); in.WaterThen != nil {
			in.RunThen = then.Running
			out.Review, out.Err = week.Report(ctx, in)
		}
	}
	if err := ctx.Err(); err != nil { // a forecast may be missing for no better reason
		return Review{Of: q, Err: err}
	}
	out.Plant = plantAt(in.History, at)
	return out
}

// then is how the plant stood at a time in the past, and with full the forecast that could be made then; nil where the log
// does not say enough.
func (d Desk) then(ctx context.Context, at time.Time, full bool) (*assess.Now, *water.Facts) {
	h, err := d.Book.History(ctx, logbook.HistoryOptions{At: at, Upkeep: true})
	if err != nil || h.Plant == nil {
		return nil, nil
	}
	a := assess.Of(h)
	if !full {
		return a.Now(), nil
	}
	o := d.Forecast
	o.Fan = true
	w, err := a.Water(ctx, o)
	if err != nil {
		return a.Now(), nil
	}
	return a.Now(), w
}

func plantAt(h *record.History, at time.Time) *plant.Plant {
	if h == nil {
		return nil
	}
	if p := h.PlantAt(at); p != nil {
		return p
	}
	return h.Plant
}
