package week

import (
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/upkeep"
)

// Span is how long a period a review looks at.
type Span string

// The spans. A week is the seven local days before its end, to the minute: 167 or 169 h where the clocks change. A month and
// a year are a calendar month and year long in the same way.
const (
	Week  Span = "week"
	Month Span = "month"
	Year  Span = "year"
)

// Review is a period beside the one before it, and what is to be decided: what `headpond week --json` prints. Numbers are not
// rounded; what is not known is absent.
type Review struct {
	Plant string `json:"plant"`
	Span  Span   `json:"span"`
	Period
	// KnownTo is up to when the log was known, where the period had ended before: what was read after its end tells of its last stretch.
	KnownTo *time.Time `json:"known_to,omitempty"`
	Before  *Period    `json:"before,omitempty"` // the period of the same span that ends where this one begins; absent where the log begins later

	Decide    []string   `json:"decide"`    // the sentences of Decisions, most urgent first; never empty
	Decisions []Decision `json:"decisions"` // what is to be decided, most urgent first; one of urgency "none" where nothing is
	Well      bool       `json:"well"`      // somebody looked, and nothing is out of order: no decision of urgency "out" or "near"
	Verdict   string     `json:"verdict"`   // the whole review in one or two short sentences, the last without a full stop

	Payback   *Payback      `json:"payback,omitempty"`
	UpkeepDue []upkeep.Task `json:"upkeep_due,omitempty"` // due or overdue at the period's end, most urgent first
	Forecast  *Forecasts    `json:"forecast,omitempty"`

	Cautions []string `json:"cautions,omitempty"`
}

// Decision is one thing to decide, in a sentence that holds the numbers it rests on.
type Decision struct {
	Urgency assess.Urgency `json:"urgency"`          // out, near, due, note, or None
	Text    string         `json:"text"`             // a whole sentence without a full stop
	Screen  string         `json:"screen,omitempty"` // the screen that tells more: "now", "round", "ballast", "water", "log", "upkeep", "faults", "plant"
}

// None is the urgency of the one decision that says that nothing is to be decided.
const None assess.Urgency = "none"

// Range is a number with the range in which the true one probably lies. Low and High are what the readings leave open: about
// four in five true values lie between.
type Range struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// Energy is what the common bus gave over the covered time, kWh. A nil one could not be told.
type Energy struct {
	Generated *Range `json:"generated,omitempty"`
	Used      *Range `json:"used,omitempty"`
	Dumped    *Range `json:"dumped,omitempty"`
}

// Period is what the log tells of one stretch of time.
type Period struct {
	From time.Time `json:"from"` // inclusive
	To   time.Time `json:"to"`   // exclusive
	// Hours is the length of the period, h.
	Hours float64 `json:"hours"`
	// EnergyKWh is integrated over HoursCovered only; what lies in gaps is not guessed.
	EnergyKWh    Energy  `json:"energy_kwh"`
	HoursCovered float64 `json:"hours_covered"`     // known generated power, standing included
	HoursStood   float64 `json:"hours_stood"`       // of the period, all common-bus units known to stand
	Rounds       int     `json:"rounds"`            //
	Metered      bool    `json:"metered,omitempty"` // some of the energy comes from meter totals
	LastRound    *At     `json:"last_round,omitempty"`

	// LoadFactor is the mean power used over the highest read, 0 to 1; 1 where a meter's mean is above all that was read.
	// PlantFactor is the energy generated over what the rated sets would give in the covered time.
	LoadFactor  *float64 `json:"load_factor,omitempty"`
	PlantFactor *float64 `json:"plant_factor,omitempty"`
	// Availability is the share of the known time in which at least one common-bus unit ran or all stood without a trip or
	// repair: 1 - forced standing / known time, 0 to 1.
	Availability *float64   `json:"availability,omitempty"`
	Units        []UnitRun  `json:"units"`
	OwnBus       []UnitRun  `json:"own_bus,omitempty"` // sets on a bus of their own; not in EnergyKWh
	States       States     `json:"states"`
	Frequency    *EN50160   `json:"frequency_95,omitempty"`
	Extremes     []Extreme  `json:"extremes"`
	Clearings    int        `json:"clearings"`
	ClearingList []Clearing `json:"clearing_list"`
	Stops        []Stop     `json:"stops"`
	Water        *Water     `json:"water,omitempty"`
	Permits      []Permit   `json:"permits,omitempty"`
	SetAside     []SetAside `json:"set_aside,omitempty"` // readings that look like slips of the pen: nothing here rests on them
	Money        *Money     `json:"money,omitempty"`
	UpkeepDone   []Done     `json:"upkeep_done,omitempty"`
	EndedEarly   []Done     `json:"upkeep_ended_early,omitempty"` // checklists that were not walked to their end: they count as nothing done

	Days   []DayFacts `json:"days"` // one a local day, oldest first, the first and last perhaps in part
	Points []Point    `json:"-"`    // the rounds of a week or month, oldest first, for charts; nil for a year
	Marks  []Mark     `json:"-"`    // events of the period, oldest first, for charts
}

