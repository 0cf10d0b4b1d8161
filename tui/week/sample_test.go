package weekview

import (
	"fmt"
	"math"
	"testing"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/demo"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/upkeep"
	"example.org/headpond/model/water"
	"example.org/headpond/model/week"
)

var (
	halifax = time.FixedZone("AST", -4*3600)
	clock   = time.Date(2026, 11, 25, 10, 5, 0, 0, halifax)
)

func num(v float64) *float64 { return &v }

func rng(v, lo, hi float64) *week.Range { return &week.Range{Value: v, Low: lo, High: hi} }

func at(d, h, m int) time.Time { return time.Date(2026, 11, d, h, m, 0, 0, halifax) }

func entry(d, h, m int) week.At {
	return week.At{ID: fmt.Sprintf("R%02d%02d%02d", d, h, m), Time: at(d, h, m)}
}

func value(v float64, d, h, m int) week.ValueAt { return week.ValueAt{At: entry(d, h, m), Value: v} }

// points are two rounds a day from 18 to 25 November: the pressure falls until the screen is cleared on the 22nd, the voltage is
// near on the 20th and out on the 21st, and a trip on the 23rd leaves a gap.
func points() []week.Point {
	var out []week.Point
	for i := range 14 {
		d, h := 18+(i+1)/2, []int{17, 7}[i%2]
		if i == 10 { // the evening of the 23rd was not walked
			continue
		}
		v, p := 240+4*math.Sin(float64(i)), 131-0.9*float64(i)
		state := "in"
		switch {
		case i == 4:
			v, state = 226, "near"
		case i == 6:
			v, state = 258, "out"
		case i >= 9:
			p = 131 - 0.9*float64(i-9)
		}
		pt := week.Point{
			At: entry(d, h, 5*i%60), Cleared: i == 9, BrokenBefore: i == 11,
			Values: map[quantity.Key]float64{
				"volts": math.Round(v), "hertz": 60 + math.Round(4*math.Cos(float64(i)))/10, "pressure_kpa": math.Round(p),
				"pond_level_m": -0.3 - 0.02*float64(i), "load_kw": 3.1,
			},
			States: map[quantity.Key]string{"volts": state, "hertz": "in"},
			UsedKW: num(3 + math.Sin(float64(i)/2)), DumpedKW: num(1.5 - math.Sin(float64(i)/2)), GeneratedKW: num(4.5),
		}
		if pt.BrokenBefore { // the trip
			pt.Hole = &week.Hole{From: at(23, 17, 20), To: at(23, 17, 46)}
		}
		out = append(out, pt)
	}
	return out
}

func days() []week.DayFacts {
	var out []week.DayFacts
	for d := 18; d <= 25; d++ {
		x := week.DayFacts{From: at(d, 0, 0), To: at(d+1, 0, 0), HoursCovered: 24, Rounds: 2,
			EnergyKWh: week.Energy{Generated: rng(108, 104, 112), Used: rng(71.3, 66, 77), Dumped: rng(36.7, 31, 42)},
			Extremes: []week.Extreme{{Quantity: "volts", Low: value(236, d, 7, 0), High: value(244, d, 17, 0), LowState: "in", HighState: "in"},
				{Quantity: "pond_level_m", Low: value(-0.5, d, 7, 0), High: value(-0.45, d, 17, 0)}}}
		switch d {
		case 18:
			x.From, x.HoursCovered, x.Rounds = at(18, 10, 5), 14, 1
		case 22:
			x.Clearings, x.HoursOut = 1, 0
		case 21:
			x.HoursOut = 11.5
			x.Extremes[0].High, x.Extremes[0].HighState = value(258, 21, 7, 30), "out"
		case 23:
			x.Trips, x.Stops, x.HoursCovered = 1, 1, 12
		case 24:
			x.EnergyKWh, x.HoursCovered, x.Rounds = week.Energy{}, 0, 0
		case 25:
			x.To, x.HoursCovered, x.Rounds = clock, 10, 1
		}
		out = append(out, x)
	}
	return out
}

