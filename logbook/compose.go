package logbook

import "fmt"

// Chain gives entries that were made outside of any book their places: one after the other in the chain of one writer, from
// number 1, each with the hash of the one before. Entries must have their ID and times. PutEntries then puts them into a book
// in one transaction, with the times of writing that they state. A book is written anew in this way, such as the demo's;
// whoever walks a round uses AddRound.
func Chain(writer [16]byte, entries []Entry) error {
	var prev [hashLen]byte
	for i := range entries {
		e := &entries[i]
		e.Writer, e.Seq, e.Prev = writer, uint64(i)+1, prev
		e.Raw, e.Hash = nil, [hashLen]byte{}
		s, err := e.seal()
		if err != nil {
			return fmt.Errorf("entry number %d: %w", i+1, err)
		}
		e.Kind, e.Raw, e.Hash, prev = s.b.Kind, s.value, s.hash, s.hash
	}
	return nil
}
