package safety

import (
	"fmt"
	"math"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/steady"
)

// Limits of the trade, all rules of thumb from memory. The pipe's own pressure class decides.
const (
	surgeShare   = 0.30 // surge at a closing that is called safe, over the static head
	pipeVelocity = 3.0  // m/s
	pipeLoss     = 0.15 // loss in the pipe over the gross head
)

// penstock works out static pressure, velocity and surge of one penstock with all its units running at the highest level.
func (w *work) penstock(i int) {
	s := w.p.Penstocks[i]
	axis, ids := math.Inf(1), []string(nil)
	for _, u := range w.p.Units {
		if u.Penstock == s.Name {
			axis, ids = min(axis, u.AxisM), append(ids, u.ID)
		}
	}
	if len(ids) == 0 {
		return
	}
	r, ok := w.solve(w.highM, ids)
	if !ok {
		return
	}
	static := w.highM - axis
	kpa := hydraulics.PressureOfHead(static, r.Water.DensityKgM3) / 1000
	w.add(Number{
		Key: "static_kpa", Name: "Static pressure at the machine", Of: s.Name, Value: kpa, Unit: kilopascals,
		Says:    fmt.Sprintf("%s (%s of water), %s, nothing flowing", w.pressure(kpa), w.height(static, 1), w.high),
		Formula: "p = ρ g (level − axis)", Source: "hydrostatics", Status: Verified,
	})
	for j := range r.Penstocks {
		if p := &r.Penstocks[j]; p.Name == s.Name && p.FlowM3s > 0 {
			w.pipe(s, p, static)
			w.surge(s, p.VelocityMS, static, r.Water.DensityKgM3)
		}
	}
}

// pipe works out velocity and loss with all units running. Without a head over the axis there is nothing to hold the loss
// against.
func (w *work) pipe(s plant.Penstock, p *steady.PenstockResult, static float64) {
	v, loss := p.VelocityMS, p.LossM()
	w.add(Number{
		Key: "pipe_velocity_ms", Name: "Velocity in the penstock", Of: s.Name, Value: v, Unit: metresPerSecond, AtMost: new(pipeVelocity),
		Says:    fmt.Sprintf("%s with all its units running; up to about %s is usual", w.velocity(v, 2), w.velocity(pipeVelocity, 1)),
		Formula: "V = Q / A", Source: "common practice", Status: Thumb,
	})
	if !(static > 0) {
		return
	}
	w.add(Number{
		Key: "pipe_loss_share", Name: "Head lost in the penstock", Of: s.Name, Value: loss / static, Unit: "of static head", AtMost: new(pipeLoss),
		Says:    fmt.Sprintf("%s, %.0f %% of the static head; up to about %.0f %% is usual", w.height(loss, 2), 100*loss/static, 100*pipeLoss),
		Formula: "Darcy–Weisbach, Colebrook–White", Source: "C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939); limit: common practice", Status: Thumb,
	})
}

// surge works out the worst surge and the closing time that keeps it small.
func (w *work) surge(s plant.Penstock, v, static, rho float64) {
	wave, from := hydraulics.UnyieldingWaveSpeed(rho), "the pipe's wave speed is not given: that of a pipe which does not yield is taken, which is too high for plastic"
	if s.WaveSpeedMS != nil && *s.WaveSpeedMS > 0 {
		wave, from = *s.WaveSpeedMS, "wave speed "+w.velocity(*s.WaveSpeedMS, 0)
	}
	full := hydraulics.JoukowskyHead(wave, v)
	w.add(Number{
		Key: "surge_full_m", Name: "Surge at a sudden stop", Of: s.Name, Value: full, Unit: metres,
		Says: fmt.Sprintf("%s on top of %s if the flow stops within %.1f s; %s", w.height(full, 1), w.height(static, 1),
			hydraulics.ReturnTime(s.LengthM, wave), from),
		Formula: "Joukowsky: Δh = a v / g", Source: "N. Joukowsky 1898, by way of AWWA M11", Status: Verified,
	})
	if !(static > 0) {
		return // no share of nothing tells what the pipe bears
	}
	allowed := surgeShare * static
	t := hydraulics.ClosingTime(s.LengthM, wave, v, allowed)
	rise := hydraulics.ClosingSurge(s.LengthM, wave, v, t)
	says := fmt.Sprintf("turn the main valve from open to shut evenly over at least %.0f s: the surge is then %s, %.0f %% of the static head; the last quarter of the turn stops most of the flow, so slow down there",
		math.Ceil(t), w.height(rise, 1), 100*rise/static)
	if t == 0 {
		says = fmt.Sprintf("even a sudden stop gives only %s, %.0f %% of the static head", w.height(rise, 1), 100*rise/static)
	}
	w.add(Number{
		Key: "closing_s", Name: "Fastest safe closing of the main valve", Of: s.Name, Value: t, Unit: "s", Says: says,
		Formula: fmt.Sprintf("Michaud: t = 2 L v / (g Δh), Δh = %.0f %% of the static head", 100*surgeShare), Source: "A. Michaud 1878; allowance: common practice", Status: Thumb,
	})
}
