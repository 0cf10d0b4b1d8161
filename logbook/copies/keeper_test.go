package copies

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
)

var noon = time.Date(2026, 2, 3, 12, 0, 0, 0, time.UTC)

// desk is a book with its keeper and a clock that only the test moves.
type desk struct {
	t   *testing.T
	at  time.Time
	dir string
	Keeper
}

func newDesk(t *testing.T) *desk {
	t.Helper()
	d := &desk{t: t, at: noon, dir: t.TempDir()}
	now := func() time.Time { return d.at }
	b, err := logbook.Create(t.Context(), filepath.Join(d.dir, "plant.book"), logbook.Options{Clock: now, Writer: alder})
	if err != nil {
		t.Fatal(err)
	}
	d.Keeper = Keeper{Book: b, Writer: alder, Now: now}
	return d
}

// round writes something, and lets time pass.
func (d *desk) round(later time.Duration) {
	d.t.Helper()
	d.at = d.at.Add(later)
	if _, err := d.Book.AddRound(d.t.Context(), record.Round{Time: d.at}, ""); err != nil {
		d.t.Fatal(err)
	}
}

func (d *desk) due() Made {
	d.t.Helper()
	m, err := d.MakeDue(d.t.Context())
	if err != nil {
		d.t.Fatal(err)
	}
	return m
}

func (d *desk) status() Status {
	d.t.Helper()
	s, err := d.Status(d.t.Context())
	if err != nil {
		d.t.Fatal(err)
	}
	return s
}

// files are the names in a folder, none where it is not there.
func files(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	names := make([]string, len(entries))
	for i, e := range entries {
		names[i] = e.Name()
	}
	return names
}

