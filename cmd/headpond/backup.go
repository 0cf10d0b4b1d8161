package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/tui/ui/text"
)

type backup struct {
	*command
	replace bool
}

func backupCommand(c *command) *cobra.Command {
	o := &backup{command: c}
	cmd := &cobra.Command{
		Use:   "backup FILE",
		Short: "Copy the book, also while it is in use; the copy is verified",
		Args:  usageArgs(cobra.ExactArgs(1), "the name of the copy"),
		RunE:  func(cmd *cobra.Command, args []string) error { return o.run(cmd.Context(), args[0]) },
	}
	cmd.Flags().BoolVar(&o.replace, "replace", false, "put the copy in the place of a file of that name")
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

func (o *backup) run(ctx context.Context, dst string) error {
	b, err := logbook.Open(o.bookPath(), o.bookOptions(o.local))
	if err != nil {
		return err
	}
	r, err := b.Backup(ctx, dst, o.replace)
	if err != nil {
		if errors.Is(err, logbook.ErrExists) && !o.replace {
			return fmt.Errorf("%w (--replace puts the copy in its place)", err)
		}
		return err
	}
	if o.json {
		return o.printJSON(copyFacts{File: dst, Entries: r.Entries})
	}
	o.say("%s holds all %d %s, verified.", text.Show(dst), r.Entries, plural(r.Entries, "entry", "entries"))
	return nil
}

// copyFacts is what a copy holds, in JSON; our addition to the contract.
type copyFacts struct {
	File    string `json:"file"`
	Entries int    `json:"entries"`
	Kept    string `json:"kept,omitempty"`  // where a replaced book lies
	Saved   int    `json:"saved,omitempty"` // entries of a damaged book that the copy lacked
}

// bytesWords writes a size for people.
func bytesWords(n int64) string {
	switch {
	case n >= 10<<20:
		return fmt.Sprintf("%.0f MiB", float64(n)/(1<<20))
	case n >= 1<<20:
		return fmt.Sprintf("%.1f MiB", float64(n)/(1<<20))
	}
	return fmt.Sprintf("%.0f KiB", float64(n)/(1<<10))
}
