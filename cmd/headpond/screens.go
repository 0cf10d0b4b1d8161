package main

import (
	"context"
	"errors"
	"fmt"

	"example.org/headpond/model/quantity"
	"example.org/headpond/tui"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
)

// screens opens the screens on the book; without a terminal it prints what the Now screen shows.
func (c *command) screens(ctx context.Context) error {
	if !c.person() {
		err := c.printNow(ctx)
		if noBook(err) {
			return fmt.Errorf("%w. To look round first: headpond demo. To begin: headpond plant new FILE, then headpond plant load FILE", err)
		}
		return err
	}
	s, err := c.write(ctx)
	switch {
	case noBook(err):
		return c.firstUse(ctx)
	case err != nil:
		return err
	case s.plant == nil:
		c.wrote = nil // nothing yet
		return c.firstUse(ctx)
	}
	return c.show(ctx, s, "")
}

func (c *command) runScreens(ctx context.Context, title string) error {
	s, err := c.write(ctx)
	if err != nil {
		return err
	}
	if err := s.needPlant(); err != nil {
		return err
	}
	return c.show(ctx, s, title)
}

// show runs the screens on an open book.
func (c *command) show(ctx context.Context, s *session, title string) error {
	c.wrote = nil // the screens keep copies themselves
	kept, err := c.screenCopies(s)
	if err != nil {
		return err
	}
	common := c.common(s)
	o := tui.Options{
		Desk:   desk.Desk{Copies: kept, Book: s.book, Now: c.clock, Location: s.loc, WritePage: pageWriter(c.pagesBeside(), common), PagePlace: c.pagesPlace()},
		Common: common,
		Title:  title,
	}
	return screenError(tui.Run(ctx, o, c.in, c.screen, c.screenTrace))
}

// screenTrace puts the trace of a fault of the screens into a file and returns its name.
func (c *command) screenTrace(crash ui.Crash) string {
	return c.saveTrace(fmt.Sprintf("in %s: %v", crash.In, crash.Value), crash.Stack)
}

// screenError is what ended the screens, in words for people.
func screenError(err error) error {
	var crashed *tui.ErrCrashed
	if errors.As(err, &crashed) {
		return errors.New(crashed.Sentence)
	}
	return err
}

// common is what the screens and the text of commands share.
func (c *command) common(s *session) ui.Common {
	common := ui.Common{Theme: c.theme(), Now: c.clock, Location: s.loc, Units: quantity.Metric}
	if s.plant != nil {
		common.Units = quantity.System(s.plant.Site.Units)
	}
	return common.Sized(c.columns(), usualRows)
}

// usualRows is the height that text is laid out for; commands are as long as they are.
const usualRows = 24
