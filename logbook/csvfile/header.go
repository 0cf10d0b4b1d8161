package csvfile

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// The columns that are this file's own and no columns of a round.
const (
	colID        = "id"
	colWritten   = "written_at"
	colConfirmed = "confirmed"
	colTyped     = "typed"
	colReason    = "reason"
)

// aliasMark stands in front of an unknown column's name that means something else by now.
const aliasMark = "~"

// kind is what a column is to the reader.
type kind int

const (
	isTime kind = iota
	isID
	isWritten
	isConfirmed
	isTyped
	isField   // by, running or note
	isReading // key and info
	isExtra   // unknown, kept with the round
	isAside   // handed to the caller
	isReason  // passed over
)

// column is one column of a file as its header names it.
type column struct {
	kind kind
	name string // as known here, or as written where it is not known
	key  quantity.Key
	info quantity.Info
}

// UnknownColumn is a column that is kept but not understood.
type UnknownColumn struct {
	Name    string
	Nearest string // the known column that may have been meant, "" where none is near
}

// String says that the column is not known and what may have been meant.
func (u UnknownColumn) String() string {
	s := fmt.Sprintf("column %s is not known here; its text is kept with the rows", plain(u.Name))
	if u.Nearest != "" {
		s += "; did you mean " + u.Nearest + "?"
	}
	return s
}

// readHeader understands the header row. Errors are *FileError.
func readHeader(h row, units, aside []string) (cols []column, unknown []UnknownColumn, err error) {
	switch {
	case h.broken != "":
		return nil, nil, &FileError{Line: h.line, What: "the header's quotes are wrong", Expected: h.broken}
	case len(h.cells) > maxColumns:
		return nil, nil, &FileError{Line: h.line, What: fmt.Sprintf("the header has %d columns", len(h.cells)), Expected: fmt.Sprintf("at most %d", maxColumns)}
	}
	seen := map[string]int{}
	for i, cell := range h.cells {
		c, nearest := readName(cell, i, units, aside)
		if len(c.name) > maxName || !utf8.ValidString(cell) {
			return nil, nil, &FileError{Line: h.line, Column: fmt.Sprint(i + 1), What: "the column's name is " + quote(cell), Expected: fmt.Sprintf("a name in UTF-8 of at most %d bytes", maxName)}
		}
		id := fmt.Sprintf("%t %s", c.kind == isExtra, c.name)
		if before, twice := seen[id]; twice {
			return nil, nil, &FileError{Line: h.line, Column: c.name, What: fmt.Sprintf("the column stands twice, as number %d and %d", before, i+1), Expected: "each column once"}
		}
		seen[id] = i + 1
		if c.kind == isExtra {
			unknown = append(unknown, UnknownColumn{Name: c.name, Nearest: nearest})
		}
		cols = append(cols, c)
	}
	if !slices.ContainsFunc(cols, func(c column) bool { return c.kind == isTime }) {
		return nil, nil, noTime(h)
	}
	return cols, unknown, nil
}

// noTime says what a file without a time column seems to be.
func noTime(h row) error {
	e := &FileError{Line: h.line, What: "there is no column time", Expected: "a header row that names the columns, one of them time"}
	if len(h.cells) == 1 {
		for sign, name := range map[string]string{";": "semicolons", "\t": "tabs"} {
			if strings.Contains(h.cells[0], sign) {
				e.What, e.Expected = "the columns are separated by "+name, "commas, as in RFC 4180"
			}
		}
	}
	return e
}

// readName understands the i-th column's name. For an unknown one it returns the nearest known name.
func readName(cell string, i int, units, aside []string) (c column, nearest string) {
	text := unguard(cell)
	name := strings.TrimSpace(text)
	if slices.Contains(aside, name) {
		return column{kind: isAside, name: name}, ""
	}
	if known, ok := knownName(name, i, units); ok {
		return known, ""
	}
	c = column{kind: isExtra, name: strings.TrimPrefix(name, aliasMark)}
	if c.name == "" {
		c.name = fmt.Sprintf("column %d", i+1)
	}
	if name != c.name {
		return c, ""
	}
	_, _, err := quantity.ParseKey(name, units)
	var wrong *quantity.KeyError
	if errors.As(err, &wrong) {
		nearest = wrong.Nearest
	}
	if nearest == "" {
		nearest = quantity.Nearest(name, []string{record.ColTime, record.ColBy, record.ColRunning, record.ColNote, colID, colWritten, colConfirmed, colTyped})
	}
	return c, nearest
}

// knownName returns the column that a name means. The reasons in front of the bad rows are known in front only.
func knownName(name string, i int, units []string) (column, bool) {
	low := strings.ToLower(name)
	switch low {
	case record.ColTime:
		return column{kind: isTime, name: low}, true
	case colID:
		return column{kind: isID, name: low}, true
	case colWritten:
		return column{kind: isWritten, name: low}, true
	case colConfirmed:
		return column{kind: isConfirmed, name: low}, true
	case colTyped:
		return column{kind: isTyped, name: low}, true
	case record.ColBy, record.ColRunning, record.ColNote:
		return column{kind: isField, name: low}, true
	case colReason:
		return column{kind: isReason, name: low}, i == 0
	}
	k, info, err := quantity.ParseKey(name, units)
	return column{kind: isReading, name: string(k), key: k, info: info}, err == nil
}

// extraName is the name under which an unknown column is written, so that readName makes the same of it.
func extraName(name string, units, aside []string) string {
	c, _ := readName(name, 1, units, aside)
	if c.kind == isExtra && c.name == name {
		return name
	}
	return aliasMark + name
}
