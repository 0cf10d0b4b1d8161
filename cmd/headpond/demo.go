package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/demobook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/localtime"
	"example.org/headpond/tui/ui/text"
)

func demoCommand(c *command) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Look round on a fresh copy of the demo plant's book; your own is not touched",
		Long:  prose("Open the screens on a fresh book of Tern Hollow, an invented plant, with 120 days of rounds. It is thrown away at the end, and your own book is not touched; a page that the Week screen writes goes to the current folder and stays. With --book FILE the demo's book is written to a new FILE instead, and stays."),
		Args:  noArgs,
		RunE:  func(cmd *cobra.Command, _ []string) error { return c.demo(cmd.Context()) },
	}
	cmd.Flags().StringVar(&c.at, "at", "", "the `time` at which the demo's log ends (default: now)")
	return cmd
}

func (c *command) demo(ctx context.Context) error {
	p, err := demo.Plant()
	if err != nil {
		return err
	}
	end := c.clock().In(p.Location)
	if c.at != "" {
		if end, err = localtime.End(c.at, end, p.Location); err != nil {
			return usagef("--at: %w; %s", err, nothingChanged)
		}
	}
	if c.book != "" {
		return c.writeDemo(ctx, end)
	}
	dir, err := os.MkdirTemp(c.tempDir, "headpond-demo-")
	if err != nil {
		return fmt.Errorf("there is no place for the demo's book: %w", bare(err))
	}
	defer func() { _ = os.RemoveAll(dir) }()
	c.book = filepath.Join(dir, "tern-hollow.book")
	if _, err := c.tellDemo(ctx, c.book, end); err != nil {
		return err
	}
	c.startClockAt(end)
	c.visitor = true
	if !c.person() {
		return c.printNow(ctx)
	}
	return c.runScreens(ctx, "demo")
}

// writeDemo puts the demo's book where the person wants it.
func (c *command) writeDemo(ctx context.Context, end time.Time) error {
	story, err := c.tellDemo(ctx, c.book, end)
	if errors.Is(err, logbook.ErrExists) {
		return fmt.Errorf("%w; the demo is written to a new file only", err)
	}
	if err != nil {
		return err
	}
	name := text.Show(c.book)
	last := end
	if n := len(story.Rounds); n > 0 {
		last = story.Rounds[n-1].Time
	}
	c.say("%s: the book of %s, %d rounds, the last of %s.\nLook at it with: headpond --book %s", name, text.Show(story.Plant.Site.Name), len(story.Rounds), shortTime(last, story.Plant.Location), name)
	return nil
}

// tellDemo makes the demo's book. This computer's id stays out of it, and out of the user's folder.
func (c *command) tellDemo(ctx context.Context, path string, end time.Time) (*demo.Story, error) {
	p, err := demo.Plant()
	if err != nil {
		return nil, err
	}
	story, err := demo.History(demo.Seed, end, p.Location)
	if err != nil {
		return nil, err
	}
	_, err = demobook.Write(ctx, path, story, c.bookOptions(p.Location))
	return story, err
}

// startClockAt lets the program's clock run on from a time: the demo's last round is then a few hours old, whenever it ends.
func (c *command) startClockAt(t time.Time) {
	now := c.world.now
	ahead := t.Sub(now())
	c.world.now = func() time.Time { return now().Add(ahead) }
}
