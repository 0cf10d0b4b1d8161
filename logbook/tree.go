package logbook

import (
	"bytes"
	"encoding/binary"
	"errors"
)

// tree is the pages of one bucket as they lie in the file, read with care.
type tree struct {
	g      *pager
	root   uint64
	inline *page // a small bucket lies in its parent's page
	none   bool  // there is no such bucket
	spoilt bool  // there is one, but its head or its inline page cannot be right
	seq    uint64
}

// rootTree is the bucket of buckets.
func (g *pager) rootTree() tree { return tree{g: g, root: g.head.root} }

// bucket opens one of the buckets that the root holds.
func (g *pager) bucket(name string) tree {
	v, isBucket := g.rootTree().find([]byte(name))
	if !isBucket {
		return tree{g: g, none: true}
	}
	return g.open(name, v)
}

// open reads a bucket's head, which names its first page or, for a small bucket, is followed by it.
func (g *pager) open(name string, v []byte) tree {
	if len(v) < bucketLen {
		g.fault("bucket %q: its head has %d bytes, expected %d", name, len(v), bucketLen)
		return tree{g: g, none: true, spoilt: true}
	}
	t := tree{g: g, root: binary.NativeEndian.Uint64(v), seq: binary.NativeEndian.Uint64(v[8:])}
	if t.root != 0 {
		return t
	}
	p, err := verifyPage(v[bucketLen:])
	if err == nil && !p.leaf {
		err = errInlineBranch
	}
	if err != nil {
		g.fault("bucket %q: %v", name, err)
		t.none, t.spoilt = true, true
	}
	t.inline = &p
	return t
}

var errInlineBranch = errors.New("a branch, expected a leaf")

// find returns a key's value, nil where it is not there, and whether it is a bucket.
func (t tree) find(k []byte) (v []byte, isBucket bool) {
	c := t.cursor()
	got, v := c.Seek(k)
	if got == nil || !bytes.Equal(got, k) {
		return nil, false
	}
	top := c.top()
	return v, top.page.isBucket(top.at)
}

// cursor walks the pairs of a tree in order. A spoilt page is passed over, with a fault noted; its pairs are missing then.
type cursor struct {
	t     tree
	stack []step
	room  [4]step                // for the stack of all but the largest books
	visit func(n uint64, p page) // told of each page that is entered; may be nil
}

// step is a page on the way from the root and the element that was taken. low and high bound the keys that may be in it, as
// the page above says: a page that stands in two places, or above itself, breaks them, so a walk always ends.
type step struct {
	page      page
	at        int
	low, high []byte
}

func (t tree) cursor() *cursor {
	c := &cursor{t: t}
	c.stack = c.room[:0]
	return c
}

func (c *cursor) top() *step { return &c.stack[len(c.stack)-1] }

// First goes to the first pair. A nil key is the end.
func (c *cursor) First() (k, v []byte) {
	c.stack = c.stack[:0]
	if !c.enterRoot() {
		return nil, nil
	}
	return c.settle(true, c.descend(true))
}

// Last goes to the last pair.
func (c *cursor) Last() (k, v []byte) {
	c.stack = c.stack[:0]
	if !c.enterRoot() {
		return nil, nil
	}
	return c.settle(false, c.descend(false))
}

// Seek goes to the first pair whose key is not below k.
func (c *cursor) Seek(k []byte) (key, v []byte) {
	c.stack = c.stack[:0]
	if !c.enterRoot() {
		return nil, nil
	}
	for !c.top().page.leaf {
		s := c.top()
		i, exact := s.page.find(k)
		if !exact && i > 0 {
			i--
		}
		s.at = i
		if !c.enter(i) {
			return c.step(true)
		}
	}
	s := c.top()
	s.at, _ = s.page.find(k)
	return c.settle(true, true)
}

// Next goes to the pair after, Prev to the one before.
func (c *cursor) Next() (k, v []byte) { return c.step(true) }

// Prev goes to the pair before.
func (c *cursor) Prev() (k, v []byte) { return c.step(false) }

// step moves by one element, up and down the pages as needed.
func (c *cursor) step(forward bool) (k, v []byte) {
	for len(c.stack) > 0 {
		s := c.top()
		if forward {
			s.at++
		} else {
			s.at--
		}
		if s.at < 0 || s.at >= s.page.count {
			if len(c.stack) == 1 {
				// stay just beyond the end, so that the other direction leads back
				s.at = max(-1, min(s.at, s.page.count))
				return nil, nil
			}
			c.stack = c.stack[:len(c.stack)-1]
			continue
		}
		if s.page.leaf {
			return s.page.key(s.at), s.page.value(s.at)
		}
		if c.enter(s.at) && c.descend(forward) {
			return c.settle(forward, true)
		}
	}
	return nil, nil
}

// settle returns the pair at hand, or moves on where the leaf has none there.
func (c *cursor) settle(forward, entered bool) (k, v []byte) {
	if s := c.top(); entered && s.page.leaf && s.at >= 0 && s.at < s.page.count {
		return s.page.key(s.at), s.page.value(s.at)
	}
	return c.step(forward)
}

// descend goes down from the page at hand along its first or last elements. False means that a spoilt page was in the way;
// the cursor then stands on the element above it.
func (c *cursor) descend(first bool) bool {
	for {
		s := c.top()
		s.at = 0
		if !first {
			s.at = s.page.count - 1
		}
		if s.page.leaf {
			return true
		}
		if !c.enter(s.at) {
			return false
		}
	}
}

func (c *cursor) enterRoot() bool {
	switch {
	case c.t.none:
		return false
	case c.t.inline != nil:
		c.stack = append(c.stack, step{page: *c.t.inline})
		return true
	}
	p, ok := c.t.g.page(c.t.root)
	if ok {
		c.push(c.t.root, step{page: p})
	}
	return ok
}

func (c *cursor) push(n uint64, s step) {
	c.stack = append(c.stack, s)
	if c.visit != nil {
		c.visit(n, s.page)
	}
}

// enter goes down into the page of one element.
func (c *cursor) enter(i int) bool {
	s := c.top()
	low, high := s.page.key(i), s.high
	if i+1 < s.page.count {
		high = s.page.key(i + 1)
	}
	n := s.page.child(i)
	p, ok := c.t.g.page(n)
	if !ok {
		return false
	}
	if !within(p, low, high) {
		c.t.g.fault("page %d: its keys are not those that the page above it says", n)
		return false
	}
	if len(c.stack) >= maxDepth {
		c.t.g.fault("page %d: more than %d levels", n, maxDepth)
		return false
	}
	c.push(n, step{page: p, low: low, high: high})
	return true
}

// within reports whether all keys are at least low and, where there is a high, below it.
func within(p page, low, high []byte) bool {
	return p.count == 0 || bytes.Compare(p.key(0), low) >= 0 && (high == nil || bytes.Compare(p.key(p.count-1), high) < 0)
}
