package datapackage

import (
	"encoding/base64"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/csvfile"
	"example.org/headpond/model/record"
)

// The columns that tables share.
const (
	colID      = "id"
	colTime    = "time"
	colWritten = "written_at"
	colWriter  = "writer"
	colSeq     = "seq"
	colPrev    = "prev"
	colHash    = "hash"
	colRaw     = "raw"
)

// ChainColumns are the columns that a table of a package has beside those of its rows: for readers of rounds.csv alone, who
// set them aside.
func ChainColumns() []string { return []string{colWriter, colSeq, colPrev, colHash, colRaw} }

// table is one CSV file of entries of one kind.
type table struct {
	name, title, about string
	kind               logbook.Kind
	columns            columns
}

// columns write an entry's content into cells and read it back. The chain's columns are part of the cells.
type columns interface {
	fields() []Field
	cells(e *logbook.Entry, chain map[string]string) []string
	// entry reads content, id and times; chain is what stands in the chain's columns.
	entry(line int, cells []string) (e logbook.Entry, chain map[string]string, err error)
	// chain reads the id and the chain's columns alone.
	chain(line int, cells []string) (id string, chain map[string]string, err error)
}

func (t *table) path() string { return t.name + ".csv" }

func (t *table) header() []string {
	fields := t.columns.fields()
	names := make([]string, len(fields))
	for i, f := range fields {
		names[i] = f.Name
	}
	return names
}

// row writes an entry. Where the cells alone do not give its bytes back, they are added.
func (t *table) row(e *logbook.Entry) []string {
	cells := t.show(e, false)
	if back, err := t.read(0, cells); err == nil && back.Hash == e.Hash {
		return cells
	}
	return t.show(e, true)
}

// show writes an entry's cells, harmlessly.
func (t *table) show(e *logbook.Entry, raw bool) []string {
	chain := map[string]string{colWriter: hex.EncodeToString(e.Writer[:]), colSeq: strconv.FormatUint(e.Seq, 10), colHash: hex.EncodeToString(e.Hash[:])}
	if e.Prev != [32]byte{} {
		chain[colPrev] = hex.EncodeToString(e.Prev[:])
	}
	if raw {
		chain[colRaw] = base64.StdEncoding.EncodeToString(e.Raw)
	}
	cells := t.columns.cells(e, chain)
	for i := range cells {
		cells[i] = csvfile.Harmless(cells[i])
	}
	return cells
}

// read makes an entry of a row. Its bytes are made and its hash is verified.
func (t *table) read(line int, cells []string) (logbook.Entry, error) {
	for i, cell := range cells {
		if !csvfile.Printable(cell) {
			return logbook.Entry{}, wrong(line, fmt.Sprintf("cell %d holds a control or escape character, or is not UTF-8", i+1), "text")
		}
	}
	id, chain, err := t.columns.chain(line, cells)
	if err != nil {
		return logbook.Entry{}, err
	}
	if chain[colRaw] != "" {
		return t.readRaw(line, cells, id, chain)
	}
	e, chain, err := t.columns.entry(line, cells)
	if err != nil {
		return e, err
	}
	if err := setChain(line, &e, chain); err != nil {
		return e, err
	}
	if err := e.Seal(); err != nil {
		return e, &csvfile.FileError{Line: line, What: "the row is not as it was written", Expected: "content that gives the hash in its last columns", Err: err}
	}
	return e, nil
}

// readRaw makes an entry of its bytes, and demands that the cells show what the bytes say.
func (t *table) readRaw(line int, cells []string, id string, chain map[string]string) (logbook.Entry, error) {
	e, err := fromRaw(line, id, chain[colRaw], chain[colHash])
	if err != nil {
		return e, err
	}
	if e.Kind != t.kind || len(e.Unknown) > 0 {
		return e, wrong(line, "its column raw holds "+e.Kind.String(), t.kind.String())
	}
	if e.Revision != nil { // whose text is not in the row
		if shown, _, err := t.columns.entry(line, cells); err != nil || shown.Revision.Text != e.Revision.Text {
			return e, wrong(line, "its file holds something else than its column raw", "the same in both")
		}
	}
	if !slices.Equal(t.show(&e, true), cells) {
		return e, wrong(line, "the row shows something else than its column raw holds", "the same in both")
	}
	return e, nil
}

// fromRaw reads an entry's bytes and verifies their hash.
func fromRaw(line int, id, raw, hash string) (logbook.Entry, error) {
	b, err := base64.StdEncoding.Strict().DecodeString(raw)
	if err != nil {
		return logbook.Entry{}, wrong(line, "its column raw is not base64", "an entry's bytes")
	}
	e, err := logbook.OpenEntry(id, b)
	if err != nil {
		return e, &csvfile.FileError{Line: line, What: "its column raw holds no entry", Err: err}
	}
	if hex.EncodeToString(e.Hash[:]) != hash {
		return e, wrong(line, "the bytes in its column raw do not give its hash", hash)
	}
	return e, nil
}

