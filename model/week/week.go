package week

import (
	"context"
	"errors"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
)

// Input is what a review is worked out from. The logbook's Book.Week(ctx, span, at) gives one, with the roll-ups that it
// keeps; the caller adds Now and Water where it has them, and hands it to Report.
type Input struct {
	Span Span
	At   time.Time // the period's end, in the plant's zone

	// History holds the rounds and events that the roll-ups do not stand for, up to At, and the upkeep done in both periods.
	History *record.History

	// Now is the plant at At, where it was worked out already: it brings the ballast, the screen's next clearing and upkeep.
	Now *assess.Now
	// Water is the forecast at At and WaterThen the one at the period's beginning, where they were made: each costs much more
	// than the review.
	Water, WaterThen *water.Facts
}

// ErrNoPlant tells that the book has no plant description.
var ErrNoPlant = errors.New("the book has no plant description; load one with: headpond plant load FILE")

// Report works out the review. Errors: ErrNoPlant, a span that is not known, or the context's.
func Report(ctx context.Context, in Input) (*Review, error) {
	if in.History == nil || in.History.Plant == nil {
		return nil, ErrNoPlant
	}
	return nil, ctx.Err()
}
