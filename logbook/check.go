package logbook

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"sort"
	"time"
)

// CheckReport is what Check found.
type CheckReport struct {
	Entries int      `json:"entries"` // entries that were looked at, whole or not
	Damaged []Damage `json:"damaged"`
	// ChainOK is false when an entry that another one follows, or the last one of a chain, is missing or was altered.
	ChainOK bool `json:"chain_ok"`
	Writers int  `json:"writers"`         // machines and users that wrote in the book
	Newer   int  `json:"newer,omitempty"` // entries with parts that only a newer version can show
	// Unread is true where spoilt pages kept the check from entries that may be there still: Rescue looks for them without the pages.
	Unread    bool    `json:"unread,omitempty"`
	Drafts    int     `json:"drafts"`
	Lost      int     `json:"known_lost,omitempty"` // entries that were lost before the book was rescued; it is sound but for them
	FileBytes int64   `json:"file_bytes"`
	FreeShare float64 `json:"free_share"` // share of the file that is free for later entries, 0–1
	// Cautions are what harms no entry and yet is not as it should be, so that it is time for a backup.
	Cautions []string `json:"cautions,omitempty"`
}

// Damage is one thing that is not as it was written.
type Damage struct {
	ID   string     `json:"id,omitempty"`   // the entry, where it is one
	Kind string     `json:"kind,omitempty"` // what it says itself that it is, "" where it does not: its checksum may be wrong
	Time *time.Time `json:"time,omitempty"` // the time that it tells of, by its id
	What string     `json:"what"`
}

// damageOf is what is wrong with an entry.
func damageOf(key id, kind Kind, what string) Damage {
	d := Damage{ID: key.String(), Time: ptr(time.UnixMilli(int64(key.Time())).UTC()), What: what}
	if kind >= KindRound && kind <= KindDone {
		d.Kind = kind.String()
	}
	return d
}

// String names the entry, where it is one, and what is wrong.
func (d Damage) String() string {
	if d.ID == "" {
		return d.What
	}
	return d.ID + ": " + d.What
}

// Sound reports whether nothing is wrong.
func (r *CheckReport) Sound() bool { return r != nil && r.ChainOK && len(r.Damaged) == 0 }

// Check verifies the whole book: the store's pages, every entry's checksum and content, every chain, the index and the
// drafts. It changes nothing. What is wrong is in the report; an error means that the check could not be made.
//
// progress, where it is not nil, is told from time to time how many entries are done.
func (b *Book) Check(ctx context.Context, progress func(done, of int)) (*CheckReport, error) {
	const doing = "checking"
	s, err := b.takeSnapshot(ctx, b.path)
	if err != nil {
		return nil, explain(doing, b.path, err)
	}
	r, err := checkSnapshot(ctx, s, progress)
	return r, explain(doing, b.path, err)
}

func checkSnapshot(ctx context.Context, s *snapshot, progress func(done, of int)) (*CheckReport, error) {
	c := &checker{ctx: ctx, progress: progress, report: &CheckReport{Damaged: []Damage{}, ChainOK: true}}
	c.pages(s)
	if err := c.entries(); err != nil {
		return nil, err
	}
	c.report.Unread = len(s.g.faults) > 0 && !c.complete()
	c.versions()
	c.chain()
	c.tips()
	if len(s.g.faults) == 0 {
		c.index()
		c.counted()
	}
	c.drafts()
	return c.report, nil
}

// checker works on a snapshot, so that the book is free for others meanwhile.
type checker struct {
	ctx      context.Context
	progress func(done, of int)
	report   *CheckReport
	buckets  map[string]rawBucket
	sealed   []sealed // every entry that could be read, twins included
}

// sealed is an entry with its bytes and the hash by which its successor names it.
type sealed struct {
	id    id
	b     *body
	value []byte
	hash  [hashLen]byte
	twin  bool // another version of an entry, kept for the chain's sake
}

func (c *checker) damage(key *id, format string, args ...any) {
	d := Damage{What: fmt.Sprintf(format, args...)}
	if key != nil {
		d = damageOf(*key, kindOf(find(c.buckets[bucketEntries].pairs, key[:])), d.What)
	}
	c.report.Damaged = append(c.report.Damaged, d)
}

