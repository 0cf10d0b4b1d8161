// Package desk is what the screens ask of the book: it loads, saves and keeps drafts outside the drawing loop, and brings
// the answers back as messages. No screen opens the book itself.
package desk

import (
	"context"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/copies"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/model/water"
)

// Desk is handed to every screen by value.
type Desk struct {
	Book     *logbook.Book
	Now      func() time.Time
	Location *time.Location
	Forecast water.Options  // how the forecast is worked out; the zero value is as the command does
	ReadOnly bool           // a package opened to be looked at: nothing is saved
	Copies   *copies.Keeper // keeps copies of the book; nil for none

	// WritePage writes a review as one page for a browser and returns the file's name. An empty path is a file beside the book.
	// Nil where this program cannot.
	WritePage func(ctx context.Context, r Review, path string) (written string, err error)
	PagePlace string // where a page with an empty path goes, in words; "" is beside the book
}

// Loaded brings what the book says. It is sent to every screen, at the start and whenever the book has changed.
type Loaded struct {
	Version int // rises with each load; answers to older loads are dropped
	History *record.History
	Facts   *assess.Now
	Mark    uint64                   // how many entries the book held just before
	Drafts  map[string]logbook.Draft // forms that were left unfinished, by name
	Short   bool                     // running hours of upkeep reach further back than was read: load once more
	Err     error
}

// Water brings the forecast for a load. It comes later than Loaded, because it takes longer.
type Water struct {
	Version int
	Facts   *water.Facts
	Err     error
}

// Saved says that an entry is on disk.
type Saved struct {
	ID       string
	What     string // "round of 07:55"
	Cautions []string
}

// Failed says that something could not be done. What was typed is in the form still, and Err says whether its draft is on disk.
type Failed struct {
	Doing string // "saving the round"
	Err   error
	Draft *DraftKept // what became of the draft of a form whose entry could not be saved; nil where there was no form
}

// GoTo asks for another screen; Arg is for that screen, for instance the id of an entry that the Log should show.
type GoTo struct {
	Screen string
	Arg    string
}

// Go returns a command that asks for another screen.
func Go(screen, arg string) tea.Cmd {
	return func() tea.Msg { return GoTo{Screen: screen, Arg: arg} }
}

// Load reads the book and works out what the screens show, except the forecast.
func (d Desk) Load(ctx context.Context, version int) Loaded {
	mark, err := d.Book.Mark(ctx) // before the reading, so that what is added meanwhile is loaded by the next look
	if err != nil {
		return Loaded{Version: version, Err: err}
	}
	// The first load stands before the first frame, which does not wait for the counting of running hours of long ago.
	h, err := d.Book.History(ctx, logbook.HistoryOptions{Upkeep: version > 1, Counted: true, Later: true})
	if err != nil {
		return Loaded{Version: version, Err: err}
	}
	drafts, err := d.Book.Drafts(ctx)
	if err != nil {
		return Loaded{Version: version, Err: err}
	}
	byName := make(map[string]logbook.Draft, len(drafts))
	for _, draft := range drafts {
		byName[draft.Form] = draft
	}
	short := version <= 1 && upkeep.Short(h)
	return Loaded{Version: version, Mark: mark, History: h, Facts: assess.NowFacts(h), Drafts: byName, Short: short}
}

// LoadCmd is Load outside the drawing loop.
func (d Desk) LoadCmd(ctx context.Context, version int) tea.Cmd {
	return func() tea.Msg { return d.Load(ctx, version) }
}

// WaterOf works out the forecast for a history that was loaded already.
func (d Desk) WaterOf(ctx context.Context, version int, h *record.History) tea.Cmd {
	return func() tea.Msg { return d.water(ctx, version, h) }
}

func (d Desk) water(ctx context.Context, version int, h *record.History) Water {
	o := d.Forecast
	o.Fan = true
	f, err := assess.Of(h).Water(ctx, o)
	return Water{Version: version, Facts: f, Err: err}
}
