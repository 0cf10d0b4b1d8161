package logbook_test

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
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
	"example.org/headpond/model/week"
)

// dailyPlant is the demo plant's file with another value of a kWh, another band, and its second set on either bus.
func dailyPlant(t interface {
	Helper()
	Fatalf(string, ...any)
}, perKWh, bearing string, own bool,
) string {
	t.Helper()
	data, err := os.ReadFile("../model/demo/ternhollow.toml")
	if err != nil {
		t.Fatalf("%v", err)
	}
	text := strings.Replace(string(data), "per_kwh = 0.13", "per_kwh = "+perKWh, 1)
	text = strings.Replace(text, "in_max = 60", "in_max = "+bearing, 1)
	if own {
		text = strings.Replace(text, "id = \"B\"", "id = \"B\"\nbus = \"own\"", 1)
	}
	return text
}

// rolled is the review with whatever roll-ups the book has.
func rolled(ctx context.Context, b *logbook.Book, of week.Of) (*week.Review, error) {
	in, err := b.Week(ctx, of)
	if err != nil {
		return nil, err
	}
	return week.Report(ctx, in)
}

// unrolled is the review worked out from every entry, by the functions that know no roll-ups.
func unrolled(ctx context.Context, b *logbook.Book, of week.Of) (*week.Review, error) {
	h, err := b.History(ctx, logbook.HistoryOptions{All: true, At: of.At})
	if err != nil {
		return nil, err
	}
	in, err := week.From(h, of.Span, of.End)
	if err != nil {
		return nil, err
	}
	return week.Report(ctx, in)
}

func sameReview(t interface {
	Helper()
	Fatalf(string, ...any)
}, ctx context.Context, what string, b *logbook.Book, of week.Of,
) {
	t.Helper()
	got, err := rolled(ctx, b, of)
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	want, err := unrolled(ctx, b, of)
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	if a, b := must2(json.Marshal(want)), must2(json.Marshal(got)); bytes.Equal(a, b) && cmp.Equal(want.Points, got.Points, cmpopts.EquateEmpty()) {
		return
	}
	if d := cmp.Diff(want, got, cmpopts.EquateEmpty()); d != "" {
		t.Fatalf("%s: the %s to %s as known at %s differs from the one worked out from all entries (-all +roll-ups):\n%s", what, of.Span, got.To.Format(time.RFC3339), of.At.Format(time.RFC3339), d)
	}
}

// must2 is for what cannot fail: a review is plain values.
func must2(data []byte, err error) []byte {
	if err != nil {
		return []byte(err.Error())
	}
	return data
}

// keeper does what people do to books over some months, in any order, and now and then asks for a review, which keeps
// roll-ups. The invariant: a review by roll-ups is to the bit the one from all entries.
type keeper struct {
	t     *rapid.T
	dir   string
	clock *testClock
	books []*logbook.Book
	ids   [][]string
	n     int
}

func (k *keeper) open() {
	k.n++
	o := logbook.Unsynced(logbook.Options{Clock: k.clock.Now, Location: halifax, Writer: writerID(strconv.Itoa(k.n)), Rand: seeded("daily" + strconv.Itoa(k.n))})
	b, err := logbook.Create(k.t.Context(), filepath.Join(k.dir, strconv.Itoa(k.n)+".book"), o)
	k.must(err)
	k.books, k.ids = append(k.books, b), append(k.ids, nil)
}

func (k *keeper) must(err error) {
	k.t.Helper()
	if err != nil {
		k.t.Fatal(err)
	}
}

func (k *keeper) pick() int { return rapid.IntRange(0, len(k.books)-1).Draw(k.t, "book") }

// when is mostly lately, sometimes far back: paper that is typed in later.
func (k *keeper) when() time.Time {
	hours := rapid.OneOf(rapid.IntRange(0, 30), rapid.IntRange(0, 24*20), rapid.IntRange(0, 24*120)).Draw(k.t, "hours ago")
	return k.clock.now.Add(-time.Duration(hours)*time.Hour - time.Duration(rapid.IntRange(0, 59).Draw(k.t, "minutes"))*time.Minute)
}

