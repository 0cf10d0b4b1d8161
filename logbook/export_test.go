package logbook

import (
	"encoding/binary"
	"hash/fnv"
)

// sealHead gives a head of the file a right checksum.
func sealHead(page []byte) {
	sum := fnv.New64a()
	sum.Write(page[pageHeadLen : pageHeadLen+56])
	binary.NativeEndian.PutUint64(page[pageHeadLen+56:], sum.Sum64())
}

// IDText writes an id as people see it.
func IDText(key [16]byte) string { return id(key).String() }

// BatchLen is how many entries PutStream hands over at a time.
const BatchLen = batchLen

// Unsynced is for tests that write much and ask nothing about crashes: their books do not wait for the disk.
func Unsynced(o Options) Options {
	o.noSync = true
	return o
}
