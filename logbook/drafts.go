package logbook

import (
	"bytes"
	"context"
	"encoding/binary"
	"hash/crc32"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Draft is what was typed into a form and not saved yet.
type Draft struct {
	Form    string
	Data    []byte // the form's own bytes
	SavedAt time.Time
}

// A draft's value is a version byte, milliseconds since 1970, the form's bytes and CRC32C over the form's name and all of
// that (FORMAT.md).
const (
	draftVersion = 1
	draftMinLen  = 1 + 8 + crcLen
	// draftMaxLen keeps a draft to what a form can hold.
	draftMaxLen = 1 << 20
	// formMaxLen is more than any name of a task or a checklist, which the names of their forms hold.
	formMaxLen = 4 << 10
)

// isForm reports whether a key looks like a form's name: text that a person could read. The keys of the derived lists do not, so
// that a rescue, which cannot always tell whose page it looks at, takes none of their rows for a draft. What is typed is kept
// under any name: a form is named after a task or a checklist of the plant's file.
func isForm(name string) bool {
	return name != "" && len(name) <= formMaxLen && utf8.ValidString(name) && !strings.ContainsFunc(name, func(r rune) bool { return !unicode.IsPrint(r) })
}

// SaveDraft keeps what was typed into a form so far, in place of what was kept before. When it returns, the draft is on the
// disk.
func (b *Book) SaveDraft(ctx context.Context, form string, data []byte) error {
	const doing = "keeping a draft"
	if form == "" || len(form) > formMaxLen || len(data) > draftMaxLen {
		return explain(doing, b.path, invalid("a draft without a name or above 1 MiB", "a form's name and its text"))
	}
	now, err := b.now()
	if err != nil {
		return explain(doing, b.path, err)
	}
	v := append(make([]byte, 0, draftMinLen+len(data)), draftVersion)
	v = binary.BigEndian.AppendUint64(v, uint64(now.MS))
	v = append(v, data...)
	v = binary.BigEndian.AppendUint32(v, draftSum(form, v))
	return b.update(ctx, doing, func(t *txn) error { return t.drafts.Put([]byte(form), v) })
}

// Draft returns a form's draft, or false when there is none. A spoilt draft is ErrDamaged.
func (b *Book) Draft(ctx context.Context, form string) (d Draft, ok bool, err error) {
	err = b.view(ctx, "reading a draft", func(t *txn) error {
		v := t.drafts.Get([]byte(form))
		if v == nil {
			return nil
		}
		ok = true
		d, err = readDraft(form, v, t.loc)
		return err
	})
	return d, ok && err == nil, err
}

// Drafts returns all drafts, ordered by the form's name. Spoilt ones are left out.
func (b *Book) Drafts(ctx context.Context) ([]Draft, error) {
	var list []Draft
	err := b.view(ctx, "reading drafts", func(t *txn) error {
		list = nil
		c := t.drafts.Cursor()
		for k, v := c.First(); k != nil; k, v = c.Next() {
			if d, err := readDraft(string(k), v, t.loc); err == nil {
				list = append(list, d)
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return list, nil
}

// DropDraft throws a form's draft away. One that is not there is no error. Where own is given, a draft that is none of these is
// left: another window wrote it.
func (b *Book) DropDraft(ctx context.Context, form string, own ...[]byte) error {
	return b.update(ctx, "throwing a draft away", func(t *txn) error { return t.dropDraft(form, own) })
}

// dropDraft throws a form's draft away within a transaction; "" is no form. A draft that is none of own, where any are given, is
// left, unless it is spoilt and so of no use to anybody.
func (t *txn) dropDraft(form string, own [][]byte) error {
	if form == "" {
		return nil
	}
	if v := t.drafts.Get([]byte(form)); v != nil && len(own) > 0 {
		d, err := readDraft(form, v, t.loc)
		mine := func(data []byte) bool { return data != nil && bytes.Equal(data, d.Data) }
		if err == nil && !slices.ContainsFunc(own, mine) {
			return nil
		}
	}
	return t.drafts.Delete([]byte(form))
}

func readDraft(form string, v []byte, loc *time.Location) (Draft, error) {
	if len(v) < draftMinLen || v[0] != draftVersion {
		return Draft{}, damaged("the draft of "+form, nil)
	}
	cut := len(v) - crcLen
	if binary.BigEndian.Uint32(v[cut:]) != draftSum(form, v[:cut]) {
		return Draft{}, damaged("the draft of "+form+": its checksum is wrong", nil)
	}
	at := time.UnixMilli(int64(binary.BigEndian.Uint64(v[1:])))
	return Draft{Form: form, Data: append([]byte{}, v[9:cut]...), SavedAt: at.In(loc)}, nil
}

func draftSum(form string, v []byte) uint32 {
	return crc32.Update(crc32.Checksum([]byte(form), castagnoli), castagnoli, v)
}
