package water

// nature is what is taken for granted of a stream and a gauge before its log has said anything, and then what the log has
// taught. Times are days.
type nature struct {
	rate, rateSD   float64 // usual recession rate and its spread, 1/day
	rateDays       float64 // how long a rate keeps
	wander         float64 // noise of the log inflow, per √day
	riseEvery      float64 // days between rises
	rise, riseSD   float64 // size of a rise of the log inflow
	floodShare     float64 // share of rises that are floods: four times the size
	quicker        float64 // what a rise adds to the recession rate, 1/day
	drawSD         float64 // how well the computed draw is known, as a share
	drawDays       float64 // and how long an error of it keeps
	gaugeSD        float64 // added to the reading error: waves, wind set-up, m
	anything       float64 // share of legs on which the inflow did something else
	mistyped       float64 // share of levels that are mistyped
	startSD        float64 // of the log inflow before anything is known
	leastInflowM3s float64 // below this the inflow counts as none
}

// priors are the recession families of small streams: daily constants of 0.93 to 0.995 for groundwater, 0.7 to 0.94 for
// what runs off between (Nathan and McMahon 1990, Pilgrim and Cordery 1993, from memory), a rise every fortnight or so,
// and a machine whose draw is known to a few per cent.
func priors() nature {
	return nature{rate: 0.025, rateSD: 0.03, rateDays: 6, wander: 0.035, riseEvery: 15, rise: 0.6, riseSD: 0.5, floodShare: 0.1, quicker: 0.05,
		drawSD: 0.03, drawDays: 200, gaugeSD: 0.005, anything: 0.003, mistyped: 0.003, startSD: 1.3, leastInflowM3s: 1e-4}
}

// gaugeLook is how many of the last sights a gauge is judged by.
const gaugeLook = 300

// fitGauge finds how much the levels scatter beyond the gauge's division: waves, wind, a stick held askew. It looks at the
// last sights and doubles the scatter as long as that makes them clearly more likely.
func (n nature) fitGauge(b *basin, s *series) nature {
	tail := s.tail(gaugeLook)
	try := func(sd float64) float64 {
		m := n
		m.gaugeSD = sd
		t := tail
		t.sights = append([]sight(nil), tail.sights...)
		return runFilter(b, &t, m).logL
	}
	best := try(n.gaugeSD)
	for n.gaugeSD < 0.06 {
		next := try(2 * n.gaugeSD)
		if next < best+2 {
			break
		}
		n.gaugeSD, best = 2*n.gaugeSD, next
	}
	return n
}
