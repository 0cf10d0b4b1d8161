package plant

import (
	"fmt"
	"math"

	"example.org/headpond/model/quantity"
)

// Advisory is something that a plant file may say, but that is worth a second look.
type Advisory struct {
	Key    string // path of the key it concerns
	What   string // what was noticed and what follows from it
	Source string // the rule behind it and where that comes from; "" where it is plain sense
}

// String returns "key: what (source)".
func (a Advisory) String() string {
	s := a.Key + ": " + a.What
	if a.Source != "" {
		s += " (" + a.Source + ")"
	}
	return s
}

// Rules of thumb behind the advice.
const (
	// ballastMargin is the ballast's usual size over the greatest output. Harvey 1993 and Smith 1994 advise 10 to 25 % more
	// (from memory).
	ballastMargin = 1.15
	// maxSuctionM is the height of an axis over its tailwater above which low pressure at the runner becomes likely.
	maxSuctionM = 4
	// startRatio is how far starting loads a generator's rated kVA at most.
	startRatio = 1.5
)

// Advice lists what is allowed but worth saying about a checked plant, in the file's order. What needs the hydraulic solver
// is not among it.
func Advice(p *Plant) []Advisory {
	a := &adviser{p: p}
	if p.Site.Name == templateName {
		a.say("site.name", "is that of the starting file: replace every value by your own plant's", "")
	}
	a.supply()
	a.bands()
	a.pond()
	a.intake()
	for i := range p.Penstocks {
		a.penstock(i)
	}
	for i := range p.Units {
		a.unit(i)
	}
	a.ballast()
	a.loads()
	return a.list
}

type adviser struct {
	p    *Plant
	list []Advisory
}

func (a *adviser) say(key, what, source string) {
	a.list = append(a.list, Advisory{Key: key, What: what, Source: source})
}

func (a *adviser) supply() {
	s := a.p.Supply
	if s.TripVolts == nil {
		a.say("supply.trip_volts", "not given: whether a trip follows cannot be told; it stands in the protection's settings", "")
	}
	if s.TripHertz == nil {
		a.say("supply.trip_hertz", "not given: whether a trip follows cannot be told; it stands in the protection's settings", "")
	}
}

func (a *adviser) bands() {
	bearing := false
	for i, b := range a.p.Bands {
		if b.Source == "" {
			a.say(fmt.Sprintf("band[%d].source", i+1), "not given: the next person will not know why "+b.Quantity+" has these limits", "")
		}
		bearing = bearing || quantity.Key(b.Quantity).Name() == quantity.BearingC
	}
	if !bearing {
		a.say("band", "bearing_c has no limits: take the maker's, or a warning at 80 C and a stop at 95 C on the housing",
			"common practice, from memory")
	}
}

func (a *adviser) pond() {
	pond := a.p.Pond
	if len(pond.Stage) == 0 {
		a.say("pond.stage", "not given: neither volumes nor days left can be told", "")
	}
	for i := 1; i < len(pond.Stage); i++ {
		if pond.Stage[i].AreaM2 < pond.Stage[i-1].AreaM2 {
			a.say("pond.stage", fmt.Sprintf("the water surface shrinks from %s to %s m2 as the level rises from %s to %s m",
				number(pond.Stage[i-1].AreaM2), number(pond.Stage[i].AreaM2), number(pond.Stage[i-1].LevelM), number(pond.Stage[i].LevelM)), "")
		}
	}
	if n := len(pond.Stage); pond.CrestM != nil && n > 0 && *pond.CrestM > pond.Stage[n-1].LevelM {
		a.say("pond.crest_m", fmt.Sprintf("%s m lies above the pond's highest level in the stage table, %s m: is the unit right, and is it measured from the gauge's zero?",
			number(*pond.CrestM), number(pond.Stage[n-1].LevelM)), "")
	}
	if pond.CrestM != nil && pond.CrestLengthM == 0 {
		a.say("pond.crest_length_m", "not given: what passes the spillway cannot be reckoned", "")
	}
	if pond.EvaporationMMDay == nil {
		a.say("pond.evaporation_mm_day", "not given: no evaporation is reckoned", "")
	}
	a.stop()
}

