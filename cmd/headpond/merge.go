package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/tui/ui/text"
)

func mergeCommand(c *command) *cobra.Command {
	yes := false
	cmd := &cobra.Command{
		Use:   "merge FILE",
		Short: "Take the entries of another copy of the book, or of a package, into this one; nothing is doubled or lost",
		Args:  usageArgs(cobra.ExactArgs(1), "another book or a package"),
		RunE:  func(cmd *cobra.Command, args []string) error { return c.merge(cmd.Context(), args[0], yes) },
	}
	cmd.Flags().BoolVar(&yes, "yes", false, "take the log of another plant too")
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

// mergeFacts is what a merge did, in JSON; our addition to the contract.
type mergeFacts struct {
	Added   int `json:"added"`
	Already int `json:"already"`

	Conflicts *conflicts `json:"conflicts,omitempty"`
}

func (c *command) merge(ctx context.Context, other string, yes bool) error {
	if err := mustExist(other); err != nil {
		return err
	}
	s, err := c.write(ctx)
	if err != nil {
		return err
	}
	mine, err := entryIDs(ctx, s.book.Entries)
	if err != nil {
		return err
	}
	take := c.mergeBook
	if isPackage(other) {
		take = c.mergePackage
	}
	added, already, err := take(ctx, s, other, yes)
	if err != nil {
		return err
	}
	f := mergeFacts{Added: added, Already: already}
	if added > 0 {
		if f.Conflicts, err = c.mergeConflicts(ctx, s, mine, other); err != nil {
			return fmt.Errorf("all is merged, but whether both say different things of one moment could not be looked at: %w", err)
		}
	}
	if c.json {
		return c.printJSON(f)
	}
	c.say("%d %s of %s %s added, %d %s here already.", added, plural(added, "entry", "entries"), text.Show(other), plural(added, "was", "were"), already, plural(already, "was", "were"))
	if f.Conflicts != nil {
		c.tellConflicts(*f.Conflicts)
	}
	return nil
}

// mergeConflicts looks for what the merge brought together; nil where there is nothing to tell.
func (c *command) mergeConflicts(ctx context.Context, s *session, mine map[string]bool, other string) (*conflicts, error) {
	theirs, err := c.foreignIDs(ctx, other)
	if err != nil {
		return nil, err
	}
	h, err := s.history(ctx, logbook.HistoryOptions{All: true})
	if err != nil {
		return nil, err
	}
	f := findConflicts(h, mine, theirs)
	if len(f.Corrections)+len(f.Rounds) == 0 {
		return nil, nil
	}
	return &f, nil
}

// mergeBook is merge for a book.
func (c *command) mergeBook(ctx context.Context, s *session, path string, yes bool) (added, already int, err error) {
	if yes {
		return s.book.Merge(ctx, path)
	}
	other, err := logbook.Open(path, c.bookOptions(c.local))
	if err != nil {
		return 0, 0, err
	}
	revisions, err := other.Revisions(ctx)
	if err != nil {
		return 0, 0, err
	}
	f := foreignLog{path: path, verb: "merge --yes", entries: other.Entries}
	for _, r := range revisions {
		f.sites = append(f.sites, r.Plant.Site.Name)
	}
	if err := samePlant(ctx, s.book, f); err != nil {
		return 0, 0, err
	}
	return s.book.Merge(ctx, path)
}
