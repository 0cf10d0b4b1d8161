package main

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/model/checklist"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/tui/ui/text"
	"example.org/headpond/tui/upkeepview"
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
	c.block(upkeepview.Text(h, f, checklist.Lists(h.Plant), c.common(s), c.columns()))
	return nil
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
		task := upkeep.Name(p, t)
		name := strings.ToLower(task)
		if name == want {
			return task, nil
		}
		names = append(names, task)
		if want != "" && strings.Contains(name, want) {
			found = append(found, task)
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
