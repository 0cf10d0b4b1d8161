package faults

import (
	"fmt"
	"math"
	"strings"

	"example.org/headpond/model/plant"
)

// ballastVariants are dead elements, those of one size together, and two of them.
func (w *work) ballastVariants() []variant {
	type class struct {
		kw    float64
		names []string
	}
	var classes []class
	working := w.h.ElementsWorking(w.h.At)
	for _, e := range w.plant.Ballast.Elements {
		if !working[e.Name] {
			continue
		}
		kw := e.RatedKW
		if e.RatedVolts > 0 {
			kw *= math.Pow(w.plant.Supply.Volts/e.RatedVolts, 2)
		}
		found := false
		for i := range classes {
			if math.Abs(classes[i].kw-kw) < 1e-9 {
				classes[i].names, found = append(classes[i].names, e.Name), true
			}
		}
		if !found {
			classes = append(classes, class{kw, []string{e.Name}})
		}
	}
	var out []variant
	for _, c := range classes {
		share := 0.9 / float64(len(classes))
		out = append(out, w.dead(share, c.kw, anyOf(c.names))...)
		if len(c.names) > 1 {
			out = append(out, w.dead(0.1/float64(len(classes)), 2*c.kw, "two of "+strings.Join(c.names, ", "))...)
		}
	}
	return out
}

func anyOf(names []string) string {
	n := len(names)
	if n == 1 {
		return names[0]
	}
	return fmt.Sprintf("%s or %s", strings.Join(names[:n-1], ", "), names[n-1])
}

// dead is elements of a size being dead. A share of the generation is mostly measured, and sometimes what the controller
// believes to divert.
func (w *work) dead(weight, kw float64, names string) []variant {
	v := variant{fault: ElementOpen, weight: weight, sizes: []float64{kw}, deadKW: kw,
		size:   func(x float64) Size { return Size{Element: names, LostKW: &x} },
		change: func(x float64) change { return change{deadKW: x} }}
	if w.plant.Ballast.ShareOf == plant.ShareOfBallast {
		return []variant{v}
	}
	claims := v
	v.weight, claims.weight = 0.7*weight, 0.3*weight
	claims.change = func(x float64) change { return change{deadKW: x, claims: true} }
	return []variant{v, claims}
}

func (w *work) busVariants() []variant {
	volts, hertz := w.plant.Supply.Volts, w.plant.Supply.Hertz
	var out []variant
	for _, sign := range []float64{-1, 1} {
		out = append(out, variant{fault: Regulator, weight: 0.5, sizes: grid(0.01*volts, 0.3*volts, 12), sized: true,
			size: func(x float64) Size { v := volts + sign*x; return Size{Volts: &v} },
			volt: func(x float64) float64 { return sign * x }})
		if !w.induction {
			out = append(out, variant{fault: FrequencySet, weight: 0.5, sizes: grid(0.004*hertz, 0.15*hertz, 12), sized: true,
				size:  func(x float64) Size { v := hertz + sign*x; return Size{Hertz: &v} },
				hertz: func(x float64) float64 { return sign * x }})
		}
	}
	if !w.induction {
		spread := func(x float64) Size { return Size{SpreadHertz: &x} }
		sizes := grid(0.006*hertz, 0.12*hertz, 6)
		out = append(out, variant{fault: Controller, weight: 0.5, sizes: sizes, wander: true, size: spread})
		for _, hunt := range []float64{1, 6} {
			out = append(out, variant{fault: Controller, weight: 0.25, sizes: sizes, wander: true, hunt: hunt, size: spread,
				change: func(float64) change { return change{stuck: true} }})
		}
	}
	return out
}
