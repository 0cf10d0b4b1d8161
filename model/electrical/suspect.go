package electrical

import (
	"fmt"
	"math"
	"strings"

	"example.org/headpond/model/plant"
)

// What a missing power was found by.
const (
	ByBalance   = "balance"   // more is said to be dumped than is left of the generation
	ByFrequency = "frequency" // the frequency is high, so that all elements are on, and less is dumped than they should take
)

// heaterTolerance is how far a sound heater may be from its stamp, as one standard deviation over its power. (Rule of thumb,
// from memory: makers allow themselves 5 to 10 % at most, so that half of that is usual.)
const heaterTolerance = 0.04

// SuspectSigmas is how many standard errors a missing power must exceed before an element is suspected. Two would do for
// saying that two readings disagree, but a warning that comes by chance once in forty rounds is soon passed over.
const SuspectSigmas = 3.0

// Suspect is what the readings say of elements that the log holds to be working.
type Suspect struct {
	By       string   `json:"by"`       // "balance" or "frequency"
	LostKW   float64  `json:"lost_kw"`  // what the missing elements would take, fully on, at the voltage
	ErrKW    float64  `json:"err_kw"`   // its error, one standard deviation
	Elements []string `json:"elements"` // whose size fits: any one of them, or so many of them as Count says
	Count    int      `json:"count"`    // how many seem dead
}

// Missing is a power that should be dumped and is not, with its error (one standard deviation), kW.
type Missing struct {
	By      string
	KW      float64 // what is missing now
	ErrKW   float64
	Duty    float64 // how far the elements are on, 0 to 1: at half, a dead element of 2 kW is missed by 1 kW
	SpareKW float64 // what the elements may be off their stamps by without being dead, kW of one standard deviation
}

// HeaterError is how far the power of sound elements, kW, may be off, one standard deviation: each by 4 % of its stamp, all
// of one make the same way.
func HeaterError(elementsKW float64) float64 { return heaterTolerance * elementsKW }

// leastDuty is the share of full power below which nothing is concluded from what the elements take.
const leastDuty = 0.1

// SuspectOf sizes a missing power against the working elements: which of them, alone or, by balance, two together, take
// at the voltage what is missing. It is nil where the errors of the gauges and of the heaters explain what is missing
// (SuspectSigmas), and where no element is of such a size: then something else is the matter.
func SuspectOf(p *plant.Plant, working map[string]bool, volts float64, m Missing) *Suspect {
	in := Input{Plant: p, Working: working}
	err := math.Hypot(m.ErrKW, m.SpareKW)
	if !(m.Duty >= leastDuty) || !(m.KW > SuspectSigmas*err) {
		return nil
	}
	lost, lostErr := m.KW/m.Duty, err/m.Duty
	s := &Suspect{By: m.By, LostKW: lost, ErrKW: lostErr}
	var sizes []Element
	for _, e := range p.Ballast.Elements {
		if in.working(e) {
			sizes = append(sizes, Element{Name: e.Name, TakesKW: ElementKW(e.RatedKW, ratedVolts(p, e), volts)})
		}
	}
	fits := func(kw float64) bool {
		off := lost - kw
		return math.Abs(off) <= 2*math.Hypot(lostErr, HeaterError(kw))
	}
	for _, e := range sizes {
		if fits(e.TakesKW) {
			s.Count, s.Elements = 1, append(s.Elements, e.Name)
		}
	}
	if s.Count == 0 && m.By == ByBalance {
		s.pairs(sizes, fits)
	}
	if s.Count == 0 {
		return nil
	}
	return s
}

// pairs finds the elements of which two together are of the missing size.
func (s *Suspect) pairs(sizes []Element, fits func(kw float64) bool) {
	in := map[string]bool{}
	for i, a := range sizes {
		for _, b := range sizes[i+1:] {
			if fits(a.TakesKW + b.TakesKW) {
				in[a.Name], in[b.Name] = true, true
			}
		}
	}
	for _, e := range sizes {
		if in[e.Name] {
			s.Count, s.Elements = 2, append(s.Elements, e.Name)
		}
	}
}

// Which says which elements are meant: "E3", "E1, E2 or E4", "two of E1, E2, E3 and E4".
func (s *Suspect) Which() string {
	switch n := len(s.Elements); {
	case s.Count == 2 && n == 2:
		return s.Elements[0] + " and " + s.Elements[1]
	case s.Count == 2:
		return "two of " + series(s.Elements, "and")
	default:
		return series(s.Elements, "or")
	}
}

func series(names []string, word string) string {
	n := len(names)
	if n < 2 {
		return strings.Join(names, "")
	}
	return fmt.Sprintf("%s %s %s", strings.Join(names[:n-1], ", "), word, names[n-1])
}
