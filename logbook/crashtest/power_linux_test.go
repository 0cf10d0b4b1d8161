//go:build linux && (amd64 || arm64)

package crashtest

import (
	"bytes"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/oklog/ulid/v2"

	"example.org/headpond/logbook"
)

// recording is all that a child did to the disk and said, in order.
type recording struct {
	dir  string
	path string
	from map[string][]byte // the folder before
	l    *ledger           // what was true before
	ops  []op
}

// recordWork lets a child do a little of everything on a new book.
func recordWork(t testing.TB, seed uint64) *recording {
	t.Helper()
	path := newBook(t).Path()
	r := &recording{dir: filepath.Dir(path), path: path, l: newLedger(t, path)}
	r.from = folder(t, r.dir)
	err := runTapped(t, childCommand("some", path, seed), r.dir, func(o op) answer {
		if !bytes.Equal(o.data, []byte(openToWrite)) {
			r.ops = append(r.ops, o)
		}
		return answer{}
	})
	if err != nil {
		t.Fatalf("the child: %v", err)
	}
	return r
}

// folder reads all files of a folder.
func folder(t testing.TB, dir string) map[string][]byte {
	t.Helper()
	files := map[string][]byte{}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		files[filepath.Join(dir, e.Name())] = data
	}
	return files
}

// replay goes through a recording and calls fn after each call, with the disk and what must be true of it.
func (r *recording) replay(t testing.TB, fn func(i int, d *disk, l *ledger)) {
	t.Helper()
	d, l := newDisk(r.from), r.l.clone()
	for i, o := range r.ops {
		if err := d.apply(o); err != nil {
			t.Fatal(err)
		}
		if o.kind == opSay {
			for word, rest := range lines(bytes.NewReader(o.data)) {
				if err := l.hear(word, rest); err != nil {
					t.Fatal(err)
				}
			}
		}
		fn(i, d, l)
	}
}

