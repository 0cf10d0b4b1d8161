package logbook_test

import (
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// machine does to some books what people do, in any order, and keeps beside each what it was told is kept. The invariant:
// a book reads exactly as the plain list of what was acknowledged, no correction hides the old value, and check finds nothing.
type machine struct {
	t     *rapid.T
	dir   string
	clock *testClock
	books []*modelled
	seed  int
	used  map[int]bool // books that the last step took part in
}

// modelled is a book and, beside it, what was acknowledged.
type modelled struct {
	book   *logbook.Book
	writer string
	rounds map[string]record.Round // as first written, by id
	amends map[string]acknowledged // by the id of the amendment
	drafts map[string]string
}

type acknowledged struct {
	id, target string
	changes    map[string]string
	why, by    string
	at         time.Time
}

func newMachine(t *rapid.T, dir string) *machine {
	m := &machine{t: t, dir: dir, clock: &testClock{noon}, used: map[int]bool{}}
	m.open("alder")
	return m
}

func (m *machine) options(writer string) logbook.Options {
	m.seed++ // no two machines draw the same random numbers: their ids would be the same
	return logbook.Options{Clock: m.clock.Now, Location: halifax, Writer: writerID(writer), Rand: seeded(strconv.Itoa(m.seed))}
}

func (m *machine) path() string {
	return filepath.Join(m.dir, fmt.Sprintf("%d.book", len(m.books)))
}

func (m *machine) open(writer string) {
	b, err := logbook.Create(m.t.Context(), m.path(), m.options(writer))
	m.check(err)
	m.books = append(m.books, &modelled{b, writer, map[string]record.Round{}, map[string]acknowledged{}, map[string]string{}})
}

func (m *machine) check(err error) {
	m.t.Helper()
	if err != nil {
		m.t.Fatal(err)
	}
}

func (m *machine) pick() *modelled {
	i := rapid.IntRange(0, len(m.books)-1).Draw(m.t, "book")
	m.used[i] = true
	return m.books[i]
}

// time draws a time within some days of the clock, so that rounds come out of order, and sometimes at the same second.
func (m *machine) time() time.Time {
	return m.clock.now.Add(time.Duration(rapid.IntRange(-200, 2).Draw(m.t, "hours")) * time.Hour)
}

func (m *machine) round() record.Round {
	r := level(m.time(), float64(rapid.IntRange(0, 9).Draw(m.t, "level")))
	if rapid.Bool().Draw(m.t, "with running") {
		r.Running = &[]string{"A"}
	}
	return r
}

func (m *machine) AddRound(t *rapid.T) {
	b, r := m.pick(), m.round()
	form := rapid.SampledFrom([]string{"", "round"}).Draw(t, "form")
	saved, err := b.book.AddRound(t.Context(), r, form)
	m.check(err)
	b.rounds[saved.Entry.ID] = saved.Entry
	delete(b.drafts, form)
}

// Import brings rounds with ids that follow from their content, as a CSV does, so that two books often hold the same.
func (m *machine) Import(t *rapid.T) {
	b := m.pick()
	var list []record.Round
	for range rapid.IntRange(1, 5).Draw(t, "rows") {
		r := level(noon.Add(time.Duration(rapid.IntRange(0, 2).Draw(t, "hour"))*time.Hour), float64(rapid.IntRange(0, 1).Draw(t, "level")))
		r.ID = logbook.DeriveID(r)
		list = append(list, r)
	}
	_, _, err := b.book.AddRounds(t.Context(), list)
	m.check(err)
	for _, r := range list {
		if _, ok := b.rounds[r.ID]; !ok {
			r.WrittenAt = m.clock.now
			b.rounds[r.ID] = r
		}
	}
}

func (m *machine) Amend(t *rapid.T) {
	b := m.pick()
	if len(b.rounds) == 0 {
		t.Skip("nothing to correct")
	}
	target := rapid.SampledFrom(sortedKeys(b.rounds)).Draw(t, "target")
	changes := map[string]string{}
	for range rapid.IntRange(1, 3).Draw(t, "columns") {
		switch rapid.IntRange(0, 3).Draw(t, "column") {
		case 0:
			changes["pond_level_m"] = rapid.SampledFrom([]string{"0", "1", "2.5", "-"}).Draw(t, "level")
		case 1:
			changes["running"] = rapid.SampledFrom([]string{"A", "none", "A+B", "-"}).Draw(t, "running")
		case 2:
			changes["note"] = rapid.SampledFrom([]string{"twigs", "", "-"}).Draw(t, "note")
		case 3:
			changes["time"] = m.time().Format(time.RFC3339)
		}
	}
	saved, err := b.book.Amend(t.Context(), target, changes, "misread", "Ro", "")
	if err != nil {
		if before := b.effective()[target]; !unaltered(before, changes) {
			t.Fatal(err)
		}
		return
	}
	kept := map[string]string{}
	for _, c := range saved.Entry {
		kept[c.Key] = changes[c.Key]
	}
	a := acknowledged{saved.Entry[0].Amendment, target, kept, "misread", "Ro", m.clock.now}
	b.amends[a.id] = a
}

func (m *machine) Event(t *rapid.T) {
	_, err := m.pick().book.AddEvent(t.Context(), record.Event{Time: m.time(), Kind: record.Trip}, "")
	m.check(err)
}

func (m *machine) Draft(t *rapid.T) {
	b := m.pick()
	form := rapid.SampledFrom([]string{"round", "event"}).Draw(t, "form")
	if rapid.Bool().Draw(t, "drop") {
		m.check(b.book.DropDraft(t.Context(), form))
		delete(b.drafts, form)
		return
	}
	text := rapid.StringN(0, 10, 2000).Draw(t, "text")
	m.check(b.book.SaveDraft(t.Context(), form, []byte(text)))
	b.drafts[form] = text
}

func (m *machine) Reopen(t *rapid.T) {
	b := m.pick()
	reopened, err := logbook.Open(b.book.Path(), m.options(b.writer))
	m.check(err)
	b.book = reopened
}

// Copy makes another book of one: a copy of the file or a backup, to go on on the same machine (a fork) or another one.
func (m *machine) Copy(t *rapid.T) {
	if len(m.books) == 4 {
		t.Skip("enough books")
	}
	b, path := m.pick(), m.path()
	if rapid.Bool().Draw(t, "backup") {
		_, err := b.book.Backup(t.Context(), path, false)
		m.check(err)
	} else {
		data, err := os.ReadFile(b.book.Path())
		m.check(err)
		m.check(os.WriteFile(path, data, 0o600))
	}
	c := &modelled{writer: rapid.SampledFrom([]string{"alder", "birch"}).Draw(t, "writer"), rounds: cloneMap(b.rounds), amends: cloneMap(b.amends), drafts: cloneMap(b.drafts)}
	var err error
	c.book, err = logbook.Open(path, m.options(c.writer))
	m.check(err)
	m.used[len(m.books)] = true
	m.books = append(m.books, c)
}

func (m *machine) Merge(t *rapid.T) {
	into, from := m.pick(), m.pick()
	_, _, err := into.book.Merge(t.Context(), from.book.Path())
	m.check(err)
	into.take(from)
}

// take is what a book holds once another one was merged into it.
func (into *modelled) take(from *modelled) {
	for id, r := range from.rounds {
		if old, ok := into.rounds[id]; !ok || r.WrittenAt.Before(old.WrittenAt) {
			into.rounds[id] = r
		}
	}
	for id, a := range from.amends {
		into.amends[id] = a
	}
}

// Restore puts back what the book lacks, and takes nothing away: it is Merge, but for what is kept beside.
func (m *machine) Restore(t *rapid.T) {
	into, from := m.pick(), m.pick()
	if into == from {
		t.Skip("the same book")
	}
	before, err := into.book.Check(t.Context(), nil)
	m.check(err)
	r, err := logbook.Restore(t.Context(), from.book.Path(), into.book.Path(), m.options(into.writer))
	m.check(err)
	after, err := into.book.Check(t.Context(), nil)
	m.check(err)
	if after.Entries != before.Entries+r.Added || (r.Kept != "") != (r.Added > 0) || r.Report.Entries != after.Entries {
		t.Fatalf("%d entries became %d by %+v", before.Entries, after.Entries, r)
	}
	if r.Kept != "" {
		m.check(os.Remove(r.Kept))
	}
	into.take(from)
}

func (m *machine) Replace(t *rapid.T) {
	to, from := m.pick(), m.pick()
	if to == from {
		t.Skip("the same book")
	}
	r, err := logbook.Replace(t.Context(), from.book.Path(), to.book.Path(), m.options(to.writer))
	m.check(err)
	m.check(os.Remove(r.Kept)) // the test's folder would fill with them
	to.rounds, to.amends, to.drafts = cloneMap(from.rounds), cloneMap(from.amends), cloneMap(from.drafts)
}

func (m *machine) Clock(t *rapid.T) {
	m.clock.advance(time.Duration(rapid.IntRange(-3600, 36000).Draw(t, "seconds")) * time.Second)
}

// invariant is looked at after every step, for every book that the step took part in.
func (m *machine) invariant(t *rapid.T) {
	for i := range m.used {
		b := m.books[i]
		report, err := b.book.Check(t.Context(), nil)
		if err != nil || !report.Sound() {
			t.Fatalf("book %d: %v %+v", i, err, report)
		}
		h, err := b.book.History(t.Context(), logbook.HistoryOptions{At: m.clock.now.AddDate(1, 0, 0), All: true})
		m.check(err)
		got := map[string]record.Round{}
		for j, r := range h.Rounds {
			got[r.ID] = r
			if j > 0 && r.Time.Before(h.Rounds[j-1].Time) {
				t.Fatalf("book %d: rounds are not in order of time", i)
			}
		}
		if d := cmp.Diff(b.effective(), got, cmpopts.EquateEmpty()); d != "" || len(got) != len(h.Rounds) {
			t.Fatalf("book %d (-acknowledged +read):\n%s", i, d)
		}
		drafts, err := b.book.Drafts(t.Context())
		m.check(err)
		kept := map[string]string{}
		for _, d := range drafts {
			kept[d.Form] = string(d.Data)
		}
		if d := cmp.Diff(b.drafts, kept); d != "" {
			t.Fatalf("book %d, drafts (-acknowledged +read):\n%s", i, d)
		}
	}
	clear(m.used)
}

// effective is the plain way to the values after corrections: all rounds, all corrections in order of their ids.
func (b *modelled) effective() map[string]record.Round {
	out := map[string]record.Round{}
	for id, r := range b.rounds {
		r.Values = cloneMap(r.Values)
		out[id] = r
	}
	for _, id := range sortedKeys(b.amends) {
		a := b.amends[id]
		r := out[a.target]
		for _, key := range sortedKeys(a.changes) {
			c := record.Change{Amendment: id, Key: key, Old: r.Text(key), New: strings.Replace(a.changes[key], "-", "", 1), By: a.by, At: a.at, Why: a.why}
			if key == "time" {
				c.New = a.changes[key]
			}
			setPlainly(&r, key, a.changes[key])
			r.Changes = append(r.Changes[:len(r.Changes):len(r.Changes)], c)
		}
		out[a.target] = r
	}
	return out
}

// setPlainly writes the few columns that the machine corrects.
func setPlainly(r *record.Round, key, text string) {
	switch {
	case key == "time":
		r.Time, _ = time.Parse(time.RFC3339, text)
	case key == "note":
		r.Note = strings.TrimPrefix(text, "-")
	case key == "running" && text == "-":
		r.Running = nil
	case key == "running" && text == "none":
		r.Running = &[]string{}
	case key == "running":
		ids := strings.Split(text, "+")
		r.Running = &ids
	case text == "-":
		delete(r.Values, quantity.Key(key))
	default:
		v, _ := strconv.ParseFloat(text, 64)
		if r.Values == nil {
			r.Values = map[quantity.Key]float64{}
		}
		r.Values[quantity.Key(key)] = v
	}
}

func unaltered(r record.Round, changes map[string]string) bool {
	for key, text := range changes {
		if strings.TrimPrefix(text, "-") != r.Text(key) && !(key == "time" && text == r.Text(key)) {
			return false
		}
	}
	return true
}

func sortedKeys[V any](m map[string]V) []string {
	var keys []string
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

func cloneMap[K comparable, V any](m map[K]V) map[K]V {
	c := make(map[K]V, len(m))
	for k, v := range m {
		c[k] = v
	}
	return c
}

func TestNothingAcknowledgedIsLost(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		dir, err := os.MkdirTemp(t.TempDir(), "books")
		if err != nil {
			rt.Fatal(err)
		}
		m := newMachine(rt, dir)
		rt.Repeat(map[string]func(*rapid.T){
			"": m.invariant, "add": m.AddRound, "import": m.Import, "amend": m.Amend, "event": m.Event, "draft": m.Draft,
			"reopen": m.Reopen, "copy": m.Copy, "merge": m.Merge, "restore": m.Restore, "clock": m.Clock,
		})
	})
}
