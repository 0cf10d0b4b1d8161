package week

import (
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/pond"
	"example.org/headpond/model/quantity"
)

func waterOf(m merged, p *plant.Plant) *Water {
	k := string(quantity.PondLevelM)
	first, ok := m.Firsts[k]
	if !ok {
		return nil
	}
	loc := p.Location
	last := m.Lasts[k]
	w := &Water{First: valueAt(first, loc), Last: valueAt(last, loc), Lowest: valueAt(m.Lows[k], loc), Highest: valueAt(m.Highs[k], loc),
		Readings: m.Counts[k], CrestM: p.Pond.CrestM}
	if m.Counts[string(quantity.RainMM)] > 0 {
		w.RainMM = &m.RainMM
	}
	stop, _, known := p.StopLevel()
	if known {
		w.StopM = &stop
	}
	stage, err := pond.NewStage(p.Pond.Stage)
	if err != nil {
		return w
	}
	change := stage.VolumeM3(last.V) - stage.VolumeM3(first.V)
	w.ChangeM3 = &change
	if known {
		usable := max(0, stage.VolumeM3(last.V)-stage.VolumeM3(stop))
		w.UsableM3 = &usable
	}
	return w
}

func permitsOf(m merged, p *plant.Plant) []Permit {
	var out []Permit
	add := func(what, label, unit, key, broken string, limit *float64, worst map[string]Seen) {
		s, ok := worst[key]
		if limit == nil || !ok {
			return
		}
		out = append(out, Permit{What: what, Label: label, Limit: *limit, Unit: unit, Kept: m.Counts[broken] == 0, Worst: valueAt(s, p.Location),
			Readings: m.Counts[key], Broken: m.Counts[broken]})
	}
	level, bypass := string(quantity.PondLevelM), string(quantity.BypassLps)
	add("low_level", "Lowest level allowed", "m", level, brokenLow, p.Pond.PermitLowM, m.Lows)
	add("high_level", "Highest level allowed", "m", level, brokenHigh, p.Pond.PermitHighM, m.Highs)
	if p.Pond.BypassLps > 0 {
		add("bypass", "Flow that must pass", "L/s", bypass, brokenBypass, &p.Pond.BypassLps, m.Lows)
	}
	return out
}

func (r Range) times(f float64) Range { return Range{r.Value * f, r.Low * f, r.High * f} }

// moneyOf is what the energy used was worth, and how much of each fuel would have given it.
func moneyOf(used *Range, p *plant.Plant) *Money {
	if p.Money == nil || used == nil {
		return nil
	}
	m := &Money{Currency: p.Money.Currency, PerKWh: p.Money.PerKWh}
	if p.Money.PerKWh != nil {
		saved := used.times(*p.Money.PerKWh)
		m.Saved = &saved
	}
	for _, f := range p.Money.Fuels {
		s := FuelSaved{Name: f.Name, Unit: f.Unit, Amount: used.times(1 / f.KWhPerUnit)}
		if f.Price != nil {
			worth := s.Amount.times(*f.Price)
			s.Worth = &worth
		}
		m.Fuels = append(m.Fuels, s)
	}
	return m
}

// payback is the cost that has come back since the log began, at the value that a kWh has now.
func (in *Input) payback() *Payback {
	m := in.History.Plant.Money
	if m == nil || m.Cost == nil || m.PerKWh == nil || *m.Cost <= 0 || in.UsedSoFar.Hours == 0 {
		return nil
	}
	used := in.UsedSoFar.Range()
	b := &Payback{Currency: m.Currency, Cost: *m.Cost, Since: in.Begin, UsedKWh: used, Saved: used.times(*m.PerKWh)}
	b.Share = b.Saved.Value / b.Cost
	years := in.End.Sub(in.Begin).Hours() / (365.25 * 24 * time.Hour).Hours()
	if rate := b.Saved.Value / years; rate > 0 && b.Share < 1 {
		left := (b.Cost - b.Saved.Value) / rate
		b.YearsToGo = &left
	}
	return b
}
