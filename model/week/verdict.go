package week

import (
	"fmt"
	"math"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
)

// calm says why nothing is to be decided.
func (r *Review) calm() string {
	parts := []string{}
	if q, ok := r.States.Of(string(quantity.Volts)); ok {
		parts = append(parts, fmt.Sprintf("voltage in band for %.0f %% of the time that is known", 100*q.InShare))
	}
	if q, ok := r.States.Of(string(quantity.Hertz)); ok {
		parts = append(parts, fmt.Sprintf("frequency for %.0f %%", 100*q.InShare))
	}
	if r.EnergyKWh.Generated != nil {
		parts = append(parts, r.EnergyKWh.Generated.rounded("kWh")+" generated")
	}
	if len(parts) == 0 {
		return "nothing was read"
	}
	return strings.Join(parts, ", ")
}

// verdict says the whole review: how the plant is, and what it gave.
func (r *Review) verdict() string {
	if r.Rounds == 0 { // nobody looked, and that is not well
		return fmt.Sprintf("Nothing is known of this %s: no round was written", r.Span)
	}
	return r.health() + ". " + r.gave()
}

// health counts what is to be decided by its urgency.
func (r *Review) health() string {
	n := map[assess.Urgency]int{}
	for _, d := range r.Decisions {
		n[d.Urgency]++
	}
	out, look, do := n[assess.UrgentOut], n[assess.UrgentNear], n[assess.UrgentDue]
	todo := ""
	if do > 0 {
		todo = fmt.Sprintf(", %d to do", do)
	}
	switch {
	case out > 0 && look > 0:
		return fmt.Sprintf("Not well: %s out of order, %d more to look at%s", count(out, "thing", "things"), look, todo)
	case out > 0:
		return fmt.Sprintf("Not well: %s out of order%s", count(out, "thing", "things"), todo)
	case look > 0:
		return fmt.Sprintf("Nearly well: %s to look at%s", count(look, "thing", "things"), todo)
	}
	how := "The plant is well"
	if !r.known() {
		how = "It is not known whether the plant is well"
	}
	if do > 0 {
		return fmt.Sprintf("%s, %s to do", how, count(do, "thing", "things"))
	}
	return how
}

// known reports whether so much of the period is known, by the power or by any reading that is judged, that it can be called well.
func (r *Review) known() bool {
	hours := r.HoursCovered
	for _, q := range r.States {
		hours = max(hours, q.Hours)
	}
	return hours >= sparseShare*r.Hours
}

// gave says what the plant gave, with the digits that the table has.
func (r *Review) gave() string {
	e := r.EnergyKWh
	if e.Generated == nil {
		return "No power was read"
	}
	text := "It gave " + e.Generated.in("kWh")
	if e.Used != nil {
		text += ", of which " + e.rounded(*e.Used, "kWh") + " were used"
	}
	if share := r.HoursCovered / r.Hours; share < 0.995 {
		text += fmt.Sprintf(", over the %.0f %% of the time that is known", math.Floor(100*share))
	}
	return text
}
