package desk

import (
	"bytes"
	"context"

	tea "github.com/charmbracelet/bubbletea"
)

// Keeper keeps one form's draft on disk, write after write in the order in which the form changed. While a write is under
// way only the newest state waits, so a slow disk never falls further behind than one write. It is a value, used from Update
// alone.
type Keeper struct {
	Form string

	book    draftBook
	writing bool
	kept    []byte // what is on disk, as far as is known
	next    []byte // what shall be on disk
	last    tea.Cmd
	err     error
}

// draftBook is the part of the logbook that a Keeper needs.
type draftBook interface {
	SaveDraft(ctx context.Context, form string, data []byte) error
	DropDraft(ctx context.Context, form string) error
}

// DraftKept answers a write of a draft. Give every one of them to Keeper.Update.
type DraftKept struct {
	Form string
	Data []byte // nil: dropped
	Err  error
}

// NewKeeper makes the keeper of one form. kept is the draft that was found on disk, nil for none.
func NewKeeper(book draftBook, form string, kept []byte) Keeper {
	return Keeper{Form: form, book: book, kept: kept, next: kept}
}

// Put asks for the form's present state to be on disk; nil throws the draft away.
func (k Keeper) Put(data []byte) (Keeper, tea.Cmd) {
	k.next = data
	return k.advance()
}

// Then runs a command once no write is under way: the one that saves the entry and drops its draft in the same transaction.
// A waiting draft is forgotten, because the entry takes its place.
func (k Keeper) Then(cmd tea.Cmd) (Keeper, tea.Cmd) {
	k.last, k.next = cmd, k.kept
	return k.advance()
}

// Update takes the answer to a write and starts the next one where the form has changed since.
func (k Keeper) Update(msg DraftKept) (Keeper, tea.Cmd) {
	if msg.Form != k.Form {
		return k, nil
	}
	k.writing, k.err = false, msg.Err
	if msg.Err != nil {
		if k.last != nil { // the entry itself may still be saved
			return k.advance()
		}
		return k, nil // the next keystroke tries again
	}
	k.kept = msg.Data
	if k.last != nil {
		k.next = k.kept
	}
	return k.advance()
}

// Dropped tells the keeper that the draft is gone from the disk, because the entry was saved in its place.
func (k Keeper) Dropped() Keeper {
	k.kept, k.next, k.last = nil, nil, nil
	return k
}

// Behind reports whether the disk does not hold the form's present state yet.
func (k Keeper) Behind() bool { return k.writing || !same(k.kept, k.next) }

// Err is why the last write failed, nil where it did not.
func (k Keeper) Err() error { return k.err }

// Flush writes the newest state at once, for a program that is ending.
func (k Keeper) Flush(ctx context.Context) error {
	if same(k.kept, k.next) && !k.writing {
		return nil
	}
	return k.write(ctx, k.next)
}

func (k Keeper) advance() (Keeper, tea.Cmd) {
	switch {
	case k.writing:
		return k, nil
	case !same(k.kept, k.next):
		k.writing = true
		data, write := k.next, k.write
		form := k.Form
		return k, func() tea.Msg { return DraftKept{Form: form, Data: data, Err: write(context.Background(), data)} }
	case k.last != nil:
		cmd := k.last
		k.last = nil
		return k, cmd
	}
	return k, nil
}

func (k Keeper) write(ctx context.Context, data []byte) error {
	if data == nil {
		return k.book.DropDraft(ctx, k.Form)
	}
	return k.book.SaveDraft(ctx, k.Form, data)
}

func same(a, b []byte) bool { return (a == nil) == (b == nil) && bytes.Equal(a, b) }
