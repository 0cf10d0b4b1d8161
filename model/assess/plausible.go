package assess

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// The limits of what is plausible, contract "Implausible values". They are far outside every band: a value beyond them is
// more likely a slip of the pen or the keys (2411 V, 6.01 MPa) than a reading. They are inclusive.
const (
	plausibleVolts      = 1.5  // × rated
	plausibleHertz      = 1.6  // × rated: a runaway is a reading, not a slip
	plausibleKW         = 3.0  // × rated
	plausibleStatic     = 3.0  // × static pressure: a surge is a reading
	plausibleSuctionKPa = -100 // a vacuum
	plausibleLevelM     = 2.0  // beyond the surveyed stages
	plausibleColdC      = -50
	plausibleHotC       = 200
	plausibleSharePct   = 110
)

// conventionalWater is ρ g in kPa/m of conventional water (1000 kg/m3, NIST SP 811), exact enough for a limit.
const conventionalWater = 9.80665

// Plausible returns the range, limits included, in which a value of a reading is plausible at this plant, and whether v is.
// A limit that the contract or the plant's description does not give is an infinity; words and unknown keys are always
// plausible. Not-a-number never is.
func Plausible(p *plant.Plant, k quantity.Key, v float64) (lo, hi float64, ok bool) {
	lo, hi = plausibleRange(p, k)
	return lo, hi, v >= lo && v <= hi
}

func plausibleRange(p *plant.Plant, k quantity.Key) (lo, hi float64) {
	unit, n := k.Split()
	info, known := quantity.Lookup(n)
	if !known {
		return math.Inf(-1), math.Inf(1)
	}
	switch info.Unit {
	case quantity.Volt:
		return 0, times(plausibleVolts, p.Supply.Volts)
	case quantity.HertzUnit:
		return 0, times(plausibleHertz, p.Supply.Hertz)
	case quantity.Kilowatt:
		most := times(plausibleKW, ratedKW(p, unit))
		return -most, most
	case quantity.Kilopascal:
		return plausibleSuctionKPa, times(plausibleStatic, staticKPa(p, unit))
	case quantity.Celsius:
		return plausibleColdC, plausibleHotC
	case quantity.Percent:
		return 0, plausibleSharePct
	case quantity.Metre:
		if rows := p.Pond.Stage; n == quantity.PondLevelM && len(rows) > 0 {
			return rows[0].LevelM - plausibleLevelM, rows[len(rows)-1].LevelM + plausibleLevelM
		}
	case quantity.None, quantity.KilowattHour, quantity.Ampere, quantity.Hour, quantity.Millimetre, quantity.LitrePerSecond,
		quantity.PSI, quantity.Foot, quantity.Inch, quantity.Fahrenheit, quantity.GallonPerMinute:
	}
	return math.Inf(-1), math.Inf(1)
}

// times is a multiple of a rating, or no limit where the rating is not known.
func times(factor, rated float64) float64 {
	if !(rated > 0) {
		return math.Inf(1)
	}
	return factor * rated
}

// ratedKW is a unit's rating, or that of all units of the common bus. Where every unit has its own bus it is that of all.
func ratedKW(p *plant.Plant, unit string) float64 {
	if u, ok := p.UnitByID(unit); ok {
		return u.RatedKW
	}
	common, all := 0.0, 0.0
	for _, u := range p.Units {
		all += u.RatedKW
		if u.Common() {
			common += u.RatedKW
		}
	}
	if common > 0 {
		return common
	}
	return all
}

// staticKPa is the pressure of still water at the axis of a unit, or of the lowest one, with the pond at the highest level
// of its stage table, or else at its crest; 0 where neither is known.
func staticKPa(p *plant.Plant, unit string) float64 {
	var levelM float64
	switch rows := p.Pond.Stage; {
	case len(rows) > 0:
		levelM = rows[len(rows)-1].LevelM
	case p.Pond.CrestM != nil:
		levelM = *p.Pond.CrestM
	default:
		return 0
	}
	if _, ok := p.UnitByID(unit); !ok {
		unit = ""
	}
	most := 0.0
	for _, u := range p.Units {
		if unit == "" || u.ID == unit {
			most = max(most, conventionalWater*(levelM-u.AxisM))
		}
	}
	return most
}

