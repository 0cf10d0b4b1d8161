package calibrate

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// Options choose the rounds.
type Options struct {
	From time.Time // zero: YearBefore the last round
	To   time.Time // exclusive; zero: the history's end
}

// YearBefore is how far back rounds are taken where nothing else is asked.
const YearBefore = 365 * 24 * time.Hour

// leastRounds is how few rounds with a clean screen are not enough, and leastOver how many readings there must be beyond the
// numbers that are fitted. Our own choices.
const (
	leastRounds = 6
	leastOver   = 4
)

// Facts is the object of `headpond plant fit --json`, our own addition to the contract.
type Facts struct {
	At       time.Time   `json:"at"`
	From     time.Time   `json:"from"` // of the rounds that were used: the first
	To       time.Time   `json:"to"`   // and the last
	Rounds   int         `json:"rounds"`
	Readings []Readings  `json:"readings"`
	Numbers  []Number    `json:"numbers"`
	Chi2     float64     `json:"chi2_per_freedom"` // scatter over the readings' errors, squared, after the fit; about 1 is usual
	KnownBy  float64     `json:"known_by"`         // how many times better than before the least known combination is known
	Cautions []string    `json:"cautions"`
	Changed  bool        `json:"changed"` // whether any number of the plant file should change
	Times    []time.Time `json:"-"`       // of the rounds
}

// Number is one number that was looked at.
type Number struct {
	Key    string  `json:"key,omitempty"` // in the plant file; absent for a gauge's offset, which has no place there
	Name   string  `json:"name"`
	Unit   string  `json:"unit,omitempty"`
	File   float64 `json:"file"`
	Fitted float64 `json:"fitted"` // File where it is held
	Low    float64 `json:"low"`    // two standard deviations to each side, what the held numbers may be off included
	High   float64 `json:"high"`
	// LowGiven and HighGiven are the range if the held numbers are as the file says; absent for those held themselves.
	LowGiven  *float64 `json:"low_given,omitempty"`
	HighGiven *float64 `json:"high_given,omitempty"`
	Held      string   `json:"held,omitempty"`    // why it was held at the file's value
	Changes   bool     `json:"changes,omitempty"` // the file's value is to be replaced by New
	New       float64  `json:"new,omitempty"`     // Fitted with no more digits than it deserves
	Gauge     string   `json:"gauge,omitempty"`   // of an offset: the gauge's column
}

// Readings is how well the readings of one kind are met.
type Readings struct {
	Quantity string  `json:"quantity"`
	Count    int     `json:"count"`
	Before   float64 `json:"off_before"` // root mean square, in the quantity's unit, by the file
	After    float64 `json:"off_after"`  // and after the fit
}

// Refusal is the error of a fit that the rounds do not allow: why, and what would help.
type Refusal struct {
	Why  string
	Help string
}

// Error says why the fit is refused and what would help.
func (e *Refusal) Error() string {
	return "the description cannot be fitted: " + e.Why + "; " + e.Help
}

// Fit fits the plant in force at the history's end. The error is a *Refusal where the rounds do not allow it.
func Fit(a *assess.Assessor, o Options) (*Facts, error) {
	h := a.History()
	if h.Plant == nil {
		return nil, errors.New("the book has no plant description to fit")
	}
	if o.From.IsZero() {
		o.From = h.At.Add(-YearBefore)
		if last, ok := h.Last(); ok {
			o.From = last.Time.Add(-YearBefore)
		}
	}
	if o.To.IsZero() {
		o.To = h.At.Add(time.Second)
	}
	s := gather(a, o.From, o.To)
	if len(s.cases) < leastRounds {
		return nil, &Refusal{fmt.Sprintf("%d rounds with a clean screen, known running units and a pond level hold a pressure, a power or a flow; %d are needed", len(s.cases), leastRounds),
			"walk full rounds just after clearing the screen, and write screen_cleared=yes"}
	}
	f := newProblem(h.Plant, s, parameters(h.Plant, s.ran, s.gauges, staticKPa(h.Plant)))
	if len(f.list) == 0 {
		return nil, &Refusal{"there is no number to fit", "the units that ran are described by measured curves, which are better"}
	}
	if err := f.run(); err != nil {
		return nil, err
	}
	return f.facts(a, o)
}

