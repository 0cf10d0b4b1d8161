package week

import (
	"context"
	"math"
	"time"

	"example.org/headpond/model/localtime"
	"example.org/headpond/model/record"
)

// Row is a whole local day as a roll-up keeps it: its sums and what later days need.
type Row struct {
	Day   Day
	Carry Carry // at the day's end
	// Needs is the latest that this day or any before it needs, ms.
	Needs int64
}

// rowsAtOnce is how many days one ledger works out, so that a long log never lies in memory twice, and what is looked through
// for each day stays short.
const rowsAtOnce = 64

type progressKey struct{}

// WithProgress is a context in which the working out of many days tells how many are done, now and then.
func WithProgress(ctx context.Context, tell func(done, of int)) context.Context {
	return context.WithValue(ctx, progressKey{}, tell)
}

// teller is who is told of so many days: nobody where one ledger works them out, which takes no time that a person would notice.
func teller(ctx context.Context, days int) func(done, of int) {
	if tell, ok := ctx.Value(progressKey{}).(func(done, of int)); ok && days > rowsAtOnce {
		return tell
	}
	return func(int, int) {}
}

// Rows works out every whole local day from the carry's At, or the log's first day, to a time, until the context ends. h holds the
// rounds and events from there on, up to h.At.
func Rows(ctx context.Context, h *record.History, carry *Carry, to time.Time) ([]Row, error) {
	if h == nil || h.Plant == nil {
		return nil, ErrNoPlant
	}
	loc := h.Plant.Location
	if carry == nil {
		begin := logBegin(h, loc)
		carry = &Carry{At: begin, Begin: begin}
	}
	var rows []Row
	needs := int64(0)
	all := int(math.Round(to.Sub(at(carry.At)).Hours() / 24))
	tell := teller(ctx, all)
	for begin := at(carry.At).In(loc); ; begin = at(carry.At).In(loc) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		tell(len(rows), all)
		days := wholeDays(begin, to, loc)
		if len(days) == 0 {
			return rows, nil
		}
		l, err := NewLedger(Part(h, begin, days[len(days)-1].To), carry)
		if err != nil {
			return nil, err
		}
		for i, c := range l.carries(l.Days(days)) {
			needs = max(needs, c.day.Needs)
			rows = append(rows, Row{Day: c.day, Carry: c.carry, Needs: needs})
			if i == len(days)-1 {
				carry = &rows[len(rows)-1].Carry
			}
		}
	}
}

// wholeDays are the first whole local days of a time that begins with one.
func wholeDays(from, to time.Time, loc *time.Location) []Stretch {
	var list []Stretch
	for len(list) < rowsAtOnce {
		next := localtime.NextDay(from, loc)
		if next.After(to) {
			break
		}
		list = append(list, Stretch{From: from, To: next, Whole: true})
		from = next
	}
	return list
}

// Part is what days from the beginning of one up to an end need of a history. None needs anything later than MeterLimit after its
// end.
func Part(h *record.History, from, end time.Time) *record.History {
	p := *h
	if last := end.Add(MeterLimit + GapLimit); last.Before(p.At) {
		p.At = last
	}
	p.Rounds = within(h.Rounds, func(r record.Round) time.Time { return r.Time }, from.UnixMilli(), p.At.UnixMilli()+1)
	p.Events = within(h.Events, func(e record.Event) time.Time { return e.Time }, from.UnixMilli(), p.At.UnixMilli()+1)
	return &p
}

type dayCarry struct {
	day   Day
	carry Carry
}

// carries is the carry at the end of each of a ledger's first days.
func (l *Ledger) carries(days []Day) []dayCarry {
	out := make([]dayCarry, len(days))
	sums := map[string]Sum{}
	for name, s := range l.carry.Sums {
		sums[name] = s
	}
	for i, d := range days {
		addSums(sums, d.Sums)
		out[i] = dayCarry{d, l.carryAt(d.To, sums)}
	}
	return out
}
