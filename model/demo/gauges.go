package demo

import (
	"math"
	"math/rand/v2"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// wobble is how far a needle or a ripple moves while it is read, as a share of the gauge's division (one standard
// deviation, at most three of them). With the rounding, a third of a division, the whole is just under half a division: the
// reading error of the contract.
const wobble = 0.35

// gauges reads what is to the divisions of the plant's gauges.
type gauges struct {
	plant *plant.Plant
	r     *rand.Rand
}

// read is a gauge's reading of a true value, rounded to the division.
func (g *gauges) read(k quantity.Key, truth float64) float64 {
	div := g.plant.Division(k)
	n := math.Max(-3, math.Min(3, g.r.NormFloat64()))
	return toDivision(truth+n*wobble*div, div)
}

// total is a counter's reading: whole divisions that have been passed.
func (g *gauges) total(k quantity.Key, truth float64) float64 {
	div := g.plant.Division(k)
	return toDivision((math.Floor(truth/div))*div, div)
}

// toDivision rounds to a multiple of the division, and to the decimal that people would write.
func toDivision(v, div float64) float64 {
	if per := math.Round(1 / div); math.Abs(per*div-1) < 1e-9 {
		return math.Round(v*per)/per + 0 // + 0: never minus zero
	}
	return math.Round(v/div)*div + 0
}

// sometimes tells whether a reading is taken: people leave some out.
func (g *gauges) sometimes(share float64) bool { return g.r.Float64() < share }

// put writes a reading into a round.
func (g *gauges) put(r *record.Round, k quantity.Key, truth float64) { r.Values[k] = g.read(k, truth) }
