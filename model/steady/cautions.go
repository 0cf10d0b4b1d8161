package steady

import (
	"fmt"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/machine"
	"example.org/headpond/model/quantity"
)

// Cautions returns a result's cautions as sentences, the plant's own first, then each unit's. Numbers are in the plant's units.
func (m *Model) Cautions(r *Result) []string {
	var list []string
	if r.Caution&MouthDry != 0 {
		list = append(list, fmt.Sprintf("the level is below the intake's centre line (%s): the mouth draws air and these numbers mean little", m.height(*m.plant.Intake.CentrelineM, 2)))
	}
	if r.Caution&WaterRange != 0 {
		list = append(list, fmt.Sprintf("the water temperature is outside %s to %s: %s is used", m.warmth(hydraulics.MinWaterC), m.warmth(hydraulics.MaxWaterC), m.warmth(r.Water.TempC)))
	}
	for i := range r.Units {
		list = append(list, m.unitSentences(r, i)...)
	}
	return list
}

func (m *Model) unitSentences(r *Result, i int) []string {
	u, v := &r.Units[i], &m.units[i]
	sentences := []struct {
		is   Caution
		text string
	}{
		{NoHead, "no water reaches it"},
		{MachineTooSlow, "the head cannot hold rated speed: it turns slower and gives no power"},
		{MachineBelow, m.outside(u, v, "below", machine.LowQ)},
		{MachineAbove, m.outside(u, v, "above", machine.HighQ)},
		{AboveRating, aboveRating(u.KW, v.ratedKW)},
		{HighAxis, m.highAxis(v)},
		{Vacuum, "the pressure at the gauge would be below that at which water boils: the column parts there"},
	}
	var list []string
	for _, s := range sentences {
		if u.Caution&s.is != 0 && (u.Running || s.is == HighAxis) {
			list = append(list, "unit "+u.ID+": "+s.text)
		}
	}
	return list
}

// apart writes a number and the limit that it is past, with as many digits as tell the two apart, digits at the least. Beyond six
// more nothing would be told.
func apart(v, limit float64, digits int, write func(v float64, digits int) string) (number, bound string) {
	for d := digits; ; d++ {
		number, bound = write(v, d), write(limit, d)
		if number != bound || d >= digits+6 {
			return number, bound
		}
	}
}

func plainNumber(v float64, digits int) string { return fmt.Sprintf("%.*f", digits, v) }

func aboveRating(kw, ratedKW float64) string {
	is, most := apart(kw, ratedKW, 1, plainNumber)
	return is + " kW is more than its rating of " + most + " kW"
}

func (m *Model) highAxis(v *unit) string {
	is, most := apart(v.axisM-v.tailM, highAxisM, 1, m.height)
	return fmt.Sprintf("its axis stands %s above the tailwater: beyond about %s a draft pipe does not keep its whole head (rule of thumb)", is, most)
}

// height writes metres in the plant's units.
func (m *Model) height(v float64, digits int) string {
	return shown(quantity.Info{Unit: quantity.Metre, Digits: digits}, v, m.system())
}

// warmth writes a temperature in the plant's units.
func (m *Model) warmth(c float64) string {
	return shown(quantity.Info{Unit: quantity.Celsius}, c, m.system())
}

func (m *Model) system() quantity.System { return quantity.System(m.plant.Site.Units) }

func shown(q quantity.Info, v float64, s quantity.System) string {
	return q.ShowEstimate(v, s) + " " + string(q.ShowUnit(s))
}

// outside says that a machine works where its curve, or its measured table, deserves no trust.
func (m *Model) outside(u *UnitResult, v *unit, where string, limit float64) string {
	if v.machine.Measured() {
		return fmt.Sprintf("its net head of %s is %s those at which it was measured", m.height(u.NetHeadM, 1), where)
	}
	share, _ := apart(u.Relative, limit, 2, plainNumber)
	return fmt.Sprintf("its flow is %s of its best flow, %s the range in which the machine's curve deserves trust (%g to %g)", share, where, machine.LowQ, machine.HighQ)
}
