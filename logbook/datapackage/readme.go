package datapackage

import (
	"fmt"
	"strings"
	"time"
)

// readme tells in plain words what the package holds. Lines end with CRLF, for the plainest editors.
func (x *writing) readme() string {
	loc := x.plant.Location
	if loc == nil {
		loc = time.UTC
	}
	when := func(t time.Time) string { return t.In(loc).Format("2006-01-02 15:04 -0700") }
	var s strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&s, format+"\r\n", args...) }

	line("The log of %s", x.descriptor().Headpond.Plant)
	line("exported %s", when(x.o.Created))
	line("")
	line("This is the logbook of a small hydro plant: what the people there read and wrote down. With Headpond it opens whole:")
	line("")
	line("    headpond open FILE.zip      the screens, read-only; your own logbook is not touched")
	line("    headpond import FILE.zip    put it into a logbook")
	line("")
	line("Without Headpond, any spreadsheet opens the .csv files (UTF-8, commas, a point before decimals).")
	line("")
	line("rounds.csv      Rounds (%d). A row is one walk through the plant; a blank cell was not read.", x.sum.Rounds)
	line("events.csv      Events (%d): starts, stops, trips, alarms, repairs, ballast elements out and back.", x.sum.Events)
	line("amendments.csv  Corrections (%d). Nothing is ever overwritten: the other tables hold what was written first,", x.sum.Amendments)
	line("                and each correction names the entry, the columns with their new texts, who, when and why.")
	line("upkeep.csv      Upkeep tasks done (%d).", x.sum.Upkeep)
	line("plants.csv      Descriptions of the plant (%d), and from when each holds.", x.sum.Plants)
	line("plant.toml      the description in force at the time of the export; the others are in the folder plants.")
	if x.others != nil {
		line("others.csv      Entries (%d) that the other tables cannot hold, as bytes.", x.sum.Others)
	}
	if x.o.Workbook != nil {
		line("rounds.xlsx     the same as a workbook, with corrections applied, and charts.")
	}
	line("datapackage.json  what each column means and its unit, and the size and SHA-256 of each file")
	line("                (a Frictionless Data Package, specs.frictionlessdata.io).")
	line("")
	line("Units stand in the columns' names: _kpa kilopascals, _m metres, _mm millimetres, _lps litres a second, _c degrees")
	line("Celsius, _kw kilowatts, _pct percent; volts and hertz are as named. Times carry their offset from UTC.")
	line("")
	line("The last columns (writer, seq, prev, hash) tie each entry to the one that its writer made before it, so that a changed")
	line("or missing entry shows. A text that a spreadsheet might take for a formula has an apostrophe in front.")
	if x.sum.Lost > 0 {
		line("")
		line("%s The chain names", lostWords(x.sum.Lost))
		line("each place, and is whole but for them.")
	}
	if x.sum.Chain == Partial {
		line("")
		line("THIS IS A PART OF THE LOG, and so the chain is partial: %s.", x.part(when))
		line("Entries from outside this time are not here, and the first ones name predecessors that are missing.")
		if x.sum.LeftOut > 0 {
			line("%d entries were left out because only a whole export can hold them.", x.sum.LeftOut)
		}
	}
	line("")
	line("CAUTION: the numbers are readings and estimates made by hand. They support, and never replace, protection relays, local")
	line("electrical code, the water permit, and licensed electricians and engineers. Line voltage kills; stop, isolate, lock out")
	line("and prove dead before opening anything.")
	return s.String()
}

// part says which time a part of a log holds.
func (x *writing) part(when func(time.Time) string) string {
	switch {
	case x.o.To.IsZero():
		return "from " + when(x.o.From) + " on"
	case x.o.From.IsZero():
		return "before " + when(x.o.To)
	}
	return "from " + when(x.o.From) + " until before " + when(x.o.To)
}
