package desk

import (
	"context"
	"errors"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook/copies"
)

// Copied says how well the book is copied, after those copies were made that were due or asked for.
type Copied struct {
	Status *copies.Status // nil where it could not be found out
	Asked  bool           // a person asked for the copy
	Err    error          // why no copy could be kept
}

// Caution says that the copies are old, "" where they are not.
func (c Copied) Caution() string {
	if c.Status == nil {
		return ""
	}
	return c.Status.Caution()
}

// CopyDue makes the copies that are due, outside the drawing loop. It is given up when the program ends.
func (d Desk) CopyDue(ctx context.Context) tea.Cmd {
	return d.copy(ctx, false, func(k copies.Keeper) error {
		made, err := k.MakeDue(ctx)
		if err == nil {
			err = made.Err()
		}
		return err
	})
}

// CopyNow makes a copy in every place, because someone asked for it.
func (d Desk) CopyNow(ctx context.Context) tea.Cmd {
	return d.copy(ctx, true, func(k copies.Keeper) error { return k.Make(ctx).Err() })
}

func (d Desk) copy(ctx context.Context, asked bool, make func(copies.Keeper) error) tea.Cmd {
	if d.Copies == nil || d.ReadOnly {
		return nil
	}
	keeper := *d.Copies
	return func() tea.Msg {
		c := Copied{Asked: asked, Err: make(keeper)}
		if errors.Is(c.Err, context.Canceled) {
			return nil
		}
		s, err := keeper.Status(ctx)
		if err == nil {
			c.Status = &s
		}
		if c.Err == nil {
			c.Err = err
		}
		return c
	}
}
