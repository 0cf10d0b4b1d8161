package logbook

// tipsLooked bounds how many chains are looked at before each transaction; a book has a few, as many as people's machines.
const tipsLooked = 16

// outdated reports whether another page stands in the place of the entries' first one: a spoilt bit in a page's number is enough,
// and such a page is as it was written, so that nothing else about it is wrong. An older page lacks the last entry of some chain;
// one of the later pages of the tree is a leaf that holds fewer than all. What looks so is counted before it is believed, since
// the list of last entries may be what is spoilt.
func (t *txn) outdated() bool {
	if !t.tipMissing() && !t.leafTooSmall() {
		return false
	}
	return t.entries.tree.count()+t.twins.tree.count() != t.entries.tree.seq
}

func (t *txn) tipMissing() bool {
	c := t.heads.tree.cursor()
	looked := 0
	for k, v := c.First(); k != nil && looked < tipsLooked; k, v = c.Next() {
		looked++
		if _, h, ok := readTip(k, v); ok {
			if there, _ := t.entries.tree.find(h.id[:]); there == nil {
				return true
			}
		}
	}
	return false
}

// leafTooSmall reports whether the entries' first page is a leaf, which then holds all of them, and holds fewer.
func (t *txn) leafTooSmall() bool {
	c := t.entries.tree.cursor()
	return c.enterRoot() && c.top().page.leaf && uint64(c.top().page.count) != t.entries.tree.seq
}

// count returns how many pairs a walk over the tree comes to.
func (t tree) count() uint64 {
	n := uint64(0)
	c := t.cursor()
	for k, _ := c.First(); k != nil; k, _ = c.Next() {
		n++
	}
	return n
}