func TestCopiesAreMadeWhenDue(t *testing.T) {
	d := newDesk(t)
	if m := d.due(); len(m.Places) != 0 {
		t.Errorf("of an empty book: %+v", m)
	}
	for _, step := range []struct {
		what  string
		later time.Duration
		write bool
		want  int // copies there afterwards
	}{
		{"the first round", 0, true, 1},
		{"another an hour later", time.Hour, true, 1},
		{"nothing new the next day", 24 * time.Hour, false, 2}, // the round of an hour later
		{"nothing new for a week", 7 * 24 * time.Hour, false, 2},
		{"a round after that", time.Hour, true, 3},
		{"the clock falls back a year", -365 * 24 * time.Hour, false, 3},
		{"a round then", time.Minute, true, 4},
		{"a round a minute later", time.Minute, true, 4},
	} {
		if step.write {
			d.round(step.later)
		} else {
			d.at = d.at.Add(step.later)
		}
		m := d.due()
		if err := m.Err(); err != nil {
			t.Fatalf("%s: %v", step.what, err)
		}
		list := d.status().Places[0]
		if list.Kept != step.want {
			t.Errorf("%s: %d copies, want %d", step.what, list.Kept, step.want)
		}
	}
	newest := d.status().Places[0].Last
	if newest.Number != 4 || newest.Mark != 4 {
		t.Errorf("the newest is %+v", newest)
	}
	b, err := logbook.Open(newest.Path, logbook.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if r, err := b.Check(t.Context(), nil); err != nil || !r.Sound() || r.Entries != 4 {
		t.Errorf("it is %+v, %v", r, err)
	}
	if whole, err := newest.Whole(); !whole || err != nil {
		t.Errorf("whole: %v, %v", whole, err)
	}
}

func TestAYearOfCopiesIsThinnedOut(t *testing.T) {
	d := newDesk(t)
	d.Rule = Rule{Last: 2, Weeks: 3, Months: 4}
	for range 60 { // every third day, half a year
		d.round(72 * time.Hour)
		if err := d.due().Err(); err != nil {
			t.Fatal(err)
		}
		if n := len(files(t, d.Beside())); n > d.Rule.Most() {
			t.Fatalf("%d files, at most %d are kept", n, d.Rule.Most())
		}
	}
	list, err := SeriesOf(d.Book.Path(), alder).List(d.Beside())
	if err != nil {
		t.Fatal(err)
	}
	months := map[string]bool{}
	for _, c := range list {
		months[c.Time.Format("2006-01")] = true
	}
	if list[0].Number != 60 || len(months) != 4 {
		t.Errorf("%d copies of %d months, the newest is number %d", len(list), len(months), list[0].Number)
	}
}

// A stick is written to only where it is the one that was marked, and its absence is no failure.
func TestStickThatComesAndGoes(t *testing.T) {
	d := newDesk(t)
	d.round(0)
	mount := t.TempDir()
	stick := filepath.Join(mount, "headpond")
	m, err := d.Use(t.Context(), stick)
	if err != nil || len(m.Places) != 2 || m.Places[0].Copy == nil || m.Places[1].Copy == nil {
		t.Fatalf("%+v, %v", m, err)
	}
	if names := files(t, stick); len(names) != 2 || names[0] != Readme {
		t.Errorf("on the stick: %v", names)
	}
	away := filepath.Join(t.TempDir(), "away")
	if err := os.Rename(stick, away); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(stick, 0o700); err != nil { // the place where it is mounted
		t.Fatal(err)
	}
	d.round(24 * time.Hour)
	if m := d.due(); m.Err() != nil || len(m.Places) != 1 || m.Places[0].Dir != d.Beside() {
		t.Errorf("while it is away: %+v", m)
	}
	if names := files(t, stick); len(names) != 0 {
		t.Errorf("written to the computer's own disk: %v", names)
	}
	s := d.status()
	if p := s.Places[1]; !p.Missing || p.Behind != 1 || p.Last == nil || !p.Last.Time.Equal(noon) {
		t.Errorf("its state: %+v", p)
	}
	if c := s.Caution(); c != "" {
		t.Errorf("after a day it is said already: %s", c)
	}
	d.at = d.at.Add(8 * 24 * time.Hour)
	if c := d.status().Caution(); !strings.Contains(c, stick) || !strings.Contains(c, "9 days old, and lacks 1 entry: plug the stick in") {
		t.Errorf("after nine days: %q", c)
	}
	if m := d.Make(t.Context()); m.Err() != nil || !m.Places[1].Missing {
		t.Errorf("made by hand meanwhile: %+v", m)
	}
	if err := errors.Join(os.Remove(stick), os.Rename(away, stick)); err != nil {
		t.Fatal(err)
	}
	if m := d.due(); m.Err() != nil || len(m.Places) != 1 || m.Places[0].Dir != stick || m.Places[0].Copy == nil {
		t.Errorf("when it is back: %+v", m)
	}
	if c := d.status().Caution(); c != "" {
		t.Errorf("still said: %s", c)
	}
	if _, err := d.Use(t.Context(), ""); err != nil || len(d.status().Places) != 1 {
		t.Errorf("no longer wanted: %v", err)
	}
	if names := files(t, stick); len(names) != 3 {
		t.Errorf("what is there stays: %v", names)
	}
}

func TestTwoMachinesInOneFolderLeaveEachOthersCopies(t *testing.T) {
	stick := t.TempDir()
	a, b := newDesk(t), newDesk(t)
	for _, d := range []*desk{a, b} {
		d.Rule = Rule{Last: 1}
		d.round(0)
		if _, err := d.Use(t.Context(), stick); err != nil {
			t.Fatal(err)
		}
	}
	for range 3 {
		for _, d := range []*desk{a, b} {
			d.round(24 * time.Hour)
			if err := d.due().Err(); err != nil {
				t.Fatal(err)
			}
		}
	}
	if names := files(t, stick); len(names) != 3 {
		t.Errorf("one copy of each and the marking file are expected: %v", names)
	}
}

// Nothing that the keeper did not write is overwritten or taken away, whatever it is called.
func TestWhatOthersWroteStays(t *testing.T) {
	d := newDesk(t)
	d.Rule = Rule{Last: 1}
	d.round(0)
	if err := d.due().Err(); err != nil {
		t.Fatal(err)
	}
	own := d.status().Places[0].Last.Path
	altered := []byte("someone wrote something else here")
	foreign := filepath.Join(d.Beside(), "holiday.book")
	young := own + ".123.part"
	for _, name := range []string{own, foreign, young} {
		if err := os.WriteFile(name, altered, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	old := own + ".456.part"
	if err := errors.Join(os.WriteFile(old, altered, 0o600), os.Chtimes(old, noon.AddDate(0, 0, -3), noon.AddDate(0, 0, -3)),
		os.Chtimes(young, noon, noon)); err != nil {
		t.Fatal(err)
	}
	d.round(13 * time.Hour)
	m := d.due()
	if m.Err() != nil || len(m.Places) != 1 || len(m.Places[0].Altered) != 1 || m.Places[0].Removed != 0 {
		t.Fatalf("%+v", m)
	}
	for _, name := range []string{own, foreign, young} {
		if data, err := os.ReadFile(name); err != nil || !bytes.Equal(data, altered) {
			t.Errorf("%s: %q, %v", filepath.Base(name), data, err)
		}
	}
	if _, err := os.Stat(old); !os.IsNotExist(err) {
		t.Errorf("what was begun three days ago and never finished is still there: %v", err)
	}
}

func TestDamagedBookGivesNoCopyAndTakesNoneAway(t *testing.T) {
	d := newDesk(t)
	d.Rule = Rule{Last: 1}
	d.round(0)
	if err := d.due().Err(); err != nil {
		t.Fatal(err)
	}
	d.round(24 * time.Hour)
	data, err := os.ReadFile(d.Book.Path())
	if err != nil {
		t.Fatal(err)
	}
	for at := bytes.Index(data, alder[:]); at >= 0 && at < len(data); { // every entry names its writer
		data[at] ^= 1
		at = bytes.Index(data, alder[:])
	}
	if err := os.WriteFile(d.Book.Path(), data, 0o600); err != nil {
		t.Fatal(err)
	}
	m := d.Make(t.Context())
	if !errors.Is(m.Err(), logbook.ErrDamaged) || !strings.Contains(m.Err().Error(), d.Book.Path()) {
		t.Errorf("%+v", m)
	}
	if n := len(files(t, d.Beside())); n != 1 {
		t.Errorf("%d copies, the good one is expected", n)
	}
}

func TestFullOrFailingPlaceIsSaid(t *testing.T) {
	d := newDesk(t)
	d.round(0)
	if err := os.WriteFile(d.Beside(), nil, 0o600); err != nil { // a file where the folder should be
		t.Fatal(err)
	}
	if err := d.Make(t.Context()).Err(); err == nil || !strings.Contains(err.Error(), d.Beside()) || !strings.Contains(err.Error(), "nothing was changed") {
		t.Errorf("got %v", err)
	}
	if m := d.due(); m.Err() == nil {
		t.Errorf("nothing is said when a copy is due: %+v", m)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := d.Make(ctx).Err(); !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
	if _, err := d.Use(t.Context(), filepath.Join(d.dir, "no", "such")); err == nil || !strings.Contains(err.Error(), "nothing was changed") {
		t.Errorf("no folder above: %v", err)
	}
	if p := d.status().Places; len(p) != 1 {
		t.Errorf("a folder that could not be made is used: %+v", p)
	}
}

func TestSentences(t *testing.T) {
	last := Copy{Time: noon.Add(-3 * time.Hour), Mark: 10}
	future := Copy{Time: noon.Add(48 * time.Hour), Mark: 12}
	place := func(p Place, last *Copy, mark uint64) Place {
		p.Behind = mark
		if last != nil {
			p.remember(*last, mark)
		}
		return p
	}
	for _, c := range []struct {
		p    Place
		want string
	}{
		{place(Place{Dir: "a", Beside: true}, nil, 3), "No copy was made yet; they will lie in a"},
		{place(Place{Dir: "a", Beside: true, Kept: 2}, &last, 10), "Last copy 3 h ago, in a (2 kept)"},
		{place(Place{Dir: "a", Beside: true, Kept: 2}, &last, 11), "Last copy 3 h ago, 1 entry since, in a (2 kept)"},
		{place(Place{Dir: "b", Missing: true}, &last, 12), "Last copy 3 h ago, 2 entries since, in b (not there now: it is written to when it is back)"},
		{place(Place{Dir: "b"}, nil, 12), "No copy was made yet in b"},
		{place(Place{Dir: "a", Kept: 1}, &future, 12), "Last copy of 5 Feb 2026 12:00 (by this clock in the future), in a (1 kept)"},
	} {
		if got := c.p.sentence(noon); got != c.want {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
	}
	alone := Status{At: noon, Places: []Place{place(Place{Dir: "a", Beside: true, Kept: 1}, &last, 10)}}
	if l := alone.Lines(); len(l) != 2 || !strings.Contains(l[1], "headpond backup --keep FOLDER") {
		t.Errorf("%q", l)
	}
	alone.At = noon.AddDate(0, 1, 0)
	if s := alone.Caution(); s != "" {
		t.Errorf("nothing was written for a month, yet: %s", s)
	}
	alone.Places[0].Behind = 4
	if s := alone.Caution(); !strings.HasPrefix(s, "The last copy of the book in a is 28 days old, and lacks 4 entries: ") {
		t.Errorf("got %q", s)
	}
	never := Status{At: noon, Places: []Place{alone.Places[0], {Dir: "b", Behind: 4}}}
	if s := never.Caution(); !strings.HasPrefix(s, "No copy of the book was made yet in b: ") {
		t.Errorf("got %q", s)
	}
}

// A copy that was made while the clock stood at its beginning is not told an age, which nobody knows; that of a clock that was set is.
func TestCopyOfAClockThatWasNotSet(t *testing.T) {
	for _, c := range []struct {
		at      time.Time
		want    string
		caution string
	}{
		{time.Date(1970, 1, 1, 0, 5, 0, 0, time.UTC), "Last copy dated 1970 (the clock was wrong then, so how old it is is not known), 3 entries since, in a (1 kept)",
			"The last copy of the book in a is dated 1970 (the clock was wrong then, so how old it is is not known), and lacks 3 entries: "},
		{time.Date(2023, 12, 31, 23, 59, 0, 0, time.UTC), "Last copy dated 2023 (the clock was wrong", "The last copy of the book in a is dated 2023 ("},
		{time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC), "Last copy 765 days ago, 3 entries since", "The last copy of the book in a is 765 days old, and lacks 3 entries: "},
	} {
		p := Place{Dir: "a", Beside: true, Kept: 1}
		p.remember(Copy{Time: c.at, Mark: 4}, 7)
		s := Status{At: noon, Mark: 7, Places: []Place{p}}
		if got := p.sentence(noon); !strings.HasPrefix(got, c.want) {
			t.Errorf("got  %s\nwant %s", got, c.want)
		}
		if got := s.Caution(); !strings.HasPrefix(got, c.caution) {
			t.Errorf("got  %s\nwant %s", got, c.caution)
		}
		if !p.due(s) {
			t.Errorf("%v: no copy is due though the last one lacks entries", c.at)
		}
		s.At = c.at.Add(time.Hour) // while the clock is still wrong, the age is no less unknown
		if got := s.Caution(); (got != "") != (c.at.Year() < 2024) {
			t.Errorf("%v: got %q", c.at, got)
		}
	}
}

// A copy that only looks old, since one made before it is dated later, is told as such; one of a clock that is right is told its age,
// whatever an earlier one says that was ahead.
func TestCopyOfAClockThatHadFallenBack(t *testing.T) {
	d := newDesk(t)
	d.round(0)
	d.due()
	d.round(-375 * 24 * time.Hour) // the clock falls back
	d.due()
	d.round(time.Minute)
	d.due() // no copy: by this clock the last one is of today
	d.at = noon.Add(5 * time.Minute)
	s := d.status()
	doubt := "dated 24 Jan 2025 12:00 (one that was made before it is dated 3 Feb 2026 12:00: the clock was wrong, so how old it is is not known)"
	if got := s.Places[0].sentence(d.at); !strings.HasPrefix(got, "Last copy "+doubt+", 1 entry since, in ") {
		t.Errorf("got %q", got)
	}
	if got := s.Caution(); !strings.Contains(got, " is "+doubt+", and lacks 1 entry: ") || !s.Overdue() {
		t.Errorf("got %q, overdue %v", got, s.Overdue())
	}
	d.due()
	if s = d.status(); s.Caution() != "" || s.Overdue() {
		t.Errorf("after a copy was made: %q", s.Caution())
	}
	if got := s.Places[0].sentence(d.at); !strings.HasPrefix(got, "Last copy 0 min ago, in ") {
		t.Errorf("got %q", got)
	}
	d.round(400 * 24 * time.Hour) // the clock is ahead, and then right
	d.due()
	d.at = noon.Add(time.Hour)
	d.round(0)
	d.due()
	d.round(time.Minute)
	if got := d.status().Places[0].sentence(d.at); !strings.HasPrefix(got, "Last copy 1 min ago, 1 entry since") {
		t.Errorf("got %q", got)
	}
	if old := (Status{At: noon, Places: []Place{{Behind: 1, Last: &Copy{Time: noon.AddDate(-1, 0, 0)}}}}); old.Caution() == "" || old.Overdue() {
		t.Error("one who made no copy is told to make one")
	}
}

func TestStickThatIsAwayIsSaid(t *testing.T) {
	s := Status{Places: []Place{{Dir: "a", Beside: true, Missing: true}}}
	if got := s.Away(); got != "" {
		t.Errorf("the folder beside is no stick: %q", got)
	}
	s.Places = append(s.Places, Place{Dir: "/media/stick"})
	if got := s.Away(); got != "" {
		t.Errorf("it is there: %q", got)
	}
	s.Places[1].Missing = true
	if got := s.Away(); !strings.Contains(got, "/media/stick") || !strings.Contains(got, "not there") {
		t.Errorf("got %q", got)
	}
}
