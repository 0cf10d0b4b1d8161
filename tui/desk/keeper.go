package desk

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	tea "github.com/charmbracelet/bubbletea"

	"example.org/headpond/logbook"
	"example.org/headpond/tui/ui"
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
	sent    []byte // what was written last, whether it arrived or not
	next    []byte // what shall be on disk
	last    *saving
	saves   bool // an entry is being saved in the draft's place
	err     error
}

// saving is the saving of a form's entry.
type saving struct {
	doing string
	save  Save
}

// Save puts a form's entry into the book and drops its draft in the same transaction, where that is one of own: the states of the
// draft that the entry stands for. It answers with the form's own message.
type Save func(ctx context.Context, own [][]byte) (tea.Msg, error)

// draftBook is the part of the logbook that a Keeper needs.
type draftBook interface {
	SaveDraft(ctx context.Context, form string, data []byte) error
	DropDraft(ctx context.Context, form string, own ...[]byte) error
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

// Then saves the form's entry once no write is under way. A draft that waits is not written before it, because the entry takes its
// place; where the saving fails, it is written then, and Failed says whether the draft is on disk. doing is as in Failed.
func (k Keeper) Then(doing string, save Save) (Keeper, tea.Cmd) {
	k.last = &saving{doing, save}
	k.turn++ // what it saves is newer than any draft
	return k.advance()
}

// Update takes the answer to a write and starts the next one where the form has changed since.
func (k Keeper) Update(msg DraftKept) (Keeper, tea.Cmd) {
	if msg.Form != k.Form {
		return k, nil
	}
	k.writing, k.saves, k.err = false, false, msg.Err
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
	k.kept, k.sent, k.next, k.last, k.saves, k.err = nil, nil, nil, nil, false, nil
	return k
}

// Seen takes from a load whether the book holds a draft of this form. One that another window threw away is written again, and so
// is one whose last write failed.
func (k Keeper) Seen(there bool) (Keeper, tea.Cmd) {
	if there && k.err == nil || k.writing || k.saves || k.last != nil || k.next == nil {
		return k, nil
	}
	k.kept = nil
	k.turn++
	return k.advance()
}

// Behind reports whether the disk does not hold the form's present state yet.
func (k Keeper) Behind() bool { return k.writing || !same(k.kept, k.next) }

// Err is why the last write failed, nil where it did not.
func (k Keeper) Err() error { return k.err }

// Left says how what is typed stands when its form is left: in the form's own words where it is kept, else that it is not.
func (k Keeper) Left(kept string) tea.Cmd {
	if k.err != nil {
		return ui.Say(ui.Out, notOnDisk(k.err))
	}
	return ui.Say(ui.Unjudged, kept)
}

// sameReason reports whether two writes failed for the same reason.
func sameReason(a, b error) bool {
	var x, y *logbook.Error
	return a.Error() == b.Error() || errors.As(a, &x) && errors.As(b, &y) && x.Kind != nil && x.Kind == y.Kind
}

// notOnDisk says that a draft is nowhere but in the open program.
func notOnDisk(err error) string {
	return "The draft is NOT on disk: " + err.Error() + ". Leave the program open, put that right, then type on in the form or save it"
}

// failed is what is said of an entry that could not be saved: why, and where what was typed is.
func failed(err, draft error) error {
	switch {
	case draft == nil:
		return fmt.Errorf("%w; the draft is kept", err)
	case sameReason(err, draft):
		return fmt.Errorf("%w. The draft is NOT on disk either. Leave the program open, put that right, then save again", err)
	}
	return fmt.Errorf("%w. %s", err, notOnDisk(draft))
}

// Flush writes the newest state at once, for a program that is ending: after what is under way, and unless that has saved it. The
// error is the context's where what is under way takes longer.
func (k Keeper) Flush(ctx context.Context) error {
	if k.turns == nil || same(k.kept, k.next) && !k.writing {
		return nil
	}
	return k.turns.take(ctx, k.turn, func() (bool, error) { return true, k.write(ctx, k.next, k.own()) })
}

func (k Keeper) advance() (Keeper, tea.Cmd) {
	switch {
	case k.writing:
		return k, nil
	case k.last != nil:
		last := *k.last
		k.last, k.saves = nil, true
		was := k
		return k, func() (msg tea.Msg) {
			// The context has no end, and what fails is in the message.
			_ = was.turns.take(context.Background(), was.turn, func() (brought bool, _ error) {
				msg, brought = was.save(context.Background(), last)
				return brought, nil
			})
			return msg
		}
	case !same(k.kept, k.next):
		k.writing = true
		data, own := k.next, k.own()
		k.sent = data
		was := k
		return k, func() tea.Msg {
			err := was.turns.take(context.Background(), was.turn, func() (bool, error) { return true, was.write(context.Background(), data, own) })
			return DraftKept{Form: was.Form, Data: data, Err: err}
		}
	}
	return k, nil
}

// save saves the entry; where that fails, it sees to it that the newest state of the draft is on disk. It reports whether either is.
func (k Keeper) save(ctx context.Context, last saving) (tea.Msg, bool) {
	msg, err := last.save(ctx, k.own())
	if err == nil {
		return msg, true
	}
	draft := DraftKept{Form: k.Form, Data: k.next}
	if k.next != nil && (k.err != nil || !same(k.kept, k.next)) {
		draft.Err = k.book.SaveDraft(ctx, k.Form, k.next)
	}
	return Failed{Doing: last.doing, Err: failed(err, draft.Err), Draft: &draft}, draft.Err == nil
}

// own are the states of the draft that this form may have put on disk. Another under the form's name is another window's.
func (k Keeper) own() [][]byte { return [][]byte{k.kept, k.sent, k.next} }

// write puts a state on disk; nil throws away what of own is there.
func (k Keeper) write(ctx context.Context, data []byte, own [][]byte) error {
	if data == nil {
		return k.book.DropDraft(ctx, k.Form, own...)
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
