package plant

import "fmt"

func (a *adviser) unit(i int) {
	u := a.p.Units[i]
	key := fmt.Sprintf("unit[%d]", i+1)
	if up := u.AxisM - u.TailwaterM; up > maxSuctionM {
		a.say(key+".tailwater_m", fmt.Sprintf("the axis stands %.1f m above the tailwater: over %d m the pressure at the runner may fall so low that the water boils there",
			up, maxSuctionM), "rule of thumb, from memory")
	}
	if u.RatedKVA < u.RatedKW {
		a.say(key+".rated_kva", fmt.Sprintf("%s kVA is less than rated_kw = %s: a generator's kVA is at least its kW", number(u.RatedKVA), number(u.RatedKW)), "")
	}
	if len(u.Curve) == 1 {
		a.say(key+".curve", "has a single row: away from its head the machine's flow and power are guessed", "")
	}
	if u.Excitation == Capacitor {
		a.say(key+".excitation", "an induction machine is treated as one whose voltage follows its speed; an overload can take its excitation away", "")
	}
	if u.BestEfficiency > bestTurbine {
		a.say(key+".best_efficiency", fmt.Sprintf("%s is more than the best turbines reach, %s; a pump that runs backwards reaches 0.5 to 0.85", number(u.BestEfficiency), number(bestTurbine)),
			"common practice, from memory")
	}
	if u.GeneratorEfficiency > bestGenerator {
		a.say(key+".generator_efficiency", fmt.Sprintf("%s is more than small generators reach, %s", number(u.GeneratorEfficiency), number(bestGenerator)), "common practice, from memory")
	}
	a.bestPower(u, key)
}

// What machines reach at most: the largest turbines 0.95 or so, generators below a few hundred kW 0.96. Common practice, from
// memory.
const (
	bestTurbine   = 0.95
	bestGenerator = 0.96
)

// bestPower compares what the best point gives with the name plate: figures of different machines, or in other units, show.
func (a *adviser) bestPower(u Unit, key string) {
	kw := waterWeight * u.BestHeadM * u.BestFlowLps / 1e6 * u.BestEfficiency * u.GeneratorEfficiency
	switch {
	case kw > 1.25*u.RatedKW:
		a.say(key+".rated_kw", fmt.Sprintf("the machine's best point gives %.1f kW, more than the rated %s kW can carry", kw, number(u.RatedKW)), "")
	case kw < 0.4*u.RatedKW:
		a.say(key+".rated_kw", fmt.Sprintf("the machine's best point gives only %.1f kW of the rated %s kW: are flow and head in L/s and m?", kw, number(u.RatedKW)), "")
	}
}

func (a *adviser) ballast() {
	b := a.p.Ballast
	if len(b.Elements) == 0 {
		a.say("ballast.element", "none is given: no ballast capacity can be told", "")
		return
	}
	for i, e := range b.Elements {
		if e.RatedVolts != a.p.Supply.Volts {
			a.say(fmt.Sprintf("ballast.element[%d].rated_volts", i+1), fmt.Sprintf("%s is made for %s V: at %s V it takes %.2f kW, not %s kW",
				quote(e.Name), number(e.RatedVolts), number(a.p.Supply.Volts), elementKW(e, a.p.Supply.Volts), number(e.RatedKW)), "P = Pr (V/Vr)^2")
		}
	}
	capacity := a.p.capacityKW()
	if rated, _ := a.p.rated(); rated > 0 && capacity < ballastMargin*rated {
		what := fmt.Sprintf("the working elements and the controller take %.2f kW at %s V; %.2f kW, %.2f x the rated %s kW of all units, is usual",
			capacity, number(a.p.Supply.Volts), ballastMargin*rated, ballastMargin, number(rated))
		a.say("ballast", what, "rule of thumb, from memory")
	}
	if all := a.elementsKW(); b.ControllerKW != nil && all > *b.ControllerKW {
		a.say("ballast.controller_kw", fmt.Sprintf("the controller passes %s kW of the %.2f kW that the elements could take", number(*b.ControllerKW), all), "")
	}
}

func (a *adviser) elementsKW() float64 {
	sum := 0.0
	for _, e := range a.p.Ballast.Elements {
		sum += elementKW(e, a.p.Supply.Volts)
	}
	return sum
}

func (a *adviser) loads() {
	kw, kva := a.p.rated()
	for i, l := range a.p.Loads {
		key := fmt.Sprintf("load[%d]", i+1)
		if l.KW > kw {
			a.say(key+".kw", fmt.Sprintf("%s takes %s kW, more than all units' rated %s kW", quote(l.Name), number(l.KW), number(kw)), "")
		} else if l.StartKVA != nil && *l.StartKVA > startRatio*kva {
			a.say(key+".start_kva", fmt.Sprintf("%s needs %s kVA to start, more than %s x the rated %s kVA of all units", quote(l.Name),
				number(*l.StartKVA), number(startRatio), number(kva)), "rule of thumb")
		}
	}
}
