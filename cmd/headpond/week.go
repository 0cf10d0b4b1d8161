package main

import (
	"context"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/water"
	"example.org/headpond/model/week"
	weekview "example.org/headpond/tui/week"
)

type weekOptions struct {
	*command
	month, year bool
	quick       bool
	html        string
	to          string
}

func weekCommand(c *command) *cobra.Command {
	o := &weekOptions{command: c}
	cmd := c.reporting(&cobra.Command{
		Use:   "week",
		Short: "The owner's review: what the week gave, how well it ran, and what to decide",
		Long: prose(
			"Looks at the seven local days before --to, --at or now, with the week before beside it: energy generated, used and dumped, time in band, extremes, clearings, stops and trips, water and permits, money and fuel, upkeep, and what is to be decided, each with the numbers it rests on.",
			"With --at it is as if it were then, and nothing later is known. With --to one looks back from now, or from --at: the last hours of the period are told by the first round after it, as they are for the period before.",
			"Energy is integrated between rounds and says how sure it is. Where readings lie more than a day and a half apart nothing is guessed; meter totals are used where they were read."),
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return o.answer(cmd.Context()) },
	})
	f := cmd.Flags()
	f.StringVar(&o.to, "to", "", "the period that ended at `TIME`, looked back at with all that is known by now, or by --at")
	f.BoolVar(&o.month, "month", false, "a month, beside the one before")
	f.BoolVar(&o.year, "year", false, "a year, beside the one before")
	f.BoolVar(&o.quick, "no-forecast", false, "leave out how long the water lasts, then and now, which takes longest")
	f.StringVar(&o.html, "html", "", "write the review as one page for a browser to `FILE`")
	return cmd
}

func (o *weekOptions) span() week.Span {
	switch {
	case o.month:
		return week.Month
	case o.year:
		return week.Year
	}
	return week.Week
}

func (o *weekOptions) answer(ctx context.Context) error {
	if o.month && o.year {
		return usagef("--month and --year are two questions; expected one of them, or neither for the week")
	}
	if o.html == "-" {
		return usagef("week: --html: - is no file here, for the page is read back before it gets its name; expected the name of a file, such as week.html, or ./- for a file of that name; %s", nothingChanged)
	}
	s, err := o.read(ctx)
	if err != nil {
		return err
	}
	if err := s.needPlant(); err != nil {
		return err
	}
	of, err := o.of(s)
	if err != nil {
		return err
	}
	r, p, err := o.review(ctx, s, of)
	if err != nil {
		return err
	}
	report := weekview.Report{Review: r, Plant: p, LeftOut: o.quick}
	if o.html != "" {
		if err := pageFile(o.html, report, o.common(s)); err != nil {
			return err
		}
	}
	switch {
	case o.json:
		return o.printJSON(r)
	case o.html != "":
		o.say("Written: %s", o.html)
	default:
		o.block(weekview.Text(report, o.common(s), o.columns()))
	}
	return nil
}

// of is which period is asked for. Its At is zero for now, for which entries of the future are cautioned about. A period that would
// end later today ends with what is known, as on the screen.
func (o *weekOptions) of(s *session) (week.Of, error) {
	of := week.Of{Span: o.span()}
	known, err := s.at()
	if err != nil {
		return of, err
	}
	if o.at != "" {
		of.At = known
	}
	if of.End, err = s.bound("to", o.to, localtime.End); err != nil {
		return of, err
	}
	if of.End.After(localtime.NextDay(known, s.loc)) {
		return of, usagef("--to: %s is still to come; expected a time up to %s, by which the log is known", shortTime(of.End, s.loc), shortTime(known, s.loc))
	}
	return of, nil
}

// review asks for the days, for the plant at the end with its forecast, and for the forecast of the beginning, all at once.
func (o *weekOptions) review(ctx context.Context, s *session, of week.Of) (*week.Review, *plant.Plant, error) {
	settled := of.Settled(s.now())
	end, stands := settled.End, settled.End
	if settled.End.Equal(settled.At) {
		stands = of.At
	}
	from, _, err := week.Bounds(of.Span, end, s.plantAt(end).Location)
	if err != nil {
		return nil, nil, err
	}
	var in week.Input
	var now, then outlook
	var inErr error
	var all sync.WaitGroup
	p := o.progress("working out the days")
	all.Go(func() { in, inErr = s.book.Week(week.WithProgress(ctx, p.step), of) })
	all.Go(func() { now = s.outlook(ctx, stands, !o.quick) })
	if !o.quick && !o.year { // a year's first forecast says nothing any more
		all.Go(func() { then = s.outlookThen(ctx, from) })
	}
	all.Wait()
	p.end()
	if inErr != nil {
		return nil, nil, inErr
	}
	if now.err != nil {
		return nil, nil, now.err
	}
	in.Now, in.Water = now.plant, now.water
	in.WaterThen, in.RunThen = then.water, then.running
	r, err := week.Report(ctx, in)
	if err == nil && now.waterErr != nil && !o.quick {
		r.Cautions = append(r.Cautions, "water: "+now.waterErr.Error())
	}
	return r, in.History.Plant, err
}

// outlook is how the plant stands at a time, and how long its water lasts for what runs then.
type outlook struct {
	plant         *assess.Now
	running       []string // nil: not known
	water         *water.Facts
	err, waterErr error
}

// outlook works from what the book said up to a time; a zero one is now.
func (s *session) outlook(ctx context.Context, at time.Time, forecast bool) outlook {
	h, err := s.book.History(ctx, logbook.HistoryOptions{At: at, Upkeep: true})
	if err != nil {
		return outlook{err: err}
	}
	s.localise(h)
	a := assess.Of(h)
	out := outlook{plant: a.Now()}
	out.running = out.plant.Running
	if forecast {
		out.forecast(ctx, a, true) // the printed chart of the pond goes on into its fan
	}
	return out
}

// outlookThen is only what the review tells of a time gone by: what ran, and how long its water was to last. Upkeep, for which
// the book is read far back, and how the plant stood then, nobody asks.
func (s *session) outlookThen(ctx context.Context, at time.Time) outlook {
	h, err := s.book.History(ctx, logbook.HistoryOptions{At: at})
	if err != nil {
		return outlook{err: err}
	}
	s.localise(h)
	if h.Plant == nil {
		return outlook{}
	}
	a := assess.Of(h)
	var out outlook
	if running, ok := a.Timeline(h.Plant).RunningAt(at); ok {
		out.running = running
	}
	out.forecast(ctx, a, false)
	return out
}

func (o *outlook) forecast(ctx context.Context, a *assess.Assessor, fan bool) {
	w := water.Options{Fan: fan}
	if o.running != nil {
		w.Ways = []water.Choice{{Run: o.running}}
	}
	o.water, o.waterErr = a.Water(ctx, w)
}
