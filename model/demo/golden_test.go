package demo

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// The demo's own story in plain lines, so that a change of the generator shows what it changes.
func TestStoryGolden(t *testing.T) {
	got := summary(told(t, Seed, "2025-11-18 20:15"))
	path := filepath.Join("testdata", "story.golden")
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for i, told := range strings.Split(got, "\n") {
		if lines := strings.Split(string(want), "\n"); i >= len(lines) || lines[i] != told {
			t.Fatalf("the demo tells another story from line %d on (go test -update rewrites it):\n%s", i+1, told)
		}
	}
	if len(got) != len(want) {
		t.Error("the demo tells less than it did (go test -update rewrites it)")
	}
}

// summary writes a story in lines of one entry each.
func summary(s *Story) string {
	var b strings.Builder
	for i, r := range s.Rounds {
		fmt.Fprintf(&b, "%03d %s %s", i, stampOf(r.Time), r.By)
		if late := r.WrittenAt.Sub(r.Time); late > time.Hour {
			fmt.Fprintf(&b, " (written %s)", stampOf(r.WrittenAt))
		}
		for _, col := range record.Columns(s.Plant.UnitIDs())[2:] {
			if text := r.Text(col); text != "" {
				fmt.Fprintf(&b, " %s=%s", col, text)
			}
			if typed := r.Typed[quantity.Key(col)]; typed != "" {
				fmt.Fprintf(&b, " (typed %s)", typed)
			}
		}
		b.WriteByte('\n')
	}
	for _, e := range s.Events {
		fmt.Fprintf(&b, "%s %s %s unit=%s element=%s cause=%s note=%s\n", stampOf(e.Time), e.Kind, e.By, strings.Join(e.Units, "+"), e.Element, e.Cause, e.Note)
	}
	for _, d := range s.Done {
		fmt.Fprintf(&b, "%s done %s: %s; %s\n", stampOf(d.Time), d.By, d.Task, d.Note)
	}
	for _, a := range s.Amendments {
		var keys []string
		for k, v := range a.Changes {
			keys = append(keys, k+"="+v)
		}
		slices.Sort(keys)
		fmt.Fprintf(&b, "%s amends %03d %s: %s (%s)\n", stampOf(a.At), a.Round, a.By, strings.Join(keys, " "), a.Why)
	}
	return b.String()
}

func stampOf(t time.Time) string { return t.Format("2006-01-02T15:04Z07") }
