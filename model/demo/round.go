package demo

import (
	"math"
	"slices"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// round walks through the plant: reads, clears the screen if that is wanted, writes down, and then thinks about the sets.
func (t *teller) round(v *visit) error {
	found, err := t.works.now()
	if err != nil {
		return err
	}
	r := record.Round{By: v.by, Time: t.cal.time(v.at), WrittenAt: t.cal.time(v.at + minutes((3+6*t.walk.Float64())*60)),
		Values: map[quantity.Key]float64{}, Words: map[quantity.Key]string{}}
	t.readScreen(&r, v, &found)
	m := found
	if t.wantsClearing(v, &found) {
		if m, err = t.clearScreen(&r, v, &found); err != nil {
			return err
		}
	}
	t.readPond(&r, v, &m)
	t.readMachines(&r, v, &m)
	t.readPanel(&r, &m)
	if len(m.running) == 0 || t.gauges.sometimes(0.9) || v.last {
		ids := slices.Clone(m.running)
		r.Running = &ids
	}
	r.Note = t.notes.round(t, v, &found, r.Words[keyCleared] == "yes")
	t.story.Rounds = append(t.story.Rounds, r)
	t.story.truth = append(t.story.truth, m)
	t.story.found = append(t.story.found, found)
	t.upkeep(v)
	return t.decide(v, &m)
}

// readScreen looks at the screen as it is found, and sometimes puts the stick in on both sides of it.
func (t *teller) readScreen(r *record.Round, v *visit, m *moment) {
	if t.gauges.sometimes(0.95) || v.last {
		r.Words[keyScreen] = screenWord(m, t.works.today())
	}
	if len(m.running) > 0 && (v.last || v.morning && v.by == ro && t.gauges.sometimes(0.3)) {
		r.Values[keyLoss] = math.Max(0, t.gauges.read(keyLoss, m.screenLossM*1000))
	}
}

// screenWord is what the eye says of the share that is clear.
func screenWord(m *moment, d *dayWeather) string {
	switch {
	case m.clear > 0.4:
		return "clear"
	case d.ice != "none" && d.airC < -4:
		return "iced"
	case m.clear > 0.025:
		return "partly"
	}
	return "blocked"
}

// clearScreen brushes the screen and reads the pressure before and after. It returns the plant's state after it.
func (t *teller) clearScreen(r *record.Round, v *visit, before *moment) (moment, error) {
	t.works.debris = 0.02 + 0.06*t.walk.Float64()
	after, err := t.works.now()
	if err != nil {
		return after, err
	}
	r.Words[keyScreen] = screenWord(before, t.works.today())
	r.Words[keyCleared] = "yes"
	if len(after.running) > 0 {
		t.pressure(r, keyBefore, before.pressureKPa)
		t.pressure(r, keyAfter, after.pressureKPa)
	}
	t.nextThreshold()
	return after, nil
}

// pressure reads the gauge: Tam reads its inner ring, in psi to the half.
func (t *teller) pressure(r *record.Round, k quantity.Key, truth float64) {
	if r.By != tam {
		t.gauges.put(r, k, truth)
		return
	}
	const kPaPerPsi = 6.894757293168361 // NIST SP 811
	text := quantity.Text(toDivision(truth/kPaPerPsi, 0.5)) + " psi"
	_ = r.Set(string(k), text, t.plant.UnitIDs(), quantity.Metric) // such a text is always read
}

func (t *teller) readPond(r *record.Round, v *visit, m *moment) {
	d := t.works.today()
	if t.gauges.sometimes(0.975) || v.last {
		t.gauges.put(r, keyLevel, m.levelM)
	}
	if d.ice != "none" || d.waterC < 2.5 && v.morning {
		r.Words[keyIce] = d.ice
	}
	if v.morning {
		mm := t.works.weather.brook.rainMM(t.rainRead, v.at)
		if mm > 0.4 || t.gauges.sometimes(0.6) {
			r.Values[keyRain] = math.Max(0, t.gauges.read(keyRain, mm))
			t.rainRead = v.at
		}
		t.gauges.put(r, keyWater, d.waterC)
		if v.day%7 == 2 {
			t.gauges.put(r, keyBypass, bypassLps)
		}
	}
	switch {
	case len(m.running) == 0:
		r.Words[keyValve] = "shut"
	case v.morning && t.gauges.sometimes(0.2):
		r.Words[keyValve] = "open"
	}
	if len(m.running) > 0 && (t.gauges.sometimes(0.98) || v.last) {
		t.pressure(r, keyPressure, m.pressureKPa)
	}
}

func (t *teller) readMachines(r *record.Round, v *visit, m *moment) {
	if v.morning || t.gauges.sometimes(0.6) || v.last {
		t.gauges.put(r, keyAir, t.works.hallC(v.at))
	}
	for _, id := range t.plant.UnitIDs() {
		if slices.Contains(m.running, id) && (t.gauges.sometimes(0.95) || v.last) {
			t.gauges.put(r, keyBearing(id), t.works.bearingC(id, v.at, t.unitKW(id)))
		}
		if v.morning && t.gauges.sometimes(0.93) || v.last {
			k := keyHours(id)
			r.Values[k] = t.gauges.total(k, m.hours[id])
		}
	}
}

// unitKW is what a set gives in the state that was solved last.
func (t *teller) unitKW(id string) float64 {
	for i := range t.works.solved.Units {
		if u := &t.works.solved.Units[i]; u.ID == id {
			return u.KW
		}
	}
	return 0
}

func (t *teller) readPanel(r *record.Round, m *moment) {
	if len(m.running) > 0 {
		t.gauges.put(r, keyVolts, m.volts)
		t.gauges.put(r, keyHertz, m.hertz)
		t.gauges.put(r, keyLoad, m.loadKW)
		if t.gauges.sometimes(0.985) || r.Time.After(t.cal.time(t.cal.end-day)) {
			t.gauges.put(r, keyShare, 100*m.dumpedKW/m.generatedKW)
		}
	}
	if clock, _ := t.cal.clock(m.at); clock > 12 && t.gauges.sometimes(0.9) {
		r.Values[keyEnergy] = t.gauges.total(keyEnergy, m.loadKWh)
	}
}
