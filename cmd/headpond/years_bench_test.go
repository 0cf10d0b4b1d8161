//go:build unix

package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/week"
)

// lengths are the books that every figure is measured on, in years of three rounds a day.
func lengths() []int { return []int{1, 10, 100} }

// BenchmarkYears measures what a person waits for, on books of 1, 10 and 100 years turn by turn in one run, and tells the
// medians and how many times as long it takes with a hundred times as many rounds. All but "save" and "review" are whole
// processes; a process that does nothing takes what --version takes. Beside the clock stands the processor time ("cpu"), which
// other work on the machine does not lengthen, for all but the screens.
//
//	go test ./cmd/headpond -run xxx -bench Years -benchtime 15x
func BenchmarkYears(b *testing.B) {
	headpond := buildBinary(b, "./cmd/headpond")
	books := map[int]string{}
	for _, years := range lengths() {
		books[years] = yearsBook(b, years)
	}
	command := func(args ...string) func(*testing.B, int) spent {
		return func(b *testing.B, years int) spent {
			return timeProcess(b, headpond, append([]string{"--book", books[years]}, args...)...)
		}
	}
	zip := filepath.Join(b.TempDir(), "log.zip")
	for _, figure := range []struct {
		name string
		took func(*testing.B, int) spent
	}{
		{"nothing", command("--version")},
		{"first-frame", func(b *testing.B, years int) spent {
			return spent{clock: toFrame(b, []string{"Wants attention", "Load", "help"}, headpond, "--book", books[years])}
		}},
		{"key-to-frame", keysOf(headpond, books)},
		{"save", saveTo(books)},
		{"record", command("record", "volts=240", "hertz=60.1", "running=A")},
		{"now", command("now", "--json")},
		{"review-week", reviewOf(books, week.Week)},
		{"review-year", reviewOf(books, week.Year)},
		{"week", command("week", "--json", "--no-forecast")},
		{"week-with-forecast", command("week", "--json")},
		{"year", command("week", "--year", "--json", "--no-forecast")},
		{"water", command("water", "--json")},
		{"export", command("export", zip, "--replace")},
	} {
		b.Run(figure.name, func(b *testing.B) { growth(b, figure.took) })
	}
}

// spent is how long something took, and how much of a processor's time; 0 where that cannot be told.
type spent struct{ clock, cpu time.Duration }

// growth runs one figure on every book, turn by turn, and reports the medians and their growth.
func growth(b *testing.B, took func(*testing.B, int) spent) {
	clock, cpu := map[int][]time.Duration{}, map[int][]time.Duration{}
	for b.Loop() {
		for _, years := range lengths() {
			t := took(b, years)
			clock[years], cpu[years] = append(clock[years], t.clock), append(cpu[years], t.cpu)
		}
	}
	first, last := lengths()[0], lengths()[len(lengths())-1]
	report := func(all map[int][]time.Duration, name string) {
		for _, years := range lengths() {
			b.ReportMetric(float64(median(all[years]).Microseconds())/1000, fmt.Sprintf("%s-ms/%dy", name, years))
		}
		b.ReportMetric(float64(median(all[last]))/float64(median(all[first])), "×"+name)
	}
	report(clock, "clock")
	if median(cpu[first]) > 0 {
		report(cpu, "cpu")
	}
	b.ReportMetric(0, "ns/op") // it would add the three books up
}

func timeProcess(b *testing.B, name string, args ...string) spent {
	b.Helper()
	cmd := exec.Command(name, args...)
	began := time.Now()
	out, err := cmd.CombinedOutput()
	took := time.Since(began)
	if err != nil {
		b.Fatalf("%s: %v\n%s", strings.Join(args, " "), err, out)
	}
	return spent{took, cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()}
}

// timeHere runs something in this process.
func timeHere(b *testing.B, do func() error) spent {
	b.Helper()
	var before, after syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &before); err != nil {
		b.Fatal(err)
	}
	began := time.Now()
	err := do()
	took := time.Since(began)
	if err == nil {
		err = syscall.Getrusage(syscall.RUSAGE_SELF, &after)
	}
	if err != nil {
		b.Fatal(err)
	}
	return spent{took, time.Duration(after.Utime.Nano() + after.Stime.Nano() - before.Utime.Nano() - before.Stime.Nano())}
}