func (k *keeper) round(when time.Time) record.Round {
	t := k.t
	r := record.Round{Time: when, Values: map[quantity.Key]float64{}, Words: map[quantity.Key]string{}}
	some := func(key quantity.Key, low, high float64) {
		if rapid.IntRange(0, 3).Draw(t, string(key)+" read") > 0 {
			r.Values[key] = float64(rapid.IntRange(int(low*10), int(high*10)).Draw(t, string(key))) / 10
		}
	}
	some("volts", 225, 255)
	some("hertz", 58, 62)
	some("load_kw", 0, 5)
	some("dump_share_pct", 0, 90)
	some("pond_level_m", -0.9, 0.1)
	some("pressure_kpa", 120, 140)
	some("A.bearing_c", 30, 80)
	if rapid.IntRange(0, 2).Draw(t, "meter read") == 0 {
		r.Values["load_energy_kwh"] = 1e4 + when.Sub(noon.AddDate(-1, 0, 0)).Hours()*float64(rapid.IntRange(15, 20).Draw(t, "meter"))/10
	}
	switch rapid.IntRange(0, 4).Draw(t, "running read") {
	case 0:
		r.Running = &[]string{}
	case 1:
		r.Running = &[]string{"A"}
	case 2:
		r.Running = &[]string{"A", "B"}
	}
	if rapid.IntRange(0, 5).Draw(t, "cleared") == 0 {
		r.Words["screen_cleared"] = "yes"
		r.Values["pressure_before_kpa"], r.Values["pressure_after_kpa"] = 120, 133
	}
	return r
}

func (k *keeper) AddRounds() {
	i := k.pick()
	for range rapid.IntRange(1, 6).Draw(k.t, "rounds") {
		saved, err := k.books[i].AddRound(k.t.Context(), k.round(k.when()), "")
		k.must(err)
		k.ids[i] = append(k.ids[i], saved.Entry.ID)
	}
}

// Walks keeps two rounds a day for some days, as a caretaker does, and lets the time pass.
func (k *keeper) Walks() {
	i := k.pick()
	for range rapid.IntRange(1, 12).Draw(k.t, "walks") {
		k.clock.advance(time.Duration(rapid.IntRange(9, 16).Draw(k.t, "wait")) * time.Hour)
		saved, err := k.books[i].AddRound(k.t.Context(), k.round(k.clock.now), "")
		k.must(err)
		k.ids[i] = append(k.ids[i], saved.Entry.ID)
	}
}

func (k *keeper) Event() {
	i := k.pick()
	e := record.Event{Time: k.when(), Kind: rapid.SampledFrom(record.EventKinds()).Draw(k.t, "kind"), Cause: "frost"}
	switch e.Kind {
	case record.Start:
		e.Units = []string{rapid.SampledFrom([]string{"A", "B"}).Draw(k.t, "unit")}
	case record.ElementOut, record.ElementIn:
		e.Element = rapid.SampledFrom([]string{"E1", "E2"}).Draw(k.t, "element")
	case record.Stop, record.Trip:
		if rapid.Bool().Draw(k.t, "one unit") {
			e.Units = []string{"A"}
		}
	case record.Alarm, record.Repair, record.NoteEvent:
	}
	saved, err := k.books[i].AddEvent(k.t.Context(), e, "")
	k.must(err)
	k.ids[i] = append(k.ids[i], saved.Entry.ID)
}

func (k *keeper) Amend() {
	i := k.pick()
	if len(k.ids[i]) == 0 {
		return
	}
	target := rapid.SampledFrom(k.ids[i]).Draw(k.t, "target")
	changes := map[string]string{}
	switch rapid.IntRange(0, 3).Draw(k.t, "what") {
	case 0:
		changes["time"] = k.when().Format(time.RFC3339)
	case 1:
		changes["load_kw"] = rapid.SampledFrom([]string{"0", "2.5", "-"}).Draw(k.t, "load")
	case 2:
		changes["running"] = rapid.SampledFrom([]string{"A", "none", "-"}).Draw(k.t, "running")
	case 3:
		changes["pond_level_m"] = rapid.SampledFrom([]string{"-0.4", "-"}).Draw(k.t, "level")
	}
	// A correction that alters nothing, or names a column that events do not have, is refused; that is tested elsewhere.
	_, _ = k.books[i].Amend(k.t.Context(), target, changes, "misread", "Ro", "")
}

