package demo

import (
	"math"
	"slices"
)

// moment is the plant's true state at one time: what perfect gauges would show.
type moment struct {
	at          float64 // s
	running     []string
	levelM      float64
	waterC      float64
	clear       float64 // of the screen's holes
	screenLossM float64
	pressureKPa float64
	flowM3s     float64
	generatedKW float64
	loadKW      float64
	dumpedKW    float64
	capacityKW  float64 // of the ballast
	volts       float64
	hertz       float64
	hours       map[string]float64
	loadKWh     float64
}

// How the meters behave. The regulator sags a little with the load.
const (
	setVolts   = 241.4
	voltsPerKW = -0.35
)

// now is the plant's state at this moment. While the ballast can take what the consumers leave, the controller holds the
// frequency. Where it cannot, the sets speed up until their falling power meets the two.
func (w *works) now() (moment, error) {
	m := moment{at: w.at, running: slices.Clone(w.running), levelM: w.levelM, waterC: w.today().waterC, clear: w.clear(),
		loadKWh: w.loadKWh, hours: map[string]float64{large: w.hours[large], small: w.hours[small]}}
	r, err := w.solve(w.levelM, m.clear, 1)
	if err != nil || len(w.running) == 0 {
		return m, err
	}
	m.loadKW = w.consumers(w.at)
	m.volts = setVolts + voltsPerKW*m.loadKW + w.volts.at(w.at)
	m.capacityKW = w.capacity(m.volts)
	m.hertz = w.plant.Supply.Hertz + w.hertz.at(w.at)
	if r.CommonKW > m.loadKW+m.capacityKW {
		speed, err := w.overspeed(m.loadKW + m.capacityKW)
		if err != nil {
			return m, err
		}
		m.hertz = w.plant.Supply.Hertz * speed
	}
	m.generatedKW, m.flowM3s, m.screenLossM = r.CommonKW, r.FlowM3s, r.ScreenLossM
	m.dumpedKW = m.generatedKW - m.loadKW
	for _, u := range r.Units {
		if u.Running {
			m.pressureKPa = u.PressureKPa // all sets share a penstock and an axis
		}
	}
	return m, nil
}

// capacity is what the working elements take at a voltage, at most what the controller can divert:
//
//	P = Σ Pr (V/Vr)²
func (w *works) capacity(volts float64) float64 {
	kw := 0.0
	for _, e := range w.plant.Ballast.Elements {
		if e.Working && e.Name != w.open {
			kw += e.RatedKW * volts * volts / (e.RatedVolts * e.RatedVolts)
		}
	}
	if c := w.plant.Ballast.ControllerKW; c != nil {
		kw = math.Min(kw, *c)
	}
	return kw
}

// overspeed finds the speed ratio at which the sets give just so much, by halving between rated speed and runaway, and
// leaves the plant solved there.
func (w *works) overspeed(kw float64) (float64, error) {
	low, high := 1.0, 1.45
	for high-low > 1e-4 {
		mid := (low + high) / 2
		r, err := w.solve(w.levelM, w.clear(), mid)
		if err != nil {
			return 0, err
		}
		if r.CommonKW > kw {
			low = mid
		} else {
			high = mid
		}
	}
	_, err := w.solve(w.levelM, w.clear(), low)
	return low, err
}
