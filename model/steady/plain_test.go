package steady

import (
	"math"
	"testing"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/machine"
	"example.org/headpond/model/plant"

	"pgregory.net/rapid"
)

// plain solves a plant the slow way, straight from model.md: nested halvings, every loss by its own formula, nothing shared with
// the solver but the machine's curve. It returns each penstock's flow and the screen's loss.
func plain(t *rapid.T, p *plant.Plant, c Case, water hydraulics.Water) (flows []float64, screenM float64) {
	machines := make([]*machine.Machine, len(p.Units))
	for i, u := range p.Units {
		m, err := machine.New(u)
		if err != nil {
			t.Fatal(err)
		}
		machines[i] = m
	}
	runs := map[string]bool{}
	for _, id := range c.Running {
		runs[id] = true
	}
	pipe := func(s plant.Penstock, energyM float64) float64 {
		return halve(func(q float64) float64 {
			loss := hydraulics.FrictionLoss(q, s.LengthM, s.DiameterM, s.RoughnessMM/1000, water.ViscosityM2s) + hydraulics.MinorLoss(q, s.DiameterM, s.MinorK)
			sum := 0.0
			for i, u := range p.Units {
				if u.Penstock == s.Name && runs[u.ID] {
					sum += machines[i].At(energyM-loss-u.TailwaterM, 1, water.DensityKgM3).FlowM3s
				}
			}
			return sum - q
		}, 0, 100)
	}
	all := func(energyM float64) float64 {
		flows = flows[:0]
		sum := 0.0
		for _, s := range p.Penstocks {
			flows = append(flows, pipe(s, energyM))
			sum += flows[len(flows)-1]
		}
		return sum
	}
	if p.Intake.ScreenM2 == nil {
		all(c.PondLevelM)
		return flows, 0
	}
	loss := func(q float64) float64 {
		return hydraulics.ScreenLoss(q, *p.Intake.ScreenM2, p.Intake.OpenShare**c.ScreenClear)
	}
	q := halve(func(q float64) float64 { return all(c.PondLevelM-loss(q)) - q }, 0, 100)
	all(c.PondLevelM - loss(q))
	return flows, loss(q)
}

// halve finds the root of a falling function by halving alone.
func halve(f func(float64) float64, lo, hi float64) float64 {
	for range 80 {
		if mid := lo + (hi-lo)/2; f(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// On random plants the solver agrees with the plain way.
func TestSolverAgreesWithPlainHalving(t *testing.T) {
	checks := 0
	rapid.Check(t, func(t *rapid.T) {
		if checks++; checks > 40 { // each takes tens of milliseconds, for it is plain
			return
		}
		p := randomPlant(t)
		m := mustModel(t, p)
		c := randomCase(t, p)
		c.ScreenClear = new(math.Exp(rapid.Float64Range(math.Log(1e-3), 0).Draw(t, "ln clear share")))
		r := mustSolve(t, m, c)
		flows, screenM := plain(t, p, c, m.water(&c))
		if math.Abs(r.ScreenLossM-screenM) > 1e-8*(1+screenM) {
			t.Fatalf("screen loses %g m; plainly %g m", r.ScreenLossM, screenM)
		}
		for j, q := range flows {
			if math.Abs(r.Penstocks[j].FlowM3s-q) > 1e-7*q+1e-8 {
				t.Fatalf("penstock %d takes %g m³/s; plainly %g", j, r.Penstocks[j].FlowM3s, q)
			}
		}
	})
}
