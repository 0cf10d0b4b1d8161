package logbook_test

import (
	"encoding/binary"
	"path/filepath"
	"testing"
	"time"

	bolt "go.etcd.io/bbolt"
)

// The bare commits that saving a round is measured against: the same number of bytes under an ever higher key, on the same
// disk, first on a store that stays open and then opened and closed each time.

func bareOptions() *bolt.Options {
	return &bolt.Options{Timeout: time.Second, FreelistType: bolt.FreelistMapType}
}

func bareStore(b *testing.B) (path string) {
	b.Helper()
	path = filepath.Join(b.TempDir(), "bare.db")
	db, err := bolt.Open(path, 0o600, bareOptions())
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	err = db.Update(func(tx *bolt.Tx) error {
		_, err := tx.CreateBucket([]byte("entries"))
		return err
	})
	if err != nil {
		b.Fatal(err)
	}
	return path
}

func barePut(b *testing.B, db *bolt.DB, i int) {
	key, value := binary.BigEndian.AppendUint64(nil, uint64(i)), make([]byte, 350)
	err := db.Update(func(tx *bolt.Tx) error { return tx.Bucket([]byte("entries")).Put(key, value) })
	if err != nil {
		b.Fatal(err)
	}
}

func BenchmarkSaveBareCommitKeptOpen(b *testing.B) {
	db, err := bolt.Open(bareStore(b), 0o600, bareOptions())
	if err != nil {
		b.Fatal(err)
	}
	defer db.Close()
	for i := 0; b.Loop(); i++ {
		barePut(b, db, i)
	}
}

func BenchmarkSaveBareOpenCommitClose(b *testing.B) {
	path := bareStore(b)
	for i := 0; b.Loop(); i++ {
		db, err := bolt.Open(path, 0o600, bareOptions())
		if err != nil {
			b.Fatal(err)
		}
		barePut(b, db, i)
		if err := db.Close(); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSaveRound(b *testing.B) {
	book := newBook(b)
	at := noon.AddDate(-3, 0, 0)
	for i := 0; b.Loop(); i++ {
		if _, err := book.AddRound(b.Context(), sample(at.Add(time.Duration(i)*time.Hour)), "round"); err != nil {
			b.Fatal(err)
		}
	}
}
