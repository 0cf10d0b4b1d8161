package main

import (
	"context"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/model/assess"
	"example.org/headpond/model/water"
)

func nowCommand(c *command) *cobra.Command {
	return c.reporting(&cobra.Command{
		Use:   "now",
		Short: "The plant at a glance: what the Now screen shows",
		Args:  noArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return c.printNow(cmd.Context()) },
	})
}

func (c *command) printNow(ctx context.Context) error {
	s, h, err := c.readHistory(ctx, logbook.HistoryOptions{Upkeep: true})
	if err != nil {
		return err
	}
	a := assess.Of(h)
	n := c.withCopies(ctx, s, a.Now())
	o := water.Options{}
	if n.Running != nil { // Now tells of the way in force alone; it is the same forecast as the Water screen's
		o.Ways = []water.Choice{{Run: n.Running}}
	}
	w, waterErr := a.Water(ctx, o)
	if err := ctx.Err(); err != nil {
		return err
	}
	if waterErr == nil {
		n = n.WithWater(w)
	} else {
		n.Cautions = append(n.Cautions, "water: "+waterErr.Error())
	}
	if c.json {
		return c.printJSON(n)
	}
	return c.nowText(s, n, waterErr)
}