// sample is a review in which every part has something to say.
func sample() *week.Review {
	to := at(23, 18, 40)
	r := &week.Review{
		Plant: "Tern Hollow", Span: week.Week, Verdict: "the plant ran 98 % of the week but the voltage left its band and the screen wants clearing",
		Decisions: []week.Decision{
			{Urgency: assess.UrgentOut, Text: "The voltage was out of its band for 11.5 h, up to 258 V on Sat 21 Nov 07:30: have the voltage regulator looked at", Screen: "faults"},
			{Urgency: assess.UrgentNear, Text: "Clear the screen by Fri 27 Nov: it costs about 0.5 kW now", Screen: "now"},
			{Urgency: assess.UrgentDue, Text: "Grease the drive-end bearing of unit A: 12 h of running too late", Screen: "upkeep"},
			{Urgency: assess.UrgentNote, Text: "The water lasts 9 to 14 days as the plant runs", Screen: "water"},
		},
		Payback: &week.Payback{Currency: "CAD", Cost: 86000, Since: time.Date(2024, 5, 3, 0, 0, 0, 0, halifax), UsedKWh: week.Range{Value: 64000, Low: 61000, High: 67000},
			Saved: week.Range{Value: 8320, Low: 7930, High: 8710}, Share: 0.0967, YearsToGo: num(23.9)},
		UpkeepDue: []upkeep.Task{{Task: "grease drive-end bearing, unit A", DueHours: num(-12), State: "overdue"}, {Task: "check the belt", DueTime: &to, State: "due"}},
		Cautions:  []string{"the readings of 24 Nov are few"},
	}
	r.Period = period()
	before := period()
	before.From, before.To = at(11, 10, 5), at(18, 10, 5)
	before.EnergyKWh = week.Energy{Generated: rng(742, 730, 754), Used: rng(455, 430, 480), Dumped: rng(287, 262, 312)}
	before.States = week.States{{Quantity: "volts", In: 168, Hours: 168, InShare: 1}, {Quantity: "hertz", In: 168, Hours: 168, InShare: 1}}
	before.Stops, before.Clearings, before.Availability = nil, 2, num(1)
	r.Before = &before
	fan := []water.FanPoint{}
	for d := range 8 {
		m := -0.6 - 0.02*float64(d)
		fan = append(fan, water.FanPoint{Time: clock.AddDate(0, 0, d), LevelM: water.Range{P10: m - 0.01*float64(d), P50: m, P90: m + 0.01*float64(d)}})
	}
	r.Forecast = &week.Forecasts{
		Then:  &week.Forecast{Time: at(18, 10, 5), LevelM: -0.31, Run: []string{"A"}, Outcome: water.RunsOut, Hours: &water.Hours{P10: num(300), P50: num(340), P90: num(420)}},
		Now:   &week.Forecast{Time: clock, LevelM: -0.6, Run: []string{"A"}, Outcome: water.RunsOut, Hours: &water.Hours{P10: num(216), P50: num(260), P90: num(336)}},
		Facts: &water.Facts{Ways: []water.Way{{Run: []string{}}, {Run: []string{"A"}, Fan: fan}}},
	}
	return r
}

