package logbook_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
	"example.org/headpond/model/week"
)

// watered is a book with a plant and two rounds a day for some days up to its clock.
func watered(t testing.TB, days int) *testBook {
	t.Helper()
	b := newBook(t)
	must(b.AddPlant(t.Context(), dailyPlant(t, "0.13", "60", false), noon.AddDate(-1, 0, 0), "Ro"))(t)
	var rounds []record.Round
	for at := noon.AddDate(0, 0, -days); !at.After(noon); at = at.Add(12 * time.Hour) {
		r := level(at, -0.2)
		r.Running = &[]string{"A"}
		r.Values["load_kw"], r.Values["dump_kw"], r.Values["hertz"] = 2, 3, 60
		rounds = append(rounds, r)
	}
	_, _, err := b.AddRounds(t.Context(), rounds)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// rollUps reads the book's rows and mark with the store alone.
func rollUps(t testing.TB, path string) (keys []string, mark []byte) {
	t.Helper()
	inBolt(t, path, true, func(tx *bolt.Tx) error {
		mark = append(mark, tx.Bucket([]byte("headpond")).Get([]byte("daily"))...)
		if b := tx.Bucket([]byte("daily")); b != nil {
			return b.ForEach(func(k, _ []byte) error {
				keys = append(keys, string(k))
				return nil
			})
		}
		return nil
	})
	return keys, mark
}

func inBolt(t testing.TB, path string, read bool, fn func(*bolt.Tx) error) {
	t.Helper()
	db := must(bolt.Open(path, 0o600, &bolt.Options{ReadOnly: read, Timeout: time.Second}))(t)
	defer db.Close()
	do := db.Update
	if read {
		do = db.View
	}
	if err := do(fn); err != nil {
		t.Fatal(err)
	}
}

// answer is a review as JSON.
func answer(t testing.TB, b *logbook.Book, span week.Span, at time.Time) string {
	t.Helper()
	return string(must(json.Marshal(must(rolled(t.Context(), b, week.Of{Span: span, At: at}))(t)))(t))
}

func TestRollUpsAreKeptAndUsed(t *testing.T) {
	b := watered(t, 40)
	if keys, _ := rollUps(t, b.Path()); len(keys) != 0 {
		t.Fatalf("%d rows before anybody asked", len(keys))
	}
	first := answer(t, b.Book, week.Month, noon)
	keys, mark := rollUps(t, b.Path())
	// 41 days have rounds; the last one is not over, and the one before needs a later reading than the last round.
	if len(keys) < 38 || len(keys) > 40 || len(mark) == 0 {
		t.Errorf("%d rows, mark %x", len(keys), mark)
	}
	before := bytesOf(t, b.Path())
	if again := answer(t, b.Book, week.Month, noon); again != first {
		t.Errorf("asked again it says\n%s\nand before\n%s", again, first)
	}
	unchanged(t, "a review whose rows stand", before, b.Path())
}

// A look back at an old period uses the roll-ups that stand and leaves them alone; where there are none it keeps those up to there.
func TestALookBackLeavesRollUpsAlone(t *testing.T) {
	b := watered(t, 100)
	end := noon.AddDate(0, 0, -60).Add(-8 * time.Hour)
	of := func(span week.Span) week.Of { return week.Of{Span: span, At: noon, End: end} }
	sameReview(t, t.Context(), "without roll-ups", b.Book, of(week.Week))
	if f := frontier(t, b.Path()); f.After(end) || f.Before(end.AddDate(0, 0, -2)) {
		t.Errorf("the frontier is at %v after a look back at what ended at %v", f, end)
	}
	answer(t, b.Book, week.Year, noon)
	before := bytesOf(t, b.Path())
	for _, span := range []week.Span{week.Week, week.Month, week.Year} {
		sameReview(t, t.Context(), "with roll-ups", b.Book, of(span))
	}
	unchanged(t, "a look back where the roll-ups stand", before, b.Path())
	late := must(rolled(t.Context(), b.Book, of(week.Week)))(t)
	then := must(rolled(t.Context(), b.Book, week.Of{Span: week.Week, At: end}))(t)
	if late.HoursCovered <= then.HoursCovered || len(late.Points) != len(then.Points) {
		t.Errorf("looked back at, %g h and %d points; as if it were then %g h and %d", late.HoursCovered, len(late.Points), then.HoursCovered, len(then.Points))
	}
}

// A row under a wrong key, or with a wrong checksum, makes all rows be made again; no entry is called damaged.
func TestASpoiltRowIsMadeAgain(t *testing.T) {
	b := watered(t, 60)
	sound := answer(t, b.Book, week.Year, noon)
	inBolt(t, b.Path(), false, func(tx *bolt.Tx) error {
		rows := tx.Bucket([]byte("daily"))
		k, _ := rows.Cursor().First()
		_, other := rows.Cursor().Seek(k)
		k2, _ := rows.Cursor().Last()
		spoilt := append([]byte(nil), other...)
		spoilt[len(spoilt)-1] ^= 1
		return rows.Put(append([]byte(nil), k2...), spoilt)
	})
	if got := answer(t, b.Book, week.Year, noon); got != sound {
		t.Errorf("with a spoilt row it says\n%s\nand with sound ones\n%s", got, sound)
	}
	checkSound(t, b.Book)
	if got := answer(t, b.Book, week.Year, noon); got != sound {
		t.Error("after the rows were made again it differs")
	}
}

func TestAnEntryMovesTheFrontier(t *testing.T) {
	for _, c := range []struct {
		name   string
		do     func(t *testing.T, b *testBook)
		behind time.Duration // the frontier lies at least so far before now afterwards; 0: it stays
	}{
		{"a new round", func(t *testing.T, b *testBook) {
			b.clock.advance(12 * time.Hour)
			must(b.AddRound(t.Context(), level(b.clock.now, -0.3), ""))(t)
		}, 0},
		{"a paper of ten days ago", func(t *testing.T, b *testBook) {
			must(b.AddRound(t.Context(), level(noon.AddDate(0, 0, -10), -0.3), ""))(t)
		}, 10 * 24 * time.Hour},
		{"an event of ten days ago", func(t *testing.T, b *testBook) {
			must(b.AddEvent(t.Context(), record.Event{Time: noon.AddDate(0, 0, -10), Kind: record.Trip}, ""))(t)
		}, 10 * 24 * time.Hour},
		{"upkeep of ten days ago", func(t *testing.T, b *testBook) {
			must(b.AddDone(t.Context(), record.Done{Time: noon.AddDate(0, 0, -10), Task: "grease"}, ""))(t)
		}, 0},
		{"a draft", func(t *testing.T, b *testBook) {
			if err := b.SaveDraft(t.Context(), "round", []byte("x")); err != nil {
				t.Fatal(err)
			}
		}, 0},
		{"a correction of a round of ten days ago", func(t *testing.T, b *testBook) {
			h := must(b.History(t.Context(), logbook.HistoryOptions{All: true}))(t)
			for _, r := range h.Rounds {
				if r.Time.Equal(noon.AddDate(0, 0, -10)) {
					must(b.Amend(t.Context(), r.ID, map[string]string{"load_kw": "4"}, "misread", "Ro", ""))(t)
				}
			}
		}, 10 * 24 * time.Hour},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := watered(t, 40)
			answer(t, b.Book, week.Year, noon)
			before := frontier(t, b.Path())
			c.do(t, b)
			after := frontier(t, b.Path())
			switch {
			case c.behind == 0 && !after.Equal(before):
				t.Errorf("the frontier moved from %v to %v", before, after)
			case c.behind > 0 && after.After(noon.Add(-c.behind)):
				t.Errorf("the frontier is at %v, after what came", after)
			case c.behind > 0 && after.Before(noon.Add(-c.behind-4*24*time.Hour)):
				t.Errorf("the frontier went back to %v, much farther than needed", after)
			}
			sameReview(t, t.Context(), "after it", b.Book, week.Of{Span: week.Year, At: b.clock.now})
			sameReview(t, t.Context(), "and again", b.Book, week.Of{Span: week.Year, At: b.clock.now})
		})
	}
}