// place writes the files of a disk into a folder of their own and returns the book's path there.
func (r *recording) place(t testing.TB, dir string, files map[string][]byte) string {
	t.Helper()
	if err := os.RemoveAll(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(dir, filepath.Base(name)), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return filepath.Join(dir, filepath.Base(r.path))
}

// The model of the disk is right: what it makes of the recorded calls is, to the byte, what the real folder holds.
func TestModelOfTheDiskAgreesWithTheDisk(t *testing.T) {
	r := recordWork(t, *crashSeed)
	var last *disk
	r.replay(t, func(_ int, d *disk, _ *ledger) { last = d })
	real := folder(t, r.dir)
	if len(real) != len(last.names) {
		t.Errorf("%d files on the disk, %d in the model", len(real), len(last.names))
	}
	syncs, writes := 0, 0
	for name, data := range real {
		n := last.names[name]
		if n == nil || !bytes.Equal(n.now(), data) {
			t.Errorf("%s differs", filepath.Base(name))
		}
	}
	for _, o := range r.ops {
		switch o.kind {
		case opSync, opSyncFolder:
			syncs++
		case opWrite:
			writes++
		case opSay, opTruncate, opCreate, opLink, opRename, opRemove:
		}
	}
	if syncs < 50 || writes < 100 {
		t.Errorf("%d syncs and %d writes: not all calls were seen", syncs, writes)
	}
	t.Logf("%d calls, of which %d writes and %d syncs", len(r.ops), writes, syncs)
}

// Whenever the power is cut, and whatever part of what was not synced has reached the disk, the book opens, is sound and holds
// all that was acknowledged.
func TestPowerCutAtAnyMoment(t *testing.T) {
	const cutsARecording = 1000
	random := rand.New(rand.NewPCG(*crashSeed, 77))
	t.Logf("seed %d, %d cuts", *crashSeed, *powerCuts)
	dir := filepath.Join(t.TempDir(), "after")
	differing := 0
	for done := 0; done < *powerCuts; done += cutsARecording {
		seed := *crashSeed*1_000_000 + uint64(done)
		r := recordWork(t, seed)
		left := min(cutsARecording, *powerCuts-done)
		share := float64(left) / float64(len(r.ops))
		r.replay(t, func(i int, d *disk, l *ledger) {
			for n := share; n > 0; n-- {
				if random.Float64() >= n {
					continue
				}
				files := d.afterCut(random)
				if !bytes.Equal(files[r.path], d.names[r.path].now()) {
					differing++
				}
				path := r.place(t, dir, files)
				_, err := l.verify(t, path)
				if err == nil {
					err = worksOn(t, path)
				}
				if err != nil {
					t.Fatalf("seed %d, power cut after call %d (%v): %v", seed, i, r.ops[i], err)
				}
			}
		})
	}
	t.Logf("in %d of them the book on the disk was not the one that programs saw", differing)
	if differing < *powerCuts/20 {
		t.Errorf("only %d cuts left something else than programs saw: the cuts seem not to be done", differing)
	}
}

// A disk that says that it has synced and has not can lose anything written since it began to lie. What was there before is
// saved, and nothing panics.
func TestDiskThatLiesAboutSyncing(t *testing.T) {
	random := rand.New(rand.NewPCG(*crashSeed, 78))
	r := recordWork(t, *crashSeed)
	written := entryBytes(t, r.path)
	dir := filepath.Join(t.TempDir(), "after")
	sound, saved, lost, lies := 0, 0, 0, max(10, *powerCuts/6)
	for range lies {
		begin := random.IntN(len(r.ops))
		end := begin + random.IntN(min(60, len(r.ops)-begin))
		d, l, before := newDisk(r.from), r.l.clone(), (*ledger)(nil)
		for i, o := range r.ops[:end+1] {
			if i == begin {
				before = l.clone()
			}
			if i >= begin && (o.kind == opSync || o.kind == opSyncFolder) {
				continue
			}
			if err := d.apply(o); err != nil {
				t.Fatal(err)
			}
			if o.kind == opSay {
				for word, rest := range lines(bytes.NewReader(o.data)) {
					if err := l.hear(word, rest); err != nil {
						t.Fatal(err)
					}
				}
			}
		}
		path := r.place(t, dir, d.afterCut(random))
		if _, err := before.verify(t, path); err == nil {
			sound++
			continue
		}
		got := rescuedIDs(t, dir)
		n := len(missingOf(before.kept, got))
		if n == 0 {
			saved++
		}
		// What is missing must be gone from the disk in truth: the pages that held it were freed and used again while those that
		// replaced them never came to the disk. Then a backup helps.
		lost += n
		files := folder(t, dir)
		for _, id := range missingOf(before.kept, got) {
			for name, data := range files {
				if raw := written[id]; len(raw) > 0 && bytes.Contains(data, raw) {
					t.Errorf("lie from call %d to %d: %s is whole in %s and was not saved", begin, end, id, filepath.Base(name))
				}
			}
		}
	}
	t.Logf("seed %d, %d disks: %d were sound all the same, from %d everything was saved, from the others %d entries were lost", *crashSeed, lies, sound, saved, lost)
}

// entryBytes are the bytes of each entry of a book as they stand in a file: the key, and behind it the value.
func entryBytes(t testing.TB, path string) map[string][]byte {
	t.Helper()
	m := map[string][]byte{}
	err := open(t, path).Entries(t.Context(), func(e logbook.Entry) error {
		key, err := ulid.ParseStrict(e.ID)
		m[e.ID] = append(key[:], e.Raw...)
		return err
	})
	if err != nil || len(m) == 0 {
		t.Fatalf("%d entries, %v", len(m), err)
	}
	return m
}

func missingOf(want, got map[string]bool) (list []string) {
	for id := range want {
		if !got[id] {
			list = append(list, id)
		}
	}
	return list
}

// rescuedIDs are the entries that a rescue saves from whatever lies in a folder.
func rescuedIDs(t testing.TB, dir string) map[string]bool {
	t.Helper()
	ids := map[string]bool{}
	for name := range folder(t, dir) {
		dst := name + ".saved"
		if _, err := logbook.Rescue(t.Context(), name, dst, options(3)); err != nil {
			continue
		}
		c, err := look(t, dst)
		if err != nil {
			t.Errorf("what was saved: %v", err)
		}
		maps.Copy(ids, c.ids)
	}
	return ids
}
