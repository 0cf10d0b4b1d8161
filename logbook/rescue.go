package logbook

import (
	"context"
	"errors"
	"fmt"
	"os"

	bolt "go.etcd.io/bbolt"
)

// RescueReport is what Rescue saved, and what it could not.
type RescueReport struct {
	Saved int `json:"saved"`
	// Uncertain of these were found in pages that are not in use, and no entry in use follows them: either the damage hides that
	// they were acknowledged, or they never were, because the writing of them failed. Saving one too many loses nothing.
	Uncertain int      `json:"uncertain,omitempty"`
	Drafts    int      `json:"drafts,omitempty"`
	Damaged   []Damage `json:"damaged"` // what is not as it was written and of which no whole copy was found
	// Lost are the places in the writers' chains at which entries are missing, LostEntries how many these are. An entry that
	// was the last of its chain is only known to be lost where the list of last entries could be read.
	Lost        []Loss `json:"lost"`
	LostEntries int    `json:"lost_entries"`
	FileBytes   int64  `json:"file_bytes"`
}

const rescuing = "rescuing"

// Rescue saves every entry of a damaged book that is still whole into a new book. The damaged file is only read, never
// written; nothing that it says of itself is believed but an entry's own checksum, so that a cut file, spoilt heads and pages
// that cannot be read are no hindrance. What is missing in the chains is noted in the new book as known to be lost, so that
// the new book is sound and can be backed up and restored.
//
// ErrExists is returned when anything has dst's name, ErrNotABook when not one entry was found.
func Rescue(ctx context.Context, src, dst string, o Options) (*RescueReport, error) {
	b := newBook(src, o)
	if _, err := os.Lstat(dst); err == nil {
		return nil, &Error{Doing: rescuing, Path: dst, Kind: ErrExists, Hint: hintUnchanged}
	}
	var report *RescueReport
	err := b.locked(ctx, func(f *os.File) error {
		v, err := surveyFile(ctx, f, o)
		if err != nil {
			return err
		}
		if len(v.kept) == 0 {
			return &Error{Kind: ErrNotABook, Where: "not one whole entry was found in it", Hint: hintUnchanged}
		}
		report = v.report()
		err = writeBeside(dst, func(temp string) error { return v.write(ctx, newBook(temp, o)) }, renameNew)
		return explainCopy(rescuing, dst, err)
	})
	if err != nil {
		return nil, explain(rescuing, src, err)
	}
	return report, nil
}

// locked reads a book's file while no one can write in it, if it is sound enough to be locked; no one can write in one that is
// not.
func (b *Book) locked(ctx context.Context, fn func(*os.File) error) error {
	held := false
	err := b.with(ctx, b.path, modeRead, func(f *os.File, _ *bolt.DB) error {
		held = true
		return fn(f)
	})
	if held || err == nil || errors.Is(err, ErrLocked) || ctx.Err() != nil {
		return err
	}
	f, err := openRegular(b.path)
	if err != nil {
		return err
	}
	err = fn(f)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	return err
}

// write puts everything that is kept into the empty file of a new book and verifies it.
func (v *survey) write(ctx context.Context, b *Book) error {
	if err := b.layOut(ctx); err != nil {
		return err
	}
	if err := v.putInto(ctx, b); err != nil {
		return err
	}
	err := b.update(ctx, rescuing, func(t *txn) error {
		for form, value := range v.drafts {
			if err := t.drafts.Put([]byte(form), value); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	_, _, err = b.soundSnapshot(ctx, b.path)
	return err
}

// putInto adds the entries that are kept to a book, and notes which are known to be lost.
func (v *survey) putInto(ctx context.Context, b *Book) error {
	_, _, err := b.putWith(ctx, rescuing, func(take func(sealed) error) error {
		done := make(map[[hashLen]byte]bool, len(v.kept))
		return v.each(ctx, func(key id, value []byte, hash [hashLen]byte) error {
			if _, wanted := v.kept[hash]; !wanted || done[hash] {
				return nil
			}
			body, err := open(key, value)
			if err != nil {
				return nil // it was looked at before: another process is writing in the file, and its newer pages tell
			}
			done[hash] = true
			return take(sealed{id: key, b: body, hash: hash, value: append([]byte(nil), value...)})
		})
	}, v.gaps)
	return err
}

// report tells what is saved and lost, once the survey is made.
func (v *survey) report() *RescueReport {
	r := &RescueReport{Saved: len(v.kept), Uncertain: v.uncertain, Drafts: len(v.drafts), Damaged: []Damage{}, Lost: v.losses(), FileBytes: v.size}
	saved := map[id]bool{}
	for _, p := range v.kept {
		saved[p.id] = true
	}
	for _, s := range v.spoilt {
		if !saved[s.id] {
			r.Damaged = append(r.Damaged, damageOf(s.id, s.kind, s.what))
		}
	}
	r.Damaged = append(r.Damaged, v.doubtful()...)
	for _, f := range v.faults {
		r.Damaged = append(r.Damaged, Damage{What: f})
	}
	for _, l := range r.Lost {
		r.LostEntries += int(l.To - l.From + 1)
	}
	return r
}

// String says which entries are missing.
func (l Loss) String() string {
	s := fmt.Sprintf("entry %d", l.From)
	if l.To > l.From {
		s = fmt.Sprintf("%d entries (numbers %d to %d)", l.To-l.From+1, l.From, l.To)
	}
	s += " of writer " + l.Writer[:8]
	switch {
	case l.After != nil && l.Before != nil:
		return s + ", written between " + l.After.Format(sentenceTime) + " and " + l.Before.Format(sentenceTime)
	case l.Before != nil:
		return s + ", written before " + l.Before.Format(sentenceTime)
	case l.After != nil:
		return s + ", written after " + l.After.Format(sentenceTime)
	}
	return s
}
