package water

import (
	"time"

	"example.org/headpond/model/pond"
)

// Facts are what `water --json` prints. Numbers are not rounded; what is not known is absent.
type Facts struct {
	At            time.Time `json:"at"`
	LevelM        float64   `json:"level_m"` // the estimate at At
	LastLevel     *Reading  `json:"last_level,omitempty"`
	StopLevelM    float64   `json:"stop_level_m"`
	StopLevelFrom string    `json:"stop_level_from"` // "plant" or "submergence"
	UsableM3      float64   `json:"usable_m3"`       // stored between the stop level and LevelM, 0 below
	InflowLps     *Range    `json:"inflow_lps,omitempty"`
	Ways          []Way     `json:"ways"`
	Until         *Until    `json:"until,omitempty"`
	Permit        *Permit   `json:"permit,omitempty"` // for what runs at At
	RestsOn       RestsOn   `json:"rests_on"`
	Cautions      []string  `json:"cautions"`

	History []LevelPoint  `json:"-"` // for the chart: the log's levels
	Inflow  []InflowPoint `json:"-"` // for the chart: the inflow as the filter saw it at each level
	CrestM  *float64      `json:"-"`
}

// Reading is a value that was read and when.
type Reading struct {
	Time  time.Time `json:"time"`
	Value float64   `json:"value"`
}

// Range is a 10 %, 50 % and 90 % point.
type Range struct {
	P10 float64 `json:"p10"`
	P50 float64 `json:"p50"`
	P90 float64 `json:"p90"`
}

// Hours is a range of times; a point is absent where that share of outcomes does not come within the horizon. P10 is the
// shortest.
type Hours struct {
	P10 *float64 `json:"p10,omitempty"`
	P50 *float64 `json:"p50,omitempty"`
	P90 *float64 `json:"p90,omitempty"`
}

// Outcome is where a way of running most likely ends.
type Outcome string

// The outcomes of the contract.
const (
	Lasts   Outcome = "lasts"
	RunsOut Outcome = "runs_out"
	Spills  Outcome = "spills"
)

// Way is one way of running and what comes of it.
type Way struct {
	Run     []string `json:"run"` // units that run all day
	Plan    *Plan    `json:"plan,omitempty"`
	DrawLps float64  `json:"draw_lps"` // at the level of Facts, while running
	KW      float64  `json:"kw"`
	Outcome Outcome  `json:"outcome,omitempty"`
	// Hours is how long this dry spell's water lasts: from At to the stop level over the outcomes that do not fill the pond to
	// the crest first, so that nobody counts on rain. Where Sure or more fill it first, so few are left that all outcomes count.
	// The contract's words would have all count ("10 % of outcomes are shorter"); that is HoursAnyOutcome. An outcome that never
	// reaches the stop level counts as endless.
	Hours *Hours `json:"hours,omitempty"`
	// HoursAnyOutcome counts every outcome, also those that rain fills first and that run out much later.
	HoursAnyOutcome *Hours `json:"hours_any_outcome,omitempty"`
	// FilledFirst is the share of outcomes in which the pond is filled to the crest before it reaches the stop level.
	FilledFirst *float64 `json:"filled_first,omitempty"`
	// Outcome, HoldsUntil, EnergyKWh, Permit and Fan count every outcome.

	// HoldsUntil is the latest time until which the way holds with the confidence of a plan, 80 %; absent beyond the horizon.
	HoldsUntil *time.Time `json:"holds_until,omitempty"`
	EnergyKWh  *Range     `json:"energy_kwh,omitempty"` // to the stop level or the horizon; P10 is the least
	Permit     *Permit    `json:"permit,omitempty"`

	// Standing tells whether the pond was read at its stop level, or is supposed to be at it by now; "" where neither is so.
	Standing Standing `json:"at_stop,omitempty"`

	RunsOutShare float64    `json:"-"` // share of outcomes that reach the stop level within the horizon
	SpillsShare  float64    `json:"-"` // share that pass the crest
	Fan          []FanPoint `json:"-"` // for the chart
}

// Plan is a unit that runs for part of each day, on the plant's clock.
type Plan struct {
	Unit string `json:"unit"`
	From string `json:"from"` // "06:00"
	To   string `json:"to"`
}

// Permit is when a permit's limits are reached. They are kept apart from the stop level.
type Permit struct {
	LowM      *float64 `json:"low_m,omitempty"`
	LowHours  *Hours   `json:"low_hours,omitempty"`
	HighM     *float64 `json:"high_m,omitempty"`
	HighHours *Hours   `json:"high_hours,omitempty"`
}

// Until is the richest way of running that holds until a date.
type Until struct {
	Date      time.Time `json:"date"`
	Run       []string  `json:"run"`
	Plan      *Plan     `json:"plan,omitempty"`
	Holds     float64   `json:"holds"`
	EnergyKWh float64   `json:"energy_kwh"`
}

// RestsOn is how much of the log the estimate rests on.
type RestsOn struct {
	Levels int        `json:"levels"`
	From   *time.Time `json:"from,omitempty"`
	To     *time.Time `json:"to,omitempty"`
}

// LevelPoint is a level of the log.
type LevelPoint struct {
	Time     time.Time
	LevelM   float64
	SetAside bool // it cannot be, and was left out
}

// InflowPoint is the inflow's estimate at a time, from what was known then.
type InflowPoint struct {
	Time time.Time
	Lps  Range
}

// FanPoint is the forecast level at a time. An outcome that has reached the stop level stays there, so that the fan crosses
// it when HoursAnyOutcome says.
type FanPoint struct {
	Time   time.Time
	LevelM Range
}

// Sure is the share of outcomes that makes a thing one to count on: the contract's confidence of a plan, and the share
// filled first from which Hours counts all outcomes.
const Sure = 0.8

// fewFilled is the share of outcomes filled first that is not worth a word (common practice: one in ten).
const fewFilled = 0.1

// LeavesOut reports whether Hours leaves out so many outcomes, filled first, that it must be said with it. Nothing is said of
// a pond out of which nothing runs.
func (w Way) LeavesOut() bool {
	return w.runs() && w.FilledFirst != nil && *w.FilledFirst >= fewFilled && *w.FilledFirst < Sure
}

// TellsDrySpell reports whether how long the water lasts without the rain that would fill the pond must be told: where it runs
// out, and where it most likely fills or lasts but half of the other outcomes run out.
func (w Way) TellsDrySpell() bool {
	return w.LeavesOut() && w.Hours != nil && (w.Outcome == RunsOut || w.Hours.P50 != nil)
}

// LikelyFilled reports whether so many outcomes fill the pond before it runs out at last that Hours counts them too.
func (w Way) LikelyFilled() bool {
	return w.runs() && w.Outcome == RunsOut && w.FilledFirst != nil && *w.FilledFirst >= Sure
}

func (w Way) runs() bool { return len(w.Run) > 0 || w.Plan != nil }

// part returns the plan's stretch of the day.
func (p Plan) part() (pond.PartDay, error) { return pond.ParsePartDay(p.From, p.To) }
