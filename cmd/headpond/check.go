package main

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/copies"
	"example.org/headpond/model/record"
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
	localDamages(r.Damaged, c.zoneOf(ctx, b))
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

// zoneOf is the zone of the plant in a book that may be damaged; this computer's where it cannot say.
func (c *command) zoneOf(ctx context.Context, b *logbook.Book) *time.Location {
	revisions, err := b.Revisions(ctx)
	if err != nil || len(revisions) == 0 {
		return c.local
	}
	return (&record.History{Revisions: revisions}).PlantAt(c.clock()).Location
}

// localDamages brings the times of damaged entries to a zone.
func localDamages(list []logbook.Damage, loc *time.Location) {
	for i := range list {
		if t := list[i].Time; t != nil {
			*t = t.In(loc)
		}
	}
}

// checkFacts is the report in JSON. The state of the copies is our addition to the contract.
type checkFacts struct {
	*logbook.CheckReport
	Copies *copies.Status `json:"copies,omitempty"`
}

func (c *command) checkText(r *logbook.CheckReport) {
	could := ""
	if r.Unread {
		could = " could be read,"
	}
	c.say("%s: %d %s%s by %d %s, %d %s, %s, %.0f %% of it free", text.Show(c.bookPath()), r.Entries, plural(r.Entries, "entry", "entries"), could,
		r.Writers, plural(r.Writers, "writer", "writers"), r.Drafts, plural(r.Drafts, "draft", "drafts"), bytesWords(r.FileBytes), 100*r.FreeShare)
	if r.Newer > 0 {
		c.say("%d %s parts that only a newer version can show.", r.Newer, plural(r.Newer, "entry holds", "entries hold"))
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
	switch {
	case r.Unread:
		c.say("The check could not read on where the file is spoilt. A rescue looks at every byte of it, and may find more entries than these.")
	case !r.ChainOK:
		c.say("The chain is broken: an entry is missing or was altered.")
	}
	c.say("The book was only looked at, not changed. A backup is put back by: headpond restore FILE")
	if k, ok := c.newestCopy(); ok {
		c.say("The newest copy of it is %s: %s", text.Show(c.copyWords(k)), text.Show(c.restoreLine(k.Path)))
	}
	c.say("Every entry that is still whole is saved into a new book by: headpond check --rescue FILE")
}

// damageWords names the entry, where it is one: its id, and what it says itself that it is.
func damageWords(d logbook.Damage) string {
	if d.ID == "" {
		return d.What
	}
	kind := d.Kind
	if kind == "" {
		kind = "entry"
	}
	what := strings.TrimPrefix(d.What, "entry "+d.ID+": ")
	if d.Time != nil {
		return fmt.Sprintf("%s: the %s of %s: %s", d.ID, kind, shortTime(*d.Time, d.Time.Location()), what)
	}
	return d.ID + ": " + what
}
