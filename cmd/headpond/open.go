package main

import (
	"context"

	"github.com/spf13/cobra"

	"example.org/headpond/model/localtime"
	"example.org/headpond/tui"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui/text"
)

func openCommand(c *command) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "open FILE",
		Short: "Look at someone's package or copy of a book; nothing of your own is touched",
		Long: prose("Open the screens, read-only, on an export package or a copy of a book. Your own book is not touched, and the file is not changed.",
			"A package is shown as its exporter saw it: at the moment of the export. --at shows another moment."),
		Args: usageArgs(cobra.ExactArgs(1), "one package or book"),
		RunE: func(cmd *cobra.Command, args []string) error { return c.open(cmd.Context(), args[0]) },
	}
	cmd.Flags().StringVar(&c.at, "at", "", "show it as of that `time`; a date alone is the end of that day")
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object, as now does, instead of the screens")
	return cmd
}

func (c *command) open(ctx context.Context, path string) error {
	if err := mustExist(path); err != nil {
		return err
	}
	book := path
	if isPackage(path) {
		v, err := c.packageBook(ctx, path)
		if err != nil {
			return err
		}
		defer v.remove()
		c.tellLost(path, v.lost)
		c.startClockAt(v.created) // as its exporter saw it, however long the file was under way
		book = v.book
	}
	v := c.visit(book)
	s, err := v.read(ctx)
	if err != nil {
		return err
	}
	if err := s.needPlant(); err != nil {
		return err
	}
	if v.json || !v.person() {
		return v.printNow(ctx)
	}
	if v.at != "" { // the screens have no moment but now
		at, err := localtime.End(v.at, s.now(), s.loc)
		if err != nil {
			return usagef("--at: %w", err)
		}
		v.startClockAt(at)
		if s, err = v.read(ctx); err != nil {
			return err
		}
	}
	return v.openScreens(ctx, s, path)
}

// openScreens shows the screens read-only.
func (c *command) openScreens(ctx context.Context, s *session, path string) error {
	common := c.common(s)
	o := tui.Options{ // a page for the browser changes no book: it is written beside the file that is looked at
		Desk:   desk.Desk{Book: s.book, Now: c.clock, Location: s.loc, ReadOnly: true, WritePage: pageWriter(path, common)},
		Common: common,
		Title:  "read only",
	}
	err := screenError(tui.Run(ctx, o, c.in, c.screen, c.screenTrace))
	if err == nil {
		c.say("%s was only looked at, not changed.", text.Show(path))
	}
	return err
}
