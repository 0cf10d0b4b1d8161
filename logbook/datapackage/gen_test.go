package datapackage_test

import (
	"fmt"
	"strings"
	"time"

	"github.com/oklog/ulid/v2"
	"pgregory.net/rapid"

	"example.org/headpond/logbook"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Generators of whole logs: what people type, what imports bring, and what no one should.

func genText(t *rapid.T, label string) string {
	return rapid.OneOf(
		rapid.StringN(0, 12, 40),
		rapid.SampledFrom([]string{"", "-", "=1+1", "'=x", "''@", "a\x1b[31mred", "\xff\xfe", "Ünï\u202e", "two\nlines", "crlf\r\nline", " space ", "tab\tin", "a;b\\c=d", "comma, \"quote\"",
			strings.Repeat("long ", 900), "\x00", "-12", "1e5", "\ufeffmark"})).Draw(t, label)
}

// genTime is in whole seconds and any zone, as a book keeps times, and now and then finer.
func genTime(t *rapid.T, label string) time.Time {
	s := rapid.Int64Range(1.5e9, 1.6e9).Draw(t, label)
	zone := time.FixedZone("", 60*rapid.SampledFrom([]int{0, -240, -180, 330, 840}).Draw(t, label+" offset"))
	return time.Unix(s, 0).In(zone)
}

func genRound(t *rapid.T) *record.Round {
	r := &record.Round{By: genText(t, "by"), Note: genText(t, "note"), Confirmed: rapid.Bool().Draw(t, "confirmed")}
	if rapid.Bool().Draw(t, "running read") {
		ids := rapid.SliceOfN(rapid.SampledFrom([]string{"A", "B", "C1"}), 0, 3).Draw(t, "running")
		r.Running = &ids
	}
	key := rapid.SampledFrom(append(quantity.Keys([]string{"A", "B"}), "odd", "Z9.volts", "time", "writer"))
	r.Values = rapid.MapOfN(key, rapid.Float64Range(-1e6, 1e6), 0, 6).Draw(t, "values")
	r.Words = rapid.MapOfN(key, rapid.SampledFrom([]string{"clear", "yes", "open", "=odd"}), 0, 3).Draw(t, "words")
	r.Typed = rapid.MapOfN(key, rapid.SampledFrom([]string{"19 psi", "a;b", " x "}), 0, 2).Draw(t, "typed")
	if rapid.Bool().Draw(t, "extra") {
		name := rapid.SampledFrom([]string{"weather", "hash", "volts", "=cmd", " x", "", "~y", "e\x1bsc", strings.Repeat("n", 300), "Wärme"}).Draw(t, "column")
		r.Extra = map[string]string{name: genText(t, "cell"), "crew": "two"}
	}
	return r
}

// genWalk draws a checklist that was walked, or none.
func genWalk(t *rapid.T) *record.Walk {
	if rapid.Bool().Draw(t, "no checklist") {
		return nil
	}
	w := &record.Walk{For: rapid.SampledFrom([]string{"", "stop", "=odd"}).Draw(t, "for"), Begun: genTime(t, "begun"),
		Units: rapid.SliceOfN(rapid.SampledFrom([]string{"A", "B"}), 0, 2).Draw(t, "walk units")}
	for range rapid.IntRange(0, 3).Draw(t, "steps") {
		k := record.Tick{Step: "step " + genText(t, "step"), Note: genText(t, "tick note"),
			State: rapid.SampledFrom([]record.TickState{record.TickOpen, record.TickDone, record.TickSkipped, record.TickNotOK, "later"}).Draw(t, "tick")}
		if rapid.Bool().Draw(t, "ticked") {
			k.At = genTime(t, "ticked at")
		}
		w.Ticks = append(w.Ticks, k)
	}
	return w
}

// genEntry draws the content of one entry; target is an entry that a correction may name.
func genEntry(t *rapid.T, target string, plant string) logbook.Entry {
	e := logbook.Entry{Time: genTime(t, "time"), WrittenAt: genTime(t, "written")}
	switch rapid.IntRange(0, 5).Draw(t, "kind") {
	case 0, 1:
		e.Round = genRound(t)
		e.Round.Time = e.Time
	case 2:
		e.Event = &record.Event{Time: e.Time, Kind: record.EventKind(rapid.SampledFrom([]string{"start", "trip", "note", "flood"}).Draw(t, "event")),
			Units: rapid.SliceOfN(rapid.SampledFrom([]string{"A", "B", "C+D"}), 0, 2).Draw(t, "units"), Element: genText(t, "element"), Cause: genText(t, "cause"), By: genText(t, "by"), Note: genText(t, "note")}
	case 3:
		e.Done = &record.Done{Time: e.Time, Task: "grease " + genText(t, "task"), By: genText(t, "by"), Note: genText(t, "note"), Walk: genWalk(t)}
	case 4:
		e.Amendment = &logbook.Amendment{Target: target, Why: genText(t, "why"), By: genText(t, "by"),
			Changes: map[string]string{rapid.SampledFrom([]string{"note", "volts", "time", "a=b"}).Draw(t, "column"): genText(t, "new")}}
	case 5:
		e.Revision = &record.Revision{From: e.Time, Text: plant + "# " + rapid.StringMatching(`[a-z]{0,9}`).Draw(t, "comment") + "\n", By: genText(t, "by")}
	}
	return e
}

// genLog draws the entries of one to three writers. Some ids are shared, as when two imported the same file.
func genLog(t *rapid.T, plant string) [][]logbook.Entry {
	n := 0
	newID := func(at time.Time) string {
		id := ulid.ULID{}
		if err := id.SetTime(uint64(at.UnixMilli())); err != nil {
			t.Fatal(err)
		}
		n++
		copy(id[6:], fmt.Sprintf("%010d", n))
		return id.String()
	}
	first := logbook.Entry{Time: time.Unix(1.5e9, 0).UTC(), WrittenAt: time.Unix(1.5e9, 0).UTC()}
	first.Revision = &record.Revision{From: first.Time, Text: plant}
	first.ID = newID(first.Time)
	logs := [][]logbook.Entry{{first}}
	target := first.ID
	var shared []logbook.Entry
	for w := range rapid.IntRange(1, 3).Draw(t, "writers") {
		if w > 0 {
			logs = append(logs, nil)
		}
		for range rapid.IntRange(0, 5).Draw(t, "entries") {
			e := genEntry(t, target, plant)
			e.ID = newID(e.Time)
			if len(shared) > 0 && w > 0 && rapid.Bool().Draw(t, "share") {
				e = shared[0]
				shared = shared[1:]
				e.WrittenAt = genTime(t, "written again")
			} else if e.Round != nil {
				shared = append(shared, e)
				target = e.ID
			}
			logs[w] = append(logs[w], e)
		}
		if err := logbook.Chain([16]byte{byte(w + 1)}, logs[w]); err != nil {
			t.Fatal(err)
		}
	}
	return logs
}
