package logbook

import (
	"fmt"
	"maps"
	"math"
	"sort"
	"strings"
	"time"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Entry is one entry as it was written, before corrections, with its place in its writer's chain. Exactly one of the
// pointers is set, none for a kind of a newer version.
type Entry struct {
	ID        string
	Kind      Kind
	Time      time.Time
	WrittenAt time.Time
	Writer    [16]byte
	Seq       uint64   // 1 for the writer's first entry
	Prev      [32]byte // hash of the writer's entry before it; zero for the first
	Hash      [32]byte // of this entry

	Round     *record.Round
	Event     *record.Event
	Done      *record.Done
	Amendment *Amendment
	Revision  *record.Revision // Plant is not parsed

	Corrections []Amendment // filled by Book.Entry alone
	Twin        bool        // another version of an entry of the same id, kept because a chain goes through it

	Unknown []string // what a newer version wrote and this one cannot show
	Raw     []byte   // the value's bytes as they are kept

	read *body // what Raw says, where Seal made it
}

// Amendment is a correction as it was written.
type Amendment struct {
	ID        string
	Target    string // id of the corrected entry
	Changes   map[string]string
	Why       string
	By        string
	WrittenAt time.Time
}

// Withdrawn is the value that takes a reading back.
const Withdrawn = "-"

// clockTime turns a stamp into a time that shows the offset it was written with.
func (s stamp) clockTime(loc *time.Location) time.Time {
	t := time.UnixMilli(s.MS)
	if loc != nil {
		if _, off := t.In(loc).Zone(); off == int(s.OffsetS) {
			return t.In(loc)
		}
	}
	if s.OffsetS == 0 {
		return t.UTC()
	}
	return t.In(time.FixedZone("", int(s.OffsetS)))
}

// stampOf rounds a time down to the second and its offset to the minute. No round is timed finer, and so every text form of
// a time, which shows no more, gives the very same entry back.
func stampOf(t time.Time) (stamp, error) {
	if _, err := millis(t); err != nil {
		return stamp{}, err
	}
	_, off := t.Zone()
	return stamp{MS: t.Unix() * 1000, OffsetS: int32(off / 60 * 60)}, nil
}

// roundBody turns a round into what is kept of it.
func roundBody(r record.Round) (*body, error) {
	at, err := stampOf(r.Time)
	if err != nil {
		return nil, err
	}
	b := &body{Kind: KindRound, Time: at, By: clean(r.By), Note: clean(r.Note), Confirmed: r.Confirmed,
		Words: cleanMap(r.Words), Typed: cleanMap(r.Typed), Extra: cleanMap(r.Extra)}
	if r.Running != nil {
		ids := cleanList(*r.Running)
		b.Running = &ids
	}
	if len(r.Values) > 0 {
		b.Values = make(map[quantity.Key]float64, len(r.Values))
	}
	for k, v := range r.Values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, invalid(fmt.Sprintf("%s = %g", k, v), "a number that a gauge can show")
		}
		if v == 0 {
			v = 0 // minus zero becomes zero: both are written "0"
		}
		b.Values[quantity.Key(clean(string(k)))] = v
	}
	return b, nil
}

// eventBody turns an event into what is kept of it.
func eventBody(e record.Event) (*body, error) {
	at, err := stampOf(e.Time)
	if err != nil {
		return nil, err
	}
	if e.Kind == "" {
		return nil, invalid("an event without a kind", "start, stop, trip, …")
	}
	return &body{Kind: KindEvent, Time: at, By: clean(e.By), Note: clean(e.Note), EventKind: clean(string(e.Kind)),
		Units: cleanList(e.Units), Element: clean(e.Element), Cause: clean(e.Cause)}, nil
}

// doneBody turns an upkeep task done into what is kept of it.
func doneBody(d record.Done) (*body, error) {
	at, err := stampOf(d.Time)
	if err != nil {
		return nil, err
	}
	if strings.TrimSpace(d.Task) == "" {
		return nil, invalid("upkeep done without a task", "the task's name")
	}
	walk, err := walkOf(d.Walk)
	if err != nil {
		return nil, err
	}
	return &body{Kind: KindDone, Time: at, By: clean(d.By), Note: clean(d.Note), Task: clean(d.Task), Walk: walk}, nil
}

