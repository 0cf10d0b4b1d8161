package clearing

import (
	"math"
	"time"
)

// tooWide is the ratio of the late to the early end from which the readings are said not to tell the time: "in one to nine
// days" helps nobody. Times within half a day count as half a day.
const (
	tooWide  = 9
	halfADay = 12 * time.Hour
)

const (
	untold   = "the loss does not show enough yet for the readings to tell how fast it grows"
	noneSoon = "the loss does not grow so that clearing would be due within 60 days"
)

// next works out when the screen is due.
func (w *work) next(f *Facts, g *grid) {
	l, ok := limit{criterion: Cost, says: "the loss is what was asked about", lossM: w.in.LossM}, true
	if l.lossM > 0 {
		l.y = w.yOf(l.lossM, w.solve(l.lossM).FlowM3s)
		l.lostKW = max(0, w.cleanKW()-totalKW(&w.tried))
	} else if l, ok = w.limits(); !ok {
		f.CannotTell = "no loss of the screen would cost so much at this level"
		return
	}
	n := &Next{Criterion: l.criterion, Says: l.says, LossM: l.lossM, LostKW: l.lostKW}
	f.Next = n
	c := foresee(g, l.y)
	p10, p50, p90 := c.when(0.1), c.when(0.5), c.when(0.9)
	switch {
	case p50 == nil:
		f.CannotTell = noneSoon
	case *p50 <= 0: // due already, however late it might be if that is wrong
		n.Due, n.P10, n.P50, n.P90 = true, w.after(p10), w.after(p50), w.after(p90)
	case p90 == nil || max(*p90, halfADay) > tooWide*max(*p10, halfADay):
		f.CannotTell = untold
		n.P10 = w.after(p10)
	default:
		n.P10, n.P50, n.P90 = w.after(p10), w.after(p50), w.after(p90)
	}
}

func (w *work) after(d *time.Duration) *time.Time {
	if d == nil {
		return nil
	}
	t := w.h.At.Add(*d).Truncate(time.Second)
	return &t
}

// course is the share of outcomes that have come to a limit, at each time from now.
type course struct {
	days  []float64
	share []float64
}

// foresee lets water pass over a copy of the grid until a limit of y is reached by nearly all, or the horizon. What has
// reached it once is counted as due from then on.
func foresee(g *grid, y float64) course {
	h := g.copied()
	c := course{days: []float64{0}, share: []float64{h.absorb(y, true)}}
	for at := 0.0; at < Horizon.Hours()/24 && c.share[len(c.share)-1] < 0.93; {
		step := min(max(0.125, at/16), longest)
		h.step(step)
		at += step
		c.days = append(c.days, at)
		c.share = append(c.share, c.share[len(c.share)-1]+h.absorb(y, false))
	}
	return c
}

// absorb takes out of the grid what has reached y, and returns it: every cell whose middle has, and, where split, the part
// above y of the cell that holds it. Done at each step that would drain the cell by and by.
func (g *grid) absorb(y float64, split bool) float64 {
	at := min(y/stepY, float64(g.n-1))
	whole := int(math.Ceil(at))
	out := 0.0
	for k := range rows {
		row := g.row(k)
		for i := max(whole, 0); i < g.n; i++ {
			out += row[i]
			row[i] = 0
		}
		if below := whole - 1; split && below >= 0 {
			part := max(0, 0.5-(at-float64(below)))
			out += part * row[below]
			row[below] -= part * row[below]
		}
	}
	return out
}

// when is the time from now by which a share of outcomes has come to the limit; nil where so many do not.
func (c course) when(share float64) *time.Duration {
	for i, s := range c.share {
		if s < share {
			continue
		}
		days := c.days[i]
		if i > 0 {
			days = c.days[i-1] + (days-c.days[i-1])*(share-c.share[i-1])/(s-c.share[i-1])
		}
		d := time.Duration(days * float64(24*time.Hour))
		return &d
	}
	return nil
}
