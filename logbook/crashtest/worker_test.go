package crashtest

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

const form = "round"

// worker is the child: it does what people do with a book, and says before and after each deed what it does and what was
// acknowledged.
type worker struct {
	path   string
	random *rand.Rand
	seed   uint64
	book   *logbook.Book
	n      int
	strict bool // an error ends the work
}

func say(word string, args ...any) {
	fmt.Println(append([]any{word}, args...)...)
}

func (w *worker) carryOut(deed string) (err error) {
	if w.book, err = logbook.Open(w.path, options(w.seed)); err != nil {
		return err
	}
	switch deed {
	case "work": // without end
		w.strict = true
		for {
			if err := w.step(w.random.IntN(len(w.deeds()))); err != nil {
				return err
			}
		}
	case "some": // a little of everything, in any order
		w.strict = true
		for range 2 {
			for _, i := range w.random.Perm(len(w.deeds())) {
				if err := w.step(i); err != nil {
					return err
				}
			}
		}
		return nil
	case "each": // everything once; what fails is said, and the next is done all the same
		for i := range w.deeds() {
			_ = w.step(i)
		}
		say("done")
		return nil
	}
	return errNoSuchDeed
}

func (w *worker) deeds() []func(context.Context) error {
	return []func(context.Context) error{w.typeAndSave, w.typing, w.correct, w.addEvent, w.imports, w.backup, w.merge, w.restore, w.upkeep}
}

// step does one deed.
func (w *worker) step(i int) error {
	w.n++
	err := w.deeds()[i](context.Background())
	if err != nil && !w.strict {
		say("failed", w.note(), strings.ReplaceAll(err.Error(), "\n", " / "))
	}
	return err
}

// note names what one step writes, once in all the world.
func (w *worker) note() string { return fmt.Sprintf("n%d-%d", w.seed, w.n) }

// typing is a form that is filled in, key after key.
func (w *worker) typing(ctx context.Context) error {
	text := w.note()
	for i := range text {
		say("typing", text[:i+1])
		if err := w.book.SaveDraft(ctx, form, []byte(text[:i+1])); err != nil {
			return err
		}
		say("typed", text[:i+1])
	}
	return nil
}

func (w *worker) typeAndSave(ctx context.Context) error {
	if err := w.typing(ctx); err != nil {
		return err
	}
	_, err := w.round(ctx)
	return err
}

func (w *worker) round(ctx context.Context) (id string, err error) {
	say("saving")
	saved, err := w.book.AddRound(ctx, record.Round{Time: noon.Add(time.Duration(w.n) * time.Second), Note: w.note()}, form)
	if err == nil {
		say("saved", saved.Entry.ID)
	}
	return saved.Entry.ID, err
}

func (w *worker) correct(ctx context.Context) error {
	id, err := w.round(ctx)
	if err != nil {
		return err
	}
	w.n++ // what fails from here on is the correction
	a, err := w.book.Amend(ctx, id, map[string]string{"note": "corrected " + w.note()}, "typing", "Ro", "")
	if err == nil {
		say("kept", a.Entry[0].Amendment)
	}
	return err
}

func (w *worker) addEvent(ctx context.Context) error {
	saved, err := w.book.AddEvent(ctx, record.Event{Time: noon, Kind: record.Trip, Note: w.note()}, "")
	if err == nil {
		say("kept", saved.Entry.ID)
	}
	return err
}

func (w *worker) upkeep(ctx context.Context) error {
	saved, err := w.book.AddDone(ctx, record.Done{Time: noon, Task: "grease", Note: w.note()}, "")
	if err == nil {
		say("kept", saved.Entry.ID)
	}
	return err
}

// imports adds so many rounds that the file grows.
func (w *worker) imports(ctx context.Context) error {
	list := rounds(w.note(), 40)
	if _, _, err := w.book.AddRounds(ctx, list); err != nil {
		return err
	}
	for _, r := range list {
		say("kept", r.ID)
	}
	return nil
}

func (w *worker) backupPath() string { return w.path + ".backup" }

func (w *worker) backup(ctx context.Context) error {
	say("backing")
	if _, err := w.book.Backup(ctx, w.backupPath(), true); err != nil {
		return err
	}
	say("backup")
	return nil
}

func (w *worker) merge(ctx context.Context) error {
	_, _, err := w.book.Merge(ctx, w.backupPath())
	if errors.Is(err, logbook.ErrNoBook) {
		return w.backup(ctx)
	}
	return err
}

// restore puts the backup in the book's place, and then merges what was written since.
func (w *worker) restore(ctx context.Context) error {
	if _, err := os.Stat(w.backupPath()); err != nil {
		if err := w.backup(ctx); err != nil {
			return err
		}
	}
	say("restoring")
	r, err := logbook.Replace(ctx, w.backupPath(), w.path, options(w.seed))
	if err != nil {
		return err
	}
	say("restored", r.Kept)
	if _, _, err := w.book.Merge(ctx, r.Kept); err != nil {
		return err
	}
	say("merged", r.Kept)
	return nil
}
