package steady

import (
	"fmt"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/machine"
)

// Cautions returns a result's cautions as sentences, the plant's own first, then each unit's.
func (m *Model) Cautions(r *Result) []string {
	var list []string
	if r.Caution&MouthDry != 0 {
		list = append(list, fmt.Sprintf("the level is below the intake's centre line (%.2f m): the mouth draws air and these numbers mean little", *m.plant.Intake.CentrelineM))
	}
	if r.Caution&WaterRange != 0 {
		list = append(list, fmt.Sprintf("the water temperature is outside %g to %g °C: %g °C is used", hydraulics.MinWaterC, hydraulics.MaxWaterC, r.Water.TempC))
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
		{MachineBelow, "its flow is " + m.flowShare(r, i) + ", below the range in which the machine's curve deserves trust" + rangeText(v)},
		{MachineAbove, "its flow is " + m.flowShare(r, i) + ", above the range in which the machine's curve deserves trust" + rangeText(v)},
		{AboveRating, fmt.Sprintf("%.1f kW is more than its rating of %.1f kW", u.KW, v.ratedKW)},
		{HighAxis, fmt.Sprintf("its axis stands %.1f m above the tailwater: beyond about %g m a draft pipe does not keep its whole head (rule of thumb)", v.axisM-v.tailM, highAxisM)},
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

func (m *Model) flowShare(r *Result, i int) string {
	return fmt.Sprintf("%.2f of its best flow", r.Units[i].Relative)
}

func rangeText(v *unit) string {
	if v.machine.Measured() {
		return " (outside its measured rows)"
	}
	return fmt.Sprintf(" (%g to %g)", machine.LowQ, machine.HighQ)
}
