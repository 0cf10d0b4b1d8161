package clearing

import "math"

// The grid of the filter. y runs from 0, the clean screen, in steps of stepY; the growths are
//
//	g_k = 0.03 sinh(0.19 k) a day, k from −20 to 28: −0.67 to 3.1,
//
// fine where little grows and in even proportions where much does.
const (
	stepY   = 0.125
	lowK    = -20
	highK   = 28
	rows    = highK - lowK + 1
	growthA = 0.03
	growthB = 0.19
)

// How the screen's state moves by itself, for a day's water. Our own choices; doc.go says how they were set.
const (
	wander    = 0.8   // standard deviation of the growth's place in the grid: a seventh up or down in a day
	jumpRate  = 0.06  // sudden rises
	jumpMean  = 1.5   // of y
	fallRate  = 0.005 // sudden falls that nobody wrote down
	fallMean  = 2.0
	leftMean  = 0.12 // y that a clearing leaves
	poorShare = 0.05 // of clearings that leave much more
	poorMean  = 1.2
)

// grid is a probability for each y and growth: p[k*n+i] for growth k and y = i stepY. It sums to 1.
type grid struct {
	n       int
	p, work []float64
	growths []float64 // of the rows, a day
}

// empty is a grid without any probability.
func empty(n int) *grid {
	g := &grid{n: n, p: make([]float64, rows*n), work: make([]float64, n), growths: make([]float64, rows)}
	for k := range g.growths {
		g.growths[k] = growth(float64(k))
	}
	return g
}

// copied is a grid of its own with the same probabilities.
func (g *grid) copied() *grid {
	to := empty(g.n)
	copy(to.p, g.p)
	return to
}

// growth returns g of a row, a day; between two rows it is the same curve.
func growth(k float64) float64 { return growthA * math.Sinh(growthB*(lowK+k)) }

// newGrid knows nothing: y spread over [0, n stepY) with a mean of 2, and the growth by its prior.
func newGrid(n int) *grid {
	g := empty(n)
	prior := growthPrior()
	left := profile(n, 2, 2, 0)
	for k, w := range prior {
		for i, x := range left {
			g.p[k*n+i] = w * x
		}
	}
	return g
}

// growthPrior is what is thought of the growth before anything was read: nine times in ten it grows, by half a day give or
// take a factor of three.
func growthPrior() [rows]float64 {
	const median, spread = 0.45, 1.1
	var w [rows]float64
	up, down := 0.0, 0.0
	for k := range w {
		switch d := lowK + k; {
		case d > 0:
			z := math.Log(growth(float64(k))/median) / spread
			w[k] = math.Exp(-z*z/2) * growthB / math.Tanh(growthB*float64(d))
			up += w[k]
		case d < 0:
			w[k] = math.Exp(float64(d) / 5)
			down += w[k]
		}
	}
	for k := range w {
		switch d := lowK + k; {
		case d > 0:
			w[k] *= 0.90 / up
		case d < 0:
			w[k] *= 0.05 / down
		default:
			w[k] = 0.05
		}
	}
	return w
}

