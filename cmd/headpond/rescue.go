package main

import (
	"context"
	"fmt"

	"example.org/headpond/logbook"
	"example.org/headpond/tui/ui/text"
)

// rescueFacts is what a rescue saved and lost, in JSON; our addition to the contract.
type rescueFacts struct {
	File string `json:"file"`
	*logbook.RescueReport
}

// rescue saves what is whole in a damaged book into a new one.
func (c *command) rescue(ctx context.Context, dst string) error {
	if dst == "" {
		return usagef("--rescue needs the name of the new book; %s", nothingChanged)
	}
	r, err := logbook.Rescue(ctx, c.bookPath(), dst, c.bookOptions(c.local))
	if err != nil {
		return err
	}
	if saved, err := logbook.Open(dst, c.bookOptions(c.local)); err == nil { // the damaged one may not say where its plant is
		localDamages(r.Damaged, c.zoneOf(ctx, saved))
	}
	if c.json {
		return c.printJSON(rescueFacts{dst, r})
	}
	c.rescueText(dst, r)
	return nil
}

func (c *command) rescueText(dst string, r *logbook.RescueReport) {
	c.say("%d whole %s of %s %s saved into %s, verified.", r.Saved, plural(r.Saved, "entry", "entries"), text.Show(c.bookPath()),
		plural(r.Saved, "was", "were"), text.Show(dst))
	if r.Uncertain > 0 {
		c.say("%d of these may be from a writing that failed: look whether something stands there twice.", r.Uncertain)
	}
	if r.Drafts > 0 {
		c.say("%d unfinished %s saved too.", r.Drafts, plural(r.Drafts, "form was", "forms were"))
	}
	for _, d := range r.Damaged {
		c.say("damaged: %s", text.Show(damageWords(d)))
	}
	for _, l := range r.Lost {
		c.say("lost: %s", text.Show(l.String()))
	}
	c.say("%s", text.Show(rescueSum(r)))
	c.say("%s was only looked at, not changed. The new book is put in its place by: headpond restore %s", text.Show(c.bookPath()), text.Show(dst))
	if r.LostEntries > 0 {
		c.say("What a backup still holds is then brought back by: headpond merge BACKUP")
	}
}

// rescueSum says in one line what is lost.
func rescueSum(r *logbook.RescueReport) string {
	switch {
	case r.LostEntries > 0:
		return fmt.Sprintf("%d %s lost.", r.LostEntries, plural(r.LostEntries, "entry is", "entries are"))
	case len(r.Damaged) > 0:
		return "No entry is known to be lost; one that was the last of its writer's may be."
	}
	return "No entry is lost."
}