// run holds what the rounds do not tell, and fits the rest. A number that comes to the end of what is possible is held too, and
// the others are fitted again: it takes up what is wrong elsewhere.
func (f *problem) run() error {
	if err := f.hold(); err != nil {
		return f.refusal(err)
	}
	for range f.list {
		if len(f.sample.readings) < f.count()+leastOver {
			return &Refusal{fmt.Sprintf("%d readings are too few for %d numbers", len(f.sample.readings), f.count()), "more rounds with a clean screen are needed"}
		}
		if err := f.solve(); err != nil {
			return f.refusal(err)
		}
		if !f.holdImpossible() {
			return nil
		}
		if f.count() == 0 {
			break
		}
	}
	return f.refusal(errSingular)
}

func (f *problem) count() int {
	n := 0
	for _, free := range f.free {
		if free {
			n++
		}
	}
	return n
}

// holdImpossible holds the first number that came to an end of what is possible.
func (f *problem) holdImpossible() bool {
	for k, p := range f.list {
		if v := f.value(k, f.x[k]); f.free[k] && (v <= p.lo || v >= p.hi) {
			f.free[k] = false
			f.held[k] = fmt.Sprintf("the rounds ask for %g, which cannot be: a meter, a length or a level of the description is off", v)
			for i := range f.x {
				f.x[i] = 0
			}
			return true
		}
	}
	return false
}

func (f *problem) refusal(err error) error {
	if !errors.Is(err, errSingular) {
		return fmt.Errorf("the fit failed: %w", err)
	}
	var why []string
	for k := range f.list {
		if f.held[k] != "" {
			why = append(why, f.list[k].name+" ("+f.held[k]+")")
		}
	}
	return &Refusal{"the rounds tell none of its numbers: " + strings.Join(why, ", "), "rounds with pressure, power and, best, flow are needed, with more than one way of running"}
}

// changeSigmas is how many standard deviations, those held being as they are, a fitted number must be off the file's to be
// worth a change.
const changeSigmas = 2

func (f *problem) facts(a *assess.Assessor, o Options) (*Facts, error) {
	sp, err := f.spread()
	if err != nil {
		return nil, f.refusal(err)
	}
	h := a.History()
	out := &Facts{At: h.At, Rounds: len(f.sample.cases), Times: f.sample.times, Chi2: sp.chi2, KnownBy: sp.known, Numbers: []Number{}, Cautions: []string{}}
	out.From, out.To = f.sample.times[0], f.sample.times[len(f.sample.times)-1]
	for k, p := range f.list {
		n := Number{Key: p.key, Name: p.name, Unit: p.unit, File: p.file, Fitted: f.value(k, f.x[k]), Held: f.held[k], Gauge: string(p.gauge)}
		wide := 2 * p.prior
		if f.free[k] {
			wide = 2 * sp.whole[k] * p.prior
			sd := sp.given[k] * p.prior
			n.LowGiven, n.HighGiven = new(math.Max(p.lo, n.Fitted-2*sd)), new(math.Min(p.hi, n.Fitted+2*sd))
			if n.New = Rounded(n.Fitted, sd); p.key != "" && math.Abs(n.Fitted-n.File) > changeSigmas*sd && n.New != n.File {
				n.Changes, out.Changed = true, true
			}
		}
		n.Low, n.High = math.Max(p.lo, n.Fitted-wide), math.Min(p.hi, n.Fitted+wide)
		if !n.Changes {
			n.New = 0
		}
		out.Numbers = append(out.Numbers, n)
	}
	if out.Readings, err = f.readings(); err != nil {
		return nil, err
	}
	f.cautions(out, h)
	return out, nil
}

