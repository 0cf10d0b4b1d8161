package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"example.org/headpond/model/checklist"
	"example.org/headpond/tui/ui/text"
	"example.org/headpond/tui/upkeepview"
)

type checklists struct {
	*command
	toml bool
}

func checklistCommand(c *command) *cobra.Command {
	o := &checklists{command: c}
	cmd := c.reporting(&cobra.Command{
		Use:   "checklist [NAME]",
		Short: "The checklists: starting, stopping, after a trip, clearing the screen; one by its name, for paper",
		Long: prose(
			"Prints one checklist with its cautions first and a box for each step; without a name, which lists there are. On the Upkeep screen a list is walked step by step, and what came of each step is kept in the log.",
			"The built-in lists are a beginning in plain words. To alter one, print it with --toml, put it into the plant's file, and load that again. They support, and never replace, the papers of the installer and the makers, the local electrical code, the water permit, and licensed electricians and engineers."),
		Args: usageArgs(cobra.ArbitraryArgs, "a checklist's name, or nothing"),
		RunE: func(cmd *cobra.Command, args []string) error { return o.run(cmd.Context(), strings.Join(args, " ")) },
	})
	cmd.Flags().BoolVar(&o.toml, "toml", false, "print it as the plant's file holds it")
	return cmd
}

// checklistFacts is checklist in JSON without a name, our addition to the contract.
type checklistFacts struct {
	Checklists []checklist.List `json:"checklists"`
}

func (o *checklists) run(ctx context.Context, typed string) error {
	if o.json && o.toml {
		return usagef("--json and --toml stand together; expected one of the two; %s", nothingChanged)
	}
	s, err := o.read(ctx)
	if err != nil {
		return err
	}
	at, err := s.at()
	if err != nil {
		return err
	}
	p := s.plantAt(at)
	if p == nil {
		return s.errNoPlant()
	}
	lists := checklist.Lists(p)
	if typed == "" {
		return o.all(lists)
	}
	l, err := checklist.Find(lists, typed)
	var name *checklist.NameError
	if errors.As(err, &name) {
		return usagef("%w; %s", err, nothingChanged)
	}
	switch {
	case o.json:
		return o.printJSON(l)
	case o.toml:
		o.block(checklist.TOML([]checklist.List{l}))
	default:
		o.block(upkeepview.ListText(l, o.columns()))
	}
	return nil
}

// all tells of every list.
func (o *checklists) all(lists []checklist.List) error {
	switch {
	case o.json:
		return o.printJSON(checklistFacts{lists})
	case o.toml:
		o.block(checklist.TOML(lists))
		return nil
	}
	for _, l := range lists {
		name, origin := string(l.For), "from the plant's file"
		if name == "" {
			name = l.Name
		}
		if l.BuiltIn {
			origin = "built in"
		}
		title := text.Show(l.Name)
		if l.Unit != "" {
			title += ", unit " + text.Show(l.Unit)
		}
		o.say("%s  %s", text.PadRight(text.Show(name), 12), fmt.Sprintf("%s: %d steps, %s", title, len(l.Steps), origin))
	}
	return nil
}

// completeChecklists offers the lists' occasions and names.
func completeChecklists(_ context.Context, s *session, _ []string, _ string) []string {
	var out []string
	for _, l := range checklist.Lists(s.plant) {
		if l.For != "" {
			out = append(out, string(l.For))
			continue
		}
		out = append(out, l.Name)
	}
	return out
}
