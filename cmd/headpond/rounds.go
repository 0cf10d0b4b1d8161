package main

import (
	"context"
	"time"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
	"example.org/headpond/model/tolerance"
)

type rounds struct {
	*command
	from, to string
	out      bool
	last     int
	events   bool
}

func roundsCommand(c *command) *cobra.Command {
	o := &rounds{command: c}
	cmd := c.reporting(&cobra.Command{
		Use:   "rounds",
		Short: "The log, oldest first; --json gives one round a line",
		Args:  noArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return o.run(cmd.Context()) },
	})
	cmd.Flags().StringVar(&o.from, "from", "", "only from this `time` on")
	cmd.Flags().StringVar(&o.to, "to", "", "only before this `time`; a date alone is that day's end")
	cmd.Flags().BoolVar(&o.out, "out", false, "only rounds with a reading out of band")
	cmd.Flags().IntVar(&o.last, "last", 0, "only the last `N` rounds")
	cmd.Flags().BoolVar(&o.events, "events", false, "with --json: events too, as lines that have the key event")
	return cmd
}

func (o *rounds) validate() error {
	if o.last < 0 {
		return usagef("--last: %d is below 0; expected a number of rounds", o.last)
	}
	return nil
}

func (o *rounds) run(ctx context.Context) error {
	if err := o.validate(); err != nil {
		return err
	}
	s, err := o.read(ctx)
	if err != nil {
		return err
	}
	h, from, to, err := o.load(ctx, s)
	if err != nil {
		return err
	}
	list := o.choose(s, h, from, to)
	o.cautions(h.Cautions)
	if !o.json {
		o.text(s, h, list)
		return nil
	}
	for _, x := range list {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := o.printJSON(x.facts(s)); err != nil {
			return err
		}
	}
	return nil
}

// load reads the rounds between the bounds, and what is needed to know the state at their beginning.
func (o *rounds) load(ctx context.Context, s *session) (h *record.History, from, to time.Time, err error) {
	if from, err = s.bound("from", o.from, localtime.Start); err != nil {
		return nil, from, to, err
	}
	if to, err = s.bound("to", o.to, localtime.End); err != nil {
		return nil, from, to, err
	}
	if !from.IsZero() && !to.IsZero() && !from.Before(to) {
		return nil, from, to, usagef("--from %s is not before --to %s", jsonTime(from, s.loc), jsonTime(to, s.loc))
	}
	if o.last > 0 && from.IsZero() && to.IsZero() && !o.out {
		h, from, err = o.loadLast(ctx, s)
		return h, from, to, err
	}
	h, err = s.history(ctx, logbook.HistoryOptions{From: from, All: from.IsZero()})
	return h, from, to, err
}

// loadLast reads just as far back as the last rounds that are wanted; from is where they can be relied upon.
func (o *rounds) loadLast(ctx context.Context, s *session) (h *record.History, from time.Time, err error) {
	const first, more = 30, 4 // days, and how many times further each try looks
	for days := first; ; days *= more {
		if h, err = s.history(ctx, logbook.HistoryOptions{Days: days}); err != nil {
			return nil, from, err
		}
		last, any := h.Last()
		if h.Complete || !any {
			return h, time.Time{}, nil
		}
		from = last.Time.Add(-time.Duration(days) * 24 * time.Hour)
		count := 0
		for i := len(h.Rounds) - 1; i >= 0 && !h.Rounds[i].Time.Before(from); i-- {
			count++
		}
		if count >= o.last {
			return h, from, nil
		}
	}
}

// logLine is a round or an event of the log.
type logLine struct {
	at     time.Time
	round  *record.Round
	event  *record.Event
	judged []assess.Judged
	after  []string // what runs after it; nil while any unit is unknown
}

// choose lists what was asked for, oldest first; at equal times events come before the round.
func (o *rounds) choose(s *session, h *record.History, from, to time.Time) []logLine {
	within := func(t time.Time) bool { return !t.Before(from) && (to.IsZero() || t.Before(to)) }
	a := assess.Of(h)
	var lines []logLine
	for i := range h.Rounds {
		r := &h.Rounds[i]
		if !within(r.Time) {
			continue
		}
		l := logLine{at: r.Time, round: r}
		if o.out {
			if l.judged = a.Judge(*r); assess.Worst(l.judged) != tolerance.Out {
				continue
			}
		}
		lines = append(lines, l)
	}
	if o.last > 0 && len(lines) > o.last {
		lines = lines[len(lines)-o.last:]
		from = lines[0].at
	}
	for i := range lines {
		lines[i].judge(h, a)
	}
	if o.out || (o.json && !o.events) {
		return lines
	}
	return withEvents(lines, h.Events, within, from)
}

// judge fills in what the round's readings mean and what runs after it.
func (l *logLine) judge(h *record.History, a *assess.Assessor) {
	if l.judged == nil {
		l.judged = a.Judge(*l.round)
	}
	if p := h.PlantAt(l.at); p != nil {
		l.after, _ = a.Timeline(p).RunningAt(l.at)
	}
}

// withEvents merges events into rounds; both are in order of time.
func withEvents(lines []logLine, events []record.Event, within func(time.Time) bool, from time.Time) []logLine {
	var all []logLine
	for i := range events {
		e := &events[i]
		if !within(e.Time) || e.Time.Before(from) {
			continue
		}
		for len(lines) > 0 && lines[0].at.Before(e.Time) {
			all, lines = append(all, lines[0]), lines[1:]
		}
		all = append(all, logLine{at: e.Time, event: e})
	}
	return append(all, lines...)
}

// roundFacts is a line of `rounds --json`.
type roundFacts struct {
	ID          string            `json:"id"`
	Time        string            `json:"time"`
	By          string            `json:"by,omitempty"`
	Running     *[]string         `json:"running,omitempty"` // in force after the round; absent while any unit is unknown
	RunningRead *[]string         `json:"running_read,omitempty"`
	Readings    map[string]any    `json:"readings"` // numbers, and words such as "partly"
	Judged      []assess.Judged   `json:"judged"`
	Note        string            `json:"note,omitempty"`
	WrittenAt   string            `json:"written_at"`
	Confirmed   bool              `json:"confirmed,omitempty"`
	Typed       map[string]string `json:"typed,omitempty"` // what was typed in another unit
	Extra       map[string]string `json:"extra,omitempty"` // columns of an import that are unknown here
	Changes     []changeFact      `json:"changes,omitempty"`
}

func (l logLine) facts(s *session) any {
	if l.event != nil {
		return s.eventFacts(*l.event)
	}
	r := l.round
	f := roundFacts{ID: r.ID, Time: jsonTime(r.Time, s.loc), By: r.By, RunningRead: r.Running, Readings: map[string]any{}, Judged: l.judged,
		Note: r.Note, WrittenAt: jsonTime(r.WrittenAt, s.loc), Confirmed: r.Confirmed, Extra: r.Extra, Changes: s.changeFacts(r.Changes)}
	if l.after != nil {
		f.Running = &l.after
	}
	if f.Judged == nil {
		f.Judged = []assess.Judged{}
	}
	for k, v := range r.Values {
		f.Readings[string(k)] = v
	}
	for k, w := range r.Words {
		f.Readings[string(k)] = w
	}
	if len(r.Typed) > 0 {
		f.Typed = map[string]string{}
		for k, t := range r.Typed {
			f.Typed[string(k)] = t
		}
	}
	return f
}
