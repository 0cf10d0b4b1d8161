package main

import (
	"context"
	"fmt"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/ballast"
	"example.org/headpond/tui/now"
	"example.org/headpond/tui/ui/text"
	waterscreen "example.org/headpond/tui/water"
)

// nowText prints the Now screen's page.
func (c *command) nowText(s *session, n *assess.Now, waterErr error) error {
	c.block(now.Text(n, c.common(s), waterErr, c.columns()))
	return nil
}

// ballastText prints the Ballast screen's page.
func (c *command) ballastText(s *session, r ballast.Report) {
	c.block(ballast.Text(r, c.common(s), c.columns()))
}

// waterText prints the Water screen's page.
func (o *waterOptions) waterText(s *session, h *record.History, f *water.Facts, w water.Options) {
	r := waterscreen.Report{Facts: f, WhatIf: w.WhatIf}
	r.Running, _ = h.Timeline().RunningAt(h.At)
	o.block(waterscreen.Text(r, o.common(s), o.columns()))
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