func (k *keeper) Plant() {
	text := dailyPlant(k.t, rapid.SampledFrom([]string{"0.13", "0.21"}).Draw(k.t, "per kWh"), rapid.SampledFrom([]string{"50", "60"}).Draw(k.t, "band"), rapid.Bool().Draw(k.t, "own bus"))
	_, err := k.books[k.pick()].AddPlant(k.t.Context(), text, k.when(), "Ro")
	k.must(err)
}

// Copy makes another book of one, so that they part ways; Merge brings them together again.
func (k *keeper) Copy() {
	if len(k.books) > 2 {
		return
	}
	i := k.pick()
	k.n++
	path := filepath.Join(k.dir, strconv.Itoa(k.n)+".book")
	data, err := os.ReadFile(k.books[i].Path())
	k.must(err)
	k.must(os.WriteFile(path, data, 0o600))
	o := logbook.Unsynced(logbook.Options{Clock: k.clock.Now, Location: halifax, Writer: writerID(strconv.Itoa(k.n)), Rand: seeded("daily" + strconv.Itoa(k.n))})
	b, err := logbook.Open(path, o)
	k.must(err)
	k.books, k.ids = append(k.books, b), append(k.ids, append([]string(nil), k.ids[i]...))
}

func (k *keeper) Merge() {
	i, j := k.pick(), k.pick()
	if i == j {
		return
	}
	_, _, err := k.books[i].Merge(k.t.Context(), k.books[j].Path())
	k.must(err)
	k.ids[i] = append(k.ids[i], k.ids[j]...)
}

// Ask compares a review by roll-ups with one from all entries, and leaves roll-ups behind.
func (k *keeper) Ask() {
	b := k.books[k.pick()]
	of := week.Of{Span: rapid.SampledFrom([]week.Span{week.Week, week.Month, week.Year}).Draw(k.t, "span"), At: k.clock.now}
	if rapid.IntRange(0, 2).Draw(k.t, "as if it were then") > 0 {
		of.At = k.time("at")
	}
	if rapid.Bool().Draw(k.t, "looking back") {
		of.End = k.time("end")
	}
	sameReview(k.t, k.t.Context(), "after random histories", b, of)
}

// time is some time ago, or a midnight.
func (k *keeper) time(what string) time.Time {
	at := k.when()
	if rapid.Bool().Draw(k.t, what+" is a midnight") {
		y, m, d := at.Date()
		at = time.Date(y, m, d, 4, 0, 0, 0, time.UTC) // in Halifax's winter
	}
	return at
}

// check holds that roll-ups are no damage to any book.
func (k *keeper) check() {
	for _, b := range k.books {
		report, err := b.Check(k.t.Context(), nil)
		k.must(err)
		if !report.Sound() {
			k.t.Fatalf("check finds %+v", report)
		}
	}
}

// A long run is made with -rapid.checks; each check writes to the disk some dozens of times, so the usual run makes fewer.
func TestReviewByRollUpsEqualsTheOneFromAllEntries(t *testing.T) {
	if f := flag.Lookup("rapid.checks"); f.Value.String() == f.DefValue {
		if err := f.Value.Set("25"); err != nil {
			t.Fatal(err)
		}
		defer func() { _ = f.Value.Set(f.DefValue) }()
	}
	rapid.Check(t, func(rt *rapid.T) {
		k := &keeper{t: rt, dir: t.TempDir(), clock: &testClock{noon}}
		k.open()
		_, err := k.books[0].AddPlant(rt.Context(), dailyPlant(rt, "0.13", "60", false), noon.AddDate(0, -4, 0), "Ro")
		k.must(err)
		actions := []func(){k.AddRounds, k.Walks, k.Event, k.Amend, k.Plant, k.Copy, k.Merge, k.Ask, k.Ask}
		for range rapid.IntRange(3, 14).Draw(rt, "steps") {
			actions[rapid.IntRange(0, len(actions)-1).Draw(rt, "action")]()
		}
		for _, b := range k.books {
			span := rapid.SampledFrom([]week.Span{week.Week, week.Month, week.Year}).Draw(rt, "last span")
			of := week.Of{Span: span, At: k.clock.now}
			sameReview(rt, rt.Context(), "at the end", b, of)
			sameReview(rt, rt.Context(), "at the end, asked again", b, of)
		}
		k.check()
	})
}
