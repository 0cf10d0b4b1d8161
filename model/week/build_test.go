package week

import (
	"os"
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/localtime"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// notes is a log that a test writes line by line.
type notes struct {
	t testing.TB
	h *record.History
}

// tern is the demo's plant, with lines of its file replaced.
func tern(t testing.TB, replace ...string) *plant.Plant {
	t.Helper()
	data, err := os.ReadFile("../demo/ternhollow.toml")
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i+1 < len(replace); i += 2 {
		if !strings.Contains(string(data), replace[i]) {
			t.Fatalf("the plant file has no %q", replace[i])
		}
	}
	p, err := plant.Parse("ternhollow.toml", []byte(strings.NewReplacer(replace...).Replace(string(data))))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// write begins a log that ends at a local time.
func write(t testing.TB, p *plant.Plant, end string) *notes {
	t.Helper()
	n := &notes{t: t, h: &record.History{Plant: p, Complete: true}}
	n.h.At = n.when(end)
	n.h.Revisions = []record.Revision{{ID: "P1", From: n.h.At.AddDate(-1, 0, 0), Plant: p}}
	return n
}

func (n *notes) when(text string) time.Time {
	n.t.Helper()
	t, _, err := localtime.Parse(text, time.Time{}, n.h.Plant.Location)
	if err != nil {
		n.t.Fatal(err)
	}
	return t.In(n.h.Plant.Location)
}

// round writes a round: "volts=240 load_kw=2.5 running=A".
func (n *notes) round(when, readings string) *notes {
	n.t.Helper()
	n.h.Rounds = append(n.h.Rounds, n.one(n.when(when), readings))
	return n
}

func (n *notes) one(when time.Time, readings string) record.Round {
	n.t.Helper()
	r := record.Round{Time: when, By: "Ro"}
	r.WrittenAt = r.Time
	r.ID = "R" + r.Time.UTC().Format("0102T1504")
	for _, f := range strings.Fields(readings) {
		k, v, _ := strings.Cut(f, "=")
		if err := r.Set(k, v, n.h.Plant.UnitIDs(), quantity.Metric); err != nil {
			n.t.Fatal(err)
		}
	}
	return r
}

// event writes an event: "trip unit=A cause=frost".
func (n *notes) event(when, what string) *notes {
	n.t.Helper()
	f := strings.Fields(what)
	e := record.Event{Time: n.when(when), Kind: record.EventKind(f[0]), By: "Imke"}
	e.ID = "E" + e.Time.UTC().Format("0102T1504")
	for _, w := range f[1:] {
		k, v, _ := strings.Cut(w, "=")
		if err := e.Set(k, v, n.h.Plant); err != nil {
			n.t.Fatal(err)
		}
	}
	n.h.Events = append(n.h.Events, e)
	return n
}

func (n *notes) ledger() *Ledger {
	n.t.Helper()
	l, err := NewLedger(n.h, nil)
	if err != nil {
		n.t.Fatal(err)
	}
	return l
}

// sum is a track between two local times of one day.
func (n *notes) sum(track, from, to string) Sum {
	n.t.Helper()
	return n.ledger().Day(n.when(from), n.when(to)).Sums[track]
}

func (n *notes) report(span Span) *Review {
	n.t.Helper()
	in, err := From(n.h, span, time.Time{})
	if err != nil {
		n.t.Fatal(err)
	}
	r, err := Report(n.t.Context(), in)
	if err != nil {
		n.t.Fatal(err)
	}
	return r
}

// near fails where a number is not what was expected, within 1e-9 of it.
func near(t testing.TB, what string, got, want float64) {
	t.Helper()
	closeTo(t, what, got, want, 1e-9*max(1, want, -want))
}

// closeTo fails where a number is farther from what was expected than allowed.
func closeTo(t testing.TB, what string, got, want, allowed float64) {
	t.Helper()
	if d := got - want; !(d <= allowed && d >= -allowed) {
		t.Errorf("%s = %.10g, want %.10g within %.3g", what, got, want, allowed)
	}
}
