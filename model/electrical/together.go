package electrical

import (
	"slices"

	"example.org/headpond/model/plant"
)

// Sum is what comes of several loads that are switched on beside those that run.
type Sum struct {
	KW      float64  // of all of them
	LeftKW  float64  // load room that is left behind them; negative: so much too little
	Order   []string // in which to switch them on: the hardest start first, while the least runs beside it
	Fits    bool
	Why     string // WhyOK, WhyRoom or WhyStarting
	Refuses string // the load that does not start, for WhyStarting
}

// Together judges loads of the plant, by their places in its list, switched on one after the other. Each is judged by Fit beside
// those before it. False: the load room or the consumer load is not known, or nothing is picked.
func (f *Facts) Together(p *plant.Plant, picks []int) (Sum, bool) {
	var loads []plant.Load
	for _, i := range picks {
		if p != nil && i >= 0 && i < len(p.Loads) {
			loads = append(loads, p.Loads[i])
		}
	}
	if f.LoadRoomKW == nil || f.LoadKW == nil || len(loads) == 0 {
		return Sum{}, false
	}
	slices.SortStableFunc(loads, func(a, b plant.Load) int {
		switch x, y := surge(a), surge(b); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	var units []plant.Unit
	for _, id := range f.Running {
		if u, ok := p.UnitByID(id); ok {
			units = append(units, u)
		}
	}
	s := Sum{Why: WhyOK}
	for _, l := range loads {
		s.Order = append(s.Order, l.Name)
		fit := Fit(l, *f.LoadRoomKW-s.KW, *f.LoadKW+s.KW, startingKVA(units), Excite(units))
		if fit.Why == WhyStarting && s.Why == WhyOK {
			s.Why, s.Refuses = WhyStarting, l.Name
		}
		s.KW += l.KW
	}
	if s.LeftKW = *f.LoadRoomKW - s.KW; s.LeftKW < -1e-9 { // sums of tenths are not exact
		s.Why, s.Refuses = WhyRoom, ""
	}
	s.Fits = s.Why == WhyOK
	return s, true
}

// surge is by how much a load takes more while it starts, in kVA over its kW.
func surge(l plant.Load) float64 {
	if l.StartKVA == nil {
		return 0
	}
	return *l.StartKVA - l.KW
}

// startingKVA is what units are rated for together; the kW rating stands in where no kVA are given.
func startingKVA(units []plant.Unit) float64 {
	kva := 0.0
	for _, u := range units {
		if u.RatedKVA > 0 {
			kva += u.RatedKVA
			continue
		}
		kva += u.RatedKW
	}
	return kva
}
