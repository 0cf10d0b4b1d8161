package weekview

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/model/week"
	"example.org/headpond/tui/ui"
)

// job is how far the working out of a review is. The first one of a long log works out all its days.
type job struct {
	days, all atomic.Int64
	end       context.CancelFunc
	over      <-chan struct{} // closed when it has ended or was given up
}

// newJob is a piece of work with the context in which it is done.
func newJob() (context.Context, *job) {
	ctx, cancel := context.WithCancel(context.Background())
	j := &job{end: cancel, over: ctx.Done()}
	return week.WithProgress(ctx, j.tell), j
}

// done reports whether it has ended.
func (j *job) done() bool {
	select {
	case <-j.over:
		return true
	default:
		return false
	}
}

// ticked redraws how far a job is.
type ticked struct{ job *job }

// tickEvery is how often that is drawn anew.
const tickEvery = 250 * time.Millisecond

func tick(j *job) tea.Cmd {
	return func() tea.Msg {
		wait := time.NewTimer(tickEvery)
		defer wait.Stop()
		select {
		case <-wait.C:
		case <-j.over:
		}
		return ticked{j}
	}
}

// tell takes how many days are done. It is called while others draw.
func (j *job) tell(done, all int) {
	j.days.Store(int64(done))
	j.all.Store(int64(all))
}

// of is the command with the job's end noted.
func (j *job) of(work tea.Cmd) tea.Cmd {
	return func() tea.Msg {
		defer j.end()
		return work()
	}
}

// far says how many days are done; "" where it is not under way or nobody would notice.
func (j *job) far() string {
	if j == nil || j.done() || j.all.Load() == 0 {
		return ""
	}
	return fmt.Sprintf("%d of %d days", j.days.Load(), j.all.Load())
}

// ticked looks again as long as there is something to see.
func (s Screen) ticked(m ticked) (ui.Screen, tea.Cmd) {
	if m.job != s.job || m.job.done() {
		return s, nil
	}
	return s, s.tick(m.job)
}

// errStopped is why there is no review where a person did not want to wait for it.
var errStopped = errors.New("it was stopped")

// stopped gives up what is being worked out; what stood before stays.
func (s Screen) stopped() (ui.Screen, tea.Cmd) {
	s.job.end()
	s.job = nil
	say := ui.Say(ui.Unjudged, "Working out the "+string(s.span)+" was stopped")
	switch {
	case s.report.Review == nil:
		s.report.Err = errStopped
	case s.of.Span != s.span || !s.of.End.Equal(s.end):
		s.span, s.end = s.of.Span, s.of.End
		if s.report.Pending {
			next, cmd := s.ask(true)
			return next, tea.Batch(say, cmd)
		}
	default: // only the forecasts were missing
		s.report.Pending, s.report.LeftOut = false, true
	}
	return s, say
}
