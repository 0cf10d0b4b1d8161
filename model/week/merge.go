package week

// merged is days added up.
type merged struct {
	Day
	hours [24]int
	ons   []OnRow
	stops []StopRow // those open at the beginning first
}

func merge(days []Day) merged {
	m := merged{}
	m.Sums, m.States, m.Counts, m.Units = map[string]Sum{}, map[string]StateTime{}, map[string]int{}, map[string]UnitTime{}
	m.Lows, m.Highs, m.Firsts, m.Lasts = map[string]Seen{}, map[string]Seen{}, map[string]Seen{}, map[string]Seen{}
	for i := range days {
		d := &days[i]
		if i == 0 {
			m.stops = append(m.stops, d.Open...)
		}
		m.add(d)
	}
	return m
}

func (m *merged) add(d *Day) {
	addSums(m.Sums, d.Sums)
	for _, k := range sortedKeys(d.States) {
		a, b := m.States[k], d.States[k]
		m.States[k] = StateTime{a.In + b.In, a.Near + b.Near, a.Out + b.Out, a.N + b.N}
	}
	for _, k := range sortedKeys(d.Lows) {
		if s, had := m.Lows[k]; !had || d.Lows[k].V < s.V {
			m.Lows[k] = d.Lows[k]
		}
	}
	for _, k := range sortedKeys(d.Highs) {
		if s, had := m.Highs[k]; !had || d.Highs[k].V > s.V {
			m.Highs[k] = d.Highs[k]
		}
	}
	for k, s := range d.Firsts {
		if _, had := m.Firsts[k]; !had {
			m.Firsts[k] = s
		}
	}
	for k, s := range d.Lasts {
		m.Lasts[k] = s
	}
	for k, n := range d.Counts {
		m.Counts[k] += n
	}
	for id, u := range d.Units {
		t := m.Units[id]
		m.Units[id] = UnitTime{t.On + u.On, t.Unknown + u.Unknown, t.Starts + u.Starts}
	}
	m.Rounds += d.Rounds
	if d.Last != nil {
		m.Last = d.Last
	}
	m.Stood, m.Tripped, m.Known = m.Stood+d.Stood, m.Tripped+d.Tripped, m.Known+d.Known
	m.RatedKWh, m.RainMM = m.RatedKWh+d.RatedKWh, m.RainMM+d.RainMM
	m.stops, m.ons, m.Clears = append(m.stops, d.Stops...), append(m.ons, d.Ons...), append(m.Clears, d.Clears...)
	for h, n := range d.Hours {
		m.hours[h] += int(n)
	}
}

// addSums adds a day's sums to those of the days before. A track that the day does not have is added as nothing, for a meter's
// stretch that went on at the end of the day before has then ended.
func addSums(to, day map[string]Sum) {
	for name, s := range to {
		to[name] = s.plus(day[name])
	}
	for name, s := range day {
		if _, had := to[name]; !had && s != (Sum{}) {
			to[name] = s.begin()
		}
	}
}