// profile is an exponential distribution of y, a share of it with a second, larger mean.
func profile(n int, mean, poor, share float64) []float64 {
	out := make([]float64, n)
	sum := 0.0
	for i := range out {
		y := float64(i) * stepY
		out[i] = (1-share)*math.Exp(-y/mean)/mean + share*math.Exp(-y/poor)/poor
		sum += out[i]
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

// clear is a clearing: whatever y was, little is left.
func (g *grid) clear() {
	left := profile(g.n, leftMean, poorMean, poorShare)
	for k := range rows {
		row := g.row(k)
		mass := sum(row)
		for i := range row {
			row[i] = mass * left[i]
		}
	}
}

func (g *grid) row(k int) []float64 { return g.p[k*g.n : (k+1)*g.n] }

// longest is the most water, days, that is gone on by in one step.
const longest = 1.0

// pass lets days of water pass.
func (g *grid) pass(days float64) {
	for days > 0 {
		step := min(days, longest)
		g.step(step)
		days -= step
	}
}

func (g *grid) step(days float64) {
	jump, fall := 1-math.Exp(-jumpRate*days), 1-math.Exp(-fallRate*days)
	jumpDecay, fallDecay := math.Exp(-stepY/jumpMean), math.Exp(-stepY/fallMean)
	for k := range rows {
		shift(g.row(k), g.growths[k]*days/stepY)
	}
	k := 0
	for ; k+4 <= rows; k += 4 {
		a, b, c, d := g.row(k), g.row(k+1), g.row(k+2), g.row(k+3)
		up4(a, b, c, d, jump, jumpDecay)
		down4(a, b, c, d, fall, fallDecay)
	}
	for ; k < rows; k++ {
		up(g.row(k), jump, jumpDecay)
		down(g.row(k), fall, fallDecay)
	}
	g.diffuse(wander * wander * days)
}

// shift moves a row up by so many cells, between two cells in proportion. What would pass the ends stays there.
func shift(row []float64, cells float64) {
	last := len(row) - 1
	whole := int(math.Floor(cells))
	to := cells - float64(whole)
	stay := 1 - to
	lo, hi := min(max(0, -whole), last+1), max(min(last+1, last-whole), 0) // from lo to hi both cells are inside
	if hi <= lo {                                                          // none is
		bottom, top := sum(row[:lo]), sum(row[lo:])
		clear(row)
		row[0] += bottom
		row[last] += top
		return
	}
	bottom, top := sum(row[:lo]), sum(row[hi:])
	first, end := lo+whole, hi+whole // cells that are reached, end by the last one's part alone
	atFirst, atEnd := stay*row[lo], to*row[hi-1]
	if whole >= 0 { // downwards, so that what is read was not written yet
		for j := end - 1; j > first; j-- {
			row[j] = stay*row[j-whole] + to*row[j-whole-1]
		}
	} else {
		for j := first + 1; j < end; j++ {
			row[j] = stay*row[j-whole] + to*row[j-whole-1]
		}
	}
	clear(row[:first])
	row[first] = atFirst
	clear(row[end:])
	row[end] = atEnd
	row[0] += bottom
	row[last] += top
}

// up moves a share of a row up by an exponentially distributed distance, whose weight falls by decay from cell to cell. What
// would pass the end stays there.
func up(row []float64, share, decay float64) {
	carried, rest, last := 0.0, 1-decay, len(row)-1
	for i, p := range row[:last] {
		carried = decay*carried + rest*p
		row[i] = p + share*(carried-p)
	}
	carried = decay*carried + rest*row[last]
	row[last] += share * (carried/rest - row[last])
}

// up4 is up for four rows at once: each cell waits for the one before it, and a processor can wait for four together.
func up4(a, b, c, d []float64, share, decay float64) {
	rest, last := 1-decay, len(a)-1
	b, c, d = b[:len(a)], c[:len(a)], d[:len(a)]
	var ca, cb, cc, cd float64
	for i := range last {
		pa, pb, pc, pd := a[i], b[i], c[i], d[i]
		ca, cb, cc, cd = decay*ca+rest*pa, decay*cb+rest*pb, decay*cc+rest*pc, decay*cd+rest*pd
		a[i], b[i], c[i], d[i] = pa+share*(ca-pa), pb+share*(cb-pb), pc+share*(cc-pc), pd+share*(cd-pd)
	}
	end := func(row []float64, carried float64) {
		carried = decay*carried + rest*row[last]
		row[last] += share * (carried/rest - row[last])
	}
	end(a, ca)
	end(b, cb)
	end(c, cc)
	end(d, cd)
}

// down is up towards the clean screen.
func down(row []float64, share, decay float64) {
	carried, rest := 0.0, 1-decay
	for i := len(row) - 1; i > 0; i-- {
		p := row[i]
		carried = decay*carried + rest*p
		row[i] = p + share*(carried-p)
	}
	carried = decay*carried + rest*row[0]
	row[0] += share * (carried/rest - row[0])
}

// down4 is down for four rows at once.
func down4(a, b, c, d []float64, share, decay float64) {
	rest := 1 - decay
	b, c, d = b[:len(a)], c[:len(a)], d[:len(a)]
	var ca, cb, cc, cd float64
	for i := len(a) - 1; i > 0; i-- {
		pa, pb, pc, pd := a[i], b[i], c[i], d[i]
		ca, cb, cc, cd = decay*ca+rest*pa, decay*cb+rest*pb, decay*cc+rest*pc, decay*cd+rest*pd
		a[i], b[i], c[i], d[i] = pa+share*(ca-pa), pb+share*(cb-pb), pc+share*(cc-pc), pd+share*(cd-pd)
	}
	end := func(row []float64, carried float64) {
		carried = decay*carried + rest*row[0]
		row[0] += share * (carried/rest - row[0])
	}
	end(a, ca)
	end(b, cb)
	end(c, cc)
	end(d, cd)
}

// diffuse lets the growth wander by a variance of its place in the grid.
func (g *grid) diffuse(variance float64) {
	passes := int(math.Ceil(variance / 0.5))
	if passes == 0 {
		return
	}
	side := variance / float64(passes) / 2
	n := g.n
	for range passes {
		below := g.work
		copy(below, g.row(0))
		for k := range rows {
			row := g.row(k)
			var above []float64
			if k+1 < rows {
				above = g.p[(k+1)*n : (k+2)*n]
			} else {
				above = row
			}
			for i, p := range row {
				row[i] += side * (below[i] + above[i] - 2*p)
				below[i] = p
			}
		}
	}
}

// weigh multiplies by how well each y explains a reading and returns the share that is left, the reading's own likelihood.
func (g *grid) weigh(likelihood []float64) float64 {
	total := 0.0
	for i, p := range g.byY() {
		total += p * likelihood[i]
	}
	scaled := g.work[:g.n]
	for i, l := range likelihood[:g.n] {
		scaled[i] = l / total
	}
	for k := range rows {
		for i, row := 0, g.row(k)[:len(scaled)]; i < len(row); i++ {
			row[i] *= scaled[i]
		}
	}
	return total
}

// byY sums over the growths.
func (g *grid) byY() []float64 {
	out := make([]float64, g.n)
	for k := range rows {
		for i, p := range g.row(k)[:len(out)] {
			out[i] += p
		}
	}
	return out
}

// byGrowth sums over y.
func (g *grid) byGrowth() []float64 {
	out := make([]float64, rows)
	for k := range out {
		out[k] = sum(g.row(k))
	}
	return out
}

func sum(list []float64) float64 {
	total := 0.0
	for _, v := range list {
		total += v
	}
	return total
}

// place returns where in a list of probabilities a share of their sum lies below, in cells; each cell's probability is taken
// as spread evenly over its width. The ends are the outermost cells' middles.
func place(list []float64, share float64) float64 {
	want, below := share*sum(list), 0.0
	for i, p := range list {
		if below+p >= want && p > 0 {
			at := float64(i) - 0.5 + (want-below)/p
			return min(max(at, 0), float64(len(list)-1))
		}
		below += p
	}
	return float64(len(list) - 1)
}
