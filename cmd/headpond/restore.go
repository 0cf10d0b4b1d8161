package main

import (
	"context"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/tui/ui/text"
)

func restoreCommand(c *command) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "restore FILE",
		Short: "Put a copy of the book back; the book that was there is kept beside it",
		Args:  usageArgs(cobra.ExactArgs(1), "a backup"),
		RunE:  func(cmd *cobra.Command, args []string) error { return c.restore(cmd.Context(), args[0]) },
	}
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

func (c *command) restore(ctx context.Context, from string) error {
	o, err := c.writing(c.local)
	if err != nil {
		return err
	}
	r, err := logbook.Restore(ctx, from, c.bookPath(), o)
	if err != nil {
		return err
	}
	if c.json {
		return c.printJSON(copyFacts{File: c.bookPath(), Entries: r.Report.Entries, Kept: r.Kept})
	}
	c.say("%s holds the %d %s of %s now.", text.Show(c.bookPath()), r.Report.Entries, plural(r.Report.Entries, "entry", "entries"), text.Show(from))
	if r.Kept != "" {
		c.say("The book that was there is kept as %s", text.Show(r.Kept))
	}
	return nil
}
