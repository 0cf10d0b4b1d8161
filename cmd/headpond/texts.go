package main

import (
	"context"
	"fmt"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/electrical"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/now"
	"example.org/headpond/tui/ui/text"
)

// nowText prints the Now screen's page.
func (c *command) nowText(s *session, n *assess.Now, waterErr error) error {
	c.block(now.Text(n, c.common(s), waterErr, c.columns()))
	return nil
}

func (c *command) ballastText(s *session, h *record.History, f *electrical.Facts) error {
	c.say("Capacity %.1f kW, limited by the %s.", f.CapacityKW, f.LimitedBy)
	if f.RemainingKW != nil {
		c.say("Remaining %.1f kW; load room %.1f kW.", *f.RemainingKW, *f.LoadRoomKW)
	}
	c.cautions(f.Cautions)
	return nil
}

func (o *waterOptions) waterText(s *session, h *record.History, f *water.Facts) error {
	o.say("Pond level %.2f m; stop level %.2f m.", f.LevelM, f.StopLevelM)
	for _, w := range f.Ways {
		o.say("  %s: %s", record.FormatRunning(w.Run), w.Outcome)
	}
	o.cautions(f.Cautions)
	return nil
}

func (o *rounds) text(_ context.Context, s *session, list []logLine) error {
	for _, l := range list {
		if l.event != nil {
			o.say("%s  %s%s", shortTime(l.at, s.loc), eventWords(*l.event), byWords(l.event.By))
			continue
		}
		o.say("%s", fmt.Sprintf("%s  round  %s  %s%s", shortTime(l.at, s.loc), l.round.ID, assess.Worst(l.judged), byWords(text.Show(l.round.By))))
	}
	return nil
}
