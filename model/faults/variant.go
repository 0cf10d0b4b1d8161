package faults

import (
	"math"

	"example.org/headpond/model/hydraulics"
)

// variant is one way in which a fault can be: of one penstock, of one gauge, of elements of one size.
type variant struct {
	fault  Fault
	weight float64   // its part of the fault's prior
	sizes  []float64 // the grid, evenly spaced in the logarithm of the size
	sized  bool      // the sizes are one number's; otherwise each stands for itself
	first  int       // the earliest look on which it can show
	size   func(x float64) Size

	change func(x float64) change  // of water and power; nil for none
	grow   float64                 // of a screen: share by which its loss grows a day; it then began at first
	stray  float64                 // share by which what it changes strays from round to round, one standard deviation
	volt   func(x float64) float64 // what it adds to the voltage
	hertz  func(x float64) float64 // what it adds to the frequency
	wander bool                    // the size is a spread of the frequency
	hunt   float64                 // by which a share hunts that is stuck and no measure of the power, %; 0 where it is one
	rise   int                     // 1 + index of the bearing's line; 0 for none
	deadKW float64
	words  func(x float64) float64 // log-likelihood of the words beside the healthy plant's
}

// The ranges of sizes that are looked at (our own: from what no reading shows to what stops a plant).
const lossSteps = 15

// A screen's loss is looked at from where this share of it is clear, which a stick in the water sees on any head, up to mostLoss;
// screenStep is about the grid's step.
const leastBlocked, screenStep = 0.35, 1.45

// leastLoss and mostLoss are the least and the greatest loss that are looked at, over the gross head.
const leastLoss, mostLoss = 0.0003, 0.5

// lossGrid is the head that a fault takes, as a share of the gross head.
func lossGrid() []float64 { return grid(0.004, mostLoss, lossSteps) }

// grid spaces n sizes evenly in their logarithm.
func grid(lo, hi float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = lo * math.Pow(hi/lo, float64(i)/float64(n-1))
	}
	return out
}

// variants lists everything that is asked of the readings, none apart.
func (w *work) variants() []variant {
	var out []variant
	out = append(out, w.screenVariants()...)
	out = append(out, w.pipeVariants()...)
	out = append(out, w.unitVariants()...)
	out = append(out, w.gaugeVariants()...)
	out = append(out, w.ballastVariants()...)
	out = append(out, w.busVariants()...)
	for i := range w.bearings {
		key := w.bearings[i].key
		out = append(out, variant{fault: Bearing, weight: 1 / float64(len(w.bearings)), sizes: grid(3, 80, 12), sized: true, rise: 1 + i,
			size: func(x float64) Size { return Size{RiseC: &x, Unit: key.Unit()} }})
	}
	return out
}

func (w *work) screenVariants() []variant {
	in := w.plant.Intake
	if in.ScreenM2 == nil || !(w.headM > 0) || !(w.flowM3s > 0) {
		return nil
	}
	vh := hydraulics.VelocityHead(w.flowM3s / *in.ScreenM2)
	open := func(loss float64) float64 {
		return hydraulics.ScreenOpenShare(loss*w.headM/vh) / in.OpenShare
	}
	least := math.Max(leastLoss, hydraulics.ScreenK(leastBlocked*in.OpenShare)*vh/w.headM)
	if !(least < mostLoss/screenStep) {
		return nil
	}
	sizes := grid(least, mostLoss, 1+int(math.Ceil(math.Log(mostLoss/least)/math.Log(screenStep))))
	v := variant{fault: ScreenBlocked, weight: 0.6, sizes: sizes, sized: true, first: w.win.lastClear,
		size:   func(x float64) Size { c := open(x); return Size{ScreenOpen: &c} },
		change: func(x float64) change { return change{clear: open(x)} },
		words:  func(x float64) float64 { return screenWords(w.win.screenWord, open(x)) },
	}
	out := []variant{v}
	for _, g := range screenGrowth {
		v.weight, v.grow, v.stray = 0.4/float64(len(screenGrowth)), g, screenStrays
		out = append(out, v)
	}
	return out
}

// screenGrowth are the rates at which a screen's loss may grow, shares a day (our own: from fine silt to a night of leaves).
var screenGrowth = [...]float64{0.15, 0.45, 1.2}

// screenStrays is by how much a screen's loss strays from a steady loss or a steady growth (our own): litter comes with wind and
// rain, and falls off again.
const screenStrays = 0.25

