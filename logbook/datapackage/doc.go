// Package datapackage writes and reads the file that carries a whole logbook to someone else: a zip that is a Frictionless Data
// Package (https://specs.frictionlessdata.io), readable by any program that knows zip, CSV and JSON.
//
//	datapackage.json  what every file is: a Table Schema for each table, with units, and each file's bytes and SHA-256
//	README.txt        the same in plain words
//	rounds.csv        rounds as they were first written down
//	events.csv        starts, stops, trips, ballast elements out and back, alarms, repairs, notes
//	amendments.csv    the corrections of any of these, which never overwrite
//	upkeep.csv        upkeep done, and checklists as they were walked
//	plants.csv        when each description of the plant came into force, and in which file it stands
//	plant.toml        the description in force when the package was made
//	plants/ID.toml    the others
//	others.csv        only where needed: entries that no table can hold, see below
//	rounds.xlsx       only where asked for: the same for spreadsheets, corrected, with charts
//
// # Lossless
//
// Each row ends with the entry's place in its writer's chain (writer, seq, prev) and its own hash. Since an entry's bytes follow
// from its content (logbook/FORMAT.md), reading a row makes the same bytes again, and its hash shows that it does. Putting a
// package into an empty book and writing it again therefore gives the same rows.
//
// Some content does not survive being a cell: an escape character in a note, a word that only a newer version knows. Such
// characters are shown as U+FFFD, and the column raw holds the entry's own bytes, from which it is read. What a cell shows must
// still be what those bytes say. Other versions of an entry (logbook's twins) and entries of kinds that only a newer version
// knows stand in others.csv as bytes alone.
//
// The log of a book that was rescued from a damaged file lacks entries. The descriptor names each as the entry after it does
// (headpond.gaps; headpond.known_lost is how many are missing in all), so that a book made of the package is sound but for them, as
// the rescued one is. A reader believes it only where an entry of the package does follow.
//
// A package of part of a log (WriteOptions.From, To) says so in its descriptor. Its chains have gaps. In a book that lacks what
// is missing, the entries begin chains of their own, with the same ids, times and content; the names of those chains follow
// from what was missing, so that taking the same package in again adds nothing.
//
// # Reading what a stranger sent
//
// Nothing of a package is taken before all of it is read and found good. Names, number and size of its files, how far they
// expand, the length of rows and the number of columns are bounded; every file must stand in the descriptor with its SHA-256,
// every row must give its hash, and no text may hold control characters.
package datapackage
