package logbook

import (
	"encoding/binary"
	"slices"
)

// oldDrafts looks for drafts in all pages of a file whose tree does not lead to them any more, and keeps the newest of each
// form. Such a draft may have become an entry since; it is offered again rather than lost. A page size of 0 is not known: the
// smallest is tried, which every other is a multiple of.
func (v *survey) oldDrafts(pageSize int64) {
	if pageSize == 0 {
		pageSize = minPage
	}
	newest := map[string]uint64{}
	take := func(k, value []byte) {
		if len(k) == idLen { // entries have a checksum by the same rule, over a key and a value that begins alike
			if _, err := open(id(k), value); err == nil {
				return
			}
		}
		if d, err := readDraft(string(k), value, v.loc); err == nil && isForm(d.Form) {
			if at := binary.BigEndian.Uint64(value[1:]); at >= newest[d.Form] {
				newest[d.Form] = at
				v.drafts[d.Form] = slices.Clone(value)
			}
		}
	}
	page := make([]byte, maxPage)
	for at := int64(0); at < v.size; at += pageSize {
		n := min(int64(len(page)), v.size-at)
		if got, err := v.src.ReadAt(page[:n], at); err != nil {
			n = int64(got)
		}
		eachPair(page[:n], true, take)
	}
}

// eachPair hands out the pairs of a leaf and, if within is set, those of small buckets that lie in it, as far as its elements can
// be followed.
func eachPair(data []byte, within bool, fn func(k, v []byte)) {
	if len(data) < pageHeadLen || binary.NativeEndian.Uint16(data[8:]) != pageLeaf {
		return
	}
	count := int(binary.NativeEndian.Uint16(data[10:]))
	p := page{leaf: true, data: data}
	for i := range min(count, (len(data)-pageHeadLen)/elementLen) {
		pos, key, value := p.place(i)
		if pos+key+value > uint64(len(p.element(i))) {
			continue
		}
		v := p.value(i)
		switch {
		case !p.isBucket(i):
			fn(p.key(i), v)
		case within && len(v) > bucketLen && binary.NativeEndian.Uint64(v) == 0:
			eachPair(v[bucketLen:], false, fn)
		}
	}
}
