package main

import (
	"context"

	"github.com/spf13/cobra"

	"example.org/headpond/model/assess"
	"example.org/headpond/tui/ballast"
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
	s, h, err := c.readPlanted(ctx)
	if err != nil {
		return err
	}
	r := ballast.ReportOf(assess.Of(h))
	if r.Err != nil {
		return r.Err
	}
	r.Facts.Cautions = append(r.Facts.Cautions, h.Cautions...)
	if c.json {
		return c.printJSON(r.Facts)
	}
	c.ballastText(s, r)
	return nil
}
