package week

import (
	"time"

	"example.org/headpond/model/water"
)

// Clearing is one clearing of the intake screen and what it gained.
type Clearing struct {
	At
	By        string   `json:"by,omitempty"`
	BeforeKPa *float64 `json:"pressure_before_kpa,omitempty"`
	AfterKPa  *float64 `json:"pressure_after_kpa,omitempty"`
	GainKPa   *float64 `json:"gain_kpa,omitempty"`
	GainKW    *float64 `json:"gain_kw,omitempty"` // by the plant model, from the pressures
}

// Stop is a stretch in which units stood.
type Stop struct {
	At               // the event, or the round that saw it; the time is when it began
	Kind  string     `json:"kind"`         // "stop", "trip" or "seen" (a round saw it standing, no event tells of it)
	Units []string   `json:"units"`        // that stood
	All   bool       `json:"all"`          // no unit of the common bus ran
	To    *time.Time `json:"to,omitempty"` // absent while it lasts
	Hours float64    `json:"hours"`        // its whole length, to the period's end while it lasts
	Cause string     `json:"cause,omitempty"`
	By    string     `json:"by,omitempty"`
	Note  string     `json:"note,omitempty"`
}

// Water is the pond over the period.
type Water struct {
	First    ValueAt  `json:"first_m"` // levels, m
	Last     ValueAt  `json:"last_m"`
	Lowest   ValueAt  `json:"lowest_m"`
	Highest  ValueAt  `json:"highest_m"`
	ChangeM3 *float64 `json:"change_m3,omitempty"` // volume at Last less that at First
	UsableM3 *float64 `json:"usable_m3,omitempty"` // above the stop level at Last, 0 below
	RainMM   *float64 `json:"rain_mm,omitempty"`   // read in the period
	Readings int      `json:"readings"`
	StopM    *float64 `json:"stop_level_m,omitempty"`
	CrestM   *float64 `json:"crest_m,omitempty"`
}

// Permit is one limit and whether it was kept.
type Permit struct {
	What     string  `json:"what"` // "low_level", "high_level" or "bypass"
	Label    string  `json:"label"`
	Limit    float64 `json:"limit"`
	Unit     string  `json:"unit"` // "m" or "L/s"
	Kept     bool    `json:"kept"` // by every reading
	Worst    ValueAt `json:"worst"`
	Readings int     `json:"readings"`
	Broken   int     `json:"broken"` // readings beyond the limit
}

// Money is what the used energy saved.
type Money struct {
	Currency string      `json:"currency"`
	Saved    *Range      `json:"saved,omitempty"` // used energy × value of a kWh
	PerKWh   *float64    `json:"per_kwh,omitempty"`
	Fuels    []FuelSaved `json:"fuels,omitempty"` // each as if it alone had been replaced
}

// FuelSaved is how much of a fuel would have given the energy used.
type FuelSaved struct {
	Name   string `json:"name"`
	Unit   string `json:"unit"`
	Amount Range  `json:"amount"`
	Worth  *Range `json:"worth,omitempty"` // in the currency
}

// Payback is how much of the plant's cost has come back since the log began.
type Payback struct {
	Currency  string    `json:"currency"`
	Cost      float64   `json:"cost"`
	Since     time.Time `json:"since"`
	UsedKWh   Range     `json:"used_kwh"`
	Saved     Range     `json:"saved"`
	Share     float64   `json:"share"`                 // Saved / Cost
	YearsToGo *float64  `json:"years_to_go,omitempty"` // at the rate so far; absent where nothing is saved or the cost is back
}

// Done is an upkeep task that was done, or a checklist that was walked.
type Done struct {
	At
	Task  string `json:"task"`
	By    string `json:"by,omitempty"`
	Note  string `json:"note,omitempty"`
	Steps string `json:"steps,omitempty"` // of a checklist, what came of its steps: "7 of 9 steps done, 2 not come to"
}

// Forecasts are the forecast as it was made at the period's beginning and as it is at its end, for the way of running in force
// then and now.
type Forecasts struct {
	Then *Forecast `json:"then,omitempty"`
	Now  *Forecast `json:"now,omitempty"`

	Facts *water.Facts `json:"-"` // of Now, for the chart
}

// Forecast is one forecast for one way of running.
type Forecast struct {
	Time    time.Time     `json:"at"`
	LevelM  float64       `json:"level_m"`
	Run     []string      `json:"run"`
	Outcome water.Outcome `json:"outcome,omitempty"`
	Hours   *water.Hours  `json:"hours,omitempty"` // to the stop level, as water.Way has them

	FilledFirst *float64       `json:"filled_first,omitempty"`
	Standing    water.Standing `json:"at_stop,omitempty"` // as water.Way has it
}

// Way is the forecast as the way of running that it is of, for its words.
func (f *Forecast) Way() water.Way {
	return water.Way{Run: f.Run, Outcome: f.Outcome, Hours: f.Hours, FilledFirst: f.FilledFirst, Standing: f.Standing}
}
