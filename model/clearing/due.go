package clearing

import (
	"fmt"

	"example.org/headpond/model/hydraulics"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/steady"
	"example.org/headpond/model/tolerance"
)

// CostShare is the share of the running sets' power that a screen may cost before clearing it is worth the walk. Our own
// choice; doc.go says what it rests on.
const CostShare = 0.05

// limit is a loss at which the screen is due.
type limit struct {
	criterion Criterion
	says      string
	lossM     float64
	y         float64
	lostKW    float64
}

// limits finds the loss at which the screen is due in the present state: the least of the criteria that apply.
func (w *work) limits() (limit, bool) {
	var best limit
	found := false
	for _, l := range []func() (limit, bool){w.costLimit, w.airLimit, w.pressureLimit} {
		if got, ok := l(); ok && (!found || got.lossM < best.lossM) {
			best, found = got, true
		}
	}
	if !found {
		return best, false
	}
	r := w.solve(best.lossM)
	best.lostKW = max(0, w.cleanKW()-totalKW(r))
	best.y = w.yOf(best.lossM, r.FlowM3s)
	return best, true
}

// crossing finds the loss above the clean screen's at which a value that falls with the loss comes to 0; false where it does
// not within the head, or stands below with a clean screen.
func (w *work) crossing(value func(r *steady.Result) float64) (float64, bool) {
	lo, hi := w.clean.ScreenLossM, w.mostM
	if !(value(w.solve(lo)) > 0) || value(w.solve(hi)) > 0 {
		return 0, false
	}
	for range 60 {
		if mid := (lo + hi) / 2; value(w.solve(mid)) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi, true
}

// costLimit is where the power lost is CostShare of a clean screen's.
func (w *work) costLimit() (limit, bool) {
	kw := w.cleanKW()
	loss, ok := w.crossing(func(r *steady.Result) float64 { return totalKW(r) - (1-CostShare)*kw })
	return limit{criterion: Cost, lossM: loss, says: fmt.Sprintf("the loss costs %.0f %% of the power", 100*CostShare)}, ok && kw > 0
}

// airLimit is where the water behind the screen falls to what Gordon's rule asks over the intake's crown at the flow there.
// Where a clean screen does not hold it either, it is the pond's matter and not the screen's.
func (w *work) airLimit() (limit, bool) {
	in := w.present.Model.Plant().Intake
	if in.CentrelineM == nil || in.DiameterM == nil || !(*in.DiameterM > 0) {
		return limit{}, false
	}
	d := *in.DiameterM
	loss, ok := w.crossing(func(r *steady.Result) float64 {
		need := *in.CentrelineM + d/2 + hydraulics.Submergence(r.FlowM3s/hydraulics.PipeArea(d), d, hydraulics.GordonLateral)
		return r.PondLevelM - r.ScreenLossM - need
	})
	return limit{criterion: Air, lossM: loss, says: "the water behind it falls so low that the intake may draw air (Gordon's rule, from memory)"}, ok
}

// pressureLimit is where the intake pressure falls to the lower limit of the plant's own band.
func (w *work) pressureLimit() (limit, bool) {
	band, ok := tolerance.For(w.present.Model.Plant()).For(quantity.Key(quantity.PressureKPa))
	i := unitOf(&w.clean, "")
	if !ok || band.InMin == nil || i < 0 {
		return limit{}, false
	}
	least := *band.InMin
	loss, ok := w.crossing(func(r *steady.Result) float64 { return r.Units[i].PressureKPa - least })
	return limit{criterion: Pressure, lossM: loss, says: "the intake pressure falls to the lower limit of its band"}, ok
}

func totalKW(r *steady.Result) float64 { return r.CommonKW + r.OwnKW }