// screenWords is the log-likelihood of the word for a screen of which this share is clear, beside that of a clean one. People
// write what they see from the bank: our own table.
func screenWords(word string, clear float64) float64 {
	row := func(clean, partly, blocked float64) float64 {
		clean, partly, blocked = clean/0.82, partly/0.15, blocked/0.03
		switch word {
		case "clear":
			return math.Log(clean)
		case "partly":
			return math.Log(partly)
		case "blocked", "iced":
			return math.Log(blocked)
		}
		return 0
	}
	switch {
	case clear > 0.4:
		return row(0.75, 0.22, 0.03)
	case clear > 0.15:
		return row(0.35, 0.5, 0.15)
	case clear > 0.05:
		return row(0.15, 0.5, 0.35)
	}
	return row(0.1, 0.35, 0.55)
}

func (w *work) pipeVariants() []variant {
	var out []variant
	if !(w.headM > 0) {
		return nil
	}
	stocks := w.usedStocks()
	for _, j := range stocks {
		p := w.plant.Penstocks[j]
		name := ""
		if len(w.plant.Penstocks) > 1 {
			name = p.Name
		}
		share := 1 / float64(len(stocks))
		vh := hydraulics.VelocityHead(w.stockFlow[j] / hydraulics.PipeArea(p.DiameterM))
		k := func(x float64) float64 { return x * w.headM / vh }
		out = append(out,
			variant{fault: ValvePart, weight: share, sizes: lossGrid(), sized: true,
				size:   func(x float64) Size { v := k(x); return Size{ValveK: &v, Penstock: name} },
				change: func(x float64) change { return change{stock: j, valveK: k(x)} },
				words:  func(float64) float64 { return valveWords(w.win.valveWord) }},
			variant{fault: Air, weight: share, sizes: lossGrid(), sized: true,
				size:   func(x float64) Size { v := x * w.headM; return Size{LossM: &v, Penstock: name} },
				change: func(x float64) change { return change{stock: j, airM: x * w.headM} }},
			variant{fault: Leak, weight: share, sizes: grid(0.02*w.stockFlow[j], w.stockFlow[j], 11), sized: true,
				size:   func(x float64) Size { v := 1e3 * x; return Size{LeakLps: &v, Penstock: name} },
				change: func(x float64) change { return change{stock: j, leakM3s: x} }})
	}
	return out
}

// valveWords is the log-likelihood of the word for the main valve when it is part closed, beside that when it is open.
func valveWords(word string) float64 {
	switch word {
	case "part":
		return math.Log(0.7 / 0.03)
	case "open":
		return math.Log(0.3 / 0.97)
	}
	return 0
}

// usedStocks lists the penstocks through which water flowed on any look.
func (w *work) usedStocks() []int {
	var out []int
	for j, q := range w.stockFlow {
		if q > 0 {
			out = append(out, j)
		}
	}
	return out
}

func (w *work) unitVariants() []variant {
	var out []variant
	var used []int
	for i, on := range w.unitUsed {
		if on {
			used = append(used, i)
		}
	}
	for _, i := range used {
		id := ""
		if len(w.plant.Units) > 1 {
			id = w.plant.Units[i].ID
		}
		share := 1 / float64(len(used))
		out = append(out,
			variant{fault: RunnerWorn, weight: share, sizes: grid(0.02, 0.7, 12), sized: true,
				size:   func(x float64) Size { v := 1 - x; return Size{EfficiencyShare: &v, Unit: id} },
				change: func(x float64) change { return change{unit: i, lost: x} }},
			variant{fault: Belt, weight: share, sizes: grid(0.02, 0.3, 8), sized: true,
				size:   func(x float64) Size { return Size{SlipShare: &x, Unit: id} },
				change: func(x float64) change { return change{unit: i, slip: x} }})
	}
	return out
}

// gaugeVariants are gauges that show too much or too little: half of the prior each way.
func (w *work) gaugeVariants() []variant {
	var out []variant
	for _, sign := range []float64{-1, 1} {
		for _, g := range w.gauges {
			if !(w.staticKPa > 0) {
				continue // a pond below the axis: there is no scale to measure a gauge by
			}
			name := ""
			if len(w.gauges) > 1 {
				name = g
			}
			out = append(out, variant{fault: PressureGauge, weight: 0.5 / float64(len(w.gauges)), sizes: grid(0.005*w.staticKPa, 1.2*w.staticKPa, 14), sized: true,
				size:   func(x float64) Size { v := sign * x; return Size{OffsetKPa: &v, Gauge: name} },
				change: func(x float64) change { return change{gauge: g, offsetKPa: sign * x} }})
		}
		if !(w.headM > 0) {
			continue
		}
		out = append(out, variant{fault: LevelGauge, weight: 0.5, sizes: grid(0.02, math.Max(0.6, 0.2*w.headM), 12), sized: true,
			size:   func(x float64) Size { v := sign * x; return Size{OffsetM: &v} },
			change: func(x float64) change { return change{levelM: sign * x} }})
	}
	return out
}
