package csvfile

import (
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// ours reads all rows up to the first that is broken.
func ours(text string) (rows [][]string, lines []int, err error) {
	s, err := newScanner(strings.NewReader(text))
	if err != nil {
		return nil, nil, err
	}
	for {
		r, err := s.next()
		if err != nil || r.broken != "" {
			if errors.Is(err, io.EOF) {
				return rows, lines, nil
			}
			return rows, lines, errors.Join(err, errors.New("broken"))
		}
		rows, lines = append(rows, r.cells), append(lines, r.line)
	}
}

// theirs does the same with encoding/csv, which reads RFC 4180 too.
func theirs(text string) (rows [][]string, lines []int, err error) {
	c := csv.NewReader(strings.NewReader(text))
	c.FieldsPerRecord = -1
	for {
		r, err := c.Read()
		if err != nil {
			if errors.Is(err, io.EOF) {
				return rows, lines, nil
			}
			return rows, lines, err
		}
		line, _ := c.FieldPos(0)
		rows, lines = append(rows, r), append(lines, line)
	}
}

func agreesWithTheLibrary(t interface{ Fatalf(string, ...any) }, text string) {
	if strings.HasPrefix(text, "\ufeff") || strings.HasPrefix(text, "PK\x03\x04") || strings.HasPrefix(text, "\xff\xfe") || strings.HasPrefix(text, "\xfe\xff") {
		return // told apart before the first row
	}
	rows, lines, err := ours(text)
	wantRows, wantLines, wantErr := theirs(text)
	if (err == nil) != (wantErr == nil) {
		t.Fatalf("%q: error %v, the library %v", text, err, wantErr)
	}
	if diff := cmp.Diff(wantRows, rows); diff != "" {
		t.Fatalf("%q (-library +ours):\n%s", text, diff)
	}
	if diff := cmp.Diff(wantLines, lines); diff != "" {
		t.Fatalf("%q begins on other lines (-library +ours):\n%s", text, diff)
	}
}

func TestScannerAgreesWithTheLibrary(t *testing.T) {
	for _, text := range []string{"", "\n", "a", "a,b\r\n\r\nc,d\r\n", "\"\"", "\"a\"\"b\",c\n", "\"a\r\nb\",c\n", "a\"b", "\"a\"b", "\"a", "\"a\n", "a,\n,b", "a\r", "a\rb\n", "\"a\r\"\n", " \"a\"\n", "\"a\" \n", ",", "\"\",\"\"\n"} {
		agreesWithTheLibrary(t, text)
	}
	rapid.Check(t, func(t *rapid.T) {
		agreesWithTheLibrary(t, rapid.StringOf(rapid.SampledFrom([]rune("a\",\n\r é"))).Draw(t, "text"))
	})
}

func TestARowMayBeLongerThanTheBuffer(t *testing.T) {
	long := strings.Repeat("é,\t", 40<<10)
	text := "time,note\n1,\"" + long + "\n" + long + "\"\n2,x\n"
	rows, lines, err := ours(text[:len("time,note\n1,\"")+100<<10] + "\"\n2,x\n")
	if err != nil || len(rows) != 3 || lines[2] != 3 {
		t.Errorf("%d rows, lines %v, %v", len(rows), lines, err)
	}
	if _, _, err := ours(text); err == nil || !strings.Contains(err.Error(), "longer than") {
		t.Errorf("a row of %d bytes: %v", len(text), err)
	}
}

func FuzzScanner(f *testing.F) {
	for _, s := range []string{"a,b\r\n\"c\nd\",\"e\"\"f\"\n", "\"a\"b\n", "a\"b\n", "\"", "\r\n\r", ",,\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) { agreesWithTheLibrary(t, s) })
}
