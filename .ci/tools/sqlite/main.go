// Command sqlite puts the same rounds into a book and into SQLite and asks both the same questions, turn by turn in one run.
//
// SQLite is asked in two ways: with its file opened and closed for each question, as the book is, and with the file kept open.
// It saves as safely as the book: synchronous=FULL. What is printed are medians and the ratio of the book's to the better of
// the two. See .ci/compare-sqlite.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx); err != nil {
		fmt.Fprintln(os.Stderr, "sqlite:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context) (err error) {
	years := flag.String("years", "1,10,100", "how many years of rounds, one after the other")
	times := flag.Int("times", 41, "how often each question is asked; long ones are asked less often")
	program := flag.String("headpond", "", "the program, to compare whole commands with the sqlite3 command; none without it")
	dir := flag.String("dir", "", "the folder in which the files are made (default: a new one for the time of the run)")
	flag.Parse()
	if *dir == "" {
		if *dir, err = os.MkdirTemp("", "headpond-sqlite-"); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, os.RemoveAll(*dir)) }()
	}
	var tables []*table
	for word := range strings.SplitSeq(*years, ",") {
		n, err := strconv.Atoi(word)
		if err != nil || n < 1 {
			return fmt.Errorf("-years: %q is not a number of years", word)
		}
		place := filepath.Join(*dir, word)
		if err := os.MkdirAll(place, 0o700); err != nil {
			return err
		}
		t, err := compare(ctx, place, n, *times, *program)
		if err != nil {
			return fmt.Errorf("%d years: %w", n, err)
		}
		tables = append(tables, t)
	}
	show(tables)
	return nil
}

// table is what was measured with one number of years.
type table struct {
	years, rounds    int
	bookMB, sqliteMB float64
	sqliteVersion    string
	rows             []row
}

// row is one question: the medians by the clock, and in processor time, which other work on the machine does not lengthen.
type row struct {
	name             string
	clock, processor medians
}

// medians in milliseconds; kept is 0 for whole commands.
type medians struct{ book, opened, kept float64 }

func compare(ctx context.Context, dir string, years, times int, program string) (_ *table, err error) {
	made, err := makeBook(ctx, filepath.Join(dir, "book"), years)
	if err != nil {
		return nil, err
	}
	db, err := makeDatabase(ctx, dir, made)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.close()) }()
	t := &table{years: years, rounds: len(made.rounds), bookMB: size(made.book.Path()), sqliteMB: size(db.path), sqliteVersion: db.version}
	for _, q := range questions(ctx, made, db) {
		r, err := measure(q, times)
		if err != nil {
			return nil, err
		}
		t.rows = append(t.rows, r)
	}
	for _, q := range commands(made, db, program) {
		r, err := measure(q, min(times, 15))
		if err != nil {
			return nil, err
		}
		t.rows = append(t.rows, r)
	}
	return t, nil
}

func size(path string) float64 {
	info, err := os.Stat(path)
	if err != nil {
		return 0
	}
	return float64(info.Size()) / 1e6
}

// question is asked in up to three ways. Each answers with a number that must be the same in all ways, so that nothing is
// compared that is not the same question.
type question struct {
	name               string
	book, opened, kept func() (float64, error)
	near               float64 // how much the answers may differ, as a share
}

// longest is how long one question may take in all: what is slow is asked less often, though never less than five times.
const longest = 20 * time.Second

func measure(q question, times int) (row, error) {
	var took, worked [3][]time.Duration
	var spent time.Duration
	for i := 0; i < times && (i < 5 || spent < longest); i++ {
		var answers []float64
		for way, ask := range []func() (float64, error){q.book, q.opened, q.kept} {
			if ask == nil {
				continue
			}
			began, busy := time.Now(), processorTime()
			answer, err := ask()
			d := time.Since(began)
			if err != nil {
				return row{}, fmt.Errorf("%s: %w", q.name, err)
			}
			took[way] = append(took[way], d)
			worked[way] = append(worked[way], processorTime()-busy)
			spent += d
			answers = append(answers, answer)
		}
		if least, most := slices.Min(answers), slices.Max(answers); most-least > q.near*most {
			return row{}, fmt.Errorf("%s: the answers differ: %v", q.name, answers)
		}
	}
	return row{q.name, mediansOf(took), mediansOf(worked)}, nil
}

func mediansOf(ways [3][]time.Duration) medians {
	return medians{median(ways[0]), median(ways[1]), median(ways[2])}
}

// processorTime is what this process and the commands that it has waited for have used so far.
func processorTime() time.Duration {
	var sum time.Duration
	for _, who := range []int{syscall.RUSAGE_SELF, syscall.RUSAGE_CHILDREN} {
		var used syscall.Rusage
		if err := syscall.Getrusage(who, &used); err == nil {
			sum += time.Duration(used.Utime.Nano() + used.Stime.Nano())
		}
	}
	return sum
}

// median in milliseconds, 0 of nothing.
func median(d []time.Duration) float64 {
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	return float64(d[len(d)/2]) / float64(time.Millisecond)
}