// frontier reads the mark as FORMAT.md draws it.
func frontier(t testing.TB, path string) time.Time {
	t.Helper()
	_, m := rollUps(t, path)
	if len(m) != 41 || m[0] != 2 {
		t.Fatalf("the mark is %x", m)
	}
	var ms int64
	for _, b := range m[9:17] {
		ms = ms<<8 | int64(b)
	}
	return time.UnixMilli(ms).In(halifax)
}

// A program that knows no roll-ups writes an entry of last week: the mark's count is then behind, and no row counts.
func TestAnOlderProgramMakesRollUpsStale(t *testing.T) {
	b := watered(t, 40)
	answer(t, b.Book, week.Year, noon)
	_, mark := rollUps(t, b.Path())
	must(b.AddRound(t.Context(), level(noon.AddDate(0, 0, -20), -0.7), ""))(t)
	inBolt(t, b.Path(), false, func(tx *bolt.Tx) error { return tx.Bucket([]byte("headpond")).Put([]byte("daily"), mark) })
	sameReview(t, t.Context(), "after an older program wrote", b.Book, week.Of{Span: week.Year, At: noon})
	if f := frontier(t, b.Path()); f.Before(noon.AddDate(0, 0, -4)) {
		t.Errorf("the rows were not made again: frontier %v", f)
	}
}

