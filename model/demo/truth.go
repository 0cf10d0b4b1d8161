package demo

// Truth is what perfect gauges would have shown on a round of the story, before any clearing of the screen on it.
type Truth struct {
	ScreenClear float64 // share of the screen's openings that was clear
	ScreenLossM float64
	PondLevelM  float64
	FlowM3s     float64
	GeneratedKW float64
	DumpedKW    float64
}

// Found returns the truth behind a round of the story, by its index in Rounds, so that whatever works on the readings can be
// held against it.
func (s *Story) Found(round int) Truth {
	m := &s.found[round]
	return Truth{ScreenClear: m.clear, ScreenLossM: m.screenLossM, PondLevelM: m.levelM, FlowM3s: m.flowM3s, GeneratedKW: m.generatedKW, DumpedKW: m.dumpedKW}
}
