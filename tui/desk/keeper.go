package desk

import (
	"bytes"
	"context"
	"fmt"

	tea "github.com/charmbracelet/bubbletea"
)

// Keeper keeps one form's draft on disk, write after write in the order in which the form changed. While a write is under
// way only the newest state waits, so a slow disk never falls further behind than one write. It is a value, used from Update
// alone.
//
// Writes run beside the drawing loop, and a program that is ending does not wait for them. So they go one at a time, and none may
// put an older state over a newer one, or a draft behind the entry that was saved in its place, whichever of them comes first.
type Keeper struct {
	Form string

	book    draftBook
	turns   *turns
	turn    int // of the form's present state
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
	return Keeper{Form: form, book: book, turns: newTurns(), kept: kept, next: kept}
}

// Put asks for the form's present state to be on disk; nil throws the draft away.
func (k Keeper) Put(data []byte) (Keeper, tea.Cmd) {
	k.next = data
	k.turn++
	return k.advance()
}

// Then runs a command once no write is under way: the one that saves the entry and drops its draft in the same transaction, or
// answers with Failed. A draft that waits is not written before it, because the entry takes its place.
func (k Keeper) Then(cmd tea.Cmd) (Keeper, tea.Cmd) {
	k.last = cmd
	k.turn++ // what it saves is newer than any draft
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

// Flush writes the newest state at once, for a program that is ending: after what is under way, and unless that has saved it. The
// error is the context's where what is under way takes longer.
func (k Keeper) Flush(ctx context.Context) error {
	if k.turns == nil || same(k.kept, k.next) && !k.writing {
		return nil
	}
	return k.turns.take(ctx, k.turn, func() (bool, error) { return true, k.write(ctx, k.next) })
}

func (k Keeper) advance() (Keeper, tea.Cmd) {
	switch {
	case k.writing:
		return k, nil
	case k.last != nil:
		cmd, turn, turns := k.last, k.turn, k.turns
		k.last = nil
		return k, func() (msg tea.Msg) {
			// The context has no end, and neither has the saving an error of its own: it answers with a message.
			_ = turns.take(context.Background(), turn, func() (bool, error) {
				msg = cmd()
				_, failed := msg.(Failed)
				return !failed, nil
			})
			return msg
		}
	case !same(k.kept, k.next):
		k.writing = true
		data, write, turn, turns := k.next, k.write, k.turn, k.turns
		form := k.Form
		return k, func() tea.Msg {
			err := turns.take(context.Background(), turn, func() (bool, error) { return true, write(context.Background(), data) })
			return DraftKept{Form: form, Data: data, Err: err}
		}
	}
	return k, nil
}

func (k Keeper) write(ctx context.Context, data []byte) error {
	if data == nil {
		return k.book.DropDraft(ctx, k.Form)
	}
	return k.book.SaveDraft(ctx, k.Form, data)
}

// turns lets writes of one form pass one at a time, each with the number of the state that it brings; what would come behind a
// newer one, or behind the same one, is left out.
type turns struct {
	gate chan struct{} // holds the token while nobody writes
	done int           // the newest state that was brought
}

func newTurns() *turns {
	t := &turns{gate: make(chan struct{}, 1), done: -1}
	t.gate <- struct{}{}
	return t
}

// take waits for its turn and writes. write says whether it has brought the state onto the disk.
func (t *turns) take(ctx context.Context, turn int, write func() (bool, error)) error {
	select {
	case <-t.gate:
	case <-ctx.Done():
		return fmt.Errorf("waiting for a write that is under way: %w", ctx.Err())
	}
	defer func() { t.gate <- struct{}{} }()
	if turn <= t.done {
		return nil
	}
	brought, err := write()
	if brought && err == nil {
		t.done = turn
	}
	return err
}

func same(a, b []byte) bool { return (a == nil) == (b == nil) && bytes.Equal(a, b) }
