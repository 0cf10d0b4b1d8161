package week

import (
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/record"
)

// A day depends on nothing later than what it says it needs: without all that came after, it is the same to the bit. The
// roll-ups stand on this.
func TestADayNeedsNoMoreThanItSays(t *testing.T) {
	for seed := uint64(1); seed < 3; seed++ {
		h := story(t, seed)
		l, err := NewLedger(h, nil)
		if err != nil {
			t.Fatal(err)
		}
		all := CutDays(l.Begin(), h.At, h.Plant.Location)
		rapid.Check(t, func(rt *rapid.T) {
			s := all[rapid.IntRange(0, len(all)-2).Draw(rt, "day")]
			full := l.Day(s.From, s.To)
			if full.Needs >= h.At.UnixMilli() {
				return
			}
			cut := *h
			cut.At = at(full.Needs)
			cut.Rounds = within(h.Rounds, func(r record.Round) time.Time { return r.Time }, 0, full.Needs+1)
			cut.Events = within(h.Events, func(e record.Event) time.Time { return e.Time }, 0, full.Needs+1)
			short, err := NewLedger(&cut, nil)
			if err != nil {
				rt.Fatal(err)
			}
			part := short.Day(s.From, s.To)
			part.Needs = full.Needs // what it would need beyond the end is not known there
			if !reflect.DeepEqual(full, part) {
				rt.Fatalf("%v: with all that came after\n%+v\nand without\n%+v", s.From, full, part)
			}
		})
	}
}
