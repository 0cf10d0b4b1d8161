package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"pgregory.net/rapid"

	"example.org/headpond/tui/ui"
)

// disk is a book whose writes are carried out when the test says so.
type disk struct {
	draft  []byte
	writes int
	fail   error
}

func (d *disk) SaveDraft(_ context.Context, _ string, data []byte) error {
	d.writes++
	if d.fail == nil {
		d.draft = data
	}
	return d.fail
}

func (d *disk) DropDraft(_ context.Context, _ string, own ...[]byte) error {
	if d.fail == nil && slices.ContainsFunc(own, func(x []byte) bool { return same(x, d.draft) }) {
		d.draft = nil
	}
	return d.fail
}

func TestOnlyTheNewestStateWaitsForASlowDisk(t *testing.T) {
	d := &disk{}
	k := NewKeeper(d, "round", nil)
	k, first := k.Put([]byte("2"))
	for _, s := range []string{"24", "241"} {
		var cmd tea.Cmd
		if k, cmd = k.Put([]byte(s)); cmd != nil {
			t.Fatal("a second write was started beside the first")
		}
	}
	k, second := k.Update(first().(DraftKept))
	if second == nil {
		t.Fatal("the newest state is not written")
	}
	k, third := k.Update(second().(DraftKept))
	if string(d.draft) != "241" || d.writes != 2 || third != nil || k.Behind() {
		t.Errorf("disk has %q after %d writes, behind %v", d.draft, d.writes, k.Behind())
	}
}

type saved struct{}

func TestTheEntryIsSavedAfterTheWriteUnderWay(t *testing.T) {
	d := &disk{}
	k := NewKeeper(d, "round", nil)
	k, write := k.Put([]byte("241"))
	k, _ = k.Put([]byte("2411"))
	k, now := k.Then("saving", func(context.Context, [][]byte) (tea.Msg, error) { d.draft = nil; return saved{}, nil })
	if now != nil {
		t.Fatal("the entry is saved while a draft is being written: the draft would come back")
	}
	k, next := k.Update(write().(DraftKept))
	if next == nil {
		t.Fatal("the entry is never saved")
	}
	if _, ok := next().(saved); !ok {
		t.Fatal("the waiting draft was written instead of the entry")
	}
	if k = k.Dropped(); d.draft != nil || k.Behind() {
		t.Errorf("draft left on disk: %q, behind %v", d.draft, k.Behind())
	}
}

func TestAFailedWriteIsToldAndTriedAgain(t *testing.T) {
	d := &disk{fail: errors.New("the disk is full")}
	k := NewKeeper(d, "round", nil)
	k, cmd := k.Put([]byte("2"))
	k, again := k.Update(cmd().(DraftKept))
	if again != nil || k.Err() == nil || !k.Behind() {
		t.Fatalf("after a failed write: again %v, err %v, behind %v", again != nil, k.Err(), k.Behind())
	}
	d.fail = nil
	k, cmd = k.Put([]byte("24"))
	k, _ = k.Update(cmd().(DraftKept))
	if k.Err() != nil || k.Behind() || string(d.draft) != "24" {
		t.Errorf("err %v, behind %v, disk %q", k.Err(), k.Behind(), d.draft)
	}
}

// Whatever the order of keystrokes, answers and clearing, once all answers are in the disk holds the last state.
func TestTheDiskEndsWithTheLastState(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := &disk{}
		k := NewKeeper(d, "round", nil)
		var under tea.Cmd
		var last []byte
		take := func(cmd tea.Cmd) {
			if cmd == nil {
				return
			}
			if under != nil {
				t.Fatal("two writes at once")
			}
			under = cmd
		}
		answer := func() {
			msg := under().(DraftKept)
			under = nil
			var cmd tea.Cmd
			k, cmd = k.Update(msg)
			take(cmd)
		}
		for i := range rapid.IntRange(1, 40).Draw(t, "steps") {
			switch rapid.IntRange(0, 3).Draw(t, "step") {
			case 0:
				if under != nil {
					answer()
				}
			case 1:
				var cmd tea.Cmd
				last = nil
				k, cmd = k.Put(nil)
				take(cmd)
			default:
				var cmd tea.Cmd
				last = []byte(fmt.Sprint(i))
				k, cmd = k.Put(last)
				take(cmd)
			}
		}
		for under != nil {
			answer()
		}
		if !same(d.draft, last) || k.Behind() {
			t.Fatalf("disk has %q, the form %q, behind %v", d.draft, last, k.Behind())
		}
	})
}

