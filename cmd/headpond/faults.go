package main

import (
	"context"

	"github.com/spf13/cobra"

	"example.org/headpond/model/faults"
	"example.org/headpond/tui/faultview"
)

func faultsCommand(c *command) *cobra.Command {
	return c.reporting(&cobra.Command{
		Use:   "faults",
		Short: "Which causes explain the readings, likeliest first, and what to look at next",
		Long: prose(
			"Ranks the causes that explain the readings since the last healthy stretch, with the evidence for and against each, its size, what tells it from its rivals, and the first safe step.",
			"It says plainly when nothing is wrong, and when the readings cannot tell. The probabilities are estimates from hand readings: they support, and never replace, protection relays and licensed electricians and engineers."),
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return c.faults(cmd.Context()) },
	})
}

func (c *command) faults(ctx context.Context) error {
	s, h, err := c.readPlanted(ctx)
	if err != nil {
		return err
	}
	f, err := faults.Report(ctx, h, faults.Options{})
	if err != nil {
		return err
	}
	if c.json {
		return c.printJSON(f)
	}
	c.block(faultview.Text(faultview.Report{Facts: f}, c.common(s), c.columns()))
	return nil
}
