package clearing

import (
	"math"
	"time"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// State is a round as the plant's solver sees it: the model of the plant in force then and the case with the pond level (the
// round's, or the last before it), running units, water temperature and valves, the screen left open.
type State struct {
	Model *steady.Model
	Case  steady.Case
}

// sight is one reading that tells the loss, with what the filter needs.
type sight struct {
	Sight
	round  int     // index into the history's rounds
	sdM    float64 // of the reading itself, m
	tiltM  float64 // what the gauge's offset may add, the same way on all rounds with these units, m
	cleanM float64 // the clean screen's loss at the same flow, m
	state  State
	seen   steady.ScreenState
}

// gauge is a pressure gauge with the units that ran, beside a model: how the two compare may differ from set to set.
type gauge struct {
	key     quantity.Key
	running string
	model   *steady.Model
}

// Levels that were not read on the round itself: the pond may have moved since, and after a day the pressure says nothing any
// more. Our own choices, from ponds that move a few centimetres a day.
const (
	levelMemory = 24 * time.Hour
	levelDrift  = 0.04 // m a day, one standard deviation
)

// leastLossM keeps the logarithm of a screen without any loss finite: a tenth of a millimetre.
const leastLossM = 1e-4

// sights lists every telling reading of the rounds from first on, oldest first. Rounds that cannot be solved are passed over.
func (w *work) sights(first int) []sight {
	var list []sight
	for i := first; i < len(w.h.Rounds); i++ {
		r := &w.h.Rounds[i]
		if !tells(r) {
			continue
		}
		st, ok := w.in.State(*r)
		if !ok || len(st.Case.Running) == 0 || !st.Model.HasScreen() {
			continue
		}
		list = append(list, w.ofRound(i, r, st)...)
	}
	return list
}

// tells reports whether a round may tell the loss at all.
func tells(r *record.Round) bool {
	for k := range r.Values {
		switch k.Name() {
		case quantity.PressureKPa, quantity.PressureBefore, quantity.ScreenLossMM:
			return true
		}
	}
	return false
}

// ofRound lists a round's telling readings. On a round on which the screen was cleared the level difference and the pressure
// before the clearing belong to the screen as it was found, as the walk goes; what the gauge showed afterwards goes into its
// offset.
func (w *work) ofRound(i int, r *record.Round, st State) []sight {
	var list []sight
	add := func(s sight, ok bool) {
		if ok {
			s.Time, s.round, s.state = r.Time, i, st
			list = append(list, s)
		}
	}
	add(w.byLevels(r, st))
	before, cleared := r.Value(quantity.Key(quantity.PressureBefore))
	after, both := r.Value(quantity.Key(quantity.PressureAfter))
	switch {
	case cleared && both:
		add(w.byClearing(r, st, before, after))
	case cleared:
		add(w.byPressure(i, st, quantity.Key(quantity.PressureBefore), before))
	case !Cleared(*r):
		if k, v, ok := pressureOf(r, st); ok {
			add(w.byPressure(i, st, k, v))
		}
	}
	return list
}

// pressureOf is the pressure that a round is taken to tell: the plant's one gauge where all running units share a penstock and
// an axis, else the first running unit's own that was read.
func pressureOf(r *record.Round, st State) (quantity.Key, float64, bool) {
	p := st.Model.Plant()
	first, ok := p.UnitByID(st.Case.Running[0])
	if v, read := r.Value(quantity.Key(quantity.PressureKPa)); ok && read {
		same := true
		for _, id := range st.Case.Running {
			u, _ := p.UnitByID(id)
			same = same && u.Penstock == first.Penstock && u.AxisM == first.AxisM
		}
		if same {
			return quantity.Key(quantity.PressureKPa), v, true
		}
	}
	for _, id := range st.Case.Running {
		k := quantity.NewKey(id, quantity.PressureKPa)
		if v, read := r.Value(k); read {
			return k, v, true
		}
	}
	return "", 0, false
}

// byLevels reads the level difference across the screen.
func (w *work) byLevels(r *record.Round, st State) (sight, bool) {
	k := quantity.Key(quantity.ScreenLossMM)
	mm, ok := r.Value(k)
	if !ok {
		return sight{}, false
	}
	s := sight{Sight: Sight{From: FromLevels, LossM: mm / 1000}, sdM: st.Model.Plant().ReadingError(k) / 1000}
	var err error
	if s.seen, err = st.Model.ScreenFromLoss(st.Case, s.LossM, s.sdM); err != nil {
		return sight{}, false
	}
	return w.finish(s, st), true
}

// byClearing reads the pressures before and after a clearing, whose common error cancels.
func (w *work) byClearing(r *record.Round, st State, before, after float64) (sight, bool) {
	k := quantity.Key(quantity.PressureBefore)
	sd := math.Hypot(st.Model.Plant().ReadingError(k), st.Model.Plant().ReadingError(quantity.Key(quantity.PressureAfter)))
	s := sight{Sight: Sight{From: FromClearing}}
	var err error
	if s.seen, err = st.Model.ScreenFromClearing(st.Case, "", before, after, sd/math.Sqrt2); err != nil {
		return sight{}, false
	}
	at := w.gaugeAt(st, "")
	if !at.ok {
		return sight{}, false
	}
	s.LossM = at.lossOf(before-(after-at.cleanKPa), s.seen)
	s.sdM = sd * at.tiltM
	return w.finish(s, st), true
}

// byPressure reads the intake pressure, less what the gauge usually shows too much.
func (w *work) byPressure(i int, st State, k quantity.Key, kPa float64) (sight, bool) {
	sdLevel, ok := w.levelError(i)
	at := w.gaugeAt(st, k.Unit())
	if !ok || !at.ok {
		return sight{}, false
	}
	s := sight{Sight: Sight{From: FromPressure}}
	off := w.offsets.of(gaugeOf(k, st), at.cleanKPa)
	sd := math.Hypot(st.Model.Plant().ReadingError(k), at.rhoG*sdLevel)
	var err error
	if s.seen, err = st.Model.ScreenFromPressure(st.Case, k.Unit(), kPa-off.KPa, math.Hypot(sd, off.ErrKPa), 0); err != nil {
		return sight{}, false
	}
	s.LossM, s.sdM, s.tiltM = at.lossOf(kPa-off.KPa, s.seen), sd*at.tiltM, off.ErrKPa*at.tiltM
	return w.finish(s, st), true
}

// gaugeOf is the gauge that a pressure was read on: those around a clearing are read on the plant's one.
func gaugeOf(k quantity.Key, st State) gauge {
	if k.Unit() == "" {
		k = quantity.Key(quantity.PressureKPa)
	}
	return gauge{key: k, running: record.FormatRunning(st.Case.Running), model: st.Model}
}

// finish fills in the range and the clean screen's loss at the flow that passed.
func (w *work) finish(s sight, st State) sight {
	s.LowM, s.HighM = s.LossM-sigmas*math.Hypot(s.sdM, s.tiltM), s.LossM+sigmas*math.Hypot(s.sdM, s.tiltM)
	s.cleanM = max(leastLossM, s.seen.CleanLossM)
	if clean, ok := w.cleanFlow(st); ok && clean > 0 {
		s.cleanM *= (s.seen.FlowM3s / clean) * (s.seen.FlowM3s / clean)
	}
	return s
}

// sigmas is how many standard deviations a stated range of a reading spans to each side.
const sigmas = 2

// levelError is the error of the pond level that round i is solved for, m: the gauge's, and more where it was read earlier. It
// is false where it was read too long ago.
func (w *work) levelError(i int) (float64, bool) {
	k := quantity.Key(quantity.PondLevelM)
	at := w.h.Rounds[i].Time
	err := w.h.PlantAt(at).ReadingError(k)
	for ; i >= 0; i-- {
		old := &w.h.Rounds[i]
		age := at.Sub(old.Time)
		if age > levelMemory {
			break
		}
		if _, ok := old.Value(k); ok {
			return math.Hypot(err, levelDrift*age.Hours()/24), true
		}
	}
	return 0, false
}

// reading is how a pressure gauge goes with the screen's loss in one state: nearly in a straight line.
type reading struct {
	cleanKPa float64 // with a clean screen
	cleanM   float64 // the loss of it
	tiltM    float64 // loss for each kPa less, m
	rhoG     float64 // kPa/m
	ok       bool
}

// step is the loss that is tried beside the clean one, m.
const stepM = 0.5

// gaugeAt works out how the gauge of a unit ("" for the first running one) goes with the loss. Unlike the state that a
// reading gives, whose loss is never below that of no screen at all, the line goes on below it: a reading that is a little
// too high is as likely as one that is too low, and both must weigh.
func (w *work) gaugeAt(st State, unit string) reading {
	c := st.Case
	r, err := st.Model.Solve(c)
	if err != nil || !(r.FlowM3s > 0) {
		return reading{}
	}
	i := unitOf(&r, unit)
	if i < 0 {
		return reading{}
	}
	at := reading{cleanKPa: r.Units[i].PressureKPa, cleanM: r.ScreenLossM, rhoG: r.Water.DensityKgM3 * hydraulics.Gravity / 1000}
	loss := r.ScreenLossM + stepM
	c.ScreenLossM = &loss
	more, err := st.Model.Solve(c)
	if err != nil {
		return reading{}
	}
	fall := at.cleanKPa - more.Units[i].PressureKPa
	at.ok, at.tiltM = fall > 0, stepM/fall
	return at
}

// lossOf is the loss that a pressure tells: the model's, and the straight line's below that of no screen at all.
func (at reading) lossOf(kPa float64, seen steady.ScreenState) float64 {
	if seen.LossM > 0 {
		return seen.LossM
	}
	return min(0, at.cleanM+(at.cleanKPa-kPa)*at.tiltM)
}

func unitOf(r *steady.Result, unit string) int {
	for i := range r.Units {
		u := &r.Units[i]
		if u.Running && u.PressureKnown && u.FlowM3s > 0 && (unit == "" || u.ID == unit) {
			return i
		}
	}
	return -1
}

// Cleared reports whether the screen was cleared on a round: it says so, or a pressure after a clearing was read.
func Cleared(r record.Round) bool {
	if w, ok := r.Word(quantity.Key(quantity.ScreenCleared)); ok {
		return w == "yes"
	}
	_, after := r.Value(quantity.Key(quantity.PressureAfter))
	return after
}
