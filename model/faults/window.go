package faults

import (
	"fmt"
	"math"
	"sort"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/electrical"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// Which rounds are used (our own choices). What is older than the look-back says little of a plant that changes with the
// season; of older rounds some are enough to tell what is usual.
const (
	lookBack    = 45 * 24 * time.Hour
	recentMost  = 28 // rounds that are all used
	olderMost   = 24 // rounds before those, evenly thinned
	levelMemory = 36 * time.Hour
	waterMemory = 14 * 24 * time.Hour // contract
)

// look is one round made ready: everything that does not change from fault to fault.
type look struct {
	round    *record.Round
	days     float64 // since the first round used
	running  []string
	known    bool // which units run, and the pond level: the model can be asked
	levelM   float64
	levelSD  float64
	volts    *float64
	hertz    *float64
	loadKW   *float64
	loadSD   float64
	dumpKW   *float64 // by its own meter
	busKW    float64  // what the working elements take at the voltage, before the controller's limit
	perVolt  float64  // (V/V rated)², what an element takes over its stamp
	valve    steady.ValveState
	waterC   *float64
	speed    float64
	unsteady bool // how fast the sets turned is not known
	cleared  bool
	foulM    float64 // how much loss of a screen is ordinary here, one standard deviation
}

// window is the rounds that are used.
type window struct {
	looks      []look
	lastClear  int // index of the first look since the last clearing, 0 where there was none
	screenWord string
	valveWord  string
	left       []string // what was left out, in words
}

// choose picks the rounds: those since the last repair and under the plant description in force, the older ones thinned.
func (w *work) choose() {
	h := w.h
	from, repaired := h.At.Add(-lookBack), ""
	for _, e := range h.Events {
		if e.Kind == record.Repair && e.Time.After(from) {
			from = e.Time
			repaired = "rounds before the repair of " + e.Time.In(w.location()).Format("2 Jan 15:04") + " are left out"
		}
	}
	if repaired != "" {
		w.win.left = append(w.win.left, repaired)
	}
	first := sort.Search(len(h.Rounds), func(i int) bool { return !h.Rounds[i].Time.Before(from) })
	var list []int
	unsure := 0
	for i := first; i < len(h.Rounds); i++ {
		r := &h.Rounds[i]
		switch {
		case len(r.Values) == 0 || h.PlantAt(r.Time) != h.Plant:
		case w.beforeElementOut(r.Time):
			unsure++
		default:
			list = append(list, i)
		}
	}
	if unsure > 0 {
		w.win.left = append(w.win.left, fmt.Sprintf("%d %s before a ballast element was found dead %s left out: it may have been dead already", unsure, plural(unsure, "round", "rounds"), plural(unsure, "is", "are")))
	}
	if n := len(list) - recentMost; n > olderMost {
		var thin []int
		for k := range olderMost {
			thin = append(thin, list[k*n/olderMost])
		}
		list = append(thin, list[n:]...)
	}
	w.levelSlips(first)
	clears := w.clearings(first)
	for _, i := range list {
		w.win.looks = append(w.win.looks, w.look(i, clears))
	}
	w.speeds()
	w.sinceClearing(clears)
	w.words()
}

// speedMemory is for how long a frequency tells how fast the sets turn on a round on which none was read.
const speedMemory = 2.0 // days

// speeds finds the rounds whose speed nobody can tell: no frequency was read, and on a round shortly before or after it was far
// from its set value. Of them the model can tell nothing.
func (w *work) speeds() {
	looks := w.win.looks
	for i := range looks {
		l := &looks[i]
		if l.hertz != nil {
			continue
		}
		for _, step := range []int{-1, 1} {
			for k := i + step; k >= 0 && k < len(looks); k += step {
				if math.Abs(looks[k].round.Time.Sub(l.round.Time).Hours()) > 24*speedMemory {
					break
				}
				if looks[k].hertz != nil {
					l.unsteady = l.unsteady || math.Abs(looks[k].speed-1) > oddSpeed
					break
				}
			}
		}
		if l.unsteady {
			l.known = false
		}
	}
}

// unnoticed is how long a dead element may have been so before it was found and written down (our own).
const unnoticed = 4 * 24 * time.Hour

// beforeElementOut reports whether an element was found dead shortly after a time: what the readings say then is explained
// already, and by no other element.
func (w *work) beforeElementOut(t time.Time) bool {
	for _, e := range w.h.Events {
		if e.Kind == record.ElementOut && e.Time.After(t) && e.Time.Sub(t) < unnoticed {
			return true
		}
	}
	return false
}

func (w *work) location() *time.Location {
	if w.h.Plant.Location != nil {
		return w.h.Plant.Location
	}
	return time.UTC
}

// clearings lists the times at which the screen was cleared, from the round first on, oldest first.
func (w *work) clearings(first int) []time.Time {
	var out []time.Time
	for i := first; i < len(w.h.Rounds); i++ {
		if cleared(&w.h.Rounds[i]) {
			out = append(out, w.h.Rounds[i].Time)
		}
	}
	return out
}

// cleared reports whether the screen was cleared on a round: it says so, or a pressure after a clearing was read.
func cleared(r *record.Round) bool {
	if word, ok := r.Word(quantity.Key(quantity.ScreenCleared)); ok {
		return word == "yes"
	}
	_, after := r.Value(quantity.Key(quantity.PressureAfter))
	return after
}

// Ordinary loss of a screen, m of water, one standard deviation (our own): between clearings litter takes some, and how
// much is known only for the stretch since the last one, where it would be the fault that is asked for.
const (
	foulNow    = 0.015
	foulFresh  = 0.03 // on earlier stretches within freshFor of a clearing
	foulBefore = 0.35
	freshFor   = 30 * time.Hour
)

// look makes one round ready.
func (w *work) look(i int, clears []time.Time) look {
	r := &w.h.Rounds[i]
	l := look{round: r, cleared: cleared(r), speed: 1, perVolt: 1, foulM: foulNow}
	p := w.a.PowerOf(*r)
	l.volts, l.hertz = p.Volts, p.Hertz
	l.running, l.known = w.a.Running(*r)
	l.known = l.known && w.level(&l, i)
	l.waterC = w.water(i)
	if v, ok := r.Value(quantity.Key(quantity.LoadKW)); ok {
		l.loadKW, l.loadSD = &v, w.sd(quantity.Key(quantity.LoadKW))
	}
	if v, ok := r.Value(quantity.Key(quantity.DumpKW)); ok {
		l.dumpKW = &v
	}
	volts := w.plant.Supply.Volts
	if l.volts != nil && *l.volts > 0.3*volts {
		volts = *l.volts
	}
	l.perVolt = volts * volts / (w.plant.Supply.Volts * w.plant.Supply.Volts)
	l.busKW = electrical.ElementsKW(w.plant, w.working(r.Time), volts)
	if l.hertz != nil {
		if n := *l.hertz / w.plant.Supply.Hertz; n > 0.6 && n < 1.6 {
			l.speed = n
		}
	}
	l.valve = valveOf(r)
	if n := len(clears); n > 0 && r.Time.Before(clears[n-1]) {
		l.foulM = foulBefore
		for _, t := range clears {
			if age := r.Time.Sub(t); age >= 0 && age <= freshFor {
				l.foulM = foulFresh
			}
		}
	}
	return l
}

// working is which elements the log holds to be working, remembered while no event changes it.
func (w *work) working(t time.Time) map[string]bool {
	n := sort.Search(len(w.elementEvents), func(i int) bool { return w.elementEvents[i].After(t) })
	if w.workingAt == nil || n != w.workingN {
		w.workingAt, w.workingN = w.h.ElementsWorking(t), n
	}
	return w.workingAt
}

func valveOf(r *record.Round) steady.ValveState {
	switch word, _ := r.Word(quantity.Key(quantity.Valve)); word {
	case "open", "part":
		return steady.ValveOpen
	case "shut":
		return steady.ValveShut
	}
	return steady.ValveUnstated
}

// level fills in the pond level, the round's or one from shortly before, which is worth less.
func (w *work) level(l *look, i int) bool {
	k := quantity.Key(quantity.PondLevelM)
	for j := i; j >= 0; j-- {
		age := l.round.Time.Sub(w.h.Rounds[j].Time)
		if age > levelMemory {
			return false
		}
		if v, ok := w.levelOf(&w.h.Rounds[j]); ok {
			l.levelM, l.levelSD = v, w.sd(k)+0.02*age.Hours()/24
			return true
		}
	}
	return false
}

// How far a pond's level must stand apart from the readings before and after it to be a slip of the pen, m, and how often as
// far as those two stand apart (our own): a minus that was forgotten, two digits that were turned round. A pond does not rise
// and fall again so between two rounds.
const slipLeastM, slipTimes = 0.10, 4.0

// levelSlips finds the levels, from the round first on, that were read or written wrong. The last one has none after it.
func (w *work) levelSlips(first int) {
	k := quantity.Key(quantity.PondLevelM)
	w.badLevel = map[*record.Round]bool{}
	var read []*record.Round
	for i := first; i < len(w.h.Rounds); i++ {
		if _, ok := w.h.Rounds[i].Value(k); ok {
			read = append(read, &w.h.Rounds[i])
		}
	}
	for i := 1; i+1 < len(read); i++ {
		before, _ := read[i-1].Value(k)
		v, _ := read[i].Value(k)
		after, _ := read[i+1].Value(k)
		apart := math.Max(slipLeastM, slipTimes*math.Abs(after-before))
		if w.badLevel[read[i-1]] || (v-before)*(v-after) <= 0 || math.Min(math.Abs(v-before), math.Abs(v-after)) < apart || read[i+1].Time.Sub(read[i-1].Time) > 2*levelMemory {
			continue
		}
		w.badLevel[read[i]] = true
		t := read[i].Time.In(w.location())
		w.win.left = append(w.win.left, fmt.Sprintf("%s of %s stands apart from those around it and is left out as a slip", assess.LabelOf(k), t.Format("2 Jan 15:04")))
	}
}

// levelOf is the pond level of a round, unless it is a slip of the pen.
func (w *work) levelOf(r *record.Round) (float64, bool) {
	v, ok := r.Value(quantity.Key(quantity.PondLevelM))
	return v, ok && !w.badLevel[r]
}

// water is the round's water temperature, else the latest within the contract's 14 days, else nil (10 °C).
func (w *work) water(i int) *float64 {
	for j := i; j >= 0 && w.h.Rounds[i].Time.Sub(w.h.Rounds[j].Time) <= waterMemory; j-- {
		if v, ok := w.h.Rounds[j].Value(quantity.Key(quantity.WaterC)); ok {
			return &v
		}
	}
	return nil
}

// sd is the error of a reading, one standard deviation.
func (w *work) sd(k quantity.Key) float64 { return w.plant.ReadingError(k) }

// sinceClearing finds the first look since the last clearing; the clearing's own round is read after it.
func (w *work) sinceClearing(clears []time.Time) {
	if len(clears) == 0 {
		return
	}
	last := clears[len(clears)-1]
	w.win.lastClear = sort.Search(len(w.win.looks), func(i int) bool { return w.win.looks[i].round.Time.After(last) })
}

// words keeps the last word that was written for the screen since it was cleared, and the last for a valve while a unit ran.
func (w *work) words() {
	for i := range w.win.looks {
		l := &w.win.looks[i]
		if word, ok := l.round.Word(quantity.Key(quantity.Screen)); ok && !l.cleared && i >= w.win.lastClear {
			w.win.screenWord = word
		}
		if word, ok := l.round.Word(quantity.Key(quantity.Valve)); ok && len(l.running) > 0 {
			w.win.valveWord = word
		}
	}
}
