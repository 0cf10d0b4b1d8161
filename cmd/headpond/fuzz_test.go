package main

import (
	"bytes"
	"context"
	"testing"
	"unicode/utf8"
)

// FuzzWords throws words at the commands that read key=value. Whatever they are, the exit status is the contract's, a refusal
// leaves the book as it was, and nothing harmful reaches the terminal.
func FuzzWords(f *testing.F) {
	for _, seed := range [][2]string{
		{"volts=241", "note=a\x1b[2J"}, {"time=2025-11-02 01:30", "hertz=60"}, {"running=A+B", "A.kw=5,6"}, {"=", "=="}, {"pressure_kpa=19 psi", "by=\u202e"},
		{"--", "volts=1"}, {"--yes", "volts=2411"}, {"-1", "x"}, {"screen_open=0.5", "pond_level_m=3 ft 2 in"}, {"unit=A", "cause=\xff"}, {"element=E1", "time=-2h"}, {"\x00", "\n"},
	} {
		f.Add(seed[0], seed[1])
	}
	p := newPerson(f)
	p.inTTY = false
	f.Fuzz(func(t *testing.T, one, two string) {
		q := *p
		q.t = t
		for _, command := range [][]string{{"record"}, {"event", "trip"}, {"event", "element-out"}, {"expect", "running=A"}} {
			if one == "--help" || one == "-h" || two == "--help" || two == "-h" {
				continue // what help shows is fixed
			}
			before := q.bytes()
			w := q.world
			var out, said bytes.Buffer
			w.args, w.out, w.err = append(append([]string{}, command...), one, two), &out, &said
			code := execute(context.Background(), w)
			if code < exitDone || code > exitUsage {
				t.Fatalf("%q ends with %d", w.args, code)
			}
			if code != exitDone && !bytes.Equal(before, q.bytes()) {
				t.Fatalf("%q was refused (%d) and changed the book: %s", w.args, code, &said)
			}
			if code == exitDone == (out.Len() == 0) {
				t.Fatalf("%q ends with %d and prints %q", w.args, code, &out)
			}
			for _, stream := range [][]byte{out.Bytes(), said.Bytes()} {
				if !utf8.Valid(stream) || bytes.ContainsAny(stream, "\x1b\x07\x00\u202e") {
					t.Fatalf("%q printed %q", w.args, stream)
				}
			}
		}
	})
}
