package main

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/text"
)

type recordEvent struct{ *command }

func eventCommand(c *command) *cobra.Command {
	o := &recordEvent{c}
	var kinds []string
	for _, k := range record.EventKinds() {
		kinds = append(kinds, string(k))
	}
	cmd := &cobra.Command{
		Use:   "event KIND [key=value ...]",
		Short: "Write down what happened between rounds: a start, a trip, a dead element",
		Long: prose("Write down what happened between rounds: "+strings.Join(kinds, ", ")+".",
			"Keys: time, by, note; unit (start, stop, trip, alarm, repair); element (element-out, element-back); cause. A start needs its unit; a stop or trip without one is of all.",
			"  headpond event trip unit=A cause=\"overspeed\" time=06:40 by=Ro"),
		Args:      usageArgs(cobra.MinimumNArgs(1), "a kind ("+strings.Join(kinds, ", ")+") and key=value"),
		ValidArgs: kinds,
		RunE:      func(cmd *cobra.Command, args []string) error { return o.run(cmd.Context(), args[0], args[1:]) },
	}
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

// eventFacts is an event in JSON, our addition to the contract.
type eventFacts struct {
	ID      string   `json:"id"`
	Time    string   `json:"time"`
	Event   string   `json:"event"`
	Unit    []string `json:"unit,omitempty"`
	Element string   `json:"element,omitempty"`
	Cause   string   `json:"cause,omitempty"`
	By      string   `json:"by,omitempty"`
	Note    string   `json:"note,omitempty"`

	WrittenAt string       `json:"written_at,omitempty"`
	Changes   []changeFact `json:"changes,omitempty"`
}

func (o *recordEvent) run(ctx context.Context, kind string, args []string) error {
	pairs, err := parsePairs(args)
	if err != nil {
		return err
	}
	k, err := record.ParseEventKind(kind)
	if err != nil {
		return fieldUsage(err)
	}
	s, err := o.write(ctx)
	if err != nil {
		return err
	}
	if err := s.needPlant(); err != nil {
		return err
	}
	e, err := s.event(k, pairs)
	if err != nil {
		return err
	}
	if e.Time, err = o.confirmTime(ctx, s, e.Time, false); err != nil {
		return err
	}
	saved, err := s.book.AddEvent(ctx, e, "")
	if err != nil {
		return err
	}
	e = saved.Entry
	o.cautions(append(saved.Cautions, s.future(e.Time)...))
	if o.json {
		return o.printJSON(s.eventFacts(e))
	}
	o.say("Saved: %s of %s%s, id %s", eventWords(e), shortTime(e.Time, s.loc), byWords(e.By), e.ID)
	return nil
}

// event reads the pairs into an event and looks at what its kind needs.
func (s *session) event(kind record.EventKind, pairs []pair) (record.Event, error) {
	e := record.Event{Kind: kind, Time: s.now()}
	pairs, typed, _ := take(pairs, record.ColTime)
	if strings.TrimSpace(typed) != "" {
		var err error
		if e.Time, err = s.moment(typed); err != nil {
			return e, err
		}
	}
	p := s.plantAt(e.Time)
	for _, x := range pairs {
		if err := e.Set(x.key, x.value, p); err != nil {
			return e, fieldUsage(err)
		}
		if err := fits(kind, strings.ToLower(strings.TrimSpace(x.key))); err != nil {
			return e, err
		}
	}
	return e, fieldUsage(e.Check())
}

// fits refuses a key that says nothing in an event of this kind, such as the ballast element of a trip.
func fits(kind record.EventKind, key string) error {
	element := kind == record.ElementOut || kind == record.ElementIn
	switch {
	case key == record.ColUnit && (element || kind == record.NoteEvent):
		return usagef("unit says nothing in an event of the kind %s; it is for start, stop, trip, alarm and repair; %s", kind, nothingChanged)
	case key == record.ColElement && !element:
		return usagef("element says nothing in an event of the kind %s; it is for element-out and element-back; %s", kind, nothingChanged)
	}
	return nil
}

func (s *session) eventFacts(e record.Event) eventFacts {
	return eventFacts{ID: e.ID, Time: jsonTime(e.Time, s.loc), Event: string(e.Kind), Unit: e.Units, Element: e.Element,
		Cause: e.Cause, By: e.By, Note: e.Note, WrittenAt: jsonTime(e.WrittenAt, s.loc), Changes: s.changeFacts(e.Changes)}
}

// eventWords says what happened to what: "trip of A (overspeed)".
func eventWords(e record.Event) string {
	words := text.Show(e.What())
	if e.Cause != "" {
		words += " (" + text.Show(e.Cause) + ")"
	}
	return words
}
