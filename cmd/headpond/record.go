package main

import (
	"context"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

type recordRound struct {
	*command
	time string
	by   string
	yes  bool
	told bool // the round was read back before it was saved
}

func recordCommand(c *command) *cobra.Command {
	o := &recordRound{command: c}
	cmd := &cobra.Command{
		Use:   "record [key=value ...]",
		Short: "Write down one round; without readings, on a terminal, asked line by line",
		Long: prose("Write down one round. The keys are the columns of the rounds' CSV (headpond import --help lists them). A bare number is in the unit of its key, and another unit may be typed. What was not read is left out.",
			"  headpond record pond_level_m=-0.31 running=A pressure_kpa=\"19 psi\" volts=241 \\\n      hertz=60.1 A.kw=5.6 screen=partly note=\"leaves\" time=\"yesterday 18:00\" by=Ro",
			"Without readings, on a terminal, it asks line by line in the Round screen's order, with its judgements and on its draft, reads each answer back, and the whole round before it is saved. Lines are never redrawn: for screen readers and bad links."),
		RunE: func(cmd *cobra.Command, args []string) error { return o.run(cmd.Context(), args) },
	}
	cmd.Flags().StringVar(&o.time, "time", "", "when the round was walked (default: now); the same as time=")
	cmd.Flags().StringVar(&o.by, "by", "", "who walked it; the same as by=")
	cmd.Flags().BoolVar(&o.yes, "yes", false, "keep values that are not plausible without asking")
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

func (o *recordRound) run(ctx context.Context, args []string) error {
	pairs, err := o.validate(args)
	if err != nil {
		return err
	}
	s, err := o.write(ctx)
	if err != nil {
		return err
	}
	if err := s.needPlant(); err != nil {
		return err
	}
	r, err := s.round(pairs)
	if err != nil {
		return err
	}
	if r.Empty() {
		if !o.person() || o.json {
			return usagef("a round without readings says nothing; expected key=value, for instance: headpond record pond_level_m=-0.12 volts=241 hertz=60.0 load_kw=3.1; on a terminal, headpond record alone asks line by line; %s", nothingChanged)
		}
		return o.ask(ctx, s, pairs)
	}
	return o.keep(ctx, s, r, "")
}

// validate brings the flags into the list of keys.
func (o *recordRound) validate(args []string) ([]pair, error) {
	for key, value := range map[string]string{record.ColTime: o.time, record.ColBy: o.by} {
		if value != "" {
			args = append(args, key+"="+value)
		}
	}
	return parsePairs(args)
}

// round reads the pairs into a round.
func (s *session) round(pairs []pair) (record.Round, error) {
	r := record.Round{Time: s.now()}
	pairs, typed, _ := take(pairs, record.ColTime)
	if strings.TrimSpace(typed) != "" {
		var err error
		if r.Time, err = s.moment(typed); err != nil {
			return r, err
		}
	}
	units := s.plantAt(r.Time).UnitIDs()
	for _, p := range pairs {
		if err := r.Set(p.key, p.value, units, quantity.Metric); err != nil {
			return r, fieldUsage(err)
		}
	}
	return r, nil
}

// keep asks about what is not plausible, saves the round and says how each reading stands. The draft of the form dropDraft
// goes in the same step, where it is own.
func (o *recordRound) keep(ctx context.Context, s *session, r record.Round, dropDraft string, own ...[]byte) error {
	var err error
	if !o.yes {
		if r.Time, err = o.confirmTime(ctx, s, r.Time, dropDraft != ""); err != nil {
			return err
		}
	}
	p := s.plantAt(r.Time)
	questions, err := o.questions(ctx, s, p, r)
	if err != nil {
		return err
	}
	if r.Confirmed, err = o.confirm(ctx, questions, o.yes, dropDraft != ""); err != nil {
		return err
	}
	saved, err := s.book.AddRound(ctx, r, dropDraft, own...)
	if err != nil {
		return err
	}
	r = saved.Entry
	o.cautions(slices.Concat(saved.Cautions, s.future(r.Time), s.twice(ctx, r)))
	return o.report(ctx, s, p, r)
}

// questions asks a person also about what only the readings before tell: a level that the pond cannot have reached since. Without a
// person the contract's ranges alone decide.
func (o *recordRound) questions(ctx context.Context, s *session, p *plant.Plant, r record.Round) ([]assess.Question, error) {
	if !o.person() {
		return assess.Questions(p, r), nil
	}
	h, err := s.book.History(ctx, logbook.HistoryOptions{At: r.Time, Days: judgeDays})
	if err != nil {
		return nil, err
	}
	return assess.Of(h).Questions(r), nil
}

// recordFacts is the object of `record --json`.
type recordFacts struct {
	ID        string          `json:"id"`
	Time      string          `json:"time"`
	Judged    []assess.Judged `json:"judged"`
	Confirmed bool            `json:"confirmed,omitempty"`
}

func (o *recordRound) report(ctx context.Context, s *session, p *plant.Plant, r record.Round) error {
	judged, err := s.judge(ctx, r)
	if err != nil {
		return err
	}
	if o.json {
		return o.printJSON(recordFacts{ID: r.ID, Time: jsonTime(r.Time, s.loc), Judged: judged, Confirmed: r.Confirmed})
	}
	o.say("Saved: round of %s%s, id %s", shortTime(r.Time, s.loc), byWords(r.By), r.ID)
	if o.told { // only what is not in order is said again
		o.outOfOrder(p, judged)
		return nil
	}
	for _, line := range judgedLines(o.theme(), p, r, judged) {
		o.say("%s", line)
	}
	if r.Running != nil {
		o.say("  %s%s", text.PadRight("Running", labelCells), text.PadLeft(record.FormatRunning(*r.Running), valueCells))
	}
	return nil
}

// outOfOrder says the readings that are out of band or near its edge.
func (o *recordRound) outOfOrder(p *plant.Plant, judged []assess.Judged) {
	for _, j := range judged {
		if s := ui.StateOf(string(j.State)); s == ui.Near || s == ui.Out {
			o.say("%s", judgedLine(o.theme(), j, quantity.System(p.Site.Units)))
		}
	}
}
