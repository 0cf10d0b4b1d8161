package csvfile

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Sheet is the columns of a table of rounds: it writes a round into cells and reads it back. It is for export packages, whose
// rounds were judged when they were first written down: nothing is asked, compared or derived here, and nothing is guessed.
type Sheet struct {
	cols []column
	r    reader // the units, and no more, which is what reading a cell needs
}

// Used gathers what the rounds of a table hold between them.
type Used struct{ u used }

// Add notes what one more round holds.
func (n *Used) Add(r record.Round) {
	if n.u.keys == nil {
		n.u = usedBy(nil)
	}
	n.u.add(r)
}

// maxSheet leaves room below maxColumns, so that what is written can always be read.
const maxSheet = maxColumns - 100

// Sheet returns the columns that these rounds need: id, written_at and time, then those of a round that hold something, then
// confirmed, typed, the columns aside, and unknown ones. A column whose name would not read back as itself is left out; Cells
// then says less than the round.
func (n *Used) Sheet(units, aside []string) *Sheet {
	s := &Sheet{r: sheetReader(units)}
	s.cols = []column{{kind: isID, name: colID}, {kind: isWritten, name: colWritten}, {kind: isTime, name: record.ColTime}}
	add := func(wanted bool, c column) {
		if wanted && len(s.cols) < maxSheet {
			s.cols = append(s.cols, c)
		}
	}
	add(n.u.by, column{kind: isField, name: record.ColBy})
	add(n.u.running, column{kind: isField, name: record.ColRunning})
	for _, k := range keysToWrite(n.u.keys, units, false) {
		c, known := knownName(string(k), 1, units)
		add(known && c.kind == isReading && c.key == k, c)
	}
	add(n.u.note, column{kind: isField, name: record.ColNote})
	add(n.u.confirmed, column{kind: isConfirmed, name: colConfirmed})
	add(n.u.typed, column{kind: isTyped, name: colTyped})
	for _, name := range aside {
		add(true, column{kind: isAside, name: name})
	}
	for _, name := range slices.Sorted(maps.Keys(n.u.extra)) {
		head := extraName(name, units, aside)
		c, _ := readName(guard(head), 1, units, aside)
		add(c.kind == isExtra && c.name == name && len(guard(head)) <= maxName && Printable(head), c)
	}
	return s
}

// ReadSheet understands the header of a table of rounds. The error is a *FileError.
func ReadSheet(line int, header, units, aside []string) (*Sheet, error) {
	cols, _, err := readHeader(row{line: line, cells: header}, units, aside)
	if err != nil {
		return nil, err
	}
	s := &Sheet{cols: cols, r: sheetReader(units)}
	for _, c := range cols {
		if c.kind == isReading && c.info.Number() {
			s.r.numbers++
		}
	}
	return s, nil
}

// sheetReader reads cells of times with their offsets only, since the plant of a table may have moved since.
func sheetReader(units []string) reader { return reader{p: &plant.Plant{}, units: units} }

// Column is one column of a sheet for those who describe it.
type Column struct {
	Name    string         // as the header has it
	Reading *quantity.Info // nil for a column that is no reading
	Unit    string         // the unit that it is read of, "" for the whole plant
	Extra   bool           // it is not known here
}

// Columns lists the sheet's columns in order.
func (s *Sheet) Columns() []Column {
	list := make([]Column, len(s.cols))
	for i, c := range s.cols {
		list[i] = Column{Name: c.name, Extra: c.kind == isExtra}
		switch c.kind {
		case isReading:
			info := c.info
			list[i].Reading, list[i].Unit = &info, c.key.Unit()
		case isExtra:
			list[i].Name = guard(extraName(c.name, s.r.units, s.aside()))
		default:
		}
	}
	return list
}

func (s *Sheet) aside() []string {
	var list []string
	for _, c := range s.cols {
		if c.kind == isAside {
			list = append(list, c.name)
		}
	}
	return list
}

// Cells writes a round; aside holds the texts of the columns aside.
func (s *Sheet) Cells(r record.Round, aside map[string]string) []string {
	cells := make([]string, len(s.cols))
	for i, c := range s.cols {
		cells[i] = c.text(r, aside)
	}
	return cells
}

// text is what a round holds in a column, safe for spreadsheets.
func (c column) text(r record.Round, aside map[string]string) string {
	switch c.kind {
	case isID:
		return r.ID
	case isTime:
		return record.TimeText(r.Time)
	case isWritten:
		return record.TimeText(r.WrittenAt)
	case isField:
		return safe(r.Text(c.name))
	case isReading:
		if v, ok := r.Values[c.key]; ok {
			return quantity.Text(v)
		}
		return safe(r.Words[c.key])
	case isConfirmed:
		if r.Confirmed {
			return "yes"
		}
	case isTyped:
		return safe(joinTyped(r.Typed))
	case isExtra:
		return safe(r.Extra[c.name])
	case isAside:
		return safe(aside[c.name])
	case isReason:
	}
	return ""
}

