package logbook

import (
	"cmp"
	"context"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"time"
)

// Loss is a run of entries that are missing in a writer's chain.
type Loss struct {
	Writer string     `json:"writer"` // in hexadecimal digits
	From   uint64     `json:"from"`   // the writer's own numbers, both included
	To     uint64     `json:"to"`
	After  *time.Time `json:"after,omitempty"`  // when the entry before them was written
	Before *time.Time `json:"before,omitempty"` // when the entry behind them was written
}

// survey is what is found in a spoilt file: by its tree, as far as that can be walked, and by the scan for entries.
type survey struct {
	src  io.ReaderAt
	size int64
	loc  *time.Location

	whole   bool // both heads and all pages of the tree are as they were written
	reached map[[hashLen]byte]bool
	tips    map[link]tip
	known   map[link]uint64 // entries that an earlier rescue noted as lost, and their numbers
	faults  []string
	spoilt  []spoiltEntry
	drafts  map[string][]byte

	kept      map[[hashLen]byte]found
	uncertain int
	gaps      map[link]uint64 // entries that some kept entry follows and that were not found, and their numbers
}

// found is an entry's place in its chain; its bytes stay in the file.
type found struct {
	id id
	link
	prev    [hashLen]byte
	seq     uint64
	written stamp
}

type spoiltEntry struct {
	id   id
	kind Kind // as it says itself; 0 where it does not
	what string
}

// surveyFile looks at all of a file, of which nothing is believed.
func surveyFile(ctx context.Context, f *os.File, o Options) (*survey, error) {
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	v := &survey{src: f, size: info.Size(), loc: o.Location, reached: map[[hashLen]byte]bool{}, tips: map[link]tip{}, known: map[link]uint64{},
		drafts: map[string][]byte{}, kept: map[[hashLen]byte]found{}, gaps: map[link]uint64{}}
	v.tree()
	if err := v.collect(ctx); err != nil {
		return nil, err
	}
	v.choose()
	for _, p := range v.kept {
		if before := (link{p.writer, p.prev}); p.seq > 1 && !v.has(before) {
			v.gaps[before] = p.seq - 1
		}
	}
	return v, nil
}

func (v *survey) has(l link) bool {
	_, ok := v.kept[l.hash]
	return ok
}

// tree walks what the heads lead to.
func (v *survey) tree() {
	g, err := newPager(v.src, nil)
	if err != nil {
		v.faults = append(v.faults, damageText(err))
		v.oldDrafts(0)
		return
	}
	if pages := uint64(v.size / g.head.pageSize); g.head.highWater > pages {
		g.fault("the file has %d bytes, expected at least %d: it was cut short, or not copied to the end", v.size, int64(g.head.highWater)*g.head.pageSize)
		g.head.highWater = pages
	}
	if !bothHeads(v.src, g.head) {
		g.fault("one of the two heads of the file is spoilt")
	}
	entries := g.bucket(bucketEntries)
	for _, b := range []tree{entries, g.bucket(bucketTwins)} {
		c := b.cursor()
		for k, value := c.First(); k != nil; k, value = c.Next() {
			v.reach(k, value)
		}
	}
	v.lists(g)
	// A spoilt page can look right: a bucket's name, a length, an older page in its place. The count of all that was ever put in
	// tells then.
	v.whole = len(g.faults) == 0 && len(v.spoilt) == 0 && len(v.reached) > 0 && entries.seq == uint64(len(v.reached))
	v.faults = append(v.faults, g.faults...)
	if !v.whole && len(v.drafts) == 0 {
		v.oldDrafts(g.head.pageSize)
	}
}

// reach notes an entry that the tree leads to.
func (v *survey) reach(k, value []byte) {
	if len(k) < idLen {
		return // the count tells
	}
	key := id(k)
	if _, err := open(key, value); err != nil {
		v.spoilt = append(v.spoilt, spoiltEntry{key, kindOf(value), damageText(err)})
		return
	}
	v.reached[hashOf(key, value)] = true
}

// lists reads the last entries of the chains, what is known to be lost, and the drafts.
func (v *survey) lists(g *pager) {
	c := g.bucket(bucketHeads).cursor()
	for k, value := c.First(); k != nil; k, value = c.Next() {
		if writer, h, ok := readTip(k, value); ok {
			v.tips[link{writer, h.hash}] = h
		}
	}
	c = g.bucket(bucketGaps).cursor()
	for k, value := c.First(); k != nil; k, value = c.Next() {
		if l, seq, ok := readGap(k, value); ok {
			v.known[l] = seq
		}
	}
	c = g.bucket(bucketDrafts).cursor()
	for k, value := c.First(); k != nil; k, value = c.Next() {
		if d, err := readDraft(string(k), value, v.loc); err == nil && isForm(d.Form) {
			v.drafts[string(k)] = slices.Clone(value)
		}
	}
}

// each hands out every whole entry of the file, each as often as there are copies: those of the scan, and those that a newer
// version wrapped otherwise, which only the tree leads to.
func (v *survey) each(ctx context.Context, fn func(key id, value []byte, hash [hashLen]byte) error) error {
	notes, err := scanEntries(ctx, v.src, v.size, func(key id, value []byte) error { return fn(key, value, hashOf(key, value)) })
	if s := notes.String(); s != "" && !slices.Contains(v.faults, s) {
		v.faults = append(v.faults, s)
	}
	if err != nil {
		return err
	}
	g, err := newPager(v.src, nil)
	if err != nil {
		return nil // told by tree
	}
	g.head.highWater = min(g.head.highWater, uint64(v.size/g.head.pageSize))
	for _, name := range []string{bucketEntries, bucketTwins} {
		c := g.bucket(name).cursor()
		for k, value := c.First(); k != nil; k, value = c.Next() {
			if len(k) < idLen || len(value) == 0 || value[0] == envelopeVersion {
				continue
			}
			if _, _, err := unwrap(id(k), value); err == nil {
				if err := fn(id(k), value, hashOf(id(k), value)); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// collect notes the place of every whole entry.
func (v *survey) collect(ctx context.Context) error {
	return v.each(ctx, func(key id, value []byte, hash [hashLen]byte) error {
		if _, ok := v.kept[hash]; ok {
			return nil
		}
		b, err := open(key, value)
		if err != nil {
			return nil // bytes that pass the checksum by chance
		}
		writer := [writerLen]byte(b.Writer)
		v.kept[hash] = found{id: key, link: link{writer, hash}, prev: [hashLen]byte(b.Prev), seq: b.Seq, written: b.Written}
		return nil
	})
}

// choose counts what may never have been acknowledged.
//
// A writing that failed, for instance for want of space, leaves entries in pages that no head leads to; so does one that
// succeeded on a disk that then lost the head. The two cannot be told apart, and one entry too many is better than one too few.
// Certain is an entry that the tree leads to, and one that such an entry follows.
func (v *survey) choose() {
	if len(v.reached) == 0 && len(v.tips) == 0 {
		return // nothing can be said
	}
	certain := make(map[[hashLen]byte]bool, len(v.kept))
	follow := func(hash [hashLen]byte) {
		for p, ok := v.kept[hash]; ok && !certain[hash]; p, ok = v.kept[hash] {
			certain[hash] = true
			hash = p.prev
		}
	}
	for hash := range v.reached {
		follow(hash)
	}
	for l := range v.tips {
		follow(l.hash)
	}
	v.uncertain = len(v.kept) - len(certain)
}

// losses lists the numbers that are missing in each writer's chain, and were not known to be lost before.
func (v *survey) losses() []Loss {
	chains := map[[writerLen]byte][]found{}
	for _, p := range v.kept {
		chains[p.writer] = append(chains[p.writer], p)
	}
	for l, h := range v.tips {
		if v.believed(l, h) {
			chains[l.writer] = append(chains[l.writer], found{seq: h.seq + 1, link: l}) // as if one followed the last
		}
	}
	list := []Loss{}
	for writer, chain := range chains {
		slices.SortFunc(chain, func(a, b found) int { return cmp.Compare(a.seq, b.seq) })
		next := uint64(1)
		var before *found
		for i, p := range chain {
			if p.seq > next && !v.knownLost(writer, p.seq-1) {
				list = append(list, Loss{Writer: hex.EncodeToString(writer[:]), From: next, To: p.seq - 1, After: v.when(before), Before: v.when(&chain[i])})
			}
			next, before = max(next, p.seq+1), &chain[i]
		}
	}
	slices.SortFunc(list, func(a, b Loss) int { return cmp.Or(cmp.Compare(a.Writer, b.Writer), cmp.Compare(a.From, b.From)) })
	return list
}

// believed reports whether a last entry was not found, and is not only a spoilt line of the list of last entries, which has no
// checksum: the tree leads to an entry of that id, spoilt, and the writer is known.
func (v *survey) believed(l link, h tip) bool {
	named := slices.ContainsFunc(v.spoilt, func(s spoiltEntry) bool { return s.id == h.id })
	if v.has(l) || !named || h.seq > uint64(len(v.kept)+len(v.spoilt)) {
		return false
	}
	for _, p := range v.kept {
		if p.writer == l.writer {
			return true
		}
	}
	return false
}

// doubtful lists the last entries that were not found, where it cannot be told whether they or their line in the list are
// spoilt.
func (v *survey) doubtful() []Damage {
	var list []Damage
	for l, h := range v.tips {
		if !v.has(l) && !v.believed(l, h) {
			list = append(list, damageOf(h.id, 0, fmt.Sprintf("the list of last entries names it as number %d of writer %x, and it was not found", h.seq, l.writer[:4])))
		}
	}
	return list
}

func (v *survey) knownLost(writer [writerLen]byte, seq uint64) bool {
	for l, n := range v.known {
		if l.writer == writer && n == seq {
			return true
		}
	}
	return false
}

func (v *survey) when(p *found) *time.Time {
	if p == nil || p.written == (stamp{}) {
		return nil
	}
	return ptr(p.written.clockTime(v.loc))
}

// bothHeads reports whether both heads are as they were written, which tells that the later one is the one in force.
func bothHeads(src io.ReaderAt, h head) bool {
	first, err := readMeta(src, 0)
	second, err2 := readMeta(src, h.pageSize)
	return errors.Join(err, err2) == nil && (first.tx == second.tx+1 || second.tx == first.tx+1)
}
