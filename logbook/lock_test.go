package logbook_test

import (
	"time"

	bolt "go.etcd.io/bbolt"
)

// holdLock locks a book as a writer does, until it is released.
func holdLock(path string) (release func(), err error) {
	db, err := bolt.Open(path, 0o600, &bolt.Options{Timeout: time.Second})
	if err != nil {
		return nil, err
	}
	return func() { _ = db.Close() }, nil
}