// The program ends while an older state is on its way: whichever comes first, the newest is on disk.
func TestAWriteThatComesLateDoesNotCoverTheNewest(t *testing.T) {
	for _, late := range []bool{false, true} {
		d := &disk{}
		k := NewKeeper(d, "round", nil)
		k, under := k.Put([]byte("24"))
		k, _ = k.Put([]byte("241"))
		if !late {
			under()
		}
		if err := k.Flush(t.Context()); err != nil {
			t.Fatal(err)
		}
		if late {
			under()
		}
		if string(d.draft) != "241" {
			t.Errorf("late %v: the disk has %q", late, d.draft)
		}
	}
}

// The program ends while an entry waits for a write of its draft to be over: the newest state is kept, not the one before it.
func TestAnEntryThatIsNotSavedAnyMoreLeavesItsNewestDraft(t *testing.T) {
	d := &disk{draft: []byte("2")}
	k := NewKeeper(d, "round", []byte("2"))
	k, under := k.Put([]byte("24"))
	k, _ = k.Put([]byte("241"))
	k, _ = k.Then("saving", func(context.Context, [][]byte) (tea.Msg, error) { t.Error("saved after the end"); return saved{}, nil })
	if err := k.Flush(t.Context()); err != nil {
		t.Fatal(err)
	}
	under()
	if string(d.draft) != "241" {
		t.Errorf("the disk has %q", d.draft)
	}
}

// The program ends while an entry is being saved: its draft is on disk afterwards only where the saving failed.
func TestFlushWaitsForTheSavingUnderWay(t *testing.T) {
	for _, fails := range []bool{false, true} {
		d := &disk{draft: []byte("2")}
		k := NewKeeper(d, "round", []byte("2"))
		k, under := k.Put([]byte("241"))
		k, _ = k.Then("saving", func(context.Context, [][]byte) (tea.Msg, error) {
			if fails {
				return nil, errors.New("no space")
			}
			d.draft = nil
			return saved{}, nil
		})
		d.fail = errors.New("once")
		k, save := k.Update(under().(DraftKept)) // the write failed, and the entry may still be saved
		d.fail = nil
		begun, go_ := make(chan struct{}), make(chan struct{})
		done := make(chan tea.Msg)
		go func() {
			<-k.turns.gate // as a saving that has begun holds it
			close(begun)
			<-go_
			k.turns.gate <- struct{}{}
			done <- save()
		}()
		<-begun
		ended, stop := context.WithCancel(t.Context())
		stop()
		if err := k.Flush(ended); !errors.Is(err, context.Canceled) {
			t.Errorf("a flush that may not wait: %v", err)
		}
		close(go_)
		<-done
		if err := k.Flush(t.Context()); err != nil {
			t.Fatal(err)
		}
		if got := string(d.draft); fails && got != "241" || !fails && d.draft != nil {
			t.Errorf("saving fails %v: the disk has %q", fails, got)
		}
	}
}

// An entry that would be saved behind the last flush is not: its draft is offered again, and it is never there twice.
func TestNothingIsSavedBehindTheLastFlush(t *testing.T) {
	d := &disk{}
	k := NewKeeper(d, "round", nil)
	k, write := k.Put([]byte("241"))
	k, _ = k.Update(write().(DraftKept))
	k, _ = k.Put([]byte("2411")) // on its way
	k, _ = k.Then("saving", func(context.Context, [][]byte) (tea.Msg, error) { t.Error("saved behind the flush"); return nil, nil })
	k.writing = false
	k, save := k.advance()
	if err := k.Flush(t.Context()); err != nil {
		t.Fatal(err)
	}
	if msg := save(); msg != nil || string(d.draft) != "2411" {
		t.Errorf("answered %v, the disk has %q", msg, d.draft)
	}
}