// SetAside is how many readings of one quantity look like slips of the pen (assess.Assessor.Doubts).
type SetAside struct {
	Quantity string `json:"quantity"`
	Label    string `json:"label,omitempty"`
	Readings int    `json:"readings"`
}

// At is an entry of the log and its time.
type At struct {
	ID   string    `json:"id,omitempty"`
	Time time.Time `json:"time"`
}

// ValueAt is a value, when it was read and in which round.
type ValueAt struct {
	At
	Value float64 `json:"value"`
}

// UnitRun is what one unit did.
type UnitRun struct {
	Unit      string  `json:"unit"`
	Name      string  `json:"name,omitempty"`
	Hours     float64 `json:"hours"`                // known to have run
	Unknown   float64 `json:"hours_unknown"`        // of the period, not known whether it ran
	Starts    int     `json:"starts"`               // seen to change from standing to running
	EnergyKWh *Range  `json:"energy_kwh,omitempty"` // by the unit's own meters, where it has any
}

// States is how long each quantity stood in, near and out of its band, in walking order. In JSON it is an object by quantity.
type States []QuantityState

// QuantityState is how long one quantity stood where, hours of the covered time. A reading stands for the time to half-way
// to its neighbours, not beyond a start, stop or trip, and not over a gap.
type QuantityState struct {
	Quantity string  `json:"-"` // "volts", "hertz", "A.bearing_c", …
	Label    string  `json:"label,omitempty"`
	In       float64 `json:"in"`
	Near     float64 `json:"near"`
	Out      float64 `json:"out"`
	Hours    float64 `json:"hours"` // In + Near + Out
	Readings int     `json:"readings"`
	// Shares of Hours, 0 to 1.
	InShare   float64 `json:"in_share"`
	NearShare float64 `json:"near_share"`
	OutShare  float64 `json:"out_share"`
}

// EN50160 is the week's frequency beside EN 50160's row for supplies without a synchronous link to a larger system:
// ±2 % of nominal during 95 % of a week, ±15 % always. The standard means 10-second means of a meter that never sleeps; here
// a reading stands for the time around it, so this is a reading of the rule and no proof.
type EN50160 struct {
	Share     float64 `json:"share"`         // of Hours within ±2 %, 0 to 1
	Hours     float64 `json:"hours"`         // covered by readings
	Within95  bool    `json:"within_95"`     // Share >= 0.95
	WithinAll bool    `json:"within_15_pct"` // no reading beyond ±15 %
	Low       float64 `json:"low_hertz"`     // the limits of ±2 %
	High      float64 `json:"high_hertz"`
	Readings  int     `json:"readings"`
	Note      string  `json:"note"` // the wording above, for people
}

// Extreme is the lowest and highest reading of one quantity.
type Extreme struct {
	Quantity  string  `json:"quantity"`
	Label     string  `json:"label,omitempty"`
	Low       ValueAt `json:"low"`
	High      ValueAt `json:"high"`
	LowState  string  `json:"low_state,omitempty"` // "in", "near", "out", or "" without a band
	HighState string  `json:"high_state,omitempty"`
}
