package faults

import (
	"fmt"
	"math"
	"strings"

	"example.org/headpond/model/plant"
)

// What counts as a rival: its odds against the fault are no worse than this, and it is no trifle.
const (
	rivalOdds   = 20.0
	rivalLeast  = 0.03
	worthRivals = 0.01
	mostRivals  = 4
)

// tellApart names, for every cause that is no trifle, its rivals and the observation that would tell.
func (w *work) tellApart(f *Facts) {
	for i := range f.Ranked {
		c := &f.Ranked[i]
		if c.Probability < worthRivals {
			continue
		}
		for _, o := range f.Ranked {
			if o.Fault == c.Fault || o.Probability < rivalLeast || len(c.TellApart) == mostRivals {
				continue
			}
			if o.Probability*rivalOdds < c.Probability || c.Probability*rivalOdds < o.Probability {
				continue
			}
			c.TellApart = append(c.TellApart, Apart{From: o.Fault, By: w.observation(c.Fault, o.Fault)})
		}
	}
}

// aboveValve reports whether a shut-valve test can be read: the gauge taps above the main valve.
func (w *work) aboveValve() bool {
	for j, p := range w.plant.Penstocks {
		if w.stockFlow[j] > 0 && p.Gauge == plant.AboveValve {
			return true
		}
	}
	return false
}

// shows is the observation that shows a fault or rules it out, whatever its rival; lower rank is easier and safer.
type shows struct {
	rank int
	text string
}

func (w *work) shows(f Fault) shows {
	static := ""
	if w.aboveValve() {
		static = "; or shut the main valve slowly and read the static pressure, which neither losses nor the machine change"
	}
	switch f {
	case ScreenBlocked:
		return shows{1, "clear the screen and read the pressure again: it comes back only if the screen took it"}
	case ValvePart:
		return shows{2, "look whether the main valve stands fully open"}
	case PressureGauge:
		return shows{3, "read a second gauge on the same tapping" + static}
	case LevelGauge:
		return shows{4, "measure the pond's level from a fixed mark with a tape" + static}
	case Regulator:
		return shows{5, "read the voltage with a second meter, by someone qualified"}
	case FrequencySet:
		return shows{6, "read the frequency at several loads: a wrong setting stays the same"}
	case Overload:
		return shows{7, "switch a large consumer off: an overload is then gone"}
	case BallastFull:
		return shows{8, "switch a large consumer on: a full ballast is then relieved and the frequency comes back"}
	case ElementOpen:
		return shows{9, "count the warm ballast elements with a clamp meter, by someone qualified"}
	case Controller:
		return shows{10, "switch a known consumer on and off: the dump share must answer by as much"}
	case Bearing:
		return shows{11, "feel and listen at the bearing, and read the air's temperature beside it"}
	case Air:
		return shows{12, "open the air valve at the pipe's high point: air hisses out and the pressure comes back"}
	case Leak:
		return shows{13, "walk the penstock: a leak wets the ground below it"}
	case Belt:
		return shows{14, "with the set stopped and locked out, look at the belt for slack, glaze and dust"}
	case RunnerWorn:
		return shows{15, "plan a stop and look at the runner through its inspection opening"}
	case PondLow:
		return shows{16, "read the pond's level again"}
	case None:
	}
	return shows{99, "read all gauges again on the next round: a fault stays, a slip of the eye does not"}
}

// observation is the one that tells two faults apart: the easier of the two that show either.
func (w *work) observation(a, b Fault) string {
	if w.twoPressures(a, b) {
		return "shut the main valve slowly and read the static pressure: a gauge that is off stays off, a loss in the pipe is gone"
	}
	x, y := w.shows(a), w.shows(b)
	if y.rank < x.rank {
		x = y
	}
	return x.text
}

// twoPressures reports whether the static pressure would tell the two apart: one is a gauge, the other a loss.
func (w *work) twoPressures(a, b Fault) bool {
	gauge := func(f Fault) bool { return f == PressureGauge || f == LevelGauge }
	loss := func(f Fault) bool { return f == ValvePart || f == Air || f == Leak }
	return w.aboveValve() && (gauge(a) && loss(b) || gauge(b) && loss(a))
}