// Question is a value that is asked about before it is kept.
type Question struct {
	Key    quantity.Key
	Value  float64
	Lo, Hi float64 // what is plausible, limits included; an infinity where there is none
	Slip   bool    // within the contract's range, but it seems a slip all the same: 6.01 Hz, a level that the pond cannot have reached
	Text   string  // the question in words, with units
}

// Expected says in words what is plausible: "0 to 360 V".
func (q Question) Expected() string {
	info, _ := quantity.Lookup(q.Key.Name())
	lo, hi := info.ShowEstimate(q.Lo, quantity.Metric), info.ShowEstimate(q.Hi, quantity.Metric)
	switch {
	case math.IsInf(q.Lo, -1) && math.IsInf(q.Hi, 1):
		return "a number"
	case math.IsInf(q.Lo, -1):
		return fmt.Sprintf("at most %s %s", hi, info.Unit)
	case math.IsInf(q.Hi, 1):
		return fmt.Sprintf("at least %s %s", lo, info.Unit)
	}
	return fmt.Sprintf("%s to %s %s", lo, hi, info.Unit)
}

// A tenth of a rating, or near it: the decimal sign was put one place too far left. A standing set reads 0 and a running
// one never so little, though both lie in the contract's range from 0.
const (
	slipFrom = 0.08 // × rated
	slipTo   = 0.12
)

func decimalSlip(p *plant.Plant, k quantity.Key, v float64) bool {
	r := rated(p, k)
	return r > 0 && v >= slipFrom*r && v < slipTo*r
}

// rated is the supply's rating of a quantity, 0 where it has none.
func rated(p *plant.Plant, k quantity.Key) float64 {
	switch k.Name() {
	case quantity.Volts:
		return p.Supply.Volts
	case quantity.Hertz:
		return p.Supply.Hertz
	}
	return 0
}

// Questions lists the readings of a round that want a second look before they are kept, in walking order: those that are
// not plausible at this plant and, with Slip set, those that seem to be a tenth of what was read. The contract's range alone
// decides what an import refuses, so that an import passes over the slips. A round that was confirmed is not asked about
// again: the caller looks at Confirmed.
func Questions(p *plant.Plant, r record.Round) []Question {
	var list []Question
	for k, v := range r.Values {
		lo, hi, ok := Plausible(p, k, v)
		slip := ok && decimalSlip(p, k, v)
		if slip {
			lo = slipTo * rated(p, k)
		}
		if !ok || slip {
			q := question(p, k, v, lo, hi, r.Typed[k])
			q.Slip = slip
			list = append(list, q)
		}
	}
	return sortQuestions(list)
}

// sortQuestions brings questions into walking order.
func sortQuestions(list []Question) []Question {
	if len(list) > 1 {
		place := walkingOrder()
		slices.SortFunc(list, func(a, b Question) int {
			if c := place[a.Key.Name()] - place[b.Key.Name()]; c != 0 {
				return c
			}
			return strings.Compare(string(a.Key), string(b.Key))
		})
	}
	return list
}

func walkingOrder() map[quantity.Name]int {
	place := map[quantity.Name]int{}
	for i, q := range quantity.Catalogue() {
		place[q.Name] = i
	}
	return place
}

// question words one: "Bearing A 950 °C is outside what is plausible here (-50 to 200 °C)".
func question(p *plant.Plant, k quantity.Key, v, lo, hi float64, typed string) Question {
	q := Question{Key: k, Value: v, Lo: lo, Hi: hi}
	q.Text = fmt.Sprintf("%s %s is outside what is plausible here (%s)", LabelOf(k), shownValue(p, k, v, typed), q.Expected())
	return q
}

// shownValue is a value with its unit. What was typed in another unit, or is shown in one, stands beside.
func shownValue(p *plant.Plant, k quantity.Key, v float64, typed string) string {
	info, _ := quantity.Lookup(k.Name())
	shown := info.Show(v, quantity.Metric) + " " + string(info.Unit)
	if system := quantity.System(p.Site.Units); typed != "" {
		shown += " (" + typed + ")"
	} else if unit := info.ShowUnit(system); unit != info.Unit {
		shown += " (" + info.Show(v, system) + " " + string(unit) + ")"
	}
	return shown
}