func period() week.Period {
	tripEnd := at(23, 18, 40)
	return week.Period{
		From: at(18, 10, 5), To: clock, Hours: 168, HoursCovered: 154, Rounds: 13,
		EnergyKWh:  week.Energy{Generated: rng(693.4, 670, 715), Used: rng(462.2, 431, 492), Dumped: rng(231.1, 201, 262)},
		LoadFactor: num(0.72), PlantFactor: num(0.75), Availability: num(0.991),
		Units:  []week.UnitRun{{Unit: "A", Name: "large set", Hours: 166.4, Starts: 1, EnergyKWh: rng(693, 670, 715)}, {Unit: "B", Name: "small set", Hours: 0, Unknown: 12}},
		OwnBus: []week.UnitRun{{Unit: "C", Hours: 20}},
		States: week.States{
			{Quantity: "volts", In: 130.5, Near: 12, Out: 11.5, Hours: 154, Readings: 13, InShare: 0.847, NearShare: 0.078, OutShare: 0.075},
			{Quantity: "hertz", In: 154, Hours: 154, Readings: 13, InShare: 1},
			{Quantity: "A.bearing_c", In: 153.5, Near: 0.5, Hours: 154, Readings: 13, InShare: 0.9968, NearShare: 0.0032},
		},
		Frequency: &week.EN50160{Share: 1, Hours: 154, Within95: true, WithinAll: true, Low: 58.8, High: 61.2, Readings: 13, Note: "a reading of the rule, and no proof"},
		Extremes: []week.Extreme{
			{Quantity: "volts", Low: value(226, 20, 7, 20), High: value(258, 21, 7, 30), LowState: "near", HighState: "out"},
			{Quantity: "hertz", Low: value(59.6, 19, 17, 10), High: value(60.4, 18, 17, 0), LowState: "in", HighState: "in"},
			{Quantity: "A.bearing_c", Low: value(38, 19, 7, 5), High: value(71, 23, 7, 50), LowState: "in", HighState: "near"},
			{Quantity: "pressure_kpa", Low: value(124, 22, 7, 40), High: value(131, 18, 17, 0)},
		},
		Clearings:    1,
		ClearingList: []week.Clearing{{At: entry(22, 17, 45), By: "Ro", BeforeKPa: num(124), AfterKPa: num(131), GainKPa: num(7), GainKW: num(0.43)}},
		Stops: []week.Stop{
			{At: entry(23, 17, 20), Kind: "trip", Units: []string{"A"}, All: true, To: &tripEnd, Hours: 1.333, Cause: "ice at the intake", By: "Imke", Note: "raked and started again"},
			{At: entry(25, 8, 0), Kind: "stop", Units: []string{"B"}, Hours: 2.08},
		},
		Water: &week.Water{First: value(-0.3, 18, 17, 0), Last: value(-0.58, 25, 7, 10), Lowest: value(-0.58, 25, 7, 10), Highest: value(-0.3, 18, 17, 0),
			ChangeM3: num(-16200), UsableM3: num(13800), RainMM: num(4), Readings: 13, StopM: num(-0.85), CrestM: num(0.1)},
		Permits: []week.Permit{
			{What: "low_level", Label: "lowest level", Limit: -0.9, Unit: "m", Kept: true, Worst: value(-0.58, 25, 7, 10), Readings: 13},
			{What: "bypass", Label: "bypass", Limit: 6, Unit: "L/s", Worst: value(4.5, 21, 7, 30), Readings: 3, Broken: 1},
			{What: "high_level", Label: "highest level", Limit: 0.3, Unit: "m"},
		},
		Money:      &week.Money{Currency: "CAD", Saved: rng(60.1, 56, 64), PerKWh: num(0.13), Fuels: []week.FuelSaved{{Name: "propane", Unit: "L", Amount: *rng(65.1, 60.7, 69.3), Worth: rng(61.8, 57.7, 65.8)}}},
		UpkeepDone: []week.Done{{At: entry(20, 9, 0), Task: "clean the gauge glass", By: "Ro", Note: "was green"}},
		Days:       days(), Points: points(),
		Marks: []week.Mark{{At: week.At{ID: "E1", Time: at(23, 17, 20)}, Kind: record.Trip, Units: []string{"A"}, Text: "trip of A (ice at the intake)"},
			{At: week.At{ID: "E2", Time: at(23, 18, 40)}, Kind: record.Start, Units: []string{"A"}, Text: "start of A"},
			{At: week.At{ID: "E3", Time: at(25, 8, 0)}, Kind: record.Stop, Units: []string{"B"}, Text: "stop of B"}},
	}
}

func ternHollow(tb testing.TB) *plant.Plant {
	tb.Helper()
	p, err := demo.Plant()
	if err != nil {
		tb.Fatal(err)
	}
	p.Location = halifax
	return p
}
