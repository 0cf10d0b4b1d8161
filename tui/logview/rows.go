package logview

import (
	"strings"
	"time"

	"example.org/headpond/model/localtime"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui"
)

// Columns of the log, in their order. Those with the highest rank go first where the window is narrow: when, how the round
// stood and what is remarkable stay.
const (
	colWhen = iota
	colBy
	colKind
	colRunning
	colVolts
	colHertz
	colPressure
	colLevel
	colLoad
	colDump
	colState
	colRemarks
)

// wideEnough is the width from which times have their weekday.
const wideEnough = 100

// columns describes the table's columns for a width.
func columns(w words, nameWidth int, clock string) []ui.TableColumn {
	unit := func(n quantity.Name) string {
		info, _ := quantity.Lookup(n)
		return string(info.ShowUnit(w.units))
	}
	level := "pond " + unit(quantity.PondLevelM)
	return []ui.TableColumn{
		colWhen:     {Title: "when", Width: w.clockWidth(clock)},
		colBy:       {Title: "by", Width: nameWidth, Rank: 5},
		colKind:     {Title: "kind", Width: 5, Rank: 9},
		colRunning:  {Title: "runs", Width: 4, Rank: 2},
		colVolts:    {Title: "V", Align: ui.Right, Width: 5, Rank: 4},
		colHertz:    {Title: "Hz", Align: ui.Right, Width: 4, Rank: 6},
		colPressure: {Title: unit(quantity.PressureKPa), Align: ui.Right, Width: 4, Rank: 8},
		colLevel:    {Title: level, Align: ui.Right, Width: len(level), Rank: 1},
		colLoad:     {Title: "load kW", Align: ui.Right, Width: 7, Min: 7, Rank: 3},
		colDump:     {Title: "dump", Align: ui.Right, Width: 6, Rank: 7},
		colState:    {Title: "state", Width: 6},
		colRemarks:  {Title: "remarks", Width: 40, Min: 18, Grow: true},
	}
}

// Forms of the time in the first column.
const (
	clockShort = "02 Jan 15:04"
	clockDay   = "Mon 02 Jan 15:04"
	clockYear  = "2006-01-02 15:04"
)

// clockWidth is the width of times in a form; a zone's name may be longer in one half of the year.
func (w words) clockWidth(form string) int {
	plain, zone := strings.CutSuffix(form, withZone)
	width := len(time.Time{}.Format(plain))
	if !zone || w.loc == nil {
		return width
	}
	name, _ := w.now.In(w.loc).Zone()
	other, _ := w.now.AddDate(0, 6, 0).In(w.loc).Zone()
	return width + 1 + max(len(name), len(other))
}

// withZone ends the form of times of a log in which clock times happen twice: those have the zone's name.
const withZone = " MST"

// clockFor picks the form of times: with the year where the log holds more than the present one, and with room for a zone's name
// where a clock time in it happens twice.
func clockFor(width int, otherYear, twice bool) string {
	form := clockShort
	switch {
	case otherYear:
		form = clockYear
	case width >= wideEnough:
		form = clockDay
	}
	if twice {
		form += withZone
	}
	return form
}

// clock tells a time in a column's form.
func (w words) clock(t time.Time, form string) string {
	if plain, zone := strings.CutSuffix(form, withZone); zone {
		return localtime.Show(t, w.loc, plain)
	}
	return t.In(w.loc).Format(form)
}

// row lays one item out. Rounds have numbers, everything else is a sentence across the columns.
func (w words) row(it item, j judgement, clock string) ui.TableRow {
	cells := make([]string, colRemarks+1)
	cells[colWhen], cells[colBy] = w.clock(it.at, clock), it.by
	if it.kind != aRound {
		return ui.TableRow{Cells: cells, Wide: it.sentence(w), From: colKind}
	}
	r := *it.round
	row := ui.TableRow{Cells: cells, States: make([]ui.State, len(cells))}
	cells[colKind] = it.word()
	cells[colRunning] = j.running
	if j.running == "" {
		cells[colRunning] = "?"
	}
	set := func(col int, n quantity.Name, mean *float64) {
		k, v, ok := onlyReading(r, n)
		if !ok && mean != nil {
			k, v, ok = quantity.Key(n), *mean, true
		}
		if ok {
			info, _ := quantity.Lookup(n)
			cells[col], row.States[col] = w.inColumn(r, info, k, v), j.state(k)
		}
	}
	set(colVolts, quantity.Volts, j.volts)
	set(colHertz, quantity.Hertz, j.hertz)
	set(colPressure, quantity.PressureKPa, nil)
	set(colLevel, quantity.PondLevelM, nil)
	set(colLoad, quantity.LoadKW, nil)
	cells[colDump] = w.dump(r)
	cells[colState], row.States[colState] = strings.TrimSpace(j.worst.Word()+" "+j.worst.Sign()), j.worst
	cells[colRemarks] = join(append(w.odd(j), it.sentence(w))...)
	return row
}

// inColumn is a reading as its column has it: with the digits that were read, or, where it was typed in another unit, with those that
// such a gauge deserves: a foot is no 0.3048 m read to a tenth of a millimetre.
func (w words) inColumn(r record.Round, info quantity.Info, k quantity.Key, v float64) string {
	if _, converted := r.Typed[k]; converted {
		return info.ShowEstimate(v, w.units)
	}
	return info.Show(v, w.units)
}

// onlyReading is the common reading, else the only one of a single unit.
func onlyReading(r record.Round, n quantity.Name) (quantity.Key, float64, bool) {
	if v, ok := r.Value(quantity.Key(n)); ok {
		return quantity.Key(n), v, true
	}
	var key quantity.Key
	for k := range r.Values {
		if k.Name() == n {
			if key != "" {
				return "", 0, false
			}
			key = k
		}
	}
	v, ok := r.Value(key)
	return key, v, ok
}

// dump is what was dumped, as it was read: "69 %", or "3.1 kW".
func (w words) dump(r record.Round) string {
	for _, n := range []quantity.Name{quantity.DumpSharePct, quantity.DumpKW} {
		if _, v, ok := onlyReading(r, n); ok {
			info, _ := quantity.Lookup(n)
			return w.value(info, v)
		}
	}
	return ""
}
