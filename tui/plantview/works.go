package plantview

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/tui/ui/text"
)

func (p page) penstocks(w int) []string {
	var rows []row
	for _, s := range p.plant.Penstocks {
		gauge := "below"
		if s.Gauge == plant.AboveValve {
			gauge = "above"
		}
		value := fmt.Sprintf("%s of pipe, %s wide, roughness %s%smm, minor losses K %s; gauge %s the main valve", p.num(s.LengthM, quantity.Metre, 0),
			p.num(s.DiameterM, quantity.Metre, 2), plain(s.RoughnessMM), text.NBSP, plain(s.MinorK), gauge)
		if s.WaveSpeedMS != nil {
			value += fmt.Sprintf("; pressure waves travel at %s%sm/s", plain(*s.WaveSpeedMS), text.NBSP)
		}
		rows = append(rows, row{s.Name, value})
	}
	return p.section("Penstocks", w, rows...)
}

func (p page) units(w int) []string {
	var rows []row
	for _, u := range p.plant.Units {
		rows = append(rows, row{u.ID + label(u.Name), p.set(u)}, row{"", p.machine(u)}, row{"", p.generator(u)})
	}
	return p.section("Units", w, rows...)
}

func label(name string) string {
	if name == "" {
		return ""
	}
	return ", " + name
}

// set says what a unit is and where it stands.
func (p page) set(u plant.Unit) string {
	s := fmt.Sprintf("%s%skW, %s%skVA on penstock %s; axis at %s", plain(u.RatedKW), text.NBSP, plain(u.RatedKVA), text.NBSP, u.Penstock, p.num(u.AxisM, quantity.Metre, 1))
	if u.TailwaterM != u.AxisM {
		s += ", tailwater at " + p.num(u.TailwaterM, quantity.Metre, 1)
	}
	return s + "."
}

func (p page) machine(u plant.Unit) string {
	if n := len(u.Curve); n > 0 {
		first, last := u.Curve[0], u.Curve[n-1]
		return fmt.Sprintf("Measured in %d %s, from %s and %s%skW at %s to %s and %s%skW at %s.", n, plural(n, "row", "rows"), p.num(first.FlowLps, quantity.LitrePerSecond, 1),
			plain(first.KWElectric), text.NBSP, p.num(first.NetHeadM, quantity.Metre, 1), p.num(last.FlowLps, quantity.LitrePerSecond, 1), plain(last.KWElectric), text.NBSP, p.num(last.NetHeadM, quantity.Metre, 1))
	}
	return fmt.Sprintf("Best at %s under %s, %s %% of the water's power at the shaft; generator %s %%.", p.num(u.BestFlowLps, quantity.LitrePerSecond, 0),
		p.num(u.BestHeadM, quantity.Metre, 1), percent(u.BestEfficiency), percent(u.GeneratorEfficiency))
}

// percent writes a share of one in per cent, without the dust of the conversion.
func percent(share float64) string {
	return quantity.Info{Unit: quantity.Percent}.Show(share*100, quantity.Metric)
}

func (p page) generator(u plant.Unit) string {
	held := map[plant.Excitation]string{plant.Regulated: "voltage regulated", plant.BySpeed: "voltage follows the speed",
		plant.Capacitor: "induction machine with capacitors, treated as voltage that follows the speed"}[u.Excitation]
	bus := "common bus"
	if !u.Common() {
		bus = "bus of its own"
	}
	return fmt.Sprintf("Runs away to %s times its rated speed; %s; %s.", plain(u.RunawayRatio), held, bus)
}

func (p page) ballast(w int) []string {
	b := p.plant.Ballast
	controller := "no limit given"
	if b.ControllerKW != nil {
		controller = fmt.Sprintf("diverts at most %s%skW", plain(*b.ControllerKW), text.NBSP)
	}
	share := "of the generation"
	if b.ShareOf == plant.ShareOfBallast {
		share = "of what the ballast can take"
	}
	rows := []row{{"Controller", controller}, {"Dump share of 100 %", "all " + share}}
	for _, e := range b.Elements {
		value := fmt.Sprintf("%s%skW at %s%sV", plain(e.RatedKW), text.NBSP, plain(e.RatedVolts), text.NBSP)
		if !e.Working {
			value += ", out of work at commissioning"
		}
		rows = append(rows, row{"Element " + e.Name, value})
	}
	return p.section("Ballast", w, rows...)
}

func (p page) loads(w int) []string {
	var rows []row
	for _, l := range p.plant.Loads {
		value := fmt.Sprintf("%s%skW", plain(l.KW), text.NBSP)
		if l.StartKVA != nil {
			value += fmt.Sprintf(", %s%skVA to start", plain(*l.StartKVA), text.NBSP)
		}
		if l.Essential {
			value += ", essential"
		}
		rows = append(rows, row{l.Name, value})
	}
	return p.section("Loads", w, rows...)
}

// gauges lists the divisions that the file gives, in walking order.
func (p page) gauges(w int) []string {
	var rows []row
	keys := quantity.Keys(p.plant.UnitIDs())
	for _, name := range slices.Sorted(maps.Keys(p.plant.Gauge)) {
		if !slices.Contains(keys, quantity.Key(name)) { // for a quantity that only units have
			keys = append(keys, quantity.Key(name))
		}
	}
	for _, k := range keys {
		v, ok := p.plant.Gauge[string(k)]
		if !ok {
			continue
		}
		info, _ := quantity.Lookup(k.Name())
		rows = append(rows, row{assess.LabelOf(k), strings.TrimSpace(plain(v) + text.NBSP + string(info.Unit))})
	}
	return p.section("Gauges: smallest division that can be read", w, rows...)
}

func (p page) upkeep(w int) []string {
	var rows []row
	for _, t := range p.plant.Upkeep {
		every := ""
		switch {
		case t.EveryHours != nil:
			every = plain(*t.EveryHours) + text.NBSP + "h"
		case t.EveryDays != nil:
			every = plain(*t.EveryDays) + text.NBSP + "days"
		}
		if t.Unit != "" {
			every += " of unit " + t.Unit
		}
		rows = append(rows, row{"Every " + every, t.Task})
	}
	return p.section("Upkeep, by running hours or days", w, rows...)
}

func (p page) money(w int) []string {
	m := p.plant.Money
	if m == nil {
		return nil
	}
	var rows []row
	if m.PerKWh != nil {
		rows = append(rows, row{"A kWh used", plain(*m.PerKWh) + text.NBSP + m.Currency})
	}
	if m.Cost != nil {
		rows = append(rows, row{"The plant cost", plain(*m.Cost) + text.NBSP + m.Currency})
	}
	for _, f := range m.Fuels {
		value := fmt.Sprintf("%s%skWh from a %s", plain(f.KWhPerUnit), text.NBSP, f.Unit)
		if f.Price != nil {
			value += fmt.Sprintf(", at %s%s%s", plain(*f.Price), text.NBSP, m.Currency)
		}
		rows = append(rows, row{f.Name, value})
	}
	return p.section("Money", w, rows...)
}

// history lists the revisions, the newest first.
func (p page) history(w int) []string {
	var rows []row
	for i := len(p.revisions) - 1; i >= 0; i-- {
		r := p.revisions[i]
		value := r.ID
		if r.By != "" {
			value = "by " + r.By + ", " + value
		}
		if i == p.at {
			value += ", shown here"
		}
		rows = append(rows, row{p.common.Clock(r.From, "2 Jan 2006 15:04"), value})
	}
	return p.section("Revisions, by when each came into force", w, rows...)
}
