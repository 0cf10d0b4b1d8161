package main

import (
	"bytes"
	"context"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"example.org/headpond/logbook"
)

// person is a made world: a book of Tern Hollow, a clock that stands, and someone at a terminal who has typed ahead.
type person struct {
	world
	t        testing.TB
	out, err bytes.Buffer
}

// noon is where the clock stands: a summer's day at Tern Hollow.
var noon = time.Date(2025, 6, 5, 12, 0, 0, 0, time.FixedZone("ADT", -3*3600))

// newPerson makes a world whose book holds the plant of testdata and nothing else.
func newPerson(t testing.TB) *person {
	t.Helper()
	p := &person{t: t}
	p.world = world{
		in: strings.NewReader(""), inTTY: true, outTTY: true, now: func() time.Time { return noon }, local: time.UTC,
		rand: rand.NewChaCha8([32]byte{1}), dataDir: filepath.Join(t.TempDir(), "data"), tempDir: t.TempDir(), utf8: true,
		environ: []string{"TERM=dumb"}, screen: io.Discard,
	}
	p.run(0, "plant", "load", filepath.Join("testdata", "plant.toml"), "--from", "2025-06-01")
	return p
}

// run carries out one command line and demands its exit status. What the streams held before is forgotten.
func (p *person) run(want exitCode, args ...string) string {
	p.t.Helper()
	return p.runIn(context.Background(), want, args...)
}

func (p *person) runIn(ctx context.Context, want exitCode, args ...string) string {
	p.t.Helper()
	p.out.Reset()
	p.err.Reset()
	w := p.world
	w.args, w.out, w.err = args, &p.out, &p.err
	if got := execute(ctx, w); got != want {
		p.t.Fatalf("headpond %s: exit status %d, want %d\n%s%s", strings.Join(args, " "), got, want, &p.out, &p.err)
	}
	return p.out.String()
}

// types is what the person types at the prompts that come.
func (p *person) types(lines ...string) { p.in = strings.NewReader(strings.Join(lines, "\n") + "\n") }

// wants demands texts in what was printed, in their order.
func (p *person) wants(where string, texts ...string) {
	p.t.Helper()
	rest := where
	for _, text := range texts {
		i := strings.Index(rest, text)
		if i < 0 {
			p.t.Fatalf("%q does not come, or not in its order, in:\n%s", text, where)
		}
		rest = rest[i+len(text):]
	}
}

// bytes is what the book's file holds.
func (p *person) bytes() []byte {
	p.t.Helper()
	data, err := os.ReadFile(p.defaultBook())
	if err != nil {
		p.t.Fatal(err)
	}
	return data
}

// draft is what the Round form left on disk, "" for nothing.
func (p *person) draft() string {
	p.t.Helper()
	b, err := logbook.Open(p.defaultBook(), logbook.Options{})
	if err != nil {
		p.t.Fatal(err)
	}
	d, _, err := b.Draft(context.Background(), "round")
	if err != nil {
		p.t.Fatal(err)
	}
	return string(d.Data)
}

// full is a disk without room.
type full struct{ io.Writer }

func (full) Write([]byte) (int, error) { return 0, io.ErrShortWrite }
