package assess

import (
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/tolerance"
)

// Judged is one reading beside its band and its expected value. The tags are the contract's `judged`. State is "" for a
// reading that has no band.
type Judged struct {
	Quantity string          `json:"quantity"`
	Value    float64         `json:"value"`
	State    tolerance.State `json:"state,omitempty"`
	tolerance.Limits
	Expected *float64 `json:"expected,omitempty"`

	Info quantity.Info `json:"-"`
}

// Judge puts every number of a round beside its band and its expected value, in walking order. The state comes from the
// band alone; an intake pressure without a band is judged by its expected value.
func (a *Assessor) Judge(r record.Round) []Judged {
	p := a.h.PlantAt(r.Time)
	if p == nil {
		return nil
	}
	exp := a.Expected(r)
	out := []Judged{}
	for _, k := range quantity.Keys(p.UnitIDs()) {
		if v, ok := r.Value(k); ok {
			out = append(out, a.judgeOne(p, k, v, exp))
		}
	}
	return out
}

func (a *Assessor) judgeOne(p *plant.Plant, k quantity.Key, v float64, exp Expected) Judged {
	info, _ := quantity.Lookup(k.Name())
	j := Judged{Quantity: string(k), Value: v, Info: info}
	if e, ok := exp[k]; ok {
		j.Expected = &e
	}
	if b, ok := a.band(p, k, exp); ok {
		j.State, j.Limits = b.State(v), b.Limits()
	}
	return j
}

// Band returns the band that a reading of a round is judged by, and false where there is none.
func (a *Assessor) Band(r record.Round, k quantity.Key) (tolerance.Band, bool) {
	p := a.h.PlantAt(r.Time)
	if p == nil {
		return tolerance.Band{}, false
	}
	return a.band(p, k, a.Expected(r))
}

func (a *Assessor) band(p *plant.Plant, k quantity.Key, exp Expected) (tolerance.Band, bool) {
	if b, ok := a.Bands(p).For(k); ok {
		return b, true
	}
	if e, ok := exp[k]; ok && k.Name() == quantity.PressureKPa {
		return tolerance.Around(e, p.ReadingError(k)), true
	}
	return tolerance.Band{}, false
}

// Worst returns the worst state of a list of judged readings, "" where none has one.
func Worst(list []Judged) tolerance.State {
	worst := tolerance.State("")
	for _, j := range list {
		if rank(j.State) > rank(worst) {
			worst = j.State
		}
	}
	return worst
}

func rank(s tolerance.State) int {
	switch s {
	case tolerance.In:
		return 1
	case tolerance.Near:
		return 2
	case tolerance.Out:
		return 3
	}
	return 0
}