// readings tells how well each kind of reading is met, before and after.
func (f *problem) readings() ([]Readings, error) {
	before, err := f.residuals(make([]float64, len(f.x)))
	if err != nil {
		return nil, err
	}
	after, err := f.residuals(f.x)
	if err != nil {
		return nil, err
	}
	var list []Readings
	index := map[quantity.Key]int{}
	for i, r := range f.sample.readings {
		k := r.key
		if r.what == pressure {
			k = r.gauge
		}
		at, ok := index[k]
		if !ok {
			at = len(list)
			index[k] = at
			list = append(list, Readings{Quantity: string(k)})
		}
		list[at].Count++
		list[at].Before += square(before[i] * r.sd)
		list[at].After += square(after[i] * r.sd)
	}
	for i := range list {
		n := float64(list[i].Count)
		list[i].Before, list[i].After = math.Sqrt(list[i].Before/n), math.Sqrt(list[i].After/n)
	}
	return list, nil
}

// Worth a caution: a scatter far above the gauges' errors, and numbers far from the file's.
const (
	wideChi2 = 4
	farPrior = 3
)

func (f *problem) cautions(out *Facts, h *record.History) {
	say := func(format string, args ...any) { out.Cautions = append(out.Cautions, fmt.Sprintf(format, args...)) }
	if out.Chi2 > wideChi2 {
		say("the readings scatter %.1f times as much as the gauges' errors: something besides these numbers changed between the rounds", math.Sqrt(out.Chi2))
	}
	for k, p := range f.list {
		if f.free[k] && math.Abs(f.x[k]) > farPrior {
			say("the %s would be %.0f times as far from the file as such numbers usually are: look for another cause first", p.name, math.Abs(f.x[k]))
		}
		if n := out.Numbers[k]; p.kind == offset && f.free[k] && (n.Low > 0 || n.High < 0) {
			say("%s shows %s too %s; set its needle, for the plant file has no place for it", p.gaugeSubject(), pressureText(math.Abs(n.Fitted), h.Plant), direction(n.Fitted))
		}
	}
	for _, r := range h.Revisions[min(1, len(h.Revisions)):] {
		if r.From.After(out.From) && !r.From.After(out.To) {
			say("the description changed on %s: if the plant itself was changed then, leave earlier rounds out with --from", r.From.Format(time.DateOnly))
		}
	}
}

// pressureText writes a pressure in the plant's units.
func pressureText(kPa float64, p *plant.Plant) string {
	info, units := quantity.Info{Unit: quantity.Kilopascal, Digits: 1}, quantity.System(p.Site.Units)
	return info.ShowEstimate(kPa, units) + " " + string(info.ShowUnit(units))
}

func (p *parameter) gaugeSubject() string { return strings.TrimPrefix(p.name, "offset of ") }

func direction(v float64) string {
	if v > 0 {
		return "much"
	}
	return "little"
}

// staticKPa is the pressure of still water at the lowest axis with a full pond, for the prior of a gauge.
func staticKPa(p *plant.Plant) float64 {
	top, low := 0.0, math.Inf(1)
	switch {
	case p.Pond.CrestM != nil:
		top = *p.Pond.CrestM
	case len(p.Pond.Stage) > 0:
		top = p.Pond.Stage[len(p.Pond.Stage)-1].LevelM
	}
	for _, u := range p.Units {
		low = math.Min(low, u.AxisM)
	}
	const waterKPaPerM = 9.80665
	return math.Max(1, waterKPaPerM*(top-low))
}

func square(x float64) float64 { return x * x }

// Revised is the plant file's text with the changed numbers in place, everything else as it was.
func (f *Facts) Revised(name string, text []byte) ([]byte, error) {
	var changes []plant.Change
	for _, n := range f.Numbers {
		if n.Changes {
			changes = append(changes, plant.Change{Key: n.Key, Value: n.New})
		}
	}
	return plant.Revise(name, text, changes)
}
