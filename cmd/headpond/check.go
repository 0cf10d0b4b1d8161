package main

import (
	"context"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/copies"
	"example.org/headpond/tui/ui/text"
)

func checkCommand(c *command) *cobra.Command {
	rescue, clockRight := "", false
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Verify every entry of the book; exit status 1 where anything is not as it was written",
		Args:  noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if clockRight && (c.json || cmd.Flags().Changed("rescue")) {
				return usagef("--clock-right is a word of its own; expected it without --rescue and --json; %s", nothingChanged)
			}
			if cmd.Flags().Changed("rescue") {
				return c.rescue(cmd.Context(), rescue)
			}
			if clockRight {
				return c.trustClock(cmd.Context())
			}
			return c.check(cmd.Context())
		},
	}
	cmd.Flags().StringVar(&rescue, "rescue", "", "save every entry that is still whole into a new book, `FILE`; the damaged one is not changed")
	cmd.Flags().BoolVar(&clockRight, "clock-right", false, "say that this computer's clock is right, where an entry was written by one that was ahead: the caution about it ends, and the entry stays as it is")
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	return cmd
}

// trustClock takes the person's word for this computer's clock.
func (c *command) trustClock(ctx context.Context) error {
	s, err := c.write(ctx)
	if err != nil {
		return err
	}
	was, err := s.book.TrustClock(ctx)
	switch {
	case err != nil:
		return err
	case was.IsZero():
		c.say("No entry was written later than now, %s: there was nothing to say, and nothing was changed.", shortTime(s.now(), s.loc))
	default:
		c.say("The clock of this computer, %s, is taken as right. The entry that was written at %s stays as it is; where it is dated in the future, correct its time with headpond amend.", shortTime(s.now(), s.loc), shortTime(was, s.loc))
	}
	return nil
}

func (c *command) check(ctx context.Context) error {
	b, err := logbook.Open(c.bookPath(), c.bookOptions(c.local))
	if err != nil {
		return err
	}
	p := c.progress("checking")
	r, err := b.Check(ctx, p.step)
	p.end()
	if err != nil {
		return err
	}
	kept, err := c.copyStatus(ctx, b, c.local)
	if err != nil {
		kept = nil // the book may be too damaged to say; the report is what was asked for
		err = nil
	}
	if c.json {
		err = c.printJSON(checkFacts{r, kept})
	} else {
		c.checkText(r)
		c.copiesText(kept)
	}
	if err == nil && !r.Sound() {
		return quietError{}
	}
	return err
}

// checkFacts is the report in JSON. The state of the copies is our addition to the contract.
type checkFacts struct {
	*logbook.CheckReport
	Copies *copies.Status `json:"copies,omitempty"`
}

func (c *command) checkText(r *logbook.CheckReport) {
	c.say("%s: %d %s by %d %s, %d %s, %s, %.0f %% of it free", text.Show(c.bookPath()), r.Entries, plural(r.Entries, "entry", "entries"),
		r.Writers, plural(r.Writers, "writer", "writers"), r.Drafts, plural(r.Drafts, "draft", "drafts"), bytesWords(r.FileBytes), 100*r.FreeShare)
	if r.Newer > 0 {
		c.say("%d entries hold parts that only a newer version can show.", r.Newer)
	}
	for _, caution := range r.Cautions {
		c.say("caution: %s. Make a backup now: headpond backup FILE", text.Show(caution))
	}
	switch {
	case r.Sound() && r.Lost > 0:
		c.say("Every entry is as it was written. %d %s lost before this book was rescued, and no other is missing.", r.Lost, plural(r.Lost, "entry was", "entries were"))
		return
	case r.Sound():
		c.say("Every entry is as it was written, and none is missing.")
		return
	}
	for _, d := range r.Damaged {
		c.say("damaged: %s", text.Show(damageWords(d)))
	}
	if !r.ChainOK {
		c.say("The chain is broken: an entry is missing or was altered.")
	}
	c.say("The book was only looked at, not changed. A backup is put back by: headpond restore FILE")
	c.say("Every entry that is still whole is saved into a new book by: headpond check --rescue FILE")
}

func damageWords(d logbook.Damage) string {
	if d.ID == "" {
		return d.What
	}
	return d.ID + ": " + d.What
}
