// Package csvfile reads and writes rounds as CSV: `import`, and rounds.csv in an export.
//
// # Form
//
// RFC 4180 in UTF-8 with a header row, one row a round, any of the columns in any order; time alone is required. A
// byte-order mark and plain line feeds are read too; what is written has CRLF line ends and no mark. Letter case does not
// matter in the header. Rows in which every cell is blank are passed over.
//
// Beside the columns of a round (record.Columns) there are, written where they are needed:
//
//	id          26-character id of the entry; without it, the id is derived from the row (DeriveID)
//	written_at  when the round was written down
//	confirmed   yes where implausible values were confirmed
//	typed       how readings were typed in other units: "pressure_kpa=19 psi; A.bearing_c=104 °F" (a semicolon or backslash
//	            within a value has a backslash before it)
//	reason      in front, in the file of bad rows (WriteBad); it is not read
//
// A column that is none of these is reported and its text kept with the round (Round.Extra). On writing it comes last, under
// its own name; where that name now means something else, because the plant has grown, it has a tilde in front, which
// reading takes away again.
//
// # Text that a spreadsheet would take for a formula
//
// A text beginning with = + - @ (full-width ones too), a tab or a line end, and that is no plain number, is written with an apostrophe in
// front. One beginning with apostrophes and then such a sign gets one more. Reading takes one apostrophe away where it
// stands, after any others, before such a sign. So every text reads back as it was, and no note becomes a formula. Readings
// are numbers or fixed words and are left alone.
//
// # Lossless
//
// Reading what Write wrote, with the same plant, gives the same rounds: ids, times with their offsets, readings to the last
// bit, units as typed, unknown columns. Corrections (Round.Changes) are not in it; they have a file of their own.
package csvfile
