package logbook

import (
	"bytes"
	"context"
	"errors"
	"fmt"
)

// Merge puts every entry of another book into this one. Merging is commutative, associative and idempotent: copies of a book
// that were merged in any order, any number of times, hold the same entries and read the same. Drafts stay where they are.
//
// The other book is not changed. A damaged one is refused whole (ErrDamaged).
//
// Two books can hold an entry of the same id with other bytes, when the same file was imported into both. Both versions are
// kept, since each is a link of a chain; the one written first is the one that is read.
func (b *Book) Merge(ctx context.Context, other string) (added, already int, err error) {
	const doing = "merging"
	list, gaps, err := b.foreign(ctx, other)
	if err != nil {
		return 0, 0, explain(doing, other, err)
	}
	return b.putWith(ctx, doing, eachOf(list), gaps)
}

// PutEntries puts entries with their place in their writers' chains into the book, as an export gave them: the bytes are made
// again from the content, and must give the hash that the entry states, where it states one. It is Merge for another form of
// book.
func (b *Book) PutEntries(ctx context.Context, entries []Entry) (added, already int, err error) {
	const doing = "putting entries in"
	list := make([]sealed, len(entries))
	for i, e := range entries {
		if list[i], err = e.seal(); err != nil {
			return 0, 0, explain(fmt.Sprintf("%s (number %d)", doing, i+1), b.path, err)
		}
	}
	return b.put(ctx, doing, eachOf(list))
}

// PutStream is PutEntries for entries that are handed out one at a time, so that no more than some hundreds of them are in
// memory beside the book's new pages. All of them go in, or none: where each returns an error, the book is as it was and the
// error is passed on. The book is locked until each has returned. It runs beside the writing, in a goroutine of its own.
//
// lost are entries that the handed out ones follow and that are known to be lost; the book notes them as such.
func (b *Book) PutStream(ctx context.Context, each func(yield func(Entry) error) error, lost ...Gap) (added, already int, err error) {
	return b.putWith(ctx, "putting entries in", func(take func(sealed) error) error {
		return ahead(func(hand func(sealed) error) error {
			return each(func(e Entry) error {
				s, err := e.seal()
				if err != nil {
					return err
				}
				return hand(s)
			})
		}, take)
	}, linksOf(lost))
}

// How many entries are handed over at a time, and how many such batches may wait.
const batchLen, batchesWaiting = 128, 4

// errStopped ends the making of entries that nobody wants any more.
var errStopped = errors.New("stopped")

// ahead makes entries while those before them are being written. The error is that of take, else that of produce.
func ahead(produce func(hand func(sealed) error) error, take func(sealed) error) error {
	batches, stop := make(chan []sealed, batchesWaiting), make(chan struct{})
	var made error // read only when batches is closed
	go func() {
		defer close(batches)
		var list []sealed
		flush := func() error {
			select {
			case batches <- list:
				list = make([]sealed, 0, batchLen)
				return nil
			case <-stop:
				return errStopped
			}
		}
		made = produce(func(s sealed) error {
			if list = append(list, s); len(list) < batchLen {
				return nil
			}
			return flush()
		})
		if made == nil && len(list) > 0 {
			made = flush()
		}
	}()
	stopped := false
	end := func() {
		if !stopped {
			stopped = true
			close(stop)
		}
	}
	defer end() // also where take panics on a page that cannot be read
	var err error
	for list := range batches {
		for i := 0; i < len(list) && err == nil; i++ {
			err = take(list[i])
		}
		if err != nil {
			end() // and wait until nothing reads any more
		}
	}
	if err != nil {
		return err
	}
	return made
}

// eachOf hands out a list.
func eachOf(list []sealed) func(func(sealed) error) error {
	return func(take func(sealed) error) error {
		for _, f := range list {
			if err := take(f); err != nil {
				return err
			}
		}
		return nil
	}
}

// longValue is less than any value that holds more elements than decOptions allow.
const longValue = 1 << 16

// seal wraps an exported entry again.
func (e Entry) seal() (sealed, error) {
	key, err := parseID(e.ID)
	if err != nil {
		return sealed{}, err
	}
	value, b := e.Raw, e.read
	if value == nil {
		if b, err = e.body(); err != nil {
			return sealed{}, err
		}
		value, err = seal(key, b)
	}
	// What was made just now needs no reading, unless it is so long that it could be beyond what reading allows.
	if err == nil && (b == nil || len(value) >= longValue) {
		b, err = open(key, value)
	}
	if err != nil {
		return sealed{}, err
	}
	hash := hashOf(key, value)
	if e.Hash != [hashLen]byte{} && e.Hash != hash {
		return sealed{}, damaged(fmt.Sprintf("entry %s: its content gives the hash %x, it states %x", key, hash, e.Hash), nil)
	}
	return sealed{id: key, b: b, hash: hash, value: value}, nil
}

// foreign reads all entries of another book, and which are known to be lost there.
func (b *Book) foreign(ctx context.Context, path string) ([]sealed, map[link]uint64, error) {
	s, err := b.takeSnapshot(ctx, path)
	if err != nil {
		return nil, nil, err
	}
	c := &checker{ctx: ctx, report: &CheckReport{}}
	c.pages(s)
	if _, ok := c.buckets[bucketBook]; !ok && len(c.report.Damaged) <= 1 {
		return nil, nil, &Error{Kind: ErrNotABook, Where: "the mark of a logbook is missing", Hint: hintUnchanged}
	}
	if err := c.entries(); err != nil {
		return nil, nil, err
	}
	gaps := c.gaps()
	if n := len(c.report.Damaged); n > 0 {
		return nil, nil, damaged(fmt.Sprintf("%d damages, the first: %s", n, c.report.Damaged[0]), nil)
	}
	return c.sealed, gaps, nil
}

