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
		if err := e.Place(writer, uint64(i)+1, prev); err != nil {
			return fmt.Errorf("entry number %d: %w", i+1, err)
		}
		prev = e.Hash
	}
	return nil
}

// Place gives an entry its place in a writer's chain: its number and the hash of the one before. Its bytes and its own hash
// are made anew from its content.
func (e *Entry) Place(writer [writerLen]byte, seq uint64, prev [hashLen]byte) error {
	e.Writer, e.Seq, e.Prev = writer, seq, prev
	e.Raw, e.Hash, e.read = nil, [hashLen]byte{}, nil
	return e.Seal()
}

// Seal makes an entry's bytes and hash from its content, where it has none yet; where it states a hash, the content must give
// that very hash. It is what PutEntries does with each entry.
func (e *Entry) Seal() error {
	s, err := e.seal()
	if err != nil {
		return err
	}
	e.Kind, e.Raw, e.Hash, e.read = s.b.Kind, s.value, s.hash, s.b
	return nil
}

// OpenEntry is the inverse of Seal: it reads the bytes of an entry as a book keeps them. Spoilt ones are ErrDamaged.
func OpenEntry(entryID string, raw []byte) (Entry, error) {
	key, err := parseID(entryID)
	if err != nil {
		return Entry{}, err
	}
	b, err := open(key, raw)
	if err != nil {
		return Entry{}, err
	}
	return b.entry(key, raw, nil), nil
}
