package csvfile

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/record"
)

// Whatever Write writes for a round, a sheet writes too, and reads back without asking or comparing.
func TestASheetsRoundsComeBack(t *testing.T) {
	loc := ternHollow(t).Location
	rapid.Check(t, func(t *rapid.T) {
		var used Used
		var rounds []record.Round
		for i := range rapid.IntRange(1, 4).Draw(t, "rounds") {
			r := genRound(t, loc)
			r.ID, r.WrittenAt = fmt.Sprintf("01KK69QQW0000000000000000%d", i), r.Time.Add(time.Minute)
			rounds = append(rounds, r)
			used.Add(r)
		}
		out := used.Sheet([]string{"A", "B"}, []string{"mark"})
		var file bytes.Buffer
		w := csv.NewWriter(&file)
		w.UseCRLF = true
		var header []string
		for _, c := range out.Columns() {
			header = append(header, c.Name)
		}
		_ = w.Write(header)
		for i, r := range rounds {
			_ = w.Write(out.Cells(r, map[string]string{"mark": fmt.Sprint("m", i)}))
		}
		w.Flush()

		rows, err := NewRows(&file)
		if err != nil {
			t.Fatal(err)
		}
		line, cells, err := rows.Next()
		if err != nil {
			t.Fatal(err)
		}
		in, err := ReadSheet(line, cells, []string{"A", "B"}, []string{"mark"})
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range rounds {
			line, cells, err := rows.Next()
			if err != nil {
				t.Fatal(err)
			}
			got, aside, problems := in.Round(line, cells)
			if len(problems) > 0 || aside["mark"] != fmt.Sprint("m", i) {
				t.Fatalf("problems %v, aside %v", problems, aside)
			}
			if diff := cmp.Diff(want, got, sameRounds()); diff != "" {
				t.Fatalf("round %d (-written +read):\n%s", i, diff)
			}
		}
		if _, _, err := rows.Next(); !errors.Is(err, io.EOF) {
			t.Fatalf("after the last row: %v", err)
		}
	})
}

// What is not plausible was confirmed, or taken by an older version: a sheet does not ask again.
func TestASheetDoesNotJudge(t *testing.T) {
	s, err := ReadSheet(1, []string{"id", "written_at", "time", "volts"}, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	r, _, problems := s.Round(2, []string{"01KK69QQW00000000000000000", "2026-01-05T07:00:00-04:00", "2020-01-05T07:00:00-04:00", "99999"})
	if len(problems) > 0 || r.Values["volts"] != 99999 {
		t.Errorf("%+v, %v", r, problems)
	}
}

func TestASheetRefusesWhatItDidNotWrite(t *testing.T) {
	header := []string{"id", "written_at", "time", "volts", "note"}
	good := []string{"01KK69QQW00000000000000000", "2026-01-05T07:00:00-04:00", "2026-01-05T07:00:00-04:00", "240", "calm"}
	for name, c := range map[string]struct {
		at   int
		cell string
	}{"no id": {0, ""}, "an odd id": {0, "5"}, "no time of writing": {1, ""}, "a local time": {2, "2026-01-05 07:00"}, "no time": {2, ""},
		"no number": {3, "high"}, "Latin-1": {4, "caf\xe9"}, "a long note": {4, strings.Repeat("é", 4001)}} {
		s, err := ReadSheet(1, header, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		cells := append([]string(nil), good...)
		cells[c.at] = c.cell
		if _, _, problems := s.Round(2, cells); len(problems) == 0 || problems[0].Line != 2 {
			t.Errorf("%s: %v", name, problems)
		}
	}
	for name, header := range map[string][]string{"no time": {"id"}, "twice": {"time", "volts", "Volts"}} {
		var bad *FileError
		if _, err := ReadSheet(1, header, nil, nil); !errors.As(err, &bad) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A column whose name would not read back as itself is left out rather than written wrongly.
func TestASheetLeavesOutNamesThatDoNotReadBack(t *testing.T) {
	var used Used
	extra := map[string]string{"weather": "fog", " x": "1", "": "2", "e\x1bsc": "3", strings.Repeat("n", 300): "4", "volts": "5", "mark": "6", "~y": "7"}
	used.Add(record.Round{Extra: extra})
	var names []string
	for _, c := range used.Sheet(nil, []string{"mark"}).Columns() {
		if c.Extra {
			names = append(names, c.Name)
		}
	}
	if got := strings.Join(names, " "); got != "~ x ~mark ~volts weather ~~y" {
		t.Errorf("the unknown columns are %q", got)
	}
	many := Used{}
	for i := range 3000 {
		many.Add(record.Round{Extra: map[string]string{fmt.Sprint("c", i): "x"}})
	}
	if n := len(many.Sheet(nil, nil).Columns()); n > maxColumns {
		t.Errorf("%d columns, which no one can read", n)
	}
}

func TestRowsAreBounded(t *testing.T) {
	for name, file := range map[string]string{
		"a long row": strings.Repeat("x", maxRow+1), "many cells": strings.Repeat(",", maxColumns), "stray quotes": "a\"b", "an open quote": "\"a", "UTF-16": "\xff\xfea",
	} {
		rows, err := NewRows(strings.NewReader(file))
		if err == nil {
			_, _, err = rows.Next()
		}
		var bad *FileError
		if !errors.As(err, &bad) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestPairsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pairs := rapid.MapOfN(rapid.StringMatching(`[A-Za-z_.]{1,9}`), rapid.Map(rapid.String(), strings.TrimSpace), 0, 4).Draw(t, "pairs")
		got, ok := SplitPairs(JoinPairs(pairs))
		if diff := cmp.Diff(pairs, got); !ok || diff != "" {
			t.Fatalf("%v: %s", ok, diff)
		}
	})
	for _, text := range []string{"volts", "a=1; b", "a=1; a=2"} {
		if got, ok := SplitPairs(text); ok {
			t.Errorf("%q gives %v", text, got)
		}
	}
}

func TestHarmless(t *testing.T) {
	for text, want := range map[string]string{"calm": "calm", "two\nlines\tand tab": "two\nlines\tand tab", "red \x1b[31m": "red \uFFFD[31m", "\u009b2J": "\uFFFD2J", "\xff": "\uFFFD", "a\x00\x7f": "a\uFFFD\uFFFD"} {
		if got := Harmless(text); got != want || !Printable(got) || Printable(text) != (text == want) {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}
