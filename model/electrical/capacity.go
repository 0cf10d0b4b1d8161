package electrical

import "example.org/headpond/model/plant"

// The two things that can limit a ballast.
const (
	ByElements   = "elements"
	ByController = "controller"
)

// ElementKW returns what a heating element of ratedKW at ratedVolts takes at volts, kW: P = Pr (V/Vr)², for its resistance
// stays the same.
func ElementKW(ratedKW, ratedVolts, volts float64) float64 {
	r := volts / ratedVolts
	return ratedKW * r * r
}

// Limit returns what a ballast takes, kW, whose elements would take elementsKW: that, or the controller's limit if it is
// lower (nil: none), and which of the two it is.
func Limit(elementsKW float64, controllerKW *float64) (kw float64, by string) {
	if controllerKW != nil && *controllerKW < elementsKW {
		return *controllerKW, ByController
	}
	return elementsKW, ByElements
}

// ElementsKW sums what the working elements of a plant take at a voltage (V), kW, before the controller's limit: Σ Pr (V/Vr)².
// working says which work, by name; one that it does not name is as the plant file says. The voltage of a round that read
// none is the supply's.
func ElementsKW(p *plant.Plant, working map[string]bool, volts float64) float64 {
	in := Input{Plant: p, Working: working}
	return in.elementsKW(volts, "")
}

// elementsKW sums what the working elements take at a voltage, one of them left out ("" for none).
func (in *Input) elementsKW(volts float64, without string) float64 {
	sum := 0.0
	for _, e := range in.Plant.Ballast.Elements {
		if in.working(e) && e.Name != without {
			sum += ElementKW(e.RatedKW, ratedVolts(in.Plant, e), volts)
		}
	}
	return sum
}

// ratedVolts is an element's rated voltage; the supply's where the file gives none.
func ratedVolts(p *plant.Plant, e plant.Element) float64 {
	if e.RatedVolts > 0 {
		return e.RatedVolts
	}
	return p.Supply.Volts
}