// A plant revision changes what every day was judged by; another version of the computing does the same by the same hash.
func TestAPlantRevisionMakesRollUpsStale(t *testing.T) {
	b := watered(t, 40)
	answer(t, b.Book, week.Year, noon)
	must(b.AddPlant(t.Context(), strings.Replace(dailyPlant(t, "0.5", "60", false), "hertz = 0.1", "hertz = 0.2", 1), noon.AddDate(0, 0, -20), "Ro"))(t)
	sameReview(t, t.Context(), "with a new revision", b.Book, week.Of{Span: week.Year, At: noon})
	sameReview(t, t.Context(), "and again", b.Book, week.Of{Span: week.Year, At: noon})
}

func TestAReviewWhereNothingMayBeWritten(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Log("the superuser may write anywhere: the file is opened read-only all the same where it says so")
	}
	b := watered(t, 40)
	data := bytesOf(t, b.Path())
	folder := t.TempDir()
	path := filepath.Join(folder, "read-only.book")
	if err := os.WriteFile(path, data, 0o400); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(folder, 0o500); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.Chmod(folder, 0o700) })
	ro := must(logbook.Open(path, options(t, b.clock, "alder")))(t)
	want := answer(t, b.Book, week.Month, noon)
	if got := answer(t, ro, week.Month, noon); got != want {
		t.Errorf("read-only it says\n%s\nwant\n%s", got, want)
	}
}

func TestReviewsOfBooksWithLittle(t *testing.T) {
	b := newBook(t)
	if _, err := b.Week(t.Context(), week.Of{Span: week.Week, At: noon}); !errors.Is(err, week.ErrNoPlant) {
		t.Errorf("without a plant: %v", err)
	}
	must(b.AddPlant(t.Context(), dailyPlant(t, "0.13", "60", false), noon.AddDate(-1, 0, 0), "Ro"))(t)
	for _, span := range []week.Span{week.Week, week.Month, week.Year} {
		sameReview(t, t.Context(), "a plant alone", b.Book, week.Of{Span: span, At: noon})
	}
	must(b.AddRound(t.Context(), level(noon.Add(-time.Hour), -0.3), ""))(t)
	for _, at := range []time.Time{noon, noon.Add(-2 * time.Hour), noon.AddDate(-3, 0, 0), noon.AddDate(5, 0, 0)} {
		sameReview(t, t.Context(), fmt.Sprint("one round, to ", at), b.Book, week.Of{Span: week.Week, At: at})
	}
	if _, err := b.Week(t.Context(), week.Of{Span: "decade", At: noon}); err == nil {
		t.Error("a decade is a span")
	}
}

// Two books that were merged hold the rows of neither until they are made again.
func TestMergingMakesRollUpsStaleFromTheFirstNewEntry(t *testing.T) {
	b := watered(t, 40)
	other := newBookOf(t, "birch", &testClock{noon})
	must(other.AddRound(t.Context(), level(noon.AddDate(0, 0, -15), -0.8), ""))(t)
	answer(t, b.Book, week.Year, noon)
	if _, _, err := b.Merge(t.Context(), other.Path()); err != nil {
		t.Fatal(err)
	}
	if f := frontier(t, b.Path()); f.After(noon.AddDate(0, 0, -15)) || f.Before(noon.AddDate(0, 0, -19)) {
		t.Errorf("the frontier is at %v", f)
	}
	sameReview(t, t.Context(), "after the merge", b.Book, week.Of{Span: week.Year, At: noon})
}

// Without a time the review is up to now, and what is dated in the future is left out with a caution.
func TestReviewUpToNowCautionsAboutTheFuture(t *testing.T) {
	b := watered(t, 10)
	must(b.AddRound(t.Context(), level(noon.AddDate(0, 0, 2), -0.3), ""))(t)
	in := must(b.Week(t.Context(), week.Of{Span: week.Week}))(t)
	if !in.At.Equal(noon) || len(in.Points) != 14 || !strings.Contains(strings.Join(in.History.Cautions, " "), "a round dated in the future") {
		t.Errorf("at %v, %d points, cautions %q", in.At, len(in.Points), in.History.Cautions)
	}
	in = must(b.Week(t.Context(), week.Of{Span: week.Week, At: noon.AddDate(0, 0, 3)}))(t)
	if len(in.History.Cautions) != 0 || in.Points[len(in.Points)-1].Time.Before(noon.AddDate(0, 0, 1)) {
		t.Errorf("asked about a later time: cautions %q, %d points", in.History.Cautions, len(in.Points))
	}
}

// A review can be given up.
func TestReviewCanBeGivenUp(t *testing.T) {
	b := watered(t, 10)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := b.Week(ctx, week.Of{Span: week.Week, At: noon}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
