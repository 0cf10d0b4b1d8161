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
	if err := mustExist(from); err != nil {
		return err
	}
	o, err := c.writing(c.local)
	if err != nil {
		return err
	}
	r, err := logbook.Restore(ctx, from, c.bookPath(), o)
	if err != nil {
		return err
	}
	if c.json {
		return c.printJSON(copyFacts{File: c.bookPath(), Entries: r.Report.Entries, Kept: r.Kept, Saved: r.Saved})
	}
	copied := r.Report.Entries - r.Saved
	c.say("%s holds the %d %s of %s now.", text.Show(c.bookPath()), copied, plural(copied, "entry", "entries"), text.Show(from))
	if r.Kept != "" {
		c.say("The book that was there is kept as %s", text.Show(r.Kept))
	}
	if r.Saved > 0 {
		c.say("It was damaged. %d %s of it that the copy lacked %s taken over as well.", r.Saved,
			plural(r.Saved, "whole entry", "whole entries"), plural(r.Saved, "was", "were"))
	}
	return nil
}
