package main

import (
	"fmt"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/steady"
)

// expectText says what each reading should be, from the pond to the plug.
func (c *command) expectText(h *record.History, e *steady.Expectation) error {
	v := valueWords{quantity.System(h.Plant.Site.Units)}
	screen := ""
	if e.ScreenOpen != nil {
		screen = fmt.Sprintf(", screen %.3g %% open", 100**e.ScreenOpen)
	}
	c.say("For a pond level of %s, running %s%s, water at %s:", v.of(quantity.PondLevelM, &e.PondLevelM), record.FormatRunning(e.Running), screen, v.of(quantity.WaterC, &e.WaterC))
	c.say("")
	row := func(label, value string) {
		if value != "" {
			c.say("  %-22s %12s", label, value)
		}
	}
	row("Gross head", v.of(quantity.PondLevelM, e.GrossHeadM))
	row("Lost at the screen", v.of(quantity.PondLevelM, e.ScreenLossM))
	row("Lost in the pipe", v.of(quantity.PondLevelM, e.FrictionLossM))
	row("Lost in the fittings", v.of(quantity.PondLevelM, e.MinorLossM))
	row("Net head", v.of(quantity.PondLevelM, e.NetHeadM))
	row("Flow", v.of(quantity.FlowLps, &e.FlowLps))
	row("Intake pressure", v.of(quantity.PressureKPa, e.PressureKPa))
	row("at rest", v.of(quantity.PressureKPa, e.StaticPressure))
	row("Generation", v.of(quantity.KW, &e.GenerationKW))
	row("on buses of their own", v.of(quantity.KW, e.OwnBusKW))
	if e.WaterToWire != nil {
		row("Water to wire", fmt.Sprintf("%.0f %%", 100**e.WaterToWire))
	}
	if len(e.Units) > 1 {
		for _, u := range e.Units {
			line := fmt.Sprintf("  Unit %s: %s, net head %s, %s", u.ID, v.of(quantity.FlowLps, &u.FlowLps), v.of(quantity.PondLevelM, &u.NetHeadM), v.of(quantity.KW, &u.KW))
			if e.PressureKPa == nil && u.PressureKPa != nil { // each on a gauge of its own
				line += fmt.Sprintf(", intake pressure %s (%s at rest)", v.of(quantity.PressureKPa, u.PressureKPa), v.of(quantity.PressureKPa, &u.StaticKPa))
			}
			c.say("%s", line)
		}
	}
	c.say("")
	c.say("Estimates from the plant's description; the meters tell what is.")
	c.cautions(e.Cautions)
	return nil
}

// valueWords shows estimates in the plant's units.
type valueWords struct{ system quantity.System }

// of shows a value as the readings of a name are shown, "" where there is none.
func (v valueWords) of(name quantity.Name, x *float64) string {
	info, ok := quantity.Lookup(name)
	if x == nil || !ok {
		return ""
	}
	return info.ShowEstimate(*x, v.system) + " " + string(info.ShowUnit(v.system))
}