// setChain puts the chain's columns into an entry.
func setChain(line int, e *logbook.Entry, chain map[string]string) error {
	var err error
	if !unhex(e.Writer[:], chain[colWriter]) {
		return wrong(line, "its column writer is not a writer's id", "32 hexadecimal digits")
	}
	if e.Seq, err = strconv.ParseUint(chain[colSeq], 10, 64); err != nil || e.Seq == 0 {
		return wrong(line, "its column seq is no number of an entry", "a whole number from 1 on")
	}
	if chain[colPrev] != "" && !unhex(e.Prev[:], chain[colPrev]) {
		return wrong(line, "its column prev is no hash", "64 hexadecimal digits, or nothing")
	}
	if !unhex(e.Hash[:], chain[colHash]) || e.Hash == [32]byte{} {
		return wrong(line, "its column hash is no hash", "64 hexadecimal digits")
	}
	return nil
}

func unhex(into []byte, text string) bool {
	if len(text) != 2*len(into) {
		return false
	}
	_, err := hex.Decode(into, []byte(text))
	return err == nil
}

// wrong is an error about one row.
func wrong(line int, what, expected string) error {
	return &csvfile.FileError{Line: line, What: what, Expected: expected}
}

// plainColumns are the columns of a table whose cells are texts of fixed names.
type plainColumns struct {
	own []Field // after id, before the chain's
	put func(e *logbook.Entry, name string) string
	set func(e *logbook.Entry, cell map[string]string) error
}

func (p *plainColumns) fields() []Field {
	return slices.Concat([]Field{idField()}, p.own, chainFields())
}

func (p *plainColumns) cells(e *logbook.Entry, chain map[string]string) []string {
	cells := []string{e.ID}
	for _, f := range p.own {
		text := ""
		switch f.Name {
		case colTime:
			text = record.TimeText(e.Time)
		case colWritten:
			text = record.TimeText(e.WrittenAt)
		default:
			text = csvfile.Guard(p.put(e, f.Name))
		}
		cells = append(cells, text)
	}
	for _, name := range ChainColumns() {
		cells = append(cells, chain[name])
	}
	return cells
}

func (p *plainColumns) chain(line int, cells []string) (string, map[string]string, error) {
	names := ChainColumns()
	if want := 1 + len(p.own) + len(names); len(cells) != want {
		return "", nil, wrong(line, fmt.Sprintf("the row has %d cells", len(cells)), fmt.Sprintf("%d, as in the header", want))
	}
	chain := make(map[string]string, len(names))
	for i, name := range names {
		chain[name] = cells[1+len(p.own)+i]
	}
	return cells[0], chain, nil
}

func (p *plainColumns) entry(line int, cells []string) (e logbook.Entry, chain map[string]string, err error) {
	if e.ID, chain, err = p.chain(line, cells); err != nil {
		return e, nil, err
	}
	cell := make(map[string]string, len(p.own))
	for i, f := range p.own {
		text := cells[1+i]
		switch f.Name {
		case colTime:
			e.Time, err = time.Parse(time.RFC3339, text)
		case colWritten:
			e.WrittenAt, err = time.Parse(time.RFC3339, text)
		default:
			cell[f.Name] = csvfile.Unguard(text)
		}
		if err != nil {
			return e, nil, wrong(line, fmt.Sprintf("its column %s is %q", f.Name, shortened(text)), "a time such as 2026-01-05T07:00:00-04:00")
		}
	}
	if err := p.set(&e, cell); err != nil {
		return e, nil, &csvfile.FileError{Line: line, What: "the row is no entry", Err: err}
	}
	return e, chain, nil
}

func idField() Field {
	return Field{Name: colID, Title: "Entry", Type: "string", Description: "The entry's id (ULID): the same in every copy of the log",
		Constraints: &Constraints{Required: true, Unique: true, Pattern: "[0-9A-HJKMNP-TV-Z]{26}"}}
}

func timeField(name, title, about string) Field {
	return Field{Name: name, Title: title, Description: about + "; RFC 3339 with the offset of the writer's clock", Type: "datetime", Format: "any", Constraints: &Constraints{Required: true}}
}

func writtenField() Field {
	return timeField(colWritten, "Written at", "When the entry was written down, later than its time where it was back-filled")
}

func textField(name, title, about string) Field {
	return Field{Name: name, Title: title, Description: about, Type: "string"}
}

func chainFields() []Field {
	return []Field{
		{Name: colWriter, Title: "Writer", Description: "Computer and user that wrote the entry, as a number without meaning", Type: "string", Constraints: &Constraints{Required: true, Pattern: "[0-9a-f]{32}"}},
		{Name: colSeq, Title: "Number", Description: "Number of the entry among its writer's, from 1", Type: "integer", Constraints: &Constraints{Required: true}},
		{Name: colPrev, Title: "Hash before", Description: "SHA-256 of the writer's entry before; blank for the first", Type: "string", Constraints: &Constraints{Pattern: "[0-9a-f]{64}"}},
		{Name: colHash, Title: "Hash", Description: "SHA-256 over the entry's id and bytes, see Headpond's FORMAT.md", Type: "string", Constraints: &Constraints{Required: true, Unique: true, Pattern: "[0-9a-f]{64}"}},
		{Name: colRaw, Title: "Bytes", Description: "The entry's bytes in base64, only where the cells before cannot hold all of it; characters that cannot be shown stand there as \uFFFD", Type: "string"},
	}
}

func splitUnits(text string) []string {
	if text == "" {
		return nil
	}
	return strings.Split(text, "+")
}
