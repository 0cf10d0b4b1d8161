//go:build unix

package main

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/creack/pty"

	"example.org/headpond/logbook"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// yearsBook writes a book with as many rounds as so many years of three a day have, ending now, and returns its path. Beyond
// 40 years they stand closer together, because an entry's id cannot tell times before 1970.
func yearsBook(b *testing.B, years int) string {
	b.Helper()
	end := time.Now().Add(-2 * time.Hour).Truncate(time.Second)
	path := filepath.Join(b.TempDir(), fmt.Sprintf("%d-years.book", years))
	p, err := demo.Plant()
	if err != nil {
		b.Fatal(err)
	}
	book, err := logbook.Create(context.Background(), path, logbook.Options{Clock: time.Now, Location: p.Location, Writer: [16]byte{1}})
	if err != nil {
		b.Fatal(err)
	}
	count := 3 * (years*365 + years/4)
	step := min(8*time.Hour, 40*365*24*time.Hour/time.Duration(count))
	if _, err := book.AddPlant(context.Background(), demo.PlantText(), end.Add(-time.Duration(count)*step), "Imke"); err != nil {
		b.Fatal(err)
	}
	rnd := rand.New(rand.NewPCG(7, 7))
	rounds := make([]record.Round, 0, count)
	for i := range count {
		rounds = append(rounds, record.Round{
			Time: end.Add(-time.Duration(count-1-i) * step), By: "Ro", Running: &[]string{"A"},
			Values: map[quantity.Key]float64{"pond_level_m": float64(int(-300+40*rnd.NormFloat64())) / 1000, "pressure_kpa": float64(130 + rnd.IntN(4)), "volts": float64(237 + rnd.IntN(8)),
				"hertz": 60.1, "load_kw": float64(20+rnd.IntN(20)) / 10, "dump_share_pct": float64(40 + rnd.IntN(20)), "bearing_c": 44, "water_c": 9},
			Words: map[quantity.Key]string{"screen": "clear"},
		})
	}
	if _, _, err := book.AddRounds(context.Background(), rounds); err != nil {
		b.Fatal(err)
	}
	return path
}

// buildBinary builds a program of this module and returns its path.
func buildBinary(b *testing.B, pkg string) string {
	b.Helper()
	out := filepath.Join(b.TempDir(), filepath.Base(pkg))
	cmd := exec.Command("go", "build", "-o", out, pkg)
	cmd.Dir = "../.."
	if msg, err := cmd.CombinedOutput(); err != nil {
		b.Fatalf("building %s: %v\n%s", pkg, err, msg)
	}
	return out
}

// toFrame runs a program on a terminal of 80 by 24 and returns how long it takes until every mark has been written to it.
func toFrame(b *testing.B, marks []string, name string, args ...string) time.Duration {
	b.Helper()
	cmd := exec.Command(name, args...)
	cmd.Env = append(os.Environ(), "TERM=tmux-256color", "LANG=C.UTF-8", "CI=", "NO_COLOR=1")
	began := time.Now()
	tty, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
	if err != nil {
		b.Fatal(err)
	}
	defer func() {
		_ = tty.Close()
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	}()
	var seen []byte
	buf := make([]byte, 64<<10)
	for {
		n, err := tty.Read(buf)
		seen = append(seen, buf[:n]...)
		if !slices.ContainsFunc(marks, func(m string) bool { return !bytes.Contains(seen, []byte(m)) }) {
			return time.Since(began)
		}
		if err != nil {
			b.Fatalf("%s ended before its first frame: %v\n%s", name, err, strings.ToValidUTF8(string(seen), "?"))
		}
	}
}

// BenchmarkFirstFrame measures, turn by turn in one run, from the start of the process to the first whole frame: an empty
// program of the same library, and Headpond on a book of ten years with three rounds a day. The medians are reported.
func BenchmarkFirstFrame(b *testing.B) {
	empty := buildBinary(b, "./cmd/headpond/testdata/emptyprogram")
	headpond := buildBinary(b, "./cmd/headpond")
	for _, years := range []int{1, 10, 100} {
		b.Run(fmt.Sprintf("years=%d", years), func(b *testing.B) {
			book := yearsBook(b, years)
			var bare, full []time.Duration
			for b.Loop() {
				bare = append(bare, toFrame(b, []string{"READY"}, empty))
				full = append(full, toFrame(b, []string{"Wants attention", "Load", "help"}, headpond, "--book", book))
			}
			report := func(name string, d time.Duration) { b.ReportMetric(float64(d.Microseconds())/1000, name) }
			report("empty-ms", median(bare))
			report("headpond-ms", median(full))
			report("later-ms", median(full)-median(bare))
		})
	}
}

// BenchmarkShellCommand measures whole processes of the ordinary commands on a ten-year book.
func BenchmarkShellCommand(b *testing.B) {
	headpond := buildBinary(b, "./cmd/headpond")
	book := yearsBook(b, 10)
	for _, line := range []string{"--version", "record pond_level_m=-0.3 volts=240", "rounds --last 1 --json", "ballast --json", "expect --json", "now --json", "water --json"} {
		b.Run(strings.ReplaceAll(line, " ", "_"), func(b *testing.B) {
			var took []time.Duration
			for b.Loop() {
				cmd := exec.Command(headpond, append([]string{"--book", book}, strings.Fields(line)...)...)
				began := time.Now()
				if out, err := cmd.CombinedOutput(); err != nil {
					b.Fatalf("%s: %v\n%s", line, err, out)
				}
				took = append(took, time.Since(began))
			}
			b.ReportMetric(float64(median(took).Microseconds())/1000, "median-ms")
		})
	}
}

func median(d []time.Duration) time.Duration {
	s := slices.Clone(d)
	slices.Sort(s)
	return s[len(s)/2]
}
