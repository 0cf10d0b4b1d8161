package week

import "math"

// What a reading leaves open between itself and the next. Between rounds nobody knows the power; the longer the wait and the
// more the readings differ among themselves, the less. Power is taken as a stationary random process of standard deviation σ,
// measured from the readings, whose memory fades as exp(-t/τ) (an Ornstein–Uhlenbeck process). Two readings L apart,
// x = L/τ, leave the mean of the stretch uncertain by
//
//	trapezoid:  σ² [ 2(x-1+e^-x)/x² + (1+e^-x)/2 - 2(1-e^-x)/x ]
//	one end:    σ² [ 2(x-1+e^-x)/x² + 1 - 2(1-e^-x)/x ]
//
// which are the variances of mean less trapezoid, and of mean less the one reading, for that covariance: x/6 and 2x/3 for
// short waits, 1/2 and 1 for long ones. A test draws such processes and compares.
//
// A part of that is the readings' own being off the mean: what was expected of the stretch, given the readings, is
// tanh(x/2)/x of each, and (1-e^-x)/x of the one, not a half and the whole. Neighbouring stretches share their readings, and
// rounds are walked at the same hours, so this part adds up from stretch to stretch; its standard deviation is
//
//	trapezoid:  σ (1/2 - tanh(x/2)/x) √(2(1+e^-x))
//	one end:    σ (1 - (1-e^-x)/x)
//
// The rest, what happens whatever the readings were, is independent from stretch to stretch within a day.

// memoryHours is τ: how long a house's or a stream's power keeps to itself, h. Our own choice: what is switched on in a
// household stays on for some hours, seldom for a day.
const memoryHours = 3.0

// trapezoidShare is the variance of the mean less the trapezoid of both ends, over σ².
func trapezoidShare(hours float64) float64 {
	x := hours / memoryHours
	if x < 1e-3 {
		return x / 6
	}
	e := math.Exp(-x)
	return max(0, 2*(x-1+e)/(x*x)+(1+e)/2-2*(1-e)/x)
}

// oneEndShare is the variance of the mean less the reading at one end, over σ².
func oneEndShare(hours float64) float64 {
	x := hours / memoryHours
	if x < 1e-3 {
		return 2 * x / 3
	}
	e := math.Exp(-x)
	return max(0, 2*(x-1+e)/(x*x)+1-2*(1-e)/x)
}

// trapezoidShared is the standard deviation of the part that neighbouring stretches share, over σ.
func trapezoidShared(hours float64) float64 {
	x := hours / memoryHours
	if x < 1e-3 {
		return x * x / 12
	}
	return (0.5 - math.Tanh(x/2)/x) * math.Sqrt(2*(1+math.Exp(-x)))
}

// oneEndShared is the same for a stretch with a reading at one end.
func oneEndShared(hours float64) float64 {
	x := hours / memoryHours
	if x < 1e-3 {
		return x / 2
	}
	return 1 - (1-math.Exp(-x))/x
}

// Spread is how much a power differs among its readings: a mean and a variance that forget.
type Spread struct {
	N    int     `cbor:"1,keyasint"` // readings so far
	Mean float64 `cbor:"2,keyasint"`
	Var  float64 `cbor:"3,keyasint"`
	Set  string  `cbor:"4,keyasint"` // what ran at the last reading
	// Floor is the standard deviation that is assumed at least, kW, however alike the readings are.
	Floor float64 `cbor:"5,keyasint,omitempty"`
}

const (
	spreadReadings = 40   // about as many readings count
	spreadFirst    = 0.25 // of the first reading: the standard deviation that is assumed before there are others
	spreadPrior    = 3    // readings that this assumption is worth
)

// dailyShare is the least standard deviation of a consumer load within a day, as a share of its mean. Rounds are walked at the
// same hours, often those of the morning's and the evening's most use; however alike they are, the night between is not like
// them, and no reading tells. A household's load differs within a day by half its mean and more (common practice without a
// source). The number is our own choice, set so that the ranges hold for a household that a test invents and reads at its two
// daily peaks.
const dailyShare = 0.8

// with returns the spread after one more reading. Where another set runs the mean begins anew, the variance stays.
func (s Spread) with(kw float64, set string) Spread {
	switch {
	case s.N == 0:
		return Spread{N: 1, Mean: kw, Var: spreadFirst * kw * spreadFirst * kw, Set: set, Floor: s.Floor}
	case s.Set != set:
		return Spread{N: s.N, Mean: kw, Var: s.Var, Set: set, Floor: s.Floor}
	}
	share := 1 / float64(min(s.N+spreadPrior, spreadReadings))
	d := kw - s.Mean
	s.N++
	s.Mean += share * d
	s.Var = (1 - share) * (s.Var + share*d*d)
	return s
}

// kw is the standard deviation, kW.
func (s Spread) kw() float64 { return max(math.Sqrt(s.Var), s.Floor) }

// sigmas is how many standard deviations a stated range spans to each side: 80 % of a normal distribution.
const sigmas = 1.2816
