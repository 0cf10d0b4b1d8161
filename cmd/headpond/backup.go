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
	list    bool
	keep    string
}

func backupCommand(c *command) *cobra.Command {
	o := &backup{command: c}
	cmd := &cobra.Command{
		Use:   "backup FILE",
		Short: "Copy the book, also while it is in use; the copy is verified",
		Long: prose("Copy the book to FILE, also while it is in use. The copy is verified before it gets its name.",
			"Headpond keeps copies by itself too: the last four, and one of each of the last five weeks and twelve months, in a folder beside the book. They are made at most twice a day, when something was written. With --keep they are kept in a second folder as well, such as one on a memory stick: it is written to whenever it is there, and Now says when that was not so for a week.",
			"  headpond backup --keep /media/stick/headpond\n  headpond backup --keep none"),
		Args: o.args,
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case o.list:
				return o.listCopies(cmd.Context())
			case cmd.Flags().Changed("keep"):
				return o.keepIn(cmd.Context(), o.keep)
			}
			return o.run(cmd.Context(), args[0])
		},
	}
	cmd.Flags().BoolVar(&o.replace, "replace", false, "put the copy in the place of a file of that name")
	cmd.Flags().StringVar(&o.keep, "keep", "", "keep copies in the `FOLDER` as well from now on; none for no longer")
	cmd.Flags().BoolVar(&o.list, "list", false, "say where copies are kept and how old the last ones are")
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

// args demands one file name, or none where a flag says what is to be done.
func (o *backup) args(cmd *cobra.Command, args []string) error {
	if keep := cmd.Flags().Changed("keep"); keep || o.list {
		switch {
		case keep && o.list, o.replace:
			return usagef("--keep and --list stand alone; %s", nothingChanged)
		case keep && o.keep == "":
			return usagef("--keep needs the name of a folder, or none; %s", nothingChanged)
		}
		return noArgs(cmd, args)
	}
	return usageArgs(cobra.ExactArgs(1), "the name of the copy")(cmd, args)
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
	if kept, err := o.copyStatus(ctx, b, o.local); err == nil && kept != nil && kept.Away() != "" {
		o.say("%s.", text.Show(kept.Away()))
	}
	return nil
}

// copyFacts is what a copy holds, in JSON; our addition to the contract.
type copyFacts struct {
	File    string `json:"file"`
	Entries int    `json:"entries"`
	Kept    string `json:"kept,omitempty"`     // where a replaced book lies
	Saved   int    `json:"saved,omitempty"`    // entries of the book that was there, that the copy lacked and that are kept
	Added   int    `json:"added,omitempty"`    // entries of the copy that the sound book that was there lacked
	Left    int    `json:"left_out,omitempty"` // entries that the replaced book alone holds
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
