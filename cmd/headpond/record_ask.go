package main

import (
	"context"
	"errors"
	"io"

	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/round"
)

// ask walks the round line by line and saves it. The draft is that of the Round screen.
func (o *recordRound) ask(ctx context.Context, s *session, pairs []pair) error {
	d := desk.Desk{Book: s.book, Now: o.clock, Location: s.loc}
	loaded := d.Load(ctx, 1)
	if loaded.Err != nil {
		return loaded.Err
	}
	preset := map[string]string{}
	for _, p := range pairs {
		preset[p.key] = p.value
	}
	r, draft, err := round.AskLines(ctx, o.common(s), d, loaded, preset, round.Dialogue{Ask: o.prompt, Say: func(line string) { o.say("%s", line) }})
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, context.Canceled):
		o.say("")
		return stopped{err}
	case err != nil:
		return err
	}
	o.told = true
	return o.keep(ctx, s, r, round.Name, draft)
}

// stopped is an error whose sentence says already that the person stopped it.
type stopped struct{ err error }

func (s stopped) Error() string {
	if errors.Is(s.err, round.ErrLeft) {
		return round.ErrLeft.Error()
	}
	return s.err.Error()
}
