package csvfile

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"
)

// Problem is one thing that is wrong with a row.
type Problem struct {
	Line     int    `json:"line"`
	Column   string `json:"column"`
	Text     string `json:"text,omitempty"` // what stands there
	Expected string `json:"expected"`
}

// Error says where, what was read and what was expected.
func (p Problem) Error() string {
	read := quote(p.Text)
	if p.Text == "" {
		read = "nothing"
	}
	return fmt.Sprintf("line %d, column %s: read %s, expected %s", p.Line, plain(p.Column), read, p.Expected)
}

// BadRow is a row that was not taken, as it stands in the file.
type BadRow struct {
	Line     int
	Cells    []string // as they were read; a row whose quotes are wrong is one cell, the whole line
	Problems []Problem
}

// Reason is all that is wrong with the row, in a sentence.
func (b BadRow) Reason() string {
	parts := make([]string, len(b.Problems))
	for i, p := range b.Problems {
		parts[i] = p.Error()
	}
	return strings.Join(parts, "; ")
}

// Problems lists what is wrong with all bad rows, in the file's order.
func (r *Result) Problems() []Problem {
	list := []Problem{}
	for _, b := range r.Bad {
		list = append(list, b.Problems...)
	}
	return list
}

// Facts are what `import --json` prints.
type Facts struct {
	Added   int       `json:"added"`
	Already int       `json:"already"`
	Bad     []Problem `json:"bad"`
	Unknown []string  `json:"unknown_columns,omitempty"`
}

// Facts puts together what was read and what the book then made of Rounds: how many it added and how many it had already.
func (r *Result) Facts(added, already int) Facts {
	f := Facts{Added: added, Already: r.Already + already, Bad: r.Problems()}
	for _, u := range r.Unknown {
		f.Unknown = append(f.Unknown, u.Name)
	}
	return f
}

// WriteBad writes the bad rows as they stood, in the columns of their file, with a column reason in front. Once they are put
// right that file can be imported as it is: reading passes over the reasons. A row whose quotes are wrong stands in one cell
// as the whole line.
func (r *Result) WriteBad(w io.Writer) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	write := func(first string, cells []string) error {
		line := make([]string, 1, 1+len(cells))
		line[0] = first
		for _, c := range cells {
			line = append(line, guard(unguard(c))) // as harmless as what Write writes, and read the same as before
		}
		return out.Write(line)
	}
	header := r.Header
	if len(header) > 0 && strings.EqualFold(strings.TrimSpace(header[0]), colReason) {
		header = header[1:]
	}
	err := write(colReason, header)
	for i := 0; i < len(r.Bad) && err == nil; i++ {
		cells := r.Bad[i].Cells
		if len(header) < len(r.Header) && len(cells) > 1 {
			cells = cells[1:] // the reason of an earlier try
		}
		err = write(r.Bad[i].Reason(), cells)
	}
	out.Flush()
	if err == nil {
		err = out.Error()
	}
	if err != nil {
		return fmt.Errorf("writing the bad rows: %w", err)
	}
	return nil
}
