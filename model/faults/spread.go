package faults

import "math"

// SizeRange is within which bounds a size lies with four in five, all other numbers integrated over, if this is the cause and it
// began when it most likely did. Low is the smaller fault.
type SizeRange struct {
	Low  Size `json:"low"`
	High Size `json:"high"`
}

// What of the sizes' grid is looked at for the range: cells that are no more than this less likely than the best.
const rangeDepth = 8.0

// The share of the likelihood below the range's ends.
const lowEnd, highEnd = 0.1, 0.9

// cell is what the readings say of the size within one cell of the grid: a bell in the logarithm of the size, in steps.
type cell struct{ weight, mean, sd float64 }

// sizeRange works out the range of an outcome's size; nil where it is no matter of size.
func (w *work) sizeRange(o *outcome) *SizeRange {
	if !o.v.sized || len(o.v.sizes) < 2 {
		return nil
	}
	w.predictions(o.v)
	best := math.Inf(-1)
	for j := range o.v.sizes {
		best = math.Max(best, o.logL[j][o.k])
	}
	var cells []cell
	for j := range o.v.sizes {
		depth := best - o.logL[j][o.k]
		if !(depth < rangeDepth) {
			continue
		}
		c := cell{weight: math.Exp(-depth), mean: float64(j), sd: stepSpread}
		for _, s := range w.systems(o.v, j) {
			if s.fault == nil {
				continue
			}
			if f := at(s.sd, s.base, s.fault, o.k); f.shiftSD > 0 {
				c.mean, c.sd = float64(j)+f.shift, f.shiftSD
			}
		}
		cells = append(cells, c)
	}
	size := func(share float64) Size {
		steps := math.Max(-1, math.Min(float64(len(o.v.sizes)), quantile(cells, share))) // not beyond what is looked at
		return o.v.size(o.v.sizes[0] * math.Exp(steps*stepOf(o.v)))
	}
	return &SizeRange{Low: size(lowEnd), High: size(highEnd)}
}

// quantile is where a share of a mixture of bells lies below.
func quantile(cells []cell, share float64) float64 {
	lo, hi, total := math.Inf(1), math.Inf(-1), 0.0
	for _, c := range cells {
		lo, hi, total = math.Min(lo, c.mean-8*c.sd), math.Max(hi, c.mean+8*c.sd), total+c.weight
	}
	for range 60 {
		mid := (lo + hi) / 2
		below := 0.0
		for _, c := range cells {
			below += c.weight * normalCDF((mid-c.mean)/c.sd)
		}
		if below < share*total {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}