// An entry that cannot be saved leaves its newest state on disk, and what is said of it is so: the write is tried before.
func TestAFailedSavingSaysWhereTheDraftIs(t *testing.T) {
	for _, c := range []struct {
		draft error
		says  string
		disk  string
	}{
		{nil, "book is locked; the draft is kept", "2411"},
		{errors.New("the disk is full"), "book is locked. The draft is NOT on disk: the disk is full. Leave the program open", "241"},
		{errors.New("book is locked"), "book is locked. The draft is NOT on disk either. Leave the program open", "241"},
	} {
		d := &disk{}
		k := NewKeeper(d, "round", nil)
		k, write := k.Put([]byte("241"))
		k, _ = k.Put([]byte("2411"))
		k, _ = k.Then("saving", func(context.Context, [][]byte) (tea.Msg, error) { return nil, errors.New("book is locked") })
		k, save := k.Update(write().(DraftKept))
		d.fail = c.draft
		m, ok := save().(Failed)
		if !ok || m.Doing != "saving" || !strings.HasPrefix(m.Err.Error(), c.says) || m.Draft == nil {
			t.Fatalf("it answers %+v", m)
		}
		k, again := k.Update(*m.Draft)
		if again != nil || string(d.draft) != c.disk || k.Behind() != (c.draft != nil) || (k.Err() != nil) != (c.draft != nil) {
			t.Errorf("%s: the disk has %q, behind %v, err %v", c.says, d.draft, k.Behind(), k.Err())
		}
		said := k.Left("Draft kept")().(ui.Notice)
		if kept := said.Text == "Draft kept"; kept != (c.draft == nil) {
			t.Errorf("on leaving it says %q", said.Text)
		}
	}
}

// What is saved or thrown away is this form's own draft, as it was last on disk, was sent there, or is now: another is another window's.
func TestOnlyItsOwnDraftIsDropped(t *testing.T) {
	d := &disk{}
	k := NewKeeper(d, "round", []byte("2"))
	k, write := k.Put([]byte("24"))
	k, _ = k.Put([]byte("241"))
	k, _ = k.Then("saving", func(_ context.Context, own [][]byte) (tea.Msg, error) {
		for _, state := range []string{"24", "241"} {
			if !slices.ContainsFunc(own, func(x []byte) bool { return string(x) == state }) {
				t.Errorf("%q is not its own: %q", state, own)
			}
		}
		return saved{}, nil
	})
	_, save := k.Update(write().(DraftKept))
	save()
	k = NewKeeper(d, "round", nil)
	k, write = k.Put([]byte("24"))
	k, _ = k.Update(write().(DraftKept))
	d.draft = []byte("other")
	if _, write = k.Put(nil); write().(DraftKept).Err != nil || string(d.draft) != "other" {
		t.Errorf("throwing away leaves %q of the other window's", d.draft)
	}
}

// A draft that another window threw away is written again by the load that shows it, and one that is there, or is being saved, is not.
func TestADraftThatIsGoneIsWrittenAgain(t *testing.T) {
	d := &disk{}
	k := NewKeeper(d, "round", nil)
	if _, cmd := k.Seen(false); cmd != nil {
		t.Error("an empty form writes a draft")
	}
	k, write := k.Put([]byte("24"))
	if _, cmd := k.Seen(false); cmd != nil {
		t.Error("a second write was started beside the first")
	}
	k, _ = k.Update(write().(DraftKept))
	if _, cmd := k.Seen(true); cmd != nil {
		t.Error("what is on disk is written again")
	}
	d.draft = nil
	k, write = k.Seen(false)
	if write == nil {
		t.Fatal("it is not written again")
	}
	if k, _ = k.Update(write().(DraftKept)); string(d.draft) != "24" || k.Behind() {
		t.Errorf("the disk has %q, behind %v", d.draft, k.Behind())
	}
	k, _ = k.Then("saving", func(context.Context, [][]byte) (tea.Msg, error) { return saved{}, nil })
	if _, cmd := k.Seen(false); cmd != nil {
		t.Error("the draft of an entry that is being saved is written again")
	}
	if _, cmd := k.Dropped().Seen(false); cmd != nil {
		t.Error("the draft of an entry that was saved is written again")
	}
}
