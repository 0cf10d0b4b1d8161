package logbook

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"
	"pgregory.net/rapid"
)

// grown fills a store's bucket with keys in any order, some long and with values over several pages, and takes some away.
func grown(t *rapid.T, path string) {
	db, err := bolt.Open(path, 0o600, &bolt.Options{NoSync: true, NoGrowSync: true})
	if err != nil {
		t.Fatal(err)
	}
	for range rapid.IntRange(1, 4).Draw(t, "transactions") {
		err := db.Update(func(tx *bolt.Tx) error {
			b, err := tx.CreateBucketIfNotExists([]byte("b"))
			if err != nil {
				return err
			}
			seed := rapid.Uint64().Draw(t, "seed")
			n := rapid.IntRange(0, 600).Draw(t, "pairs")
			for i := range n {
				seed = seed*6364136223846793005 + 1442695040888963407
				key := binary.BigEndian.AppendUint64(nil, seed%1000)
				if seed>>32%7 == 0 {
					err = b.Delete(key)
				} else {
					err = b.Put(key, bytes.Repeat([]byte{byte(i)}, int(seed>>40%300)))
				}
				if err != nil {
					return err
				}
			}
			if n%5 == 0 {
				return b.Put([]byte("long"), make([]byte, 20000))
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestCarefulReadingAgreesWithTheStore compares our walk with the store's own, step by step in both directions and from any
// key, and our check of the pages with the store's.
func TestCarefulReadingAgreesWithTheStore(t *testing.T) {
	dir := t.TempDir()
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		path := filepath.Join(dir, fmt.Sprint(n))
		grown(t, path)
		db, err := bolt.Open(path, 0o600, &bolt.Options{ReadOnly: true, PreLoadFreelist: true})
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		s, err := readSnapshot(data)
		if err != nil {
			t.Fatal(err)
		}
		err = db.View(func(tx *bolt.Tx) error {
			compareWalks(t, tx.Bucket([]byte("b")).Cursor(), s.g.bucket("b").cursor())
			pairs := s.buckets()["b"].pairs
			if want := tx.Bucket([]byte("b")).Stats().KeyN; len(pairs) != want || len(s.g.faults) > 0 {
				t.Fatalf("%d pairs, want %d; faults %q", len(pairs), want, s.g.faults)
			}
			for err := range tx.Check() {
				t.Fatalf("the store's own check: %v", err)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	})
}

func compareWalks(t *rapid.T, want *bolt.Cursor, got walker) {
	same := func(what string, k1, v1, k2, v2 []byte) bool {
		if !bytes.Equal(k1, k2) || !bytes.Equal(v1, v2) {
			t.Fatalf("%s: key %x with %d bytes, the store says %x with %d", what, k2, len(v2), k1, len(v1))
		}
		return k1 != nil
	}
	k1, v1 := want.First()
	k2, v2 := got.First()
	for same("forward", k1, v1, k2, v2) {
		k1, v1 = want.Next()
		k2, v2 = got.Next()
	}
	k1, v1 = want.Last()
	k2, v2 = got.Last()
	for same("backward", k1, v1, k2, v2) {
		k1, v1 = want.Prev()
		k2, v2 = got.Prev()
	}
	for range 30 {
		key := binary.BigEndian.AppendUint64(nil, uint64(rapid.IntRange(0, 1001).Draw(t, "sought")))
		k1, v1 = want.Seek(key)
		k2, v2 = got.Seek(key)
		for range rapid.IntRange(0, 5).Draw(t, "steps") {
			if !same("sought", k1, v1, k2, v2) {
				break
			}
			if rapid.Bool().Draw(t, "forward") {
				k1, v1 = want.Next()
				k2, v2 = got.Next()
			} else {
				k1, v1 = want.Prev()
				k2, v2 = got.Prev()
			}
		}
	}
}

// FuzzPages reads any bytes as a book's file. Whatever they are, reading ends soon, and nothing panics.
func FuzzPages(f *testing.F) {
	data, err := os.ReadFile("testdata/format1.book")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data[8192:], uint16(len(data)/4096))
	for page := 2; page < len(data)/4096; page++ {
		spoilt := bytes.Clone(data)
		spoilt[page*4096+10] ^= 0x40 // its count
		spoilt[page*4096+20] ^= 0x01 // where its first element lies
		f.Add(spoilt[8192:], uint16(len(data)/4096))
	}
	f.Fuzz(func(t *testing.T, pages []byte, highWater uint16) {
		// The heads are ours, with right checksums, since what lies behind them is to be tried.
		file := append(bytes.Clone(data[:8192]), pages...)
		for at := 0; at < 8192; at += 4096 {
			binary.NativeEndian.PutUint64(file[at+56:], uint64(highWater))
			sealHead(file[at:])
		}
		s, err := readSnapshot(file)
		if err != nil {
			return
		}
		total := 0
		for _, b := range s.buckets() {
			total += len(b.pairs)
		}
		// No pair is handed out twice: a page that stands in two places is noticed.
		if total > len(pages)/elementLen {
			t.Fatalf("%d pairs in %d bytes", total, len(pages))
		}
		c := &checker{ctx: t.Context(), report: &CheckReport{}}
		c.pages(s)
		if err := c.entries(); err != nil {
			t.Fatal(err)
		}
		c.chain()
		c.tips()
		for _, name := range allBuckets() {
			k := s.g.bucket(name).cursor()
			k.Last()
			k.Seek([]byte{1})
			k.Prev()
		}
	})
}

func TestFileThatLoopsEnds(t *testing.T) {
	// A branch whose only child is itself, and one whose two children are one page.
	page := func(n, kind, count int, children ...uint64) []byte {
		p := make([]byte, 4096)
		order := binary.NativeEndian
		order.PutUint64(p, uint64(n))
		order.PutUint16(p[8:], uint16(kind))
		order.PutUint16(p[10:], uint16(count))
		for i, child := range children {
			e := p[pageHeadLen+i*elementLen:]
			order.PutUint32(e, uint32(1000))
			order.PutUint32(e[4:], 1)
			e[1000] = byte(i + 1)
			order.PutUint64(e[8:], child)
		}
		return p
	}
	for name, pages := range map[string][]byte{
		"itself":     page(2, pageBranch, 1, 2),
		"twice":      append(page(2, pageBranch, 2, 3, 3), page(3, pageBranch, 2, 2, 2)...),
		"each other": append(page(2, pageBranch, 1, 3), page(3, pageBranch, 1, 2)...),
	} {
		file := append(make([]byte, 8192), pages...)
		order := binary.NativeEndian
		for at := 0; at < 8192; at += 4096 {
			order.PutUint32(file[at+16:], metaMagic)
			order.PutUint32(file[at+20:], metaVersion)
			order.PutUint32(file[at+24:], 4096)
			order.PutUint64(file[at+32:], 2)
			order.PutUint64(file[at+48:], noFreeList)
			order.PutUint64(file[at+56:], uint64(len(file)/4096))
			sealHead(file[at:])
		}
		s, err := readSnapshot(file)
		if err != nil {
			t.Fatal(err)
		}
		start := time.Now()
		s.buckets()
		if len(s.g.faults) == 0 {
			t.Errorf("%s: no fault was found", name)
		}
		if took := time.Since(start); took > 5*time.Second {
			t.Errorf("%s: %v", name, took)
		}
	}
}
