package main

import (
	"fmt"
	"time"
)

// Work that takes longer than quietFor shows how far it is, at most each showEvery.
const (
	quietFor  = 500 * time.Millisecond
	showEvery = 250 * time.Millisecond
)

// progress shows how far a long work is, on one line of a terminal's standard error. Without a terminal it shows nothing.
type progress struct {
	c       *command
	what    string
	started time.Time
	shown   time.Time
	drawn   bool
}

func (c *command) progress(what string) *progress {
	return &progress{c: c, what: what, started: c.world.now()}
}

// step takes how much is done. It is cheap to call often.
func (p *progress) step(done, of int) {
	if !p.c.errTTY {
		return
	}
	now := p.c.world.now()
	if now.Sub(p.started) < quietFor || now.Sub(p.shown) < showEvery {
		return
	}
	p.shown, p.drawn = now, true
	fmt.Fprintf(p.c.err, "\r%s: %d of %d (Ctrl-C stops it)", p.what, done, of)
}

// end clears the line.
func (p *progress) end() {
	if p.drawn {
		fmt.Fprint(p.c.err, "\r\x1b[K")
	}
}