// When a cause stands out (our own choice).
const standsOut = 0.6

// verdict says what it all comes to.
func (w *work) verdict(f *Facts) {
	top := f.Ranked[0]
	switch {
	case top.Fault == None && top.Probability >= standsOut:
		f.Verdict = Sound
		f.Says = saySound(top)
	case top.Probability >= standsOut:
		f.Verdict = Likely
		f.Says = fmt.Sprintf("Likeliest by far: %s.", top.Fault.Label())
	default:
		f.Verdict = CannotTell
		f.Says = "The readings cannot tell: " + names(f.Ranked) + " explain them about as well."
	}
	if f.Trip = w.lastTrip(); f.Trip != nil {
		f.Says = f.Trip.Says + " By the rounds: " + lowerFirst(f.Says)
	}
}

// names joins the causes that are in the running.
func names(list []Cause) string {
	var out []string
	for _, c := range list {
		if c.Probability*4 >= list[0].Probability && len(out) < 4 {
			out = append(out, c.Fault.Label())
		}
	}
	if len(out) == 1 {
		return "several causes, " + out[0] + " first among them,"
	}
	return strings.Join(out[:len(out)-1], ", ") + " and " + out[len(out)-1]
}

// cautions says what was left out and what the readings lack.
func (w *work) cautions() []string {
	out := append([]string{}, w.win.left...)
	out = append(out, w.h.Cautions...)
	n := len(w.win.looks)
	if n < 4 {
		out = append(out, fmt.Sprintf("only %d %s could be used: a few more rounds tell much more", n, plural(n, "round", "rounds")))
	}
	wet, known := 0, 0
	kinds := map[kind]bool{}
	for i := range w.wet.ready {
		if w.win.looks[i].known {
			known++
		}
		wet += len(w.wet.ready[i].chans)
		for _, c := range w.wet.ready[i].chans {
			kinds[c.kind] = true
		}
	}
	switch {
	case known == 0:
		out = append(out, "no round tells both the pond level and which units run, so that the pressure and the power say nothing")
	case wet == 0:
		out = append(out, "neither a pressure nor a power was read, so that nothing is said of the water's way")
	default:
		if !kinds[kPressure] {
			out = append(out, "no intake pressure was read: screen, valve and pipe are judged by the power alone")
		}
		if !kinds[kPower] && !kinds[kDump] && !kinds[kShare] && !kinds[kDuty] {
			out = append(out, "no power can be worked out from the readings: the machine and the ballast are hardly judged")
		}
	}
	if text := w.deadUnseen(); text != "" {
		out = append(out, text)
	}
	if last := w.win.looks[n-1].round.Time; w.h.At.Sub(last).Hours() > 36 {
		out = append(out, fmt.Sprintf("the last round that was used is %.0f days old", math.Round(w.h.At.Sub(last).Hours()/24)))
	}
	return out
}

// deadUnseen says so where a dead element would not show: a share of the generation does not depend on how many elements take
// it, so that it is missed only when the ballast is nearly full. "" where it would show, or where nothing tells.
func (w *work) deadUnseen() string {
	least := math.Inf(1)
	working := w.h.ElementsWorking(w.h.At)
	for _, e := range w.plant.Ballast.Elements {
		if working[e.Name] {
			least = math.Min(least, e.RatedKW)
		}
	}
	if math.IsInf(least, 1) || w.plant.Ballast.ShareOf == plant.ShareOfBallast {
		return ""
	}
	most, capacity, told := 0.0, 0.0, false
	for i := range w.win.looks {
		l := &w.win.looks[i]
		d, sd, ok := w.dumpSeen(i, 0)
		if !ok {
			continue
		}
		left := l.elements(&change{deadKW: least})
		if told = true; d > left-2*math.Hypot(sd, heaterSpread*left) {
			return ""
		}
		most, capacity = math.Max(most, d), math.Max(capacity, math.Min(w.plantLimit(), l.busKW))
	}
	if !told {
		return ""
	}
	return fmt.Sprintf("the ballast took no more than %.1f of its %.1f kW on these rounds, so that a dead element of %.1f kW would not show: have the warm elements counted now and then, by someone qualified", most, capacity, least)
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
