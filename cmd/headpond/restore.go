package main

import (
	"context"
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/copies"
	"example.org/headpond/tui/ui/text"
)

func restoreCommand(c *command) *cobra.Command {
	replace := false
	cmd := &cobra.Command{
		Use:   "restore FILE",
		Short: "Put a copy of the book back; what the book that was there holds beyond it stays",
		Long: prose("Put a copy of the book back, for instance where the book is lost or damaged. The copy is verified first. Every whole entry of the book that is there and that the copy lacks is kept, and the file that was there stays beside it under a name with the date, unless nothing had to be changed.",
			"With --replace the book is what the copy holds, no more and no less, such as to undo a merge or an import. What was written since is in the file that is kept beside it, and headpond merge brings it back.",
			"The copy of another plant's book is refused unless --replace says so."),
		Args: usageArgs(cobra.ExactArgs(1), "a backup"),
		RunE: func(cmd *cobra.Command, args []string) error { return c.restore(cmd.Context(), args[0], replace) },
	}
	cmd.Flags().BoolVar(&replace, "replace", false, "the copy alone: leave out what the book that is there holds beyond it")
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

func (c *command) restore(ctx context.Context, from string, replace bool) error {
	if err := mustExist(from); err != nil {
		return err
	}
	if err := c.notFolder(from); err != nil {
		return err
	}
	o, err := c.writing(c.local)
	if err != nil {
		return err
	}
	put := logbook.Replace
	if !replace {
		if err := c.ownPlant(ctx, from); err != nil {
			return err
		}
		put = logbook.Restore
	}
	r, err := put(ctx, from, c.bookPath(), o)
	if err != nil {
		return err
	}
	if c.json {
		return c.printJSON(copyFacts{File: c.bookPath(), Entries: r.Report.Entries, Kept: r.Kept, Saved: r.Saved, Added: r.Added, Left: r.Left})
	}
	c.restoreText(from, r, replace)
	return nil
}

// restoreText says what the book holds now, and where everything else is.
func (c *command) restoreText(from string, r logbook.Restored, replace bool) {
	copied := r.Report.Entries - r.Saved
	c.say("%s holds the %d %s of %s now.", text.Show(c.bookPath()), copied, plural(copied, "entry", "entries"), text.Show(from))
	switch {
	case r.Whole && !replace && r.Added == 0:
		c.say("It held all of them before: nothing was changed.")
	case r.Whole && !replace:
		c.say("%d of these it had lacked.", r.Added)
	}
	if r.Kept != "" {
		c.say("The book that was there is kept as %s", text.Show(r.Kept))
	}
	switch {
	case r.Saved > 0 && r.Whole:
		c.say("%d %s of the book that was there, which the copy lacks, %s as well. For the copy alone: headpond restore --replace %s", r.Saved,
			plural(r.Saved, "entry", "entries"), plural(r.Saved, "stays", "stay"), text.Show(from))
	case r.Saved > 0:
		c.say("It was damaged. %d %s of it that the copy lacked %s taken over as well.", r.Saved,
			plural(r.Saved, "whole entry", "whole entries"), plural(r.Saved, "was", "were"))
	case r.Left > 0:
		c.say("%d %s of it, which the copy lacks, %s in that file alone; to bring %s back: headpond merge %s", r.Left, plural(r.Left, "entry", "entries"),
			plural(r.Left, "is", "are"), plural(r.Left, "it", "them"), text.Show(r.Kept))
	}
}

// notFolder refuses a folder, and says which copy in it is the newest.
func (c *command) notFolder(path string) error {
	info, err := os.Stat(path)
	if err != nil || !info.IsDir() {
		return nil
	}
	if k, ok := copies.Newest(path, c.bookPath()); ok {
		return fmt.Errorf("%s: it is a folder and no file; %s. The newest copy in it is %s: %s", path, nothingChanged, c.copyWords(k), c.restoreLine(k.Path))
	}
	return fmt.Errorf("%s: it is a folder and no file, and no whole copy of a book that Headpond made by itself is in it; expected the name of a backup; %s", path, nothingChanged)
}

// ownPlant refuses the copy of another plant's book, as merge does. Where one of the two cannot tell its plant there is nothing to
// compare, and what is wrong with a copy is said when it is put back.
func (c *command) ownPlant(ctx context.Context, from string) error {
	own, err := logbook.Open(c.bookPath(), c.bookOptions(c.local))
	if err != nil {
		return nil
	}
	other, err := logbook.Open(from, c.bookOptions(c.local))
	if err != nil {
		return nil
	}
	revisions, err := other.Revisions(ctx)
	if err != nil {
		return nil
	}
	f := foreignLog{path: from, verb: "restore --replace", damaged: true, entries: other.Entries}
	for _, r := range revisions {
		f.sites = append(f.sites, r.Plant.Site.Name)
	}
	var foreign *otherPlantError
	if err := samePlant(ctx, own, f); errors.As(err, &foreign) {
		return err
	}
	return ctx.Err()
}