func (a *adviser) stop() {
	stop, from, ok := a.p.StopLevel()
	if !ok {
		a.say("pond.stop_level_m", "neither it nor the intake's centre line and diameter is given: days left cannot be told", "")
		return
	}
	pond := a.p.Pond
	if limit, ok := a.p.SubmergenceLevel(); ok && from == StopFromPlant && stop < limit {
		a.say("pond.stop_level_m", fmt.Sprintf("%s m is below the %.2f m at which the intake may begin to draw air with all units at best flow",
			number(stop), limit), "submergence 0.7245 V sqrt(D) over the crown, Gordon 1970, from memory")
	}
	if len(pond.Stage) > 0 && stop < pond.Stage[0].LevelM {
		a.say("pond.stage", fmt.Sprintf("begins at %s m, above the stop level of %.2f m: below it the shape of the pond is guessed by going on straight",
			number(pond.Stage[0].LevelM), stop), "")
	}
	if pond.PermitLowM != nil && stop < *pond.PermitLowM {
		a.say("pond.permit_low_m", fmt.Sprintf("%s m is reached before the stop level of %.2f m", number(*pond.PermitLowM), stop), "")
	}
	if pond.CrestM != nil && stop >= *pond.CrestM {
		key, source := "pond.stop_level_m", ""
		if from == StopFromSubmergence {
			key, source = "intake.centreline_m", "submergence, Gordon 1970, from memory"
		}
		a.say(key, fmt.Sprintf("running stops at %.2f m, which is not below the spillway's crest at %s m: the plant runs only while water spills",
			stop, number(*pond.CrestM)), source)
	}
}

func (a *adviser) intake() {
	in := a.p.Intake
	if in.ScreenM2 == nil {
		a.say("intake.screen_m2", "not given: no screen loss is reckoned and a blocked screen cannot be told", "")
	}
	if in.DiameterM != nil && in.CentrelineM != nil && len(a.p.Pond.Stage) > 0 {
		if crown, top := *in.CentrelineM+*in.DiameterM/2, a.p.Pond.Stage[len(a.p.Pond.Stage)-1].LevelM; crown > top {
			a.say("intake.centreline_m", fmt.Sprintf("the crown of the intake at %.2f m lies above the pond's highest level of %s m", crown, number(top)), "")
		}
	}
}

func (a *adviser) penstock(i int) {
	s := a.p.Penstocks[i]
	key := fmt.Sprintf("penstock[%d]", i+1)
	for _, u := range a.p.Units {
		if u.Penstock == s.Name {
			a.slope(u, s, key)
			if s.WaveSpeedMS == nil {
				a.say(key+".wave_speed_ms", "not given: the pressure surge of a fast closing cannot be reckoned", "")
			}
			return
		}
	}
	a.say(key, "feeds no unit", "")
}

// slope compares a pipe's length with its drop, from the intake, or where that is not given the pond's lowest level, to the axis: a
// pipe is never shorter, however steep.
func (a *adviser) slope(u Unit, s Penstock, key string) {
	var from float64
	switch {
	case a.p.Intake.CentrelineM != nil:
		from = *a.p.Intake.CentrelineM
	case len(a.p.Pond.Stage) > 0:
		from = a.p.Pond.Stage[0].LevelM
	default:
		return
	}
	if drop := from - u.AxisM; s.LengthM < drop {
		a.say(key+".length_m", fmt.Sprintf("%s m is shorter than the %.1f m that it drops from the intake to the axis of %s: is the length whole, and in m?",
			number(s.LengthM), drop, quote(u.ID)), "")
	}
}

// capacityKW returns what the working elements take at the supply's nominal voltage, P = Pr (V/Vr)² each, or the
// controller's limit if that is lower.
func (p *Plant) capacityKW() float64 {
	sum := 0.0
	for _, e := range p.Ballast.Elements {
		if e.Working && e.RatedVolts > 0 {
			sum += elementKW(e, p.Supply.Volts)
		}
	}
	if p.Ballast.ControllerKW != nil {
		sum = math.Min(sum, *p.Ballast.ControllerKW)
	}
	return sum
}

func elementKW(e Element, volts float64) float64 {
	return e.RatedKW * (volts / e.RatedVolts) * (volts / e.RatedVolts)
}

// rated returns the rated power of all units on the common bus, and their rated kVA.
func (p *Plant) rated() (kw, kva float64) {
	for _, u := range p.Units {
		if u.Common() {
			kw += u.RatedKW
			kva += u.RatedKVA
		}
	}
	return kw, kva
}
