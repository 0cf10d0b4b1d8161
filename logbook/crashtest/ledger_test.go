package crashtest

import (
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"testing"
)

// ledger is what must be true of the disk after what the child has said so far.
type ledger struct {
	kept   map[string]bool // every entry that was ever acknowledged
	inBook map[string]bool // those of them that must be in the book itself; the others in one that a restore has put aside
	drafts []string        // what the draft may be: the last that was acknowledged, and the one under way; "" is none

	backedUp     map[string]bool
	backupDrafts []string
	before       map[string]bool // while a backup is being made, what the older one held
	hasBackup    bool
	failed       map[string]string // what each note's deed said that failed
	done         bool
	said         int
}

func newLedger(t testing.TB, path string) *ledger {
	t.Helper()
	c, err := look(t, path)
	if err != nil {
		t.Fatal(err)
	}
	return &ledger{kept: maps.Clone(c.ids), inBook: c.ids, drafts: []string{c.draft}, failed: map[string]string{}}
}

// hear takes one line of the child.
func (l *ledger) hear(word, rest string) error {
	l.said++
	switch word {
	case "typing":
		l.drafts = append(l.drafts, rest)
	case "typed":
		l.drafts = []string{rest}
	case "saving":
		l.drafts = append(l.drafts, "")
	case "saved":
		l.kept[rest], l.inBook[rest] = true, true
		l.drafts = []string{""}
	case "kept":
		l.kept[rest], l.inBook[rest] = true, true
	case "backing":
		if l.before = l.backedUp; !l.hasBackup {
			l.before = map[string]bool{}
		}
		l.backupDrafts = append(slices.Clone(l.backupDrafts), l.drafts...)
	case "backup":
		l.backedUp, l.backupDrafts, l.before, l.hasBackup = maps.Clone(l.inBook), slices.Clone(l.drafts), nil, true
	case "restoring": // from now on the book is the old one or the backup
		l.drafts = append(l.drafts, l.backupDrafts...)
		l.inBook = maps.Clone(l.backedUp)
	case "restored":
		l.drafts = slices.Clone(l.backupDrafts)
	case "merged":
		l.inBook = maps.Clone(l.kept)
	case "failed":
		var note string
		if _, err := fmt.Sscan(rest, &note); err != nil {
			return err
		}
		l.failed[note] = rest
	case "done":
		l.done = true
	default:
		return fmt.Errorf("the child says %q %q", word, rest)
	}
	return nil
}

// clone is for a later look at this moment.
func (l *ledger) clone() *ledger {
	c := *l
	c.kept, c.inBook, c.backedUp, c.failed = maps.Clone(l.kept), maps.Clone(l.inBook), maps.Clone(l.backedUp), maps.Clone(l.failed)
	c.drafts, c.backupDrafts = slices.Clone(l.drafts), slices.Clone(l.backupDrafts)
	return &c
}

// verify holds a folder against what was acknowledged.
func (l *ledger) verify(t testing.TB, path string) (contents, error) {
	t.Helper()
	book, err := look(t, path)
	if err != nil {
		return book, fmt.Errorf("the book: %w", err)
	}
	if err := missing("the book", l.inBook, book.ids); err != nil {
		return book, err
	}
	if !slices.Contains(l.drafts, book.draft) {
		return book, fmt.Errorf("the draft is %q, expected one of %q", book.draft, l.drafts)
	}
	anywhere := maps.Clone(book.ids)
	aside, err := filepath.Glob(path + ".replaced-*")
	if err != nil {
		return book, err
	}
	for _, name := range aside {
		c, err := look(t, name)
		if err != nil {
			return book, fmt.Errorf("%s: %w", filepath.Base(name), err)
		}
		maps.Copy(anywhere, c.ids)
	}
	if err := missing("the book and those put aside", l.kept, anywhere); err != nil {
		return book, err
	}
	if l.hasBackup {
		want := l.backedUp
		if l.before != nil {
			want = l.before
		}
		c, err := look(t, path+".backup")
		if err != nil {
			return book, fmt.Errorf("the backup: %w", err)
		}
		return book, missing("the backup", want, c.ids)
	}
	return book, nil
}

func missing(where string, want, got map[string]bool) error {
	for id := range want {
		if !got[id] {
			return fmt.Errorf("%s: %s was acknowledged and is not there", where, id)
		}
	}
	return nil
}
