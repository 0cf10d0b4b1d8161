package assess

import (
	"context"
	"slices"
	"strings"
	"time"

	"example.org/headpond/model/electrical"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/water"
)

// Ballast answers how much ballast and load room there is, from the last round that holds any reading of power. The error
// says what is missing.
func (a *Assessor) Ballast() (*electrical.Facts, error) {
	p := a.h.Plant
	if p == nil {
		return nil, errNoPlant
	}
	pw := a.Power()
	if pw == nil {
		return nil, errNoRound
	}
	in := electrical.Input{
		Plant: p, At: a.h.At, Volts: pw.Volts, Running: pw.all,
		Generation: pw.Generation.input(), Load: pw.Load.input(), Dumped: pw.Dumped.input(),
		Working: a.h.ElementsWorking(a.h.At), WaterC: a.waterC(pw.Round),
	}
	if m, err := a.Model(p); err == nil { // without it the settling frequency is left out, which the facts then say
		in.Model = m
	}
	if level, ok := a.level(pw.Round); ok {
		in.PondLevelM = &level
	}
	f, err := electrical.Ballast(in)
	if err != nil {
		return nil, err
	}
	f.Suspect, f.Cautions = pw.Suspect, append(f.Cautions, pw.Cautions...)
	f.Since = a.since(p, pw)
	return f, nil
}

// since tells what runs now where that is not what ran at the round of the powers; nil where it is, or is not known.
func (a *Assessor) since(p *plant.Plant, pw *Power) *electrical.Since {
	now, known := a.Timeline(p).RunningAt(a.h.At)
	if !known || pw.Running == nil {
		return nil
	}
	common := (&balance{p: p}).common(now)
	if slices.Equal(common, pw.Running) {
		return nil
	}
	s := &electrical.Since{Running: common, Time: pw.Round.Time, By: "a round"}
	for _, r := range a.h.Rounds {
		if r.Running != nil && !r.Time.Before(s.Time) {
			s.Time = r.Time
		}
	}
	for _, e := range a.h.Events {
		if e.Kind != record.Start && e.Kind != record.Stop && e.Kind != record.Trip || e.Time.Before(s.Time) {
			continue
		}
		s.Time, s.By = e.Time, string(e.Kind)
		if len(e.Units) > 0 {
			s.By += " of " + strings.Join(e.Units, "+")
		}
	}
	return s
}

// input hands a power to the ballast's sums.
func (k *KW) input() electrical.Power {
	if k == nil {
		return electrical.Power{}
	}
	v := k.KW
	return electrical.Power{KW: &v, From: string(k.From)}
}

// Draws returns what a revision of the plant draws from the pond, for the water's forecast: the solver's flow with a clean
// screen, at the last water temperature. The error says why there is no solver.
func (a *Assessor) Draws(p *plant.Plant) (water.Draw, error) {
	m, err := a.Model(p)
	if err != nil {
		return nil, err
	}
	return m.Draw, nil
}

// Water answers how long the water lasts.
func (a *Assessor) Water(ctx context.Context, o water.Options) (*water.Facts, error) {
	return water.Report(ctx, a.h, a.Draws, o)
}

// PrepareWater reads and filters the log once, for many what-ifs.
func (a *Assessor) PrepareWater(ctx context.Context) (*water.Model, error) {
	return water.Prepare(ctx, a.h, a.Draws)
}

// PowerTime is when the readings were taken that the balance rests on; false when there are none.
func (a *Assessor) PowerTime() (time.Time, bool) {
	r, ok := a.h.LastWith(powerKeys(a.h.Plant)...)
	return r.Time, ok && a.h.Plant != nil
}

// LevelTime is when the pond level was last read.
func (a *Assessor) LevelTime() (time.Time, bool) {
	r, ok := a.h.LastWith(quantity.Key(quantity.PondLevelM))
	return r.Time, ok
}