// put adds foreign entries in one transaction. Of those that were new it remembers their places in the chains alone.
func (b *Book) put(ctx context.Context, doing string, each func(take func(sealed) error) error) (added, already int, err error) {
	return b.putWith(ctx, doing, each, nil)
}

// putWith is put, and notes which of the entries that the foreign ones follow are known to be lost.
func (b *Book) putWith(ctx context.Context, doing string, each func(take func(sealed) error) error, gaps map[link]uint64) (added, already int, err error) {
	err = b.update(ctx, doing, func(t *txn) error {
		added, already = 0, 0
		var fresh []place
		first, _ := t.entries.Cursor().First()
		err := each(func(f sealed) error {
			if (added+already)%1024 == 0 && ctx.Err() != nil {
				return ctx.Err()
			}
			isNew, put, err := t.merge(f)
			if err != nil {
				return err
			}
			if isNew {
				added++
			} else {
				already++
			}
			if put {
				fresh = append(fresh, place{link: f.own(), tip: tip{id: f.id, seq: f.b.Seq, hash: f.hash}, prev: f.prev()})
			}
			return nil
		})
		if err != nil {
			return err
		}
		noted, err := t.addGaps(gaps)
		if err != nil {
			return err
		}
		if len(fresh) == 0 && !noted {
			return errNothing
		}
		if err := t.joinChains(fresh, first == nil); err != nil {
			return err
		}
		return t.markIndex()
	})
	if err = unlessNothing(err); err != nil {
		return 0, 0, err
	}
	return added, already, nil
}

// place is where an entry stands in its writer's chain.
type place struct {
	link
	tip  tip
	prev link // of the entry before it
}

// merge puts one entry in. isNew tells that its id was unknown, put that something was written.
func (t *txn) merge(f sealed) (isNew, put bool, err error) {
	old := t.get(f.id)
	switch {
	case old == nil:
		return true, true, t.insert(f.id, f.value, f.b)
	case bytes.Equal(old, f.value):
		return false, false, nil
	}
	hash := hashOf(f.id, old)
	if t.twins.Get(twinKey(f.id, f.hash)) != nil {
		return false, false, nil
	}
	// The versions of an entry are a set. Which of them is read depends on the set alone, never on the order of merging.
	if was, err := open(f.id, old); err == nil && !f.before(was, hash) {
		if err := t.count(f.b); err != nil {
			return false, false, err
		}
		return false, true, t.twins.Put(twinKey(f.id, f.hash), f.value)
	}
	if err := t.twins.Put(twinKey(f.id, hash), append([]byte(nil), old...)); err != nil {
		return false, false, err
	}
	return false, true, t.insert(f.id, f.value, f.b)
}

// before is the order of versions: what was written first, then the lower hash.
func (s sealed) before(b *body, hash [hashLen]byte) bool {
	if s.b.Written.MS != b.Written.MS {
		return s.b.Written.MS < b.Written.MS
	}
	return bytes.Compare(s.hash[:], hash[:]) < 0
}

func twinKey(key id, hash [hashLen]byte) []byte { return append(key[:], hash[:]...) }

// joinChains brings the list of last entries up to date after foreign entries came in: a last entry that something follows
// now is taken off, a new one that nothing follows is put on. Into a book that was empty nothing came but the new ones.
func (t *txn) joinChains(fresh []place, wasEmpty bool) error {
	writers, followed := map[[writerLen]byte]bool{}, map[link]bool{}
	for _, f := range fresh {
		writers[f.writer] = true
		followed[f.prev] = true
	}
	if !wasEmpty {
		followed = t.followed(writers)
	}
	for writer := range writers {
		for _, h := range t.tips(writer) {
			if followed[link{writer, h.hash}] {
				if err := t.dropTip(writer, h.hash); err != nil {
					return err
				}
			}
		}
	}
	for _, f := range fresh {
		if !followed[f.link] {
			if err := t.putTip(f.writer, f.tip); err != nil {
				return err
			}
		}
	}
	return nil
}

// followed collects which entries of some writers another entry names as the one before it.
func (t *txn) followed(writers map[[writerLen]byte]bool) map[link]bool {
	var place struct { // the few fields that are needed, for the sake of speed
		Writer []byte `cbor:"4,keyasint"`
		Prev   []byte `cbor:"6,keyasint"`
	}
	set := map[link]bool{}
	add := func(k, v []byte) {
		if len(k) < idLen {
			return
		}
		_, payload, err := unwrap(id(k), v)
		if err != nil || lenient.Unmarshal(payload, &place) != nil || len(place.Writer) != writerLen || len(place.Prev) != hashLen {
			return
		}
		if w := [writerLen]byte(place.Writer); writers[w] {
			set[link{w, [hashLen]byte(place.Prev)}] = true
		}
	}
	for _, b := range []*bucket{t.entries, t.twins} {
		c := b.Cursor()
		for k, v := c.First(); k != nil; k, v = c.Next() {
			add(k, v)
		}
	}
	return set
}
