package demo

import (
	"fmt"
	"math"

	"example.org/headpond/model/record"
)

// The story of the dead element. It opens on a morning of the wet spell, with both sets running and the whole house away
// but for the hot water. Three elements cannot take what is left, and the sets run fast. The caretaker asks for the hot
// water to be left on, which just holds the frequency below the trip, until in the second night somebody turns it off.
const (
	deadElement = "E3"
	failFromDay = 20
	settledFor  = 8 * hour // both sets have run for so long
	fastRatio   = 1.045    // how fast the sets run while the hot water is on
	usualVolts  = 240.6
)

// beforeFailure tells whether this is the evening before the element opens.
func (t *teller) beforeFailure(v *visit) bool {
	return !t.failed && !v.morning && v.day >= failFromDay && v.day < lastBusyDay-8 && t.bothSince >= 0 && v.at-t.bothSince > settledFor
}

// failElement sets the element's story going.
func (t *teller) failElement(v *visit) {
	t.failed, t.quiet = true, true
	d := v.day + 1
	trip := minutes(t.cal.at(d+2, 2) + (0.5+0.7*t.walk.Float64())*hour)
	t.at(t.cal.at(d, 6.4), func() error { return t.elementOpens(d, trip) })
	t.at(trip, t.overspeedTrip)
}

// elementOpens breaks the element, and works out the load that the hot water must make up until the trip.
func (t *teller) elementOpens(d int, trip float64) error {
	w := t.works
	w.open = deadElement
	r, err := w.solve(w.levelM, w.clear(), fastRatio)
	if err != nil {
		return err
	}
	kw := r.CommonKW - w.capacity(usualVolts)
	w.demand.holds = append(w.demand.holds,
		hold{from: w.at, to: trip, atLeast: kw, atMost: math.Inf(1)},
		hold{from: w.at, to: t.cal.at(d, 10), atLeast: kw, atMost: kw},
		hold{from: t.cal.at(d+1, 6.4), to: t.cal.at(d+1, 9.5), atLeast: kw, atMost: kw})
	first := t.visitAfter(w.at)
	t.at(first.at+5*60, func() error {
		t.event(record.Event{Kind: record.Alarm, Units: t.ran(), By: first.by, Cause: "frequency high, controller's full-dump lamp on",
			Note: "asked the house to leave the hot water on day and night until we know why"}, 6)
		return nil
	})
	return nil
}

// overspeedTrip is the night on which the hot water goes off.
func (t *teller) overspeedTrip() error {
	m, err := t.works.now()
	if err != nil {
		return err
	}
	if trip := t.plant.Supply.TripHertz; trip != nil && m.hertz < trip[1] {
		return fmt.Errorf("the demo's trip: %.1f Hz would not trip the plant", m.hertz)
	}
	found := t.visitAfter(t.works.at)
	t.event(record.Event{Kind: record.Trip, Units: t.ran(), By: found.by, Cause: "over-frequency",
		Note: "found in the morning; the kitchen clock stopped at " + t.cal.time(t.works.at).Format("15:04")}, (found.at-t.works.at)/60+12)
	t.works.switchTo()
	t.bothSince = -1
	start := found.at + (28+10*t.walk.Float64())*60
	t.at(start, t.start(found.by, large, "after the trip, one set alone"))
	t.at(start+2.4*hour, t.elementFound)
	return nil
}

// elementFound is the search that finds the dead element.
func (t *teller) elementFound() error {
	t.quiet, t.outKnown = false, true
	t.event(record.Event{Kind: record.ElementOut, Element: deadElement, By: imke,
		Note: "clamp meter, by our electrician on the phone: E1, E2, E4 about 8.3 A each, E3 nothing. One set only until it is mended."}, 15)
	mend := t.cal.at(t.cal.day(t.works.at)+7, 10.1)
	t.at(mend, func() error {
		for _, id := range t.ran() {
			if err := t.stop(ro, id, "to fit a new heater")(); err != nil {
				return err
			}
		}
		return nil
	})
	t.at(mend+38*60, func() error {
		t.works.open = ""
		t.event(record.Event{Kind: record.Repair, By: imke, Cause: "E3 burnt through at the terminal",
			Note: "new 2 kW heater fitted by the electrician, isolated and proved dead first"}, 10)
		t.event(record.Event{Kind: record.ElementIn, Element: deadElement, By: imke}, 11)
		return nil
	})
	t.at(mend+52*60, func() error { t.outKnown = false; return t.start(ro, large, "E3 mended")() })
	return nil
}

// sawTrip is the overload of the last week: the saw's start on top of a full kitchen.
func (t *teller) sawTrip() error {
	if len(t.works.running) == 0 {
		return nil
	}
	ran := t.ran()
	t.event(record.Event{Kind: record.Trip, Units: ran, By: ro, Cause: "under-frequency",
		Note: "the saw was started with the range and the hot water on"}, 34)
	t.works.switchTo()
	for i, id := range ran {
		t.at(t.works.at+(26+3*float64(i))*60, t.start(ro, id, "after the trip; the saw waits"))
	}
	return nil
}

// talk is what people agree on between rounds.
func (t *teller) talk() {
	for _, n := range []struct {
		day      int
		clock    float64
		by, text string
	}{
		{9, 11.2, ro, "the water office's warden read the gauge board beside me: the same to the half centimetre"},
		{50, 19.5, imke, "no rain in sight. Agreed: small set when the old stump shows, and the kitchen on wood"},
		{88, 12.4, imke, "the pond is coming up; hot water is back on the list"},
	} {
		t.at(t.cal.at(n.day, n.clock), func() error {
			t.event(record.Event{Kind: record.NoteEvent, By: n.by, Note: n.text}, 3)
			return nil
		})
	}
}
