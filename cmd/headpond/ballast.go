package main

import (
	"context"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
)

func ballastCommand(c *command) *cobra.Command {
	return c.reporting(&cobra.Command{
		Use:   "ballast",
		Short: "How much ballast and load room there is, and what happens if all consumers drop off",
		Args:  noArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return c.ballast(cmd.Context()) },
	})
}

func (c *command) ballast(ctx context.Context) error {
	s, err := c.read(ctx)
	if err != nil {
		return err
	}
	h, err := s.history(ctx, logbook.HistoryOptions{})
	if err != nil {
		return err
	}
	if h.Plant == nil {
		return s.errNoPlant()
	}
	f, err := assess.Of(h).Ballast()
	if err != nil {
		return err
	}
	f.Cautions = append(f.Cautions, h.Cautions...)
	if c.json {
		return c.printJSON(f)
	}
	return c.ballastText(s, h, f)
}
