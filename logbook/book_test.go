package logbook_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// halifax is the plant's zone in these tests: four hours west in winter, without need of a zone database.
var halifax = time.FixedZone("", -4*3600)

// noon is when the tests' clock starts.
var noon = time.Date(2026, 2, 3, 12, 0, 0, 0, halifax)

// testClock is a clock that only moves when a test moves it.
type testClock struct{ now time.Time }

func (c *testClock) Now() time.Time          { return c.now }
func (c *testClock) advance(d time.Duration) { c.now = c.now.Add(d) }

// seeded gives random numbers that are the same in every run.
func seeded(seed string) io.Reader { return rand.NewChaCha8(sha256.Sum256([]byte(seed))) }

// writerID makes a machine's id from a name.
func writerID(name string) [16]byte {
	return [16]byte(binary.BigEndian.AppendUint64([]byte(name + "........")[:8], 7))
}

// testBook is a book in a folder of the test's own, which is checked when the test ends: whatever a test does to a book, it
// must leave it whole.
type testBook struct {
	*logbook.Book
	clock *testClock
}

func options(t testing.TB, clock *testClock, writer string) logbook.Options {
	t.Helper()
	return logbook.Options{Clock: clock.Now, Location: halifax, Writer: writerID(writer), Rand: seeded(t.Name() + writer)}
}

func newBook(t testing.TB) *testBook { return newBookOf(t, "alder", &testClock{noon}) }

func newBookOf(t testing.TB, writer string, clock *testClock) *testBook {
	t.Helper()
	path := filepath.Join(t.TempDir(), writer+".book")
	b, err := logbook.Create(t.Context(), path, options(t, clock, writer))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { checkSound(t, b) })
	return &testBook{b, clock}
}

// checkSound fails the test when the book is not whole, and keeps a copy of it to look at.
func checkSound(t testing.TB, b *logbook.Book) {
	t.Helper()
	report, err := b.Check(context.Background(), nil)
	if err == nil && report.Sound() {
		return
	}
	t.Errorf("the book is not sound at the test's end: %v %+v", err, report)
	if data, err := os.ReadFile(b.Path()); err == nil {
		name := filepath.Join(os.TempDir(), "headpond-unsound-"+filepath.Base(t.Name())+".book")
		t.Logf("kept as %s: %v", name, os.WriteFile(name, data, 0o600))
	}
}

// sample is a round with something in every field.
func sample(at time.Time) record.Round {
	return record.Round{
		Time: at, By: "Ro", Running: &[]string{"A"},
		Values:    map[quantity.Key]float64{"volts": 241.2, "hertz": 60.1, "pressure_kpa": 131, "A.kw": 4.75, "pond_level_m": -0.305},
		Words:     map[quantity.Key]string{"screen": "partly", "screen_cleared": "no"},
		Typed:     map[quantity.Key]string{"pressure_kpa": "19 psi"},
		Extra:     map[string]string{"weather": "drizzle"},
		Confirmed: true, Note: "leaves on the screen",
	}
}

func must[T any](v T, err error) func(testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func equal[T any](t testing.TB, what string, got, want T, opts ...cmp.Option) {
	t.Helper()
	opts = append(opts, cmpopts.EquateEmpty())
	if d := cmp.Diff(want, got, opts...); d != "" {
		t.Errorf("%s (-want +got):\n%s", what, d)
	}
}

func TestAddedRoundIsReadBackWhole(t *testing.T) {
	b := newBook(t)
	at := noon.Add(-5 * time.Hour)
	saved := must(b.AddRound(t.Context(), sample(at), ""))(t)
	if len(saved.Entry.ID) != 26 || saved.Already || len(saved.Cautions) > 0 {
		t.Errorf("saved = %+v", saved)
	}
	h := must(b.History(t.Context(), logbook.HistoryOptions{}))(t)
	want := sample(at)
	want.ID, want.WrittenAt = saved.Entry.ID, noon
	equal(t, "rounds", h.Rounds, []record.Round{want})
	equal(t, "saved", saved.Entry, want)
	if _, off := h.Rounds[0].Time.Zone(); off != -4*3600 {
		t.Errorf("offset = %d s, want the one it was written with", off)
	}
	if !h.Complete || h.At != noon || len(h.Cautions) > 0 {
		t.Errorf("history: complete %v, at %v, cautions %q", h.Complete, h.At, h.Cautions)
	}
}

func TestAmendmentAppliesAndKeepsTheOldValue(t *testing.T) {
	b := newBook(t)
	id := must(b.AddRound(t.Context(), sample(noon.Add(-time.Hour)), ""))(t).Entry.ID
	b.clock.advance(time.Minute)
	got := must(b.Amend(t.Context(), id[:20], map[string]string{"volts": "238", "hertz": "60.1", "screen": "-", "note": "twigs", "running": "none"}, "misread", "Imke", ""))(t)
	at := noon.Add(time.Minute)
	a := got.Entry[0].Amendment
	want := []record.Change{
		{Amendment: a, Key: "note", Old: "leaves on the screen", New: "twigs", By: "Imke", At: at, Why: "misread"},
		{Amendment: a, Key: "running", Old: "A", New: "none", By: "Imke", At: at, Why: "misread"},
		{Amendment: a, Key: "screen", Old: "partly", New: "", By: "Imke", At: at, Why: "misread"},
		{Amendment: a, Key: "volts", Old: "241.2", New: "238", By: "Imke", At: at, Why: "misread"},
	}
	equal(t, "changes; hertz says so already and is passed over", got.Entry, want)
	r := must(b.History(t.Context(), logbook.HistoryOptions{}))(t).Rounds[0]
	equal(t, "changes in the history", r.Changes, want)
	if v, _ := r.Value("volts"); v != 238 || r.Note != "twigs" || len(*r.Running) != 0 {
		t.Errorf("round = %+v", r)
	}
	if _, ok := r.Word("screen"); ok {
		t.Error("the withdrawn reading is still there")
	}
	if _, err := b.Amend(t.Context(), id, map[string]string{"volts": "238"}, "again", "Imke", ""); !errors.Is(err, logbook.ErrNoChange) {
		t.Errorf("the same correction again: %v", err)
	}
}

// testPlant is the smallest plant that is accepted, with a screen of the given size in square metres.
func testPlant(t testing.TB, screenM2 string) string {
	t.Helper()
	data, err := os.ReadFile("testdata/plant.toml")
	if err != nil {
		t.Fatal(err)
	}
	return strings.Replace(string(data), "screen_m2 = 1.4", "screen_m2 = "+screenM2, 1)
}

func bytesOf(t testing.TB, path string) []byte {
	t.Helper()
	return must(os.ReadFile(path))(t)
}

// unchanged fails when a file is not to the byte what it was.
func unchanged(t testing.TB, what string, before []byte, path string) {
	t.Helper()
	if !bytes.Equal(before, bytesOf(t, path)) {
		t.Errorf("%s altered the file", what)
	}
}
