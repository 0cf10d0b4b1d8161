package csvfile

import (
	"encoding/csv"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// MoreColumn is a column that a caller adds, such as the hash of the entry. Reading it back takes Options.Aside.
type MoreColumn struct {
	Name string
	Text func(record.Round) string // "" leaves the cell blank
}

// WriteOptions choose the columns.
type WriteOptions struct {
	All   bool         // every column that the plant can have, instead of those that hold something
	Units []string     // ids of units of earlier revisions, as in Options
	More  []MoreColumn // further columns, after the known ones
}

// Write writes rounds as CSV, in the order given, so that Read gives them back: first id and written_at, then the columns of
// a round that hold something, then confirmed, typed, further and unknown columns where there are any. Corrections are not
// written; the rounds are written as they are handed in.
//
// It fails for a round that could not be read back: a time outside 1970 to 9998 or a number that is none.
func Write(w io.Writer, rounds []record.Round, p *plant.Plant, o WriteOptions) error {
	cols := writeColumns(rounds, p, o)
	out := csv.NewWriter(w)
	out.UseCRLF = true
	line := make([]string, len(cols))
	for i, c := range cols {
		line[i] = guard(c.name)
	}
	if err := out.Write(line); err != nil {
		return fmt.Errorf("writing rounds: %w", err)
	}
	for i, r := range rounds {
		if err := checkRound(r); err != nil {
			return fmt.Errorf("writing rounds: number %d of %s: %w", i+1, record.TimeText(r.Time), err)
		}
		for j, c := range cols {
			line[j] = c.text(r)
		}
		if err := out.Write(line); err != nil {
			return fmt.Errorf("writing rounds: %w", err)
		}
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return fmt.Errorf("writing rounds: %w", err)
	}
	return nil
}

// safe is a text as it is written: with plain line ends, which encoding/csv turns to CRLF, and harmless for spreadsheets.
func safe(text string) string { return guard(lineEnds(text)) }

func checkRound(r record.Round) error {
	if err := checkYear(r.Time); err != nil {
		return err
	}
	for k, v := range r.Values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%s is %g, which is not a number", k, v)
		}
	}
	return nil
}

// writeColumn is one column to be written.
type writeColumn struct {
	name string
	text func(record.Round) string
}

// used is what the rounds hold between them.
type used struct {
	keys              map[quantity.Key]bool
	extra             map[string]bool
	by, running, note bool
	confirmed, typed  bool
}

func usedBy(rounds []record.Round) used {
	u := used{keys: map[quantity.Key]bool{}, extra: map[string]bool{}}
	for _, r := range rounds {
		u.add(r)
	}
	return u
}

func writeColumns(rounds []record.Round, p *plant.Plant, o WriteOptions) []writeColumn {
	u := usedBy(rounds)
	units := slices.Concat(p.UnitIDs(), o.Units)
	for k := range u.keys {
		if id := k.Unit(); id != "" && !slices.Contains(units, id) {
			units = append(units, id) // so that an unknown column of that name is told apart
		}
	}
	slices.Sort(units[len(p.UnitIDs())+len(o.Units):])
	cols := []writeColumn{
		{colID, func(r record.Round) string { return r.ID }},
		{colWritten, func(r record.Round) string {
			if r.WrittenAt.IsZero() {
				return ""
			}
			return record.TimeText(r.WrittenAt)
		}},
		{record.ColTime, func(r record.Round) string { return record.TimeText(r.Time) }},
	}
	add := func(wanted bool, name string, text func(record.Round) string) {
		if wanted {
			cols = append(cols, writeColumn{name, text})
		}
	}
	add(u.by || o.All, record.ColBy, func(r record.Round) string { return safe(r.By) })
	add(u.running || o.All, record.ColRunning, func(r record.Round) string { return safe(r.Text(record.ColRunning)) })
	for _, k := range keysToWrite(u.keys, units, o.All) {
		add(true, string(k), func(r record.Round) string { return r.Text(string(k)) })
	}
	add(u.note || o.All, record.ColNote, func(r record.Round) string { return safe(r.Note) })
	add(u.confirmed || o.All, colConfirmed, func(r record.Round) string {
		if r.Confirmed {
			return "yes"
		}
		return ""
	})
	add(u.typed || o.All, colTyped, func(r record.Round) string { return safe(joinTyped(r.Typed)) })
	var aside []string
	for _, m := range o.More {
		aside = append(aside, m.Name)
		add(true, m.Name, func(r record.Round) string { return safe(m.Text(r)) })
	}
	for _, name := range slices.Sorted(maps.Keys(u.extra)) {
		add(true, extraName(name, units, aside), func(r record.Round) string { return safe(r.Extra[name]) })
	}
	return cols
}

// keysToWrite lists the readings in walking order. Those of units that are not known come behind, so that they are kept.
func keysToWrite(held map[quantity.Key]bool, units []string, all bool) []quantity.Key {
	var keys []quantity.Key
	for _, k := range quantity.Keys(units) {
		if all || held[k] {
			keys = append(keys, k)
		}
	}
	rest := slices.DeleteFunc(slices.Sorted(maps.Keys(held)), func(k quantity.Key) bool { return slices.Contains(keys, k) })
	return append(keys, slices.DeleteFunc(rest, func(k quantity.Key) bool { return strings.TrimSpace(string(k)) == "" })...)
}
