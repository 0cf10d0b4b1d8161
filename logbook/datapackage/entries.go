package datapackage

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/csvfile"
)

// Entries hands out every entry of the package, a table after the other. Each row's hash is verified, and each file's SHA-256
// once more, since the file may have been changed since Open: only when Entries returns nil was all of it good. The error is
// an *Error, the context's, or fn's.
func (p *Package) Entries(ctx context.Context, fn func(logbook.Entry) error) error {
	rows := 0
	lost := newLosses(p.gaps)
	count := func(e logbook.Entry) error {
		if err := lost.see(&e); err != nil {
			return err
		}
		if rows++; rows > maxRows {
			return &Error{What: fmt.Sprintf("it holds more than %d entries", maxRows), Expected: "less"}
		}
		if rows%256 == 0 {
			if err := ctx.Err(); err != nil {
				return err
			}
		}
		return fn(e)
	}
	used := map[string]string{}
	text := func(file string) (string, bool) {
		t, ok := p.plants[file]
		return t, ok
	}
	for _, t := range []*table{plantsTable(used, text), roundsTable(nil), eventsTable(), amendmentsTable(), upkeepTable(false)} {
		if err := p.table(t, count); err != nil {
			return err
		}
		if t.kind == logbook.KindPlant {
			if err := p.allUsed(used); err != nil {
				return err
			}
		}
	}
	if p.files[fileOthers] != nil {
		if err := p.others(count); err != nil {
			return err
		}
	}
	return lost.followed()
}

// allUsed demands that plants.csv names every plant file once.
func (p *Package) allUsed(used map[string]string) error {
	times := map[string]int{}
	for _, file := range used {
		times[file]++
	}
	for _, name := range p.byOrder {
		if times[name] != 1 {
			return &Error{File: name, What: fmt.Sprintf("plants.csv names it %d times", times[name]), Expected: "once"}
		}
	}
	return nil
}

// rowsOf opens a table.
func (p *Package) rowsOf(path string) (io.Closer, *csvfile.Rows, error) {
	in, err := p.reader(path, p.desc.resource(path))
	if err != nil {
		return nil, nil, err
	}
	rows, err := csvfile.NewRows(in)
	if err != nil {
		_ = in.Close()
		return nil, nil, inFile(path, err)
	}
	return in, rows, nil
}

// table reads one table.
func (p *Package) table(t *table, fn func(logbook.Entry) error) error {
	in, rows, err := p.rowsOf(t.path())
	if err != nil {
		return err
	}
	defer in.Close()
	line, header, err := rows.Next()
	if err != nil {
		return inFile(t.path(), noHeader(err))
	}
	if t.name == tableRounds {
		sheet, err := csvfile.ReadSheet(line, header, p.units, ChainColumns())
		if err != nil {
			return inFile(t.path(), err)
		}
		t = roundsTable(sheet)
	}
	if t.name == tableUpkeep {
		t = upkeepTable(withChecklists(header))
	}
	if !slices.Equal(header, t.header()) {
		return inFile(t.path(), wrong(line, "the columns are not those of this table", fmt.Sprintf("%d columns as headpond export writes them", len(t.header()))))
	}
	for {
		line, cells, err := rows.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return inFile(t.path(), err)
		}
		e, err := t.read(line, cells)
		if err != nil {
			return inFile(t.path(), err)
		}
		if err := fn(e); err != nil {
			return err
		}
	}
}

// others reads the entries that stand as bytes alone.
func (p *Package) others(fn func(logbook.Entry) error) error {
	in, rows, err := p.rowsOf(fileOthers)
	if err != nil {
		return err
	}
	defer in.Close()
	names := make([]string, 0, 5)
	for _, f := range othersFields() {
		names = append(names, f.Name)
	}
	line, header, err := rows.Next()
	if err != nil {
		return inFile(fileOthers, noHeader(err))
	}
	if !slices.Equal(header, names) {
		return inFile(fileOthers, wrong(line, "the columns are not those of this table", "columns as headpond export writes them"))
	}
	for {
		line, cells, err := rows.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return inFile(fileOthers, err)
		}
		if len(cells) != len(names) {
			return inFile(fileOthers, wrong(line, fmt.Sprintf("the row has %d cells", len(cells)), fmt.Sprint(len(names))))
		}
		e, err := fromRaw(line, cells[0], cells[4], cells[3])
		if err != nil {
			return inFile(fileOthers, err)
		}
		if err := fn(e); err != nil {
			return err
		}
	}
}

func noHeader(err error) error {
	if errors.Is(err, io.EOF) {
		return &csvfile.FileError{What: "it is empty", Expected: "a header row"}
	}
	return err
}

// inFile names the file that an error is about. What concerns the package already passes unchanged.
func inFile(path string, err error) error {
	var own *Error
	if errors.As(err, &own) {
		return own
	}
	return &Error{File: path, What: "it is refused", Err: err}
}
