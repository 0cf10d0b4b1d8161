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
		parts = append(parts, fmt.Sprintf("%.0f kWh generated", r.EnergyKWh.Generated.Value))
	}
	if len(parts) == 0 {
		return "nothing was read"
	}
	return strings.Join(parts, ", ")
}

// verdict says the whole review in one sentence.
func (r *Review) verdict() string {
	open := 0
	for _, d := range r.Decisions {
		if d.Urgency != None && d.Urgency != assess.UrgentNote {
			open++
		}
	}
	gave := "no power was read"
	if e := r.EnergyKWh; e.Generated != nil {
		gave = fmt.Sprintf("it gave %.0f kWh (%.0f to %.0f)", e.Generated.Value, e.Generated.Low, e.Generated.High)
		if e.Used != nil {
			gave += fmt.Sprintf(", of which %.0f were used", e.Used.Value)
		}
		if share := r.HoursCovered / r.Hours; share < 0.995 {
			gave += fmt.Sprintf(", over the %.0f %% of the time that is known", math.Floor(100*share))
		}
	}
	switch {
	case r.Rounds == 0: // nobody looked, and that is not well
		return fmt.Sprintf("Nothing is known of this %s: no round was written", r.Span)
	case r.Well && open == 0:
		return "The plant is well: " + gave
	case r.Well:
		return fmt.Sprintf("The plant is well, %s to do: %s", count(open, "thing", "things"), gave)
	}
	return fmt.Sprintf("%s to look at: %s", count(open, "thing", "things"), gave)
}
