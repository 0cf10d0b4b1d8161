package faults

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/localtime"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// A reading is set aside as a slip of the pen where it stands apart from those before and after it by so many errors, and its
// neighbours agree. The last readings have none after them and are never set aside.
const (
	slipSigmas   = 7.0
	slipBeside   = 3 // neighbours that are asked on each side
	slipsLeastBy = 2 // and so many at least
)

// oddSpeed is how far from rated speed a round is taken as it is: on a full ballast it stands apart for good reasons. The
// frequency itself has its own way for slips, see regimes.
const oddSpeed = 0.02

// slips tells which of a series of residuals (in their unit, with their errors) are slips.
func slips(res, sd []float64) []int {
	var out []int
	for i := range res {
		lo, hi := max(0, i-slipBeside), min(len(res), i+slipBeside+1)
		if i-lo < slipsLeastBy || hi-i-1 < slipsLeastBy {
			continue
		}
		beside := append(slices.Clone(res[lo:i]), res[i+1:hi]...)
		slices.Sort(beside)
		scatter := math.Max(sd[i], (beside[len(beside)-1]-beside[0])/2)
		if mid := beside[len(beside)/2]; math.Abs(res[i]-mid) > slipSigmas*scatter {
			out = append(out, i)
		}
	}
	return out
}

// setAside takes slips out of all systems and says so.
func (w *work) setAside() {
	type place struct{ look, chan_ int }
	series := map[string][]place{}
	var names []string
	values := map[place]float64{}
	for i := range w.wet.ready {
		r := &w.wet.ready[i]
		f := make([]float64, len(r.chans))
		if !w.predict(&w.win.looks[i], r.chans, &change{}, f) {
			r.chans = nil
			continue
		}
		if math.Abs(w.win.looks[i].speed-1) > oddSpeed {
			continue
		}
		for c, ch := range r.chans {
			name := ch.column()
			if series[name] == nil {
				names = append(names, name)
			}
			series[name] = append(series[name], place{i, c})
			values[place{i, c}] = ch.y - f[c]
		}
	}
	drop := map[place]bool{}
	for _, name := range names {
		var res, sd []float64
		for _, p := range series[name] {
			res, sd = append(res, values[p]), append(sd, w.wet.ready[p.look].chans[p.chan_].sd)
		}
		for _, k := range slips(res, sd) {
			p := series[name][k]
			drop[p] = true
			w.aside(name, p.look)
		}
	}
	for i := range w.wet.ready {
		r := &w.wet.ready[i]
		kept := r.chans[:0]
		for c, ch := range r.chans {
			if !drop[place{i, c}] {
				kept = append(kept, ch)
			}
		}
		r.chans = kept
	}
}

// setAsideLine is the same for a system of one channel.
func (w *work) setAsideLine(ln *line) {
	var at []int
	var res, sd []float64
	for i, s := range ln.slots {
		if s.ok {
			at, res, sd = append(at, i), append(res, s.y-s.f), append(sd, s.sd)
		}
	}
	for _, k := range slips(res, sd) {
		ln.slots[at[k]].ok = false
		w.aside(string(ln.key), at[k])
	}
}

func (w *work) aside(name string, i int) {
	t := w.win.looks[i].round.Time.In(w.location())
	w.win.left = append(w.win.left, fmt.Sprintf("%s of %s stands apart from those around it and is left out as a slip", assess.LabelOf(quantity.Key(name)), t.Format("2 Jan 15:04")))
}

// withoutSlips is a history without the readings of the rounds looked at that cannot be right by what is plausible here and by what
// the pond can have done since the levels before: the last round's too, after which there is none to stand apart from. It says what
// was left out.
func withoutSlips(h *record.History) (*record.History, []string) {
	a := assess.Of(h)
	out, from, loc := *h, h.At.Add(-lookBack), h.Plant.Location
	if loc == nil {
		loc = time.UTC
	}
	var left []string
	copied := false
	for i := range h.Rounds {
		r := &h.Rounds[i]
		if r.Time.Before(from.Add(-waterMemory)) {
			continue
		}
		doubts := a.Doubts(*r)
		if len(doubts) == 0 {
			continue
		}
		if !copied {
			out.Rounds, copied = slices.Clone(h.Rounds), true
		}
		values := maps.Clone(r.Values)
		for _, q := range doubts {
			delete(values, q.Key)
			if r.Time.Before(from) {
				continue // it would only have stood in for one that is missing
			}
			left = append(left, fmt.Sprintf("%s (%s), and is left out as a slip", q.Text, localtime.Show(r.Time, loc, "2 Jan 15:04")))
		}
		out.Rounds[i].Values = values
	}
	return &out, left
}
