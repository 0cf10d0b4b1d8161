package safety

import (
	"fmt"

	"example.org/headpond/model/hydraulics"
)

// submergence compares the water over the intake's crown at the stop level with Gordon's need at the largest draw.
func (w *work) submergence() {
	in := w.p.Intake
	if !w.low || in.CentrelineM == nil || in.DiameterM == nil {
		return
	}
	flow := 0.0
	for _, u := range w.p.Units {
		flow += w.m.BestFlowM3s(u.ID)
	}
	d := *in.DiameterM
	v := flow / hydraulics.PipeArea(d)
	need := hydraulics.Submergence(v, d, hydraulics.GordonLateral)
	have := w.lowM - (*in.CentrelineM + d/2)
	w.add(Number{
		Key: "submergence_m", Name: "Water over the intake at the stop level", Value: have, Unit: metres, AtLeast: &need,
		Says: fmt.Sprintf("%s over the crown; %s is asked for at %s in the mouth with all units at their best flow, so that no vortex draws air; the stop level would be %s",
			w.height(have, 2), w.height(need, 2), w.velocity(v, 2), w.height(*in.CentrelineM+d/2+need, 2)),
		Formula: "S = 0.7245 V √D (m, s; lateral approach)", Source: `J. L. Gordon, "Vortices at intakes", Water Power 22(4), 1970`, Status: Memory,
	})
}

// approach compares the velocity at the clean screen with the published fish-screen rules, as information.
func (w *work) approach() {
	in := w.p.Intake
	if in.ScreenM2 == nil {
		return
	}
	r, ok := w.solve(w.highM, w.p.UnitIDs())
	if !ok || !(r.FlowM3s > 0) {
		return
	}
	for _, rule := range hydraulics.FishScreenRules() {
		area, of := *in.ScreenM2, "gross"
		if rule.OpenArea {
			area, of = area*in.OpenShare, "open"
		}
		v := r.FlowM3s / area
		n := Number{
			Key: "approach_ms", Name: "Velocity at the clean screen", Of: rule.Name, Value: v, Unit: metresPerSecond, AtMost: new(rule.VelocityMS), Information: true,
			Says: fmt.Sprintf("%s on the %s area at %s; the rule's %s would need %s of it, there is %s; the rule was not written for hydro intakes",
				w.velocity(v, 3), of, w.flow(r.FlowM3s), w.velocity(rule.VelocityMS, 3), w.area(rule.NeededArea(r.FlowM3s)), w.area(area)),
			Formula: "V = Q / A", Source: rule.Source, Status: rule.Status,
		}
		if rule.HoleMM > 0 && in.HoleMM != nil && *in.HoleMM > rule.HoleMM {
			n.Says += fmt.Sprintf("; its holes are at most %g mm, here %g mm", rule.HoleMM, *in.HoleMM)
		}
		w.add(n)
	}
}