// pages reports what the walk over the file found and how full it is.
func (c *checker) pages(s *snapshot) {
	c.buckets = s.buckets()
	for _, f := range s.g.faults {
		c.damage(nil, "%s", f)
	}
	used := 0
	for _, u := range s.used {
		if u {
			used++
		}
	}
	if !bothHeads(bytes.NewReader(s.data), s.g.head) {
		c.report.Cautions = append(c.report.Cautions, "one of the two heads of the file is spoilt, as after a power cut or on a disk that fails; the other one holds. What was saved last may be missing from it: if it is, headpond check --rescue FILE still finds it, but not after more is written")
	}
	c.report.FileBytes = int64(len(s.data))
	c.report.FreeShare = 1 - float64(used)/float64(max(1, len(s.used)))
	format := find(c.buckets[bucketBook].pairs, []byte(keyFormat))
	if len(format) != 1 || format[0] > formatVersion {
		c.damage(nil, "format number %x, expected %02x", format, formatVersion)
	}
}

// entries verifies each entry by itself.
func (c *checker) entries() error {
	all := len(c.buckets[bucketEntries].pairs) + len(c.buckets[bucketTwins].pairs)
	for _, name := range []string{bucketEntries, bucketTwins} {
		for _, p := range c.buckets[name].pairs {
			if c.report.Entries%1024 == 0 {
				if err := c.ctx.Err(); err != nil {
					return err
				}
				if c.progress != nil {
					c.progress(c.report.Entries, all)
				}
			}
			c.report.Entries++
			c.entry(p, name == bucketTwins)
		}
	}
	if c.progress != nil {
		c.progress(all, all)
	}
	return nil
}

func (c *checker) entry(p pair, twin bool) {
	want := idLen
	if twin {
		want += hashLen
	}
	if len(p.key) != want {
		c.damage(nil, "an entry under the key %x, expected %d bytes", p.key, want)
		return
	}
	key := id(p.key)
	b, err := open(key, p.value)
	if err != nil {
		c.damage(&key, "%s", damageText(err))
		return
	}
	hash := hashOf(key, p.value)
	if twin && !bytes.Equal(p.key[idLen:], hash[:]) {
		c.damage(&key, "another version of it is kept under a wrong hash")
	}
	if len(b.unknown) > 0 {
		c.report.Newer++
	}
	c.sealed = append(c.sealed, sealed{id: key, b: b, value: p.value, hash: hash, twin: twin})
}

// versions demands that all versions of an entry say the same. They do, unless two computers drew the same random numbers:
// then one of two entries would be hidden.
func (c *checker) versions() {
	read := map[id]*body{}
	for _, s := range c.sealed { // entries first, then twins
		switch {
		case !s.twin:
			if len(c.buckets[bucketTwins].pairs) > 0 {
				read[s.id] = s.b
			}
		case read[s.id] == nil || !read[s.id].sameContent(s.b):
			c.damage(&s.id, "another entry has the same id, and says something else")
		}
	}
}

// link names an entry by its writer and hash, as its successor does.
type link struct {
	writer [writerLen]byte
	hash   [hashLen]byte
}

func (s sealed) own() link  { return link{[writerLen]byte(s.b.Writer), s.hash} }
func (s sealed) prev() link { return link{[writerLen]byte(s.b.Writer), [hashLen]byte(s.b.Prev)} }

// chain demands that the entry which each entry follows is there and has the number before.
func (c *checker) chain() {
	seq := make(map[link]uint64, len(c.sealed))
	writers := map[[writerLen]byte]bool{}
	for _, s := range c.sealed {
		seq[s.own()] = s.b.Seq
		writers[s.own().writer] = true
	}
	c.report.Writers = len(writers)
	gaps := c.gaps()
	c.report.Lost = countLost(gaps, seq)
	for _, s := range c.sealed {
		before, found := seq[s.prev()]
		first := s.prev().hash == [hashLen]byte{}
		switch {
		case first && s.b.Seq == 1, found && before+1 == s.b.Seq:
		case !found && gaps[s.prev()]+1 == s.b.Seq && s.b.Seq > 1:
		case found:
			c.broken(&s.id, "it is number %d of its writer but follows number %d", s.b.Seq, before)
		default:
			c.broken(&s.id, "the entry before it (number %d of writer %x) is missing or was altered", s.b.Seq-1, s.b.Writer)
		}
	}
}

func (c *checker) broken(key *id, format string, args ...any) {
	c.report.ChainOK = false
	c.damage(key, format, args...)
}

