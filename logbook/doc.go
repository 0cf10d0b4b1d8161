// Package logbook keeps what people wrote down: rounds, events, corrections, upkeep done and the plant's description, in
// one file that is never held open.
//
// # Basics
//
// A Book is a path and some settings; it holds nothing. Each call opens the file, does one transaction and closes it
// again, so that the screens, a shell command and a backup work beside each other. Values are handed out, never
// transactions, so no lock can wait for a person.
//
//	book, err := logbook.Create(ctx, "plant.book", logbook.Options{Clock: clock, Location: zone, Writer: machine})
//	saved, err := book.AddRound(ctx, record.Round{Time: at, Values: readings}, "")
//	history, err := book.History(ctx, logbook.HistoryOptions{})
//
// An entry is acknowledged (the call returns without an error) only once it is on the disk. Nothing is ever changed or
// taken away: a correction is an entry of its own, and the old value stays.
//
// # What holds an entry together
//
// Each entry has an id that is unique in the world and sorts by the time it tells of, a checksum, and the hash of the entry
// that its writer made before it. Check verifies all of it. Two copies of a book can be merged in any order, any number of
// times. FORMAT.md draws the bytes.
//
// # Caveats
//
// A book on a network folder depends on that folder's locks; one machine at a time is safe. A file copied with ordinary
// tools while someone writes may be torn: use Backup.
package logbook
