package water

import (
	"math"
	"math/rand/v2"
)

// chances are one member's. What decides most about a member, where it starts and which past it follows, is spread evenly
// over the members, so that a few thousand of them leave little noise in the quantiles; all that comes later is drawn from a
// source of the member's own, so that a future can be drawn as far as it is asked for and is the same however far that is.
type chances struct {
	*rand.Rand
	even [evenChances]float64 // in (0, 1)
}

// The even chances, by what they decide. The first fill their range most evenly with few members.
const (
	evenPast = iota
	evenVolume
	evenDraw
	evenInflow
	evenRate
	evenChances
)

// dice deals out the members' chances.
type dice struct {
	seed  uint64
	shift [evenChances]float64
}

func newDice(seed uint64) *dice {
	d := &dice{seed: seed}
	rng := rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15))
	for i := range d.shift {
		d.shift[i] = rng.Float64()
	}
	return d
}

// member deals a member's chances: the even ones are the Halton sequence (J. H. Halton, Numer. Math. 2 (1960) 84-90), one prime
// for each, shifted by the seed (Cranley and Patterson, SIAM J. Numer. Anal. 13 (1976) 904-914; both from memory).
func (d *dice) member(m int) *chances {
	c := &chances{Rand: rand.New(rand.NewPCG(mixed(mixed(d.seed)+uint64(m)), mixed(d.seed)))}
	for i, base := range [evenChances]int{2, 3, 5, 7, 11} {
		_, u := math.Modf(inverse(m+1, base) + d.shift[i])
		c.even[i] = min(max(u, 1e-9), 1-1e-9)
	}
	return c
}

// inverse mirrors a number's digits behind the point.
func inverse(n, base int) float64 {
	sum, unit := 0.0, 1.0
	for ; n > 0; n /= base {
		unit /= float64(base)
		sum += unit * float64(n%base)
	}
	return sum
}

// mixed scatters neighbouring numbers over all of them (S. Vigna's splitmix64, public domain, from memory).
func mixed(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// normal is the standard normal's quantile.
func normal(u float64) float64 { return math.Sqrt2 * math.Erfinv(2*u-1) }
