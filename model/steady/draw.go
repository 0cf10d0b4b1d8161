package steady

// Draw returns the flow that leaves the pond through the screen (m³/s) and the electric power of all running units, those on
// a bus of their own included (kW), for a pond level and running units with a clean screen and water at 10 °C. It is what
// the water forecast asks, many thousands of times: it allocates nothing for plants of up to eight units on four penstocks.
// An impossible case, such as an unknown unit, draws nothing.
func (m *Model) Draw(levelM float64, running []string) (flowM3s, kw float64) {
	var units [8]UnitResult
	var stocks [4]PenstockResult
	c := Case{PondLevelM: levelM, Running: running}
	s := solver{m: m, c: &c}
	if len(m.units) <= len(units) && len(m.stocks) <= len(stocks) {
		s.r.Units, s.r.Penstocks = units[:len(m.units)], stocks[:len(m.stocks)]
	} else {
		s.r.Units, s.r.Penstocks = make([]UnitResult, len(m.units)), make([]PenstockResult, len(m.stocks))
	}
	if err := s.run(); err != nil {
		return 0, 0
	}
	return s.r.FlowM3s, s.r.CommonKW + s.r.OwnKW
}
