package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/text"
)

func upkeepCommand(c *command) *cobra.Command {
	cmd := c.reporting(&cobra.Command{
		Use:   "upkeep",
		Short: "Which tasks are due; upkeep done TASK writes one down as done",
		Args:  usageArgs(cobra.NoArgs, "no further words, or done and a task"),
		RunE:  func(cmd *cobra.Command, _ []string) error { return c.upkeep(cmd.Context()) },
	})
	cmd.AddCommand(upkeepDoneCommand(c))
	return cmd
}

func (c *command) upkeep(ctx context.Context) error {
	s, h, err := c.readHistory(ctx, logbook.HistoryOptions{Upkeep: true})
	if err != nil {
		return err
	}
	f := upkeep.Report(h)
	c.cautions(h.Cautions)
	if c.json {
		return c.printJSON(f)
	}
	if len(f.Tasks) == 0 {
		c.say("The plant's description lists no upkeep tasks ([[upkeep]]).")
	}
	for _, t := range f.Tasks {
		c.upkeepLine(s, f, t)
	}
	return nil
}

// upkeepLine says how one task stands, the most urgent in the strongest look.
func (c *command) upkeepLine(s *session, f upkeep.Facts, t upkeep.Task) {
	theme, state, word := c.theme(), ui.Unjudged, string(t.State)
	switch t.State {
	case upkeep.Overdue:
		state, word = ui.Out, word+" "+ui.Out.Sign()
	case upkeep.Due:
		state, word = ui.Near, word+" "+ui.Near.Sign()
	case upkeep.OK:
	}
	last := "never done"
	if t.Last != nil {
		last = "last done " + shortTime(*t.Last, s.loc) + byWords(t.LastBy)
	}
	when := ""
	switch {
	case t.DueHours != nil:
		when = fmt.Sprintf("%.0f running hours left", *t.DueHours)
		if *t.DueHours < 0 {
			when = fmt.Sprintf("%.0f running hours over", -*t.DueHours)
		}
	case t.DueTime != nil:
		when = assess.Span(t.DueTime.Sub(f.At)) + " left"
		if t.DueTime.Before(f.At) {
			when = assess.Span(f.At.Sub(*t.DueTime)) + " over"
		}
	}
	c.say("%s  %s: %s; %s", theme.State(state).Render(text.PadRight(word, 10)), text.Show(t.Task), when, last)
	if t.Caution != "" {
		c.say("%s  %s", text.PadRight("", 10), t.Caution)
	}
}

type upkeepDone struct {
	*command
	time, by, note string
}

func upkeepDoneCommand(c *command) *cobra.Command {
	o := &upkeepDone{command: c}
	cmd := &cobra.Command{
		Use:   "done TASK",
		Short: "Write down that a task was done; a part of its name that only one task has is enough",
		Args:  usageArgs(cobra.MinimumNArgs(1), "a task of the plant's description"),
		RunE:  func(cmd *cobra.Command, args []string) error { return o.run(cmd.Context(), strings.Join(args, " ")) },
	}
	cmd.Flags().StringVar(&o.time, "time", "", "when it was done (default: now)")
	cmd.Flags().StringVar(&o.by, "by", "", "who did it")
	cmd.Flags().StringVar(&o.note, "note", "", "what was found")
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

// doneFacts is upkeep done in JSON, our addition to the contract.
type doneFacts struct {
	ID   string `json:"id"`
	Time string `json:"time"`
	Task string `json:"task"`
	By   string `json:"by,omitempty"`
	Note string `json:"note,omitempty"`
}

func (o *upkeepDone) run(ctx context.Context, typed string) error {
	s, err := o.write(ctx)
	if err != nil {
		return err
	}
	if err := s.needPlant(); err != nil {
		return err
	}
	d := record.Done{Time: s.now()}
	if o.time != "" {
		if d.Time, err = s.moment(o.time); err != nil {
			return err
		}
	}
	if d.Task, err = findTask(s.plantAt(d.Time), typed); err != nil {
		return err
	}
	if d.By, err = record.CleanText("--by", o.by); err != nil {
		return fieldUsage(err)
	}
	if d.Note, err = record.CleanText("--note", o.note); err != nil {
		return fieldUsage(err)
	}
	saved, err := s.book.AddDone(ctx, d, "")
	if err != nil {
		return err
	}
	d = saved.Entry
	o.cautions(append(saved.Cautions, s.future(d.Time)...))
	if o.json {
		return o.printJSON(doneFacts{d.ID, jsonTime(d.Time, s.loc), d.Task, d.By, d.Note})
	}
	o.say("Saved: %s done %s%s, id %s", text.Show(d.Task), shortTime(d.Time, s.loc), byWords(d.By), d.ID)
	return nil
}

// findTask finds a task by its name or a part of it that no other task has; letter case does not matter.
func findTask(p *plant.Plant, typed string) (string, error) {
	want := strings.ToLower(strings.Join(strings.Fields(typed), " "))
	var names, found []string
	for _, t := range p.Upkeep {
		name := strings.ToLower(t.Task)
		if name == want {
			return t.Task, nil
		}
		names = append(names, t.Task)
		if want != "" && strings.Contains(name, want) {
			found = append(found, t.Task)
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		return "", usagef("%q may be %s; expected more of the name; %s", typed, strings.Join(found, " or "), nothingChanged)
	case len(names) == 0:
		return "", usagef("the plant's description lists no upkeep tasks; add them as [[upkeep]] and load it again; %s", nothingChanged)
	}
	hint := ""
	if n := quantity.Nearest(typed, names); n != "" {
		hint = "; did you mean " + n + "?"
	}
	return "", usagef("%q is no task of this plant (%s)%s; %s", typed, strings.Join(names, "; "), hint, nothingChanged)
}
