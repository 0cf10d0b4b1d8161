package csvfile

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// Options say what a file is read against. The zero value reads a file for itself alone.
type Options struct {
	Yes   bool     // implausible values are taken, and the round is marked as confirmed
	Units []string // ids of units that the plant had in earlier revisions; their columns are known too

	// Existing returns the rounds that the book has at a time, as corrected. A row of that time that says the same is counted
	// as there already; one that says something else is a bad row that points to `amend`.
	Existing func(ctx context.Context, at time.Time) ([]record.Round, error)
	// Entry returns the round of an id, as corrected, where the book has it: for rows that bring an id.
	Entry func(ctx context.Context, id string) (record.Round, bool, error)
	// TimeAmended reports whether a correction explains that the round of an id has another time than the id: for export
	// packages, whose corrections stand in another file. Where it is nil, or false, such a row is bad.
	TimeAmended func(id string) bool

	Aside    []string                    // unknown columns to be handed back beside the rounds instead of within them
	Progress func(bytes int64, rows int) // called now and then
}

// Result is what a file held.
type Result struct {
	Header  []string            // as it stands
	Rounds  []record.Round      // the good rows, in the file's order, each with an id
	Aside   []map[string]string // for each of Rounds the texts of the columns of Options.Aside
	Already int                 // rows that the book has, or that stand twice in the file
	Bad     []BadRow            // in the file's order
	Unknown []UnknownColumn     // columns that are kept but not understood
	Rows    int                 // rows read, blank ones apart
}

// Good reports whether every row is good, so that the file can be taken as a whole.
func (r *Result) Good() bool { return len(r.Bad) == 0 }

// The bounds of what a result holds: three rounds a day for nine centuries, and as much of bad rows as anyone would mend.
const (
	maxRows     = 1_000_000
	maxBadBytes = 64 << 20
)

// checkEvery is after how many rows it is asked whether to go on.
const checkEvery = 256

// Read reads a CSV file of rounds of a plant. It streams: beyond the rounds it keeps no more than one row at a time.
//
// Bad rows do not end it; they are in the result, each with everything that is wrong with it. The error is a *FileError where
// the file as a whole cannot be read (no header, no time column, a row without end, not CSV), the context's when it was
// cancelled, or that of Options.Existing or Entry. With an error there is no result.
func Read(ctx context.Context, in io.Reader, p *plant.Plant, o Options) (*Result, error) {
	s, err := newScanner(in)
	if err != nil {
		return nil, err
	}
	header, err := s.next()
	if errors.Is(err, io.EOF) {
		return nil, &FileError{What: "the file is empty", Expected: "a header row that names the columns, one of them time"}
	}
	if err != nil {
		return nil, err
	}
	r := &reader{ctx: ctx, p: p, o: o, units: slices.Concat(p.UnitIDs(), o.Units), known: newKnown(), out: &Result{Header: header.cells}}
	if r.cols, r.out.Unknown, err = readHeader(header, r.units, o.Aside); err != nil {
		return nil, err
	}
	for _, c := range r.cols {
		if c.kind == isReading && c.info.Number() {
			r.numbers++
		}
	}
	if err := r.rows(s); err != nil {
		return nil, err
	}
	return r.out, nil
}

// reader reads the rows of one file.
type reader struct {
	ctx   context.Context
	p     *plant.Plant
	o     Options
	units []string
	cols  []column
	known *known
	out   *Result

	numbers int // columns that hold numbers
	bad     int // bytes kept of bad rows
}

func (r *reader) rows(s *scanner) error {
	for {
		if r.out.Rows%checkEvery == 0 {
			if err := r.ctx.Err(); err != nil {
				return fmt.Errorf("reading was stopped at line %d; nothing was imported: %w", s.line, err)
			}
			if r.o.Progress != nil {
				r.o.Progress(s.read, r.out.Rows)
			}
		}
		in, err := s.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return r.named(err)
		}
		if in.broken == "" && blank(in.cells) {
			continue
		}
		if r.out.Rows++; r.out.Rows > maxRows {
			return &FileError{Line: in.line, What: fmt.Sprintf("there are more than %d rows", maxRows), Expected: "a file of rounds; split a longer one"}
		}
		if err := r.take(in); err != nil {
			return err
		}
	}
}

// named puts a column's name for its number in an error.
func (r *reader) named(err error) error {
	var lost *FileError
	var n int
	if errors.As(err, &lost) {
		if _, e := fmt.Sscan(lost.Column, &n); e == nil && n >= 1 && n <= len(r.cols) {
			lost.Column = r.cols[n-1].name
		}
	}
	return err
}

func blank(cells []string) bool {
	return !slices.ContainsFunc(cells, func(c string) bool { return strings.TrimSpace(c) != "" })
}

// take puts a row where it belongs: among the rounds, the bad rows, or those that are there already.
func (r *reader) take(in row) error {
	c := newRowReader(r, in)
	c.read()
	if len(c.problems) == 0 {
		already, err := r.compare(c)
		if err != nil {
			return err
		}
		if already {
			r.out.Already++
			return nil
		}
	}
	if len(c.problems) == 0 {
		r.known.add(c)
		r.out.Rounds = append(r.out.Rounds, c.round)
		r.out.Aside = append(r.out.Aside, c.aside)
		return nil
	}
	b := BadRow{Line: in.line, Cells: in.cells, Problems: c.problems}
	if in.broken != "" {
		b.Cells = []string{in.raw}
	}
	for _, cell := range b.Cells {
		r.bad += len(cell) + 16
	}
	if r.bad > maxBadBytes {
		return &FileError{Line: in.line, What: "too many rows are bad; the last: " + b.Reason(), Expected: "a file of rounds"}
	}
	r.out.Bad = append(r.out.Bad, b)
	return nil
}

// Against returns the options with Existing and Entry looking in these rounds, such as all of a book's history.
func (o Options) Against(rounds []record.Round) Options {
	byTime, byID := make(map[int64][]record.Round, len(rounds)), make(map[string]record.Round, len(rounds))
	for _, r := range rounds {
		byTime[r.Time.Unix()] = append(byTime[r.Time.Unix()], r)
		byID[r.ID] = r
	}
	o.Existing = func(_ context.Context, at time.Time) ([]record.Round, error) { return byTime[at.Unix()], nil }
	o.Entry = func(_ context.Context, id string) (record.Round, bool, error) {
		r, ok := byID[id]
		return r, ok, nil
	}
	return o
}