// entry gives the exported form of a decoded value.
func (b *body) entry(key id, raw []byte, loc *time.Location) Entry {
	e := Entry{ID: key.String(), Kind: b.Kind, Time: b.Time.clockTime(loc), WrittenAt: b.Written.clockTime(loc),
		Writer: [16]byte(b.Writer), Seq: b.Seq, Prev: [32]byte(b.Prev), Hash: hashOf(key, raw),
		Unknown: b.unknown, Raw: append([]byte(nil), raw...)}
	switch b.Kind {
	case KindRound:
		e.Round = ptr(b.round(key, loc))
	case KindEvent:
		e.Event = ptr(b.event(key, loc))
	case KindDone:
		e.Done = ptr(b.done(key, loc))
	case KindAmendment:
		e.Amendment = ptr(b.amendment(key, loc))
	case KindPlant:
		e.Revision = &record.Revision{ID: e.ID, From: e.Time, WrittenAt: e.WrittenAt, By: b.By, Text: string(b.PlantText)}
	}
	return e
}

func (b *body) round(key id, loc *time.Location) record.Round {
	return record.Round{ID: key.String(), Time: b.Time.clockTime(loc), WrittenAt: b.Written.clockTime(loc), By: b.By,
		Running: b.Running, Values: b.Values, Words: b.Words, Typed: b.Typed, Extra: b.Extra, Confirmed: b.Confirmed, Note: b.Note}
}

func (b *body) event(key id, loc *time.Location) record.Event {
	return record.Event{ID: key.String(), Time: b.Time.clockTime(loc), WrittenAt: b.Written.clockTime(loc),
		Kind: record.EventKind(b.EventKind), Units: b.Units, Element: b.Element, Cause: b.Cause, By: b.By, Note: b.Note}
}

func (b *body) done(key id, loc *time.Location) record.Done {
	return record.Done{ID: key.String(), Time: b.Time.clockTime(loc), WrittenAt: b.Written.clockTime(loc), Task: b.Task, By: b.By, Note: b.Note,
		Walk: b.Walk.walk(loc)}
}

func (b *body) amendment(key id, loc *time.Location) Amendment {
	return Amendment{ID: key.String(), Target: id(b.Target).String(), Changes: b.Changes, Why: b.Why, By: b.By,
		WrittenAt: b.Written.clockTime(loc)}
}

// body is the inverse of entry: what an export's columns must give back to the byte.
func (e Entry) body() (*body, error) {
	var b *body
	var err error
	switch {
	case e.Round != nil:
		b, err = roundBody(*e.Round)
	case e.Event != nil:
		b, err = eventBody(*e.Event)
	case e.Done != nil:
		b, err = doneBody(*e.Done)
	case e.Amendment != nil:
		b, err = amendmentBody(*e.Amendment)
	case e.Revision != nil:
		b, err = plantBody(*e.Revision)
	default:
		err = invalid("an entry of "+e.Kind.String(), "a round, event, amendment, plant or upkeep done")
	}
	if err != nil {
		return nil, err
	}
	if b.Time, err = stampOf(e.Time); err != nil {
		return nil, err
	}
	b.Written, err = stampOf(e.WrittenAt)
	b.Writer, b.Seq, b.Prev = e.Writer[:], e.Seq, e.Prev[:]
	return b, err
}

// clean replaces bytes that are not UTF-8, which the format does not hold, by the sign U+FFFD.
func clean(s string) string { return strings.ToValidUTF8(s, "\uFFFD") }

func cleanList(list []string) []string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = clean(s)
	}
	return out
}

func cleanMap[K ~string](m map[K]string) map[K]string {
	if len(m) == 0 {
		return nil
	}
	out := make(map[K]string, len(m))
	for k, v := range m {
		out[K(clean(string(k)))] = clean(v)
	}
	return out
}

func ptr[T any](v T) *T { return &v }

func sortStrings(list []string) { sort.Strings(list) }

// copyMaps gives a body whose readings can be altered without altering the original's.
func (b *body) copyMaps() *body {
	c := *b
	c.Values, c.Words, c.Typed, c.Extra = maps.Clone(b.Values), maps.Clone(b.Words), maps.Clone(b.Typed), maps.Clone(b.Extra)
	return &c
}

// knownReading reports whether a key is in the catalogue or in the round.
func knownReading(b *body, key string) bool {
	k := quantity.Key(key)
	_, known := quantity.Lookup(k.Name())
	_, number := b.Values[k]
	_, word := b.Words[k]
	return known || number || word
}
