package main

import (
	"example.org/headpond/model/assess"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
	"example.org/headpond/tui/ballast"
	"example.org/headpond/tui/logview"
	"example.org/headpond/tui/now"
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

// text prints the log in the Log screen's words, oldest first. What no terminal shows is not cut.
func (o *rounds) text(s *session, h *record.History, list []logLine) {
	lines := make([]logview.Line, len(list))
	for i, l := range list {
		lines[i] = logview.Line{Round: l.round, Event: l.event, Judged: l.judged}
	}
	o.block(logview.Text(assess.Of(h), lines, o.common(s), o.width))
}
