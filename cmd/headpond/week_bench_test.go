//go:build unix

package main

import (
	"os/exec"
	"strings"
	"testing"
	"time"
)

// BenchmarkReviewCommand measures whole processes of headpond week on a ten-year book: medians of the clock, and of the processor
// time of all threads, which tells more on a machine that has other work. The first run of each keeps the roll-ups.
func BenchmarkReviewCommand(b *testing.B) {
	headpond := buildBinary(b, "./cmd/headpond")
	book := yearsBook(b, 10)
	for _, line := range []string{"week --no-forecast", "week", "week --month --no-forecast", "week --month", "week --year --no-forecast", "week --year"} {
		b.Run(strings.ReplaceAll(line, " ", "_"), func(b *testing.B) {
			run := func() (clock, processor time.Duration) {
				cmd := exec.Command(headpond, append([]string{"--book", book}, strings.Fields(line+" --json")...)...)
				began := time.Now()
				if out, err := cmd.CombinedOutput(); err != nil {
					b.Fatalf("%s: %v\n%s", line, err, out)
				}
				return time.Since(began), cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
			}
			run()
			var clocks, processors []time.Duration
			for b.Loop() {
				c, p := run()
				clocks, processors = append(clocks, c), append(processors, p)
			}
			b.ReportMetric(float64(median(clocks).Microseconds())/1000, "clock-ms")
			b.ReportMetric(float64(median(processors).Microseconds())/1000, "processor-ms")
		})
	}
}
