package logbook

import (
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Generators of what people and imports can hand in: odd text, odd numbers, any zone, times to the second.

func genText(t *rapid.T, label string) string {
	return rapid.OneOf(rapid.StringN(0, 12, 40), rapid.SampledFrom([]string{"", "-", "=1+1", "a\x1b[31m", "\xff\xfe", "Ünï\u202e", "line\nline"})).Draw(t, label)
}

func genTime(t *rapid.T, label string) time.Time {
	s := rapid.Int64Range(0, time.Date(2150, 1, 1, 0, 0, 0, 0, time.UTC).Unix()).Draw(t, label)
	return time.Unix(s, 0).In(time.FixedZone("", 60*rapid.IntRange(-14*60, 14*60).Draw(t, label+" offset min")))
}

func genRound(t *rapid.T) record.Round {
	r := record.Round{Time: genTime(t, "time"), By: genText(t, "by"), Note: genText(t, "note"), Confirmed: rapid.Bool().Draw(t, "confirmed")}
	if rapid.Bool().Draw(t, "running read") {
		ids := rapid.SliceOfN(rapid.SampledFrom([]string{"A", "B", "C1"}), 0, 3).Draw(t, "running")
		r.Running = &ids
	}
	key := rapid.SampledFrom(quantity.Keys([]string{"A", "B"}))
	r.Values = rapid.MapOfN(key, rapid.Float64Range(-1e6, 1e6), 0, 6).Draw(t, "values")
	r.Words = rapid.MapOfN(key, rapid.SampledFrom([]string{"clear", "yes", "open"}), 0, 3).Draw(t, "words")
	r.Typed = rapid.MapOfN(key, rapid.Just("19 psi"), 0, 2).Draw(t, "typed")
	if rapid.Bool().Draw(t, "extra") {
		r.Extra = map[string]string{genText(t, "column"): genText(t, "cell")}
	}
	return r
}

func genEvent(t *rapid.T) record.Event {
	return record.Event{Time: genTime(t, "time"), Kind: rapid.SampledFrom(record.EventKinds()).Draw(t, "kind"),
		Units: rapid.SliceOfN(rapid.SampledFrom([]string{"A", "B"}), 0, 2).Draw(t, "units"), Element: genText(t, "element"),
		Cause: genText(t, "cause"), By: genText(t, "by"), Note: genText(t, "note")}
}

// genWalk draws a checklist that was walked, or none.
func genWalk(t *rapid.T) *record.Walk {
	if rapid.Bool().Draw(t, "no checklist") {
		return nil
	}
	w := &record.Walk{For: rapid.SampledFrom([]string{"", "stop", "after-trip"}).Draw(t, "for"), Begun: genTime(t, "begun"),
		Units: rapid.SliceOfN(rapid.SampledFrom([]string{"A", "B"}), 0, 2).Draw(t, "walk units")}
	for range rapid.IntRange(0, 4).Draw(t, "steps") {
		k := record.Tick{Step: "step " + genText(t, "step"), Note: genText(t, "tick note"),
			State: rapid.SampledFrom([]record.TickState{record.TickOpen, record.TickDone, record.TickSkipped, record.TickNotOK}).Draw(t, "tick")}
		if k.State != record.TickOpen {
			k.At = genTime(t, "ticked")
		}
		w.Ticks = append(w.Ticks, k)
	}
	return w
}

// genBody draws an entry of any kind with any place in a chain.
func genBody(t *rapid.T) *body {
	var b *body
	var err error
	switch Kind(rapid.IntRange(1, 5).Draw(t, "kind of entry")) {
	case KindRound:
		b, err = roundBody(genRound(t))
	case KindEvent:
		b, err = eventBody(genEvent(t))
	case KindDone:
		b, err = doneBody(record.Done{Time: genTime(t, "time"), Task: "grease " + genText(t, "task"), By: genText(t, "by"), Note: genText(t, "note"), Walk: genWalk(t)})
	case KindPlant:
		b, err = plantBody(record.Revision{From: genTime(t, "from"), Text: "x" + genText(t, "toml"), By: genText(t, "by")})
	case KindAmendment:
		b, err = amendmentBody(Amendment{Target: genID(t, "target").String(), Why: genText(t, "why"), By: genText(t, "by"),
			Changes: map[string]string{"note": genText(t, "new")}})
		if err == nil {
			b.Time, err = stampOf(genTime(t, "time"))
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	b.Written, err = stampOf(genTime(t, "written"))
	if err != nil {
		t.Fatal(err)
	}
	b.Writer, b.Seq = genBytes(t, "writer", writerLen), rapid.Uint64Min(1).Draw(t, "seq")
	b.Prev = genBytes(t, "prev", hashLen)
	return b
}

func genBytes(t *rapid.T, label string, n int) []byte {
	return rapid.SliceOfN(rapid.Byte(), n, n).Draw(t, label)
}

func genID(t *rapid.T, label string) id { return id(genBytes(t, label, idLen)) }