// saveTo saves one round to the book within this process, as the screens do.
func saveTo(paths map[int]string) func(*testing.B, int) spent {
	saved := 0
	return func(b *testing.B, years int) spent {
		saved++
		now := time.Now().Add(-time.Hour).Add(time.Duration(saved) * time.Millisecond)
		book, err := logbook.Open(paths[years], logbook.Options{Clock: time.Now, Writer: [16]byte{2}})
		if err != nil {
			b.Fatal(err)
		}
		r := record.Round{Time: now, By: "Ro", Running: &[]string{"A"}, Values: map[quantity.Key]float64{"pond_level_m": -0.31, "volts": 241, "hertz": 60.1, "load_kw": 3.1, "pressure_kpa": 131}}
		return timeHere(b, func() error {
			_, err := book.AddRound(context.Background(), r, "round")
			return err
		})
	}
}

// reviewOf works out a review within this process.
func reviewOf(paths map[int]string, span week.Span) func(*testing.B, int) spent {
	return func(b *testing.B, years int) spent {
		book, err := logbook.Open(paths[years], logbook.Options{Clock: time.Now, Location: time.UTC, Writer: [16]byte{2}})
		if err != nil {
			b.Fatal(err)
		}
		return timeHere(b, func() error {
			in, err := book.Week(context.Background(), week.Of{Span: span})
			if err == nil {
				_, err = week.Report(context.Background(), in)
			}
			return err
		})
	}
}

// keysOf presses a key in the log of a program that stays open, and waits until the terminal has been told the other row. The
// program draws at most 30 times a second, so up to 33 ms of it are the wait for the next frame.
func keysOf(program string, paths map[int]string) func(*testing.B, int) spent {
	open := map[int]*shown{}
	return func(b *testing.B, years int) spent {
		b.Helper()
		if open[years] == nil {
			open[years] = show(b, program, paths[years])
			open[years].press(b, "3", ">3 Log")
		}
		s := open[years]
		s.settle()
		began := time.Now()
		s.press(b, "\x1b[B", "")
		return spent{clock: time.Since(began)}
	}
}

// shown is a program on a terminal.
type shown struct {
	tty  *os.File
	said chan []byte
}

func show(b *testing.B, program, book string) *shown {
	b.Helper()
	cmd := exec.Command(program, "--book", book)
	cmd.Env = append(os.Environ(), "TERM=tmux-256color", "LANG=C.UTF-8", "CI=", "NO_COLOR=1")
	tty, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		b.Fatal(err)
	}
	s := &shown{tty: tty, said: make(chan []byte, 100)}
	go s.listen()
	b.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
		_ = tty.Close()
	})
	s.press(b, "", "help")
	return s
}

// listen hands on what the program writes, until it is gone.
func (s *shown) listen() {
	defer close(s.said)
	for {
		buf := make([]byte, 16<<10)
		n, err := s.tty.Read(buf)
		if err != nil {
			return
		}
		s.said <- buf[:n]
	}
}

// settle waits until the program has said nothing for a tenth of a second.
func (s *shown) settle() {
	for {
		select {
		case <-s.said:
		case <-time.After(100 * time.Millisecond):
			return
		}
	}
}

// press types keys and waits for the text, or for anything at all where it is empty.
func (s *shown) press(b *testing.B, keys, text string) {
	b.Helper()
	if _, err := s.tty.WriteString(keys); err != nil {
		b.Fatal(err)
	}
	var seen []byte
	for late := time.After(20 * time.Second); ; {
		select {
		case more, ok := <-s.said:
			seen = append(seen, more...)
			switch {
			case bytes.Contains(seen, []byte(text)):
				return
			case !ok:
				b.Fatalf("after %q the program ended:\n%q", keys, seen)
			}
		case <-late:
			b.Fatalf("after %q %q did not come:\n%q", keys, text, seen)
		}
	}
}
