package crashtest

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
)

// killsABook is how many kills one book lives through, so that the long run does not only measure large books.
const killsABook = 50

func TestNothingIsLostWhenKilled(t *testing.T) {
	random := rand.New(rand.NewPCG(*crashSeed, 9))
	t.Logf("seed %d, %d kills", *crashSeed, *crashKills)
	acknowledged := 0
	var l *ledger
	var path string
	for i := range *crashKills {
		if i%killsABook == 0 {
			path = newBook(t).Path()
			l = newLedger(t, path)
		}
		acknowledged -= len(l.kept)
		killOnce(t, l, path, *crashSeed*1_000_000+uint64(i), random)
		acknowledged += len(l.kept)
		book, err := l.verify(t, path)
		if err != nil {
			t.Fatalf("kill %d of seed %d: %v", i, *crashSeed, err)
		}
		if err := worksOn(t, path); err != nil {
			t.Fatalf("kill %d of seed %d: work does not go on: %v", i, *crashSeed, err)
		}
		settle(t, l, path, book)
	}
	t.Logf("%d entries were acknowledged", acknowledged)
	if acknowledged < *crashKills {
		t.Errorf("only %d entries were acknowledged", acknowledged)
	}
}

// killOnce lets a child work and kills it somewhere within a deed.
func killOnce(t testing.TB, l *ledger, path string, seed uint64, random *rand.Rand) {
	t.Helper()
	cmd := childCommand("work", path, seed)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	n, last := 0, 1+random.IntN(80)
	for word, rest := range lines(out) { // to the pipe's end: what was said before the kill counts
		if err := l.hear(word, rest); err != nil {
			t.Fatal(err)
		}
		if n++; n != last {
			continue
		}
		for range random.IntN(1_500_000) { // up to about three milliseconds
			_ = random.Uint64()
		}
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
	}
	_ = cmd.Wait() // killed
}

// settle takes what the kill has left undecided as it is now, and clears away what would pile up.
func settle(t testing.TB, l *ledger, path string, book contents) {
	t.Helper()
	for id := range book.ids {
		l.kept[id] = true
	}
	aside, err := filepath.Glob(path + ".replaced-*")
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, path)
	for _, name := range aside {
		if _, _, err := b.Merge(t.Context(), name); err != nil {
			t.Fatal(err)
		}
		if err := os.Remove(name); err != nil {
			t.Fatal(err)
		}
	}
	parts, err := filepath.Glob(path + ".*.part")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range parts { // not whole, as its name says
		if err := os.Remove(name); err != nil {
			t.Fatal(err)
		}
	}
	now, err := look(t, path)
	if err != nil {
		t.Fatal(err)
	}
	l.inBook, l.drafts = now.ids, []string{now.draft}
	for id := range now.ids {
		l.kept[id] = true
	}
	if c, err := look(t, path+".backup"); err == nil {
		l.backedUp, l.backupDrafts, l.before, l.hasBackup = c.ids, []string{c.draft}, nil, true
	}
}
