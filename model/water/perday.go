package water

// PerDayKWh is what a way gives in a day at the level of Facts, kWh: power × 24 h, for a plan × the plan's share of the
// day. ok is false where that is not one product: a plan beside units that run all day.
func (w Way) PerDayKWh() (kWh float64, ok bool) {
	if w.Plan == nil {
		return 24 * w.KW, true
	}
	part, err := w.Plan.part()
	if err != nil || len(w.Run) > 0 {
		return 0, false
	}
	return 24 * w.KW * part.Share(), true
}
