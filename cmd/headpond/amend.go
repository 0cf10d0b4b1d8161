package main

import (
	"context"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/text"
)

type amend struct {
	*command
	why, by string
	yes     bool
}

func amendCommand(c *command) *cobra.Command {
	o := &amend{command: c}
	cmd := &cobra.Command{
		Use:   "amend ID key=value ... --why TEXT",
		Short: "Correct an entry; the old value stays in the book",
		Long: prose("Correct a round, an event or upkeep done. The keys are the columns of the entry; the value - withdraws a reading. The beginning of an id is enough, from six characters. The old value, who corrected it, when and why stay to be seen.",
			"  headpond amend 01KACFK0J0TE volts=241 --why \"typed 2411\" --by Imke"),
		Args: usageArgs(cobra.MinimumNArgs(2), "the id of an entry and key=value"),
		RunE: func(cmd *cobra.Command, args []string) error { return o.run(cmd.Context(), args[0], args[1:]) },
	}
	cmd.Flags().StringVar(&o.why, "why", "", "the reason, which stays with the correction (needed)")
	cmd.Flags().StringVar(&o.by, "by", "", "who corrects it")
	cmd.Flags().BoolVar(&o.yes, "yes", false, "keep values that are not plausible without asking")
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

func (o *amend) validate(args []string) (pairs []pair, err error) {
	if strings.TrimSpace(o.why) == "" {
		return nil, usagef("--why is missing; expected the reason, such as --why \"misread the gauge\"; %s", nothingChanged)
	}
	if o.why, err = record.CleanText("--why", o.why); err != nil {
		return nil, fieldUsage(err)
	}
	if o.by, err = record.CleanText("--by", o.by); err != nil {
		return nil, fieldUsage(err)
	}
	return parsePairs(args)
}

func (o *amend) run(ctx context.Context, id string, args []string) error {
	pairs, err := o.validate(args)
	if err != nil {
		return err
	}
	s, err := o.write(ctx)
	if err != nil {
		return err
	}
	entry, err := s.book.Entry(ctx, id)
	if err != nil {
		return err
	}
	changes, questions, err := s.changes(entry, pairs)
	if err != nil {
		return err
	}
	if _, err := o.confirm(ctx, questions, o.yes, false); err != nil {
		return err
	}
	saved, err := s.book.Amend(ctx, entry.ID, changes, o.why, o.by, "")
	if err != nil {
		return err
	}
	o.cautions(saved.Cautions)
	return o.report(s, entry.ID, saved.Entry)
}

// amendFacts is a correction in JSON, our addition to the contract.
type amendFacts struct {
	ID      string       `json:"id"` // of the corrected entry
	Changes []changeFact `json:"changes"`
}

// changeFact is one key's correction.
type changeFact struct {
	Amendment string `json:"amendment"`
	Key       string `json:"key"`
	Old       string `json:"old,omitempty"` // absent where it was not read
	New       string `json:"new,omitempty"` // absent where it was withdrawn
	By        string `json:"by,omitempty"`
	At        string `json:"at"`
	Why       string `json:"why"`
}

func (s *session) changeFacts(list []record.Change) []changeFact {
	var out []changeFact
	for _, c := range list {
		out = append(out, changeFact{c.Amendment, c.Key, c.Old, c.New, c.By, jsonTime(c.At, s.loc), c.Why})
	}
	return out
}

func (o *amend) report(s *session, id string, changes []record.Change) error {
	if o.json {
		return o.printJSON(amendFacts{ID: id, Changes: s.changeFacts(changes)})
	}
	for _, c := range changes {
		o.say("Corrected: %s of %s: %s", c.Key, id, changeWords(c))
	}
	return nil
}

// changeWords says what a correction did: "2411, now 241".
func changeWords(c record.Change) string {
	was, is := "not read", "withdrawn"
	if c.Old != "" {
		was = text.Show(c.Old)
	}
	if c.New != "" {
		is = "now " + text.Show(c.New)
	}
	return "was " + was + ", " + is
}

// changes brings what was typed into the columns' own text, and lists the values that are not plausible.
func (s *session) changes(e logbook.Entry, pairs []pair) (map[string]string, []assess.Question, error) {
	changes := map[string]string{}
	pairs, typed, hasTime := take(pairs, record.ColTime)
	if hasTime {
		t, err := s.moment(typed)
		if err != nil {
			return nil, nil, err
		}
		changes[record.ColTime] = record.TimeText(t)
	}
	for _, p := range pairs {
		if strings.TrimSpace(p.value) == "" {
			return nil, nil, usagef("%s has no value; expected one, or %s=- to withdraw it; %s", p.key, p.key, nothingChanged)
		}
	}
	var questions []assess.Question
	var err error
	switch {
	case e.Round != nil:
		questions, err = s.roundChanges(e, pairs, changes)
	case e.Event != nil:
		err = s.eventChanges(e, pairs, changes)
	case e.Done != nil:
		err = s.doneChanges(*e.Done, pairs, changes)
	default: // a correction or a plant: the book says why it cannot be corrected
		for _, p := range pairs {
			changes[p.key] = p.value
		}
	}
	return changes, questions, err
}

// roundChanges reads the columns of a round as headpond record does.
func (s *session) roundChanges(e logbook.Entry, pairs []pair, changes map[string]string) ([]assess.Question, error) {
	p := s.plantAt(e.Time)
	if p == nil {
		return nil, s.errNoPlant()
	}
	units, next := p.UnitIDs(), record.Round{Time: e.Time}
	for _, x := range pairs {
		if _, extra := e.Round.Extra[x.key]; extra {
			changes[x.key] = x.value
			continue
		}
		key, err := roundColumn(x.key, units)
		if err != nil {
			return nil, err
		}
		if strings.TrimSpace(x.value) == logbook.Withdrawn {
			changes[key] = logbook.Withdrawn
			continue
		}
		if err := next.Set(key, x.value, units, quantity.Metric); err != nil {
			return nil, fieldUsage(err)
		}
		changes[key] = next.Text(key)
	}
	return assess.Questions(p, next), nil
}

// roundColumn gives a column as the catalogue spells it.
func roundColumn(key string, units []string) (string, error) {
	switch low := strings.ToLower(key); low {
	case record.ColBy, record.ColNote, record.ColRunning:
		return low, nil
	}
	k, _, err := quantity.ParseKey(key, units)
	if err != nil {
		return "", usagef("%w; %s", err, nothingChanged)
	}
	return string(k), nil
}

// eventChanges reads the columns of an event as headpond event does; its kind may be corrected too.
func (s *session) eventChanges(e logbook.Entry, pairs []pair, changes map[string]string) error {
	p := s.plantAt(e.Time)
	if p == nil {
		return s.errNoPlant()
	}
	for _, x := range pairs {
		key, next := strings.ToLower(x.key), *e.Event
		switch {
		case key == record.ColKind:
			kind, err := record.ParseEventKind(x.value)
			if err != nil {
				return fieldUsage(err)
			}
			changes[key] = string(kind)
			continue
		case strings.TrimSpace(x.value) == logbook.Withdrawn:
			changes[key] = logbook.Withdrawn
			continue
		}
		if err := next.Set(key, x.value, p); err != nil {
			return fieldUsage(err)
		}
		changes[key] = next.Text(key)
	}
	return nil
}

// doneChanges takes the columns of upkeep done.
func (s *session) doneChanges(d record.Done, pairs []pair, changes map[string]string) error {
	for _, x := range pairs {
		key := strings.ToLower(x.key)
		if key == record.ColTime || !slices.Contains(d.Columns(), key) {
			return unknownKey(x.key, "upkeep done", d.Columns())
		}
		if key == record.ColTask && x.value != logbook.Withdrawn && d.Walk == nil {
			p := s.plantAt(d.Time)
			if p == nil {
				return s.errNoPlant()
			}
			task, err := findTask(p, x.value)
			if err != nil {
				return err
			}
			x.value = task
		}
		value, err := d.Canonical(key, x.value)
		if err != nil {
			return fieldUsage(err)
		}
		changes[key] = value
	}
	return nil
}