// tips demands that the list of last entries names exactly those that nothing follows.
func (c *checker) tips() {
	last := map[link]id{}
	for _, s := range c.sealed {
		last[s.own()] = s.id
	}
	for _, s := range c.sealed {
		delete(last, s.prev())
	}
	for _, p := range c.buckets[bucketHeads].pairs {
		writer, h, ok := readTip(p.key, p.value)
		if !ok {
			c.broken(nil, "the list of last entries: %d and %d bytes, expected %d and %d", len(p.key), len(p.value), writerLen+hashLen, tipLen)
			continue
		}
		own := link{writer, h.hash}
		if key, ok := last[own]; !ok || key != h.id {
			c.broken(&h.id, "the last entry of writer %x (number %d) is missing or was altered", writer, h.seq)
		}
		delete(last, own)
	}
	for _, key := range sorted(last) {
		c.broken(&key, "it is the last of its chain, but the list of last entries does not say so")
	}
}

func sorted(m map[link]id) []id {
	list := make([]id, 0, len(m))
	for _, key := range m {
		list = append(list, key)
	}
	sort.Slice(list, func(i, j int) bool { return list[i].Compare(list[j]) < 0 })
	return list
}

// counted compares the entries that are there with the number that was ever put in.
func (c *checker) counted() {
	there := len(c.buckets[bucketEntries].pairs) + len(c.buckets[bucketTwins].pairs)
	if n := c.buckets[bucketEntries].sequence; n != uint64(there) {
		c.broken(nil, "%d entries were put in, %d are there", n, there)
	}
}

// complete reports whether as many entries are there as were ever put in, as far as that number could be read.
func (c *checker) complete() bool {
	there, n := len(c.buckets[bucketEntries].pairs)+len(c.buckets[bucketTwins].pairs), c.buckets[bucketEntries].sequence
	return n > 0 && n == uint64(there)
}

// index makes the derived rows again and compares. A wrong row loses no entry, but hides or misplaces one.
func (c *checker) index() {
	mark := find(c.buckets[bucketBook].pairs, []byte(keyIndex))
	if len(mark) != 9 || mark[0] != indexVersion || binary.BigEndian.Uint64(mark[1:]) != c.buckets[bucketEntries].sequence {
		return // known to be stale; made again when the book is next written
	}
	d := derive(c.sealed)
	ran := find(c.buckets[bucketBook].pairs, []byte(keyRan))
	if d.ran != nil && (len(ran) != 8 || int64(binary.BigEndian.Uint64(ran)) < *d.ran) {
		c.damage(nil, "the latest time of a round that says what ran is %x; no entry is lost, and Reindex makes it again", ran)
	}
	c.compare(bucketIndex, d.rows)
	c.compare(bucketAmends, d.links)
}

func (c *checker) compare(bucket string, want map[string]string) {
	missing, wrong := len(want), 0
	for _, p := range c.buckets[bucket].pairs {
		if v, ok := want[string(p.key)]; ok && v == string(p.value) {
			missing--
		} else {
			wrong++
		}
	}
	if missing > 0 || wrong > 0 {
		c.damage(nil, "the list %q: %d rows are missing and %d are wrong; no entry is lost, and Reindex makes it again", bucket, missing, wrong)
	}
}

// derived is the content of the derived buckets.
type derived struct {
	rows, links map[string]string
	ran         *int64
}

// derive computes the derived buckets from the entries alone.
func derive(all []sealed) derived {
	d := derived{rows: map[string]string{}, links: map[string]string{}}
	amends := map[id][]Amendment{}
	for _, s := range all { // in order of ids, as corrections apply
		if s.b.Kind == KindAmendment && !s.twin {
			target := id(s.b.Target)
			amends[target] = append(amends[target], s.b.amendment(s.id, nil))
			d.links[string(target[:])+string(s.id[:])] = ""
		}
	}
	for _, s := range all {
		if s.twin {
			continue
		}
		r, ok := rowFor(s.id, s.b, amends[s.id])
		if !ok {
			continue
		}
		if r.saysWhatRan() && (d.ran == nil || *d.ran < r.ms()) {
			d.ran = ptr(r.ms())
		}
		if !r.inPlace() {
			d.rows[string(r.key[:])] = string(r.value)
		}
	}
	return d
}

func (c *checker) drafts() {
	for _, p := range c.buckets[bucketDrafts].pairs {
		c.report.Drafts++
		if _, err := readDraft(string(p.key), p.value, time.UTC); err != nil {
			c.damage(nil, "%s", damageText(err))
		}
	}
}

// find returns the value of a key among pairs in order, nil when it is not there.
func find(pairs []pair, key []byte) []byte {
	i := sort.Search(len(pairs), func(i int) bool { return bytes.Compare(pairs[i].key, key) >= 0 })
	if i < len(pairs) && bytes.Equal(pairs[i].key, key) {
		return pairs[i].value
	}
	return nil
}