// Round reads a row back. Where anything is wrong with it, the problems say what.
func (s *Sheet) Round(line int, cells []string) (record.Round, map[string]string, []Problem) {
	r := s.r
	r.cols = s.cols
	c := newRowReader(&r, row{line: line, cells: cells})
	if !c.whole() {
		return record.Round{}, nil, c.problems
	}
	typed := ""
	for i, col := range s.cols {
		text := cells[i]
		switch {
		case text == "" && (col.kind == isTime || col.kind == isWritten || col.kind == isID):
			c.problem(col.name, "", "it in every row")
		case text == "":
		case !utf8.ValidString(text):
			c.problem(col.name, text, "text in UTF-8")
		case col.kind == isTime:
			c.round.Time = c.exactTime(col, text)
		case col.kind == isWritten:
			c.round.WrittenAt = c.exactTime(col, text)
		case col.kind == isTyped:
			typed = unguard(text)
		default:
			c.cell(col, text)
		}
	}
	if len(c.problems) == 0 {
		c.setTyped(typed)
	}
	return c.round, c.aside, c.problems
}

// exactTime reads a time as TimeText writes it.
func (c *rowReader) exactTime(col column, text string) time.Time {
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		c.problem(col.name, text, "a time such as 2026-01-05T07:00:00-04:00")
	}
	return t
}

// add notes what one more round holds.
func (u *used) add(r record.Round) {
	for k := range r.Values {
		u.keys[k] = true
	}
	for k := range r.Words {
		u.keys[k] = true
	}
	for name := range r.Extra {
		u.extra[name] = true
	}
	u.by, u.running, u.note = u.by || r.By != "", u.running || r.Running != nil, u.note || r.Note != ""
	u.confirmed, u.typed = u.confirmed || r.Confirmed, u.typed || len(r.Typed) > 0
}

// Rows reads any CSV file row by row with the bounds of a file of rounds: a row of any length needs no more memory than the
// longest that is taken.
type Rows struct{ s *scanner }

// NewRows looks at the beginning of a file. The error is a *FileError.
func NewRows(in io.Reader) (*Rows, error) {
	s, err := newScanner(in)
	return &Rows{s}, err
}

// Next returns the next row and the line on which it begins, or io.EOF. Other errors are *FileError.
func (r *Rows) Next() (line int, cells []string, err error) {
	in, err := r.s.next()
	switch {
	case err != nil:
		return 0, nil, err
	case in.broken != "":
		return 0, nil, &FileError{Line: in.line, What: "the row's quotes are wrong", Expected: "that " + in.broken}
	case len(in.cells) > maxColumns:
		return 0, nil, &FileError{Line: in.line, What: fmt.Sprintf("the row has %d columns", len(in.cells)), Expected: fmt.Sprintf("at most %d", maxColumns)}
	}
	return in.line, in.cells, nil
}

// Guard makes a text harmless for spreadsheets, with plain line ends; see the package's comment.
func Guard(text string) string { return safe(text) }

// Unguard is the inverse of Guard.
func Unguard(text string) string { return unguard(text) }

// JoinPairs writes pairs into one cell, "volts=241; note=read again", by key, as the column typed does.
func JoinPairs(pairs map[string]string) string {
	keyed := make(map[quantity.Key]string, len(pairs))
	for k, v := range pairs {
		keyed[quantity.Key(k)] = v
	}
	return joinTyped(keyed)
}

// SplitPairs is the inverse of JoinPairs, for pairs whose keys hold no equals sign and that begin and end with no space. It is
// false for a text that is no such pairs.
func SplitPairs(text string) (map[string]string, bool) {
	list, ok := splitTyped(text)
	if !ok {
		return nil, false
	}
	pairs := make(map[string]string, len(list))
	for _, p := range list {
		pairs[p.key] = p.text
	}
	return pairs, len(pairs) == len(list)
}

// Printable reports whether a text is UTF-8 without control characters, tabs and line feeds aside.
func Printable(text string) bool {
	return utf8.ValidString(text) && !strings.ContainsFunc(text, control)
}

// Harmless is a text with every control character, tabs and line feeds aside, and every byte that is not UTF-8, replaced by the
// sign U+FFFD.
func Harmless(text string) string {
	if Printable(text) {
		return text
	}
	return strings.Map(func(r rune) rune {
		if control(r) {
			return utf8.RuneError
		}
		return r
	}, strings.ToValidUTF8(text, "\uFFFD"))
}

func control(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }
