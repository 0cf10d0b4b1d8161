package main

import (
	"context"

	"github.com/spf13/cobra"

	"example.org/headpond/tui/ui/text"
)

func mergeCommand(c *command) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "merge FILE",
		Short: "Take the entries of another copy of the book, or of a package, into this one; nothing is doubled or lost",
		Args:  usageArgs(cobra.ExactArgs(1), "another book or a package"),
		RunE:  func(cmd *cobra.Command, args []string) error { return c.merge(cmd.Context(), args[0]) },
	}
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

// mergeFacts is what a merge did, in JSON; our addition to the contract.
type mergeFacts struct {
	Added   int `json:"added"`
	Already int `json:"already"`
}

func (c *command) merge(ctx context.Context, other string) error {
	s, err := c.write(ctx)
	if err != nil {
		return err
	}
	take := s.book.Merge
	if isPackage(other) {
		take = func(ctx context.Context, path string) (int, int, error) { return c.mergePackage(ctx, s, path) }
	}
	added, already, err := take(ctx, other)
	if err != nil {
		return err
	}
	if c.json {
		return c.printJSON(mergeFacts{added, already})
	}
	c.say("%d %s of %s %s added, %d %s here already.", added, plural(added, "entry", "entries"), text.Show(other), plural(added, "was", "were"), already, plural(already, "was", "were"))
	return nil
}
