package tolerance

// Limits is a band in the machine-readable output: a pair where both sides are closed, single limits where one is open.
// It is made to be embedded in an object that has more keys.
type Limits struct {
	In      *[2]float64 `json:"in,omitempty"`
	InMin   *float64    `json:"in_min,omitempty"`
	InMax   *float64    `json:"in_max,omitempty"`
	Near    *[2]float64 `json:"near,omitempty"`
	NearMin *float64    `json:"near_min,omitempty"`
	NearMax *float64    `json:"near_max,omitempty"`
	Source  string      `json:"source,omitempty"`
}

// Limits returns the band as it stands in machine-readable output. Near is always given: where it was omitted it is in.
func (b Band) Limits() Limits {
	b = b.filled()
	l := Limits{Source: b.Source}
	l.In, l.InMin, l.InMax = pairOrSides(b.InMin, b.InMax)
	l.Near, l.NearMin, l.NearMax = pairOrSides(b.NearMin, b.NearMax)
	return l
}

// Band returns the band that the limits describe.
func (l Limits) Band() Band {
	b := Band{Source: l.Source}
	b.InMin, b.InMax = sides(l.In, l.InMin, l.InMax)
	b.NearMin, b.NearMax = sides(l.Near, l.NearMin, l.NearMax)
	return b.filled()
}

func pairOrSides(lo, hi *float64) (*[2]float64, *float64, *float64) {
	if lo != nil && hi != nil {
		return &[2]float64{*lo, *hi}, nil, nil
	}
	return nil, lo, hi
}

func sides(pair *[2]float64, lo, hi *float64) (*float64, *float64) {
	if pair != nil {
		return &pair[0], &pair[1]
	}
	return lo, hi
}
