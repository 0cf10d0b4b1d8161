// Package copies keeps backups of a book without being asked: the last few, one a week and one a month, in a folder beside the
// book and, where the book's owner named one, in a folder elsewhere, such as on a memory stick.
//
// # Names
//
// The name of a copy says all that is needed to choose between copies, and proves that the file is one of ours and as it was
// written:
//
//	headpond-3f2a1c-00012-20260203T160000Z-857-9c0d12ab.book
//
// These are the book's name, a mark of this machine and the book's place, the copy's number, the time in UTC, how many entries
// it holds, and the beginning of the SHA-256 of its bytes. A file whose bytes do not give its name is never taken away.
//
// # Time
//
// Clocks of old laptops jump. Which copies are old is therefore told by their numbers, never by a clock; the time of a copy
// only says to which week and month it belongs.
package copies
