package main

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/plantview"
	"example.org/headpond/tui/ui/text"
)

type plantShow struct {
	*command
	page bool
}

func plantShowCommand(c *command) *cobra.Command {
	o := &plantShow{command: c}
	cmd := c.reporting(&cobra.Command{
		Use:   "show",
		Short: "Print the plant description in force; into a pipe or a file, to the byte as it was loaded",
		Args:  noArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return o.run(cmd.Context()) },
	})
	cmd.Flags().BoolVar(&o.page, "page", false, "print what the Plant screen shows: the description in words, and its check")
	return cmd
}

// plantShowFacts is the object of `plant show --json`, our addition to the contract.
type plantShowFacts struct {
	revisionFacts
	Timezone  string          `json:"timezone"`
	Units     []string        `json:"units"`
	StopM     *float64        `json:"stop_level_m,omitempty"`
	StopFrom  string          `json:"stop_level_from,omitempty"`
	Text      string          `json:"text"`
	Revisions []revisionFacts `json:"revisions"` // all up to --at, oldest first
}

func (o *plantShow) run(ctx context.Context) error {
	s, err := o.read(ctx)
	if err != nil {
		return err
	}
	h, err := s.history(ctx, logbook.HistoryOptions{Days: 1})
	if err != nil {
		return err
	}
	if h.Plant == nil {
		return s.errNoPlant()
	}
	at := inForce(h)
	if o.json {
		return o.printJSON(s.plantFacts(h, at))
	}
	if o.page {
		o.block(plantview.Text(h, o.common(s), o.columns()))
		return nil
	}
	if !o.outTTY {
		_, err := o.out.Write([]byte(at.Text))
		return err
	}
	o.say("# Revision %s, in force from %s%s; %d in the book.", at.ID, shortTime(at.From, s.loc), byWords(at.By), len(h.Revisions))
	for _, line := range text.ShowLines(strings.TrimRight(at.Text, "\n")) {
		o.say("%s", line)
	}
	return nil
}

// inForce is the revision that holds at the history's end.
func inForce(h *record.History) record.Revision {
	at := h.Revisions[0]
	for _, r := range h.Revisions[1:] {
		if !r.From.After(h.At) {
			at = r
		}
	}
	return at
}

func (s *session) plantFacts(h *record.History, at record.Revision) plantShowFacts {
	f := plantShowFacts{revisionFacts: s.revisionOf(at), Timezone: at.Plant.Site.Timezone, Units: at.Plant.UnitIDs(), Text: at.Text}
	for _, r := range h.Revisions {
		f.Revisions = append(f.Revisions, s.revisionOf(r))
	}
	f.StopM, f.StopFrom = stopLevel(at.Plant)
	return f
}

func stopLevel(p *plant.Plant) (levelM *float64, from string) {
	level, from, ok := p.StopLevel()
	if !ok {
		return nil, ""
	}
	return &level, from
}

func (s *session) revisionOf(r record.Revision) revisionFacts {
	return revisionFacts{ID: r.ID, From: jsonTime(r.From, s.loc), WrittenAt: jsonTime(r.WrittenAt, s.loc), By: r.By, Name: r.Plant.Site.Name}
}

// byWords says who wrote an entry, "" where nobody is named.
func byWords(by string) string {
	if by == "" {
		return ""
	}
	return ", by " + text.Show(by)
}
