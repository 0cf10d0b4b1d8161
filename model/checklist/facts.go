package checklist

import (
	"fmt"
	"math"
	"strings"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/safety"
	"example.org/headpond/model/steady"
	"example.org/headpond/model/tolerance"
)

// facts are the plant's own numbers and names as the steps say them; "" where the description does not give them.
type facts struct {
	p       *plant.Plant
	band    string // "58.8 to 61.2 Hz and 228 to 252 V"
	stop    string // "-0.85 m"
	high    string // the permit's upper level
	bypass  string // "6.0 L/s"
	hole    string // "2.5 mm"
	closing string // "at least 17 s"
	static  string // "about 144 kPa"
	trips   string // "204 and 276 V, 54 and 66 Hz"
}

func factsOf(p *plant.Plant) *facts {
	f := &facts{p: p}
	show := func(n quantity.Name, v float64) string {
		info, _ := quantity.Lookup(n)
		s := quantity.System(p.Site.Units)
		return fmt.Sprintf("%s %s", info.Show(v, s), info.ShowUnit(s))
	}
	f.band = f.limits()
	if m, _, ok := p.StopLevel(); ok {
		f.stop = show(quantity.PondLevelM, m)
	}
	if p.Pond.PermitHighM != nil {
		f.high = show(quantity.PondLevelM, *p.Pond.PermitHighM)
	}
	if p.Pond.BypassLps > 0 {
		f.bypass = show(quantity.BypassLps, p.Pond.BypassLps)
	}
	if p.Intake.HoleMM != nil {
		f.hole = fmt.Sprintf("%g mm", *p.Intake.HoleMM)
	}
	f.trips = trips(p.Supply)
	f.pipes(show)
	return f
}

// limits are the good voltage and frequency.
func (f *facts) limits() string {
	b := tolerance.For(f.p)
	var parts []string
	for _, n := range []quantity.Name{quantity.Hertz, quantity.Volts} {
		band, ok := b.For(quantity.Key(n))
		if !ok || band.InMin == nil || band.InMax == nil {
			continue
		}
		info, _ := quantity.Lookup(n)
		parts = append(parts, fmt.Sprintf("%s to %s %s", info.Show(*band.InMin, quantity.Metric), info.Show(*band.InMax, quantity.Metric), info.Unit))
	}
	return strings.Join(parts, " and ")
}

// trips are the protection's settings, as the file gives them.
func trips(s plant.Supply) string {
	var parts []string
	if t := s.TripVolts; t != nil {
		parts = append(parts, fmt.Sprintf("%g and %g V", t[0], t[1]))
	}
	if t := s.TripHertz; t != nil {
		parts = append(parts, fmt.Sprintf("%g and %g Hz", t[0], t[1]))
	}
	return strings.Join(parts, ", ")
}

// closingLeast is the shortest closing time that is named, s. "At least 1 s", which is what the rule gives for a short pipe,
// would invite a haste that valve and pipe bends need not bear; "slowly" says more. Our own choice.
const closingLeast = 5.0

// pipes takes the slowest safe closing of any pipe, and the pressure at rest where there is one pipe only.
func (f *facts) pipes(show func(quantity.Name, float64) string) {
	m, err := steady.New(f.p)
	if err != nil {
		return // the description does not allow it: the steps go without
	}
	slowest := -1.0
	for _, n := range safety.Numbers(m) {
		switch n.Key {
		case "closing_s":
			slowest = max(slowest, n.Value)
		case "static_kpa":
			if len(f.p.Penstocks) == 1 {
				f.static = "about " + show(quantity.PressureKPa, math.Round(n.Value))
			}
		}
	}
	if slowest >= closingLeast {
		f.closing = fmt.Sprintf("at least %.0f s", math.Ceil(slowest))
	}
}

// has describes whether the plant file tells of a part: steps for what is not there would only be skipped.
func (f *facts) has() (screen, ballast, several bool) {
	common := 0
	for _, u := range f.p.Units {
		if u.Common() {
			common++
		}
	}
	return f.p.Intake.ScreenM2 != nil, len(f.p.Ballast.Elements) > 0, common > 1
}

// with adds a fact in words to a sentence; without the fact the sentence stands alone.
func with(sentence, format, fact string) string {
	if fact == "" {
		return sentence
	}
	return sentence + " " + fmt.Sprintf(format, fact)
}
