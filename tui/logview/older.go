package logview

import (
	"context"
	"fmt"
	"sync/atomic"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/tui/ui"
)

// older reads the whole book, beside what every screen is given.
type older struct {
	wanted bool // everything is shown, and read again whenever the book changes
	seq    int
	job    *olderJob // nil: none is under way
	tick   func(seq int) tea.Cmd
}

// olderJob is one reading under way.
type olderJob struct {
	cancel context.CancelFunc
	read   atomic.Int64
	of     uint64
}

// allRead brings the whole book.
type allRead struct {
	seq    int
	ledger *ledger
	err    error
}

// olderTick redraws the progress.
type olderTick struct{ seq int }

// tickEvery is how often progress is drawn anew.
const tickEvery = 250 * time.Millisecond

func tick(seq int) tea.Cmd {
	return tea.Tick(tickEvery, func(time.Time) tea.Msg { return olderTick{seq} })
}

// readAll reads the whole book outside the drawing loop. One that is under way already is given up: the book has changed.
func (s Screen) readAll() (Screen, tea.Cmd) {
	if s.older.job != nil {
		s.older.job.cancel()
	}
	ctx, cancel := context.WithCancel(context.Background())
	job := &olderJob{cancel: cancel, of: s.mark}
	s.older.seq++
	s.older.job = job
	seq, book := s.older.seq, s.desk.Book
	read := func() tea.Msg {
		defer cancel()
		h, err := book.History(ctx, logbook.HistoryOptions{All: true, Later: true, Progress: func(n int) { job.read.Store(int64(n)) }})
		if err != nil {
			return allRead{seq: seq, err: err}
		}
		return allRead{seq: seq, ledger: newLedger(h).warm()}
	}
	return s, tea.Batch(read, s.older.tick(seq))
}

func (s Screen) allRead(m allRead) (Screen, tea.Cmd) {
	if m.seq != s.older.seq || s.older.job == nil {
		return s, nil
	}
	s.older.job = nil
	if m.err != nil {
		s.older.wanted, s.want = false, ""
		return s, ui.Say(ui.Out, "The older entries could not be read: "+m.err.Error())
	}
	return s.show(m.ledger)
}

func (s Screen) ticked(m olderTick) (Screen, tea.Cmd) {
	if m.seq != s.older.seq || s.older.job == nil {
		return s, nil
	}
	return s, s.older.tick(m.seq)
}

// stopReading gives a reading or a scan up; what was shown before stays.
func (s Screen) stopReading() (Screen, tea.Cmd) {
	if s.older.job != nil {
		s.older.job.cancel()
		s.older.job, s.older.wanted, s.want = nil, false, ""
		return s, ui.Say(ui.Unjudged, "Reading the older entries was stopped")
	}
	f := s.filter
	f.out = false
	return s.refilter(f)
}

// progress says how far the reading is.
func (o older) progress() string {
	s := "Reading older entries"
	if n := o.job.read.Load(); n > 0 && o.job.of > 0 {
		s += fmt.Sprintf(": %d of about %d", min(n, int64(o.job.of)), o.job.of)
	}
	return s + ". Esc stops."
}

// noOlder says why no older entries can be read, "" where they can.
func (s Screen) noOlder() string {
	switch {
	case s.ledger == nil:
		return "the book is being read"
	case s.ledger.h.Complete:
		return "everything is listed already"
	case s.older.job != nil:
		return "they are being read"
	}
	return ""
}
