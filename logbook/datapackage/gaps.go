package datapackage

import (
	"encoding/hex"
	"fmt"

	"example.org/headpond/logbook"
)

// lostWords says how many entries are known to be lost.
func lostWords(n int) string {
	if n == 1 {
		return "1 entry was lost before this log was rescued from a damaged file."
	}
	return fmt.Sprintf("%d entries were lost before this log was rescued from a damaged file.", n)
}

// tellGaps writes gaps for the descriptor.
func tellGaps(list []logbook.Gap) []Gap {
	var out []Gap
	for _, g := range list {
		out = append(out, Gap{Writer: hex.EncodeToString(g.Writer[:]), Seq: g.Seq, Hash: hex.EncodeToString(g.Hash[:])})
	}
	return out
}

// readGaps is the inverse of tellGaps. A part of a log has none: where it begins and ends entries are missing anyway.
func readGaps(a About) ([]logbook.Gap, error) {
	bad := func(what, expected string) error { return &Error{File: fileDescriptor, What: what, Expected: expected} }
	switch {
	case a.Lost < len(a.Gaps) || a.Lost > 0 && len(a.Gaps) == 0:
		return nil, bad(fmt.Sprintf("it names lost entries in %d places and says that %d are missing", len(a.Gaps), a.Lost), "at least one for each place")
	case len(a.Gaps) == 0:
		return nil, nil
	case a.Chain == Partial:
		return nil, bad("it names lost entries in a part of a log", "them in a whole log alone")
	case len(a.Gaps) > maxGaps:
		return nil, bad(fmt.Sprintf("it names %d lost entries", len(a.Gaps)), fmt.Sprintf("at most %d", maxGaps))
	}
	var list []logbook.Gap
	seen := map[link]bool{}
	for i, g := range a.Gaps {
		gap := logbook.Gap{Seq: g.Seq}
		if !unhex(gap.Writer[:], g.Writer) || !unhex(gap.Hash[:], g.Hash) || gap.Hash == [32]byte{} || g.Seq == 0 {
			return nil, bad(fmt.Sprintf("its lost entry number %d is not named as an entry is", i+1), "writer, seq and hash as the tables have them")
		}
		l := link{gap.Writer, gap.Hash}
		if seen[l] {
			return nil, bad(fmt.Sprintf("its lost entry number %d stands there twice", i+1), "each once")
		}
		seen[l] = true
		list = append(list, gap)
	}
	return list, nil
}

// losses holds what a package says of lost entries against its rows: nothing that is there may be called lost, and each lost entry
// must be followed by one that is there, so that nobody can say of a book that something is lost of which it tells nothing.
type losses struct{ open, all map[link]uint64 }

func newLosses(list []logbook.Gap) *losses {
	l := &losses{open: map[link]uint64{}, all: map[link]uint64{}}
	for _, g := range list {
		l.open[link{g.Writer, g.Hash}], l.all[link{g.Writer, g.Hash}] = g.Seq, g.Seq
	}
	return l
}

// see takes an entry's place in its chain.
func (l *losses) see(e *logbook.Entry) error {
	if len(l.all) == 0 {
		return nil
	}
	if _, lost := l.all[link{e.Writer, e.Hash}]; lost {
		return &Error{File: fileDescriptor, What: "it calls the entry " + e.ID + " lost, which is there", Expected: "only entries that are missing"}
	}
	before := link{e.Writer, e.Prev}
	if seq, lost := l.all[before]; lost && e.Seq == seq+1 {
		delete(l.open, before)
	}
	return nil
}

// followed demands, once all entries were seen, that every lost one is followed by one of them.
func (l *losses) followed() error {
	if len(l.open) == 0 {
		return nil
	}
	return &Error{File: fileDescriptor, What: fmt.Sprintf("no entry follows %d of the entries that it calls lost", len(l.open)), Expected: "each of them followed by an entry of the package"}
}
