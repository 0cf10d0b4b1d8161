package csvfile

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
)

// The bounds of what is taken into memory at once. A row of a large plant with a long note has a few thousand characters.
const (
	maxRow     = 256 << 10 // bytes in a row
	maxColumns = 1000
	maxName    = 200 // bytes in a column's name
)

// FileError tells that a file cannot be read as rounds, and where. Nothing of it is used.
type FileError struct {
	Line     int    // 0 where it concerns the whole file
	Column   string // "" where it concerns the whole line
	What     string
	Expected string
	Err      error // the cause, where there is one
}

// Error says where, what is wrong, what was expected, and that nothing was imported.
func (e *FileError) Error() string {
	var s strings.Builder
	if e.Line > 0 {
		fmt.Fprintf(&s, "line %d", e.Line)
		if e.Column != "" {
			fmt.Fprintf(&s, ", column %s", plain(e.Column))
		}
		s.WriteString(": ")
	}
	s.WriteString(e.What)
	if e.Expected != "" {
		s.WriteString("; expected " + e.Expected)
	}
	if e.Err != nil {
		fmt.Fprintf(&s, ": %v", e.Err)
	}
	return s.String() + "; nothing was imported"
}

// Unwrap returns the cause.
func (e *FileError) Unwrap() error { return e.Err }

// row is one record of the file.
type row struct {
	line   int // on which it begins
	cells  []string
	broken string // what is wrong with its quotes, "" for nothing; then cells are those before the break, and
	raw    string // the line as it stands
}

// scanner splits a file into rows as RFC 4180 says. It differs from encoding/csv in that a row of any length needs no more
// than maxRow of memory, and that a row with a stray quote is handed out as it stands.
type scanner struct {
	r    *bufio.Reader
	line int // the line that was read last, from 1
	read int64
	long []byte // a line that does not fit the reader's buffer
	size int    // bytes of the row so far
}

func newScanner(r io.Reader) (*scanner, error) {
	s := &scanner{r: bufio.NewReaderSize(r, 32<<10)}
	head, err := s.r.Peek(4)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, &FileError{What: "the file cannot be read", Err: err}
	}
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		n, _ := s.r.Discard(3)
		s.read = int64(n)
	case bytes.HasPrefix(head, []byte("\xff\xfe")), bytes.HasPrefix(head, []byte("\xfe\xff")):
		return nil, &FileError{What: "the file is written in UTF-16", Expected: "UTF-8: save it as \"CSV UTF-8\""}
	case bytes.HasPrefix(head, []byte("PK\x03\x04")):
		return nil, &FileError{What: "the file is a zip archive, such as a spreadsheet or an export package", Expected: "CSV: save the sheet as CSV, or open the package as one"}
	}
	return s, nil
}

// next returns the next row that is not an empty line, or io.EOF. Other errors are *FileError.
func (s *scanner) next() (row, error) {
	s.size = 0
	text, err := s.readLine()
	for err == nil && text == "" {
		text, err = s.readLine()
	}
	if err != nil {
		return row{}, err
	}
	if strings.IndexByte(text, '"') < 0 {
		return row{line: s.line, cells: strings.Split(text, ",")}, nil
	}
	return s.quotedRow(text)
}

// quotedRow reads a row with quotes in it, which may go on over further lines.
func (s *scanner) quotedRow(text string) (row, error) {
	r := row{line: s.line}
	broken := func(what string) (row, error) {
		r.broken, r.raw = what, text
		return r, nil
	}
	rest := text
	for {
		if !strings.HasPrefix(rest, `"`) {
			cell, tail, more := strings.Cut(rest, ",")
			if strings.IndexByte(cell, '"') >= 0 {
				return broken("a cell with a quote in it stands in quotes, and the quote is doubled")
			}
			if r.cells = append(r.cells, cell); !more {
				return r, nil
			}
			rest = tail
			continue
		}
		cell, tail, err := s.quotedCell(rest[1:])
		if err != nil {
			var lost *FileError
			if errors.As(err, &lost) {
				lost.Line, lost.Column = r.line, fmt.Sprint(len(r.cells)+1)
			}
			return row{}, err
		}
		r.cells = append(r.cells, cell)
		switch {
		case tail == "":
			return r, nil
		case tail[0] != ',':
			r.cells = r.cells[:len(r.cells)-1]
			return broken("a comma or the end of the row follows a closing quote")
		}
		rest = tail[1:]
	}
}

// quotedCell reads on from behind an opening quote and returns what follows the closing one.
func (s *scanner) quotedCell(rest string) (cell, tail string, err error) {
	var b strings.Builder
	for {
		part, after, closed := strings.Cut(rest, `"`)
		b.WriteString(part)
		switch {
		case !closed:
			b.WriteByte('\n')
			if rest, err = s.readLine(); errors.Is(err, io.EOF) {
				err = &FileError{What: "a quote is opened and never closed", Expected: "a closing quote, and quotes within a cell doubled"}
			}
			if err != nil {
				return "", "", err
			}
		case strings.HasPrefix(after, `"`):
			b.WriteByte('"')
			rest = after[1:]
		default:
			return b.String(), after, nil
		}
	}
}

// readLine returns the next line without its end, LF or CRLF. It refuses a row that grows beyond maxRow.
func (s *scanner) readLine() (string, error) {
	s.long = s.long[:0]
	for {
		part, err := s.r.ReadSlice('\n')
		s.read += int64(len(part))
		s.size += len(part)
		if s.size > maxRow {
			return "", &FileError{Line: s.line + 1, What: fmt.Sprintf("the row is longer than %d bytes", maxRow), Expected: "one row a round; a quote may be missing its partner"}
		}
		switch {
		case err == nil, errors.Is(err, io.EOF) && len(s.long)+len(part) > 0:
		case errors.Is(err, bufio.ErrBufferFull):
			s.long = append(s.long, part...)
			continue
		case errors.Is(err, io.EOF):
			return "", io.EOF
		default:
			return "", &FileError{Line: s.line + 1, What: "the file cannot be read on", Err: err}
		}
		s.line++
		if len(s.long) > 0 {
			s.long = append(s.long, part...)
			part = s.long
		}
		return string(bytes.TrimSuffix(bytes.TrimSuffix(part, []byte("\n")), []byte("\r"))), nil
	}
}
