package clearing

import "time"

// Facts is what is known of the screen's loss; the tags are those of `headpond now --json`, our own addition to the
// contract. An absent value cannot be told, and CannotTell says why.
type Facts struct {
	Seen     *Seen      `json:"seen,omitempty"`   // the last round whose readings tell the loss
	Now      *Now       `json:"now,omitempty"`    // the estimate for the present
	Growth   *Growth    `json:"growth,omitempty"` // since the last clearing
	Next     *Next      `json:"next,omitempty"`
	Gauge    *Offset    `json:"gauge,omitempty"`
	Readings []Sight    `json:"readings"` // since the last clearing, oldest first
	Approach []Approach `json:"approach,omitempty"`

	CannotTell string `json:"cannot_tell,omitempty"` // why there is no estimate, or no time for the next clearing
}

// Sight is one reading that tells the screen's loss, m of water. Low and High span two standard deviations of the reading's
// own error to each side, the gauge's usual offset taken off; the loss itself may be below 0 by the error.
type Sight struct {
	Time  time.Time `json:"time"`
	From  From      `json:"from"`
	LossM float64   `json:"loss_m"`
	LowM  float64   `json:"low_m"`
	HighM float64   `json:"high_m"`
}

// From says which reading told a loss.
type From string

// The readings that tell a loss, best first.
const (
	FromLevels   From = "screen_loss_mm"      // a level difference across the screen
	FromClearing From = "pressure_before_kpa" // the pressures before and after a clearing
	FromPressure From = "pressure_kpa"        // the intake pressure alone
)

// Words returns the reading for people.
func (f From) Words() string {
	switch f {
	case FromLevels:
		return "the level difference across it"
	case FromClearing:
		return "the pressures before and after clearing it"
	case FromPressure:
		return "the intake pressure"
	}
	return string(f)
}

// Seen is what the last telling round says by itself.
type Seen struct {
	Sight
	Clear    float64  `json:"screen_open"`               // the share of the openings that is clear and fits best
	ClearMin *float64 `json:"screen_open_min,omitempty"` // absent where the reading sets no bound
	ClearMax *float64 `json:"screen_open_max,omitempty"`
	Says     string   `json:"says"`    // the share in words: "more than 0.2; the gauge cannot tell more"
	LostKW   float64  `json:"lost_kw"` // electric power lost to what blocked it then
}

// Range is a 10 %, 50 % and 90 % point of what is likely.
type Range struct {
	P10 float64 `json:"p10"`
	P50 float64 `json:"p50"`
	P90 float64 `json:"p90"`
}

// Now is the screen as it probably is, all readings since the last clearing and the water passed since the last of them
// taken together. P10 is the smaller number in each.
type Now struct {
	LossM  Range `json:"loss_m"`
	Clear  Range `json:"screen_open"`
	LostKW Range `json:"lost_kw"` // against a clean screen, at the present level and running units
	// LostShare is the power lost over what the running sets would give with a clean screen.
	LostShare Range `json:"lost_share"`
}

// Growth is how fast the loss grows while the plant runs as now: 0.3 is 30 % more a day. Below 0 it falls.
type Growth struct {
	Since    time.Time `json:"since"`     // the last clearing, or the first reading
	PerDay   Range     `json:"per_day"`   //
	Readings int       `json:"readings"`  // that tell the loss since then
	WaterDay float64   `json:"water_day"` // days of running since then, at the present flow
}

// Criterion is what makes a clearing due.
type Criterion string

// The criteria.
const (
	Cost     Criterion = "cost"     // the power lost is worth the walk
	Air      Criterion = "air"      // the intake may draw air
	Pressure Criterion = "pressure" // the intake pressure leaves the plant's own band
)

// Next is when the screen should next be cleared, if the plant goes on running as now.
type Next struct {
	Criterion Criterion `json:"criterion"`
	Says      string    `json:"says"`    // the criterion in words
	LossM     float64   `json:"loss_m"`  // at which it is due
	LostKW    float64   `json:"lost_kw"` // power that is then lost
	Due       bool      `json:"due"`     // it is more likely than not that it has come to that
	// The times at which 10, 50 and 90 of 100 outcomes have come to that; absent where so many do not within the horizon, or
	// where the readings cannot tell. What lies before now is now.
	P10 *time.Time `json:"p10,omitempty"`
	P50 *time.Time `json:"p50,omitempty"`
	P90 *time.Time `json:"p90,omitempty"`
}

// Offset is what the pressure gauge usually shows above the model with a clean screen and the present units running.
type Offset struct {
	KPa       float64 `json:"offset_kpa"`
	ErrKPa    float64 `json:"err_kpa"`   // one standard deviation
	Clearings int     `json:"clearings"` // with a pressure after them, these units running
}

// Approach compares the mean velocity in front of the clean screen at the present flow with one published limit for fish
// screens, as information: none was written for hydro intakes.
type Approach struct {
	Rule       string  `json:"rule"`
	VelocityMS float64 `json:"velocity_ms"`
	AtMostMS   float64 `json:"at_most_ms"`
	OpenArea   bool    `json:"open_area"` // on the open area, else on the whole screen
	Within     bool    `json:"within"`
	Source     string  `json:"source"`
	Status     string  `json:"status"` // "verified" or "from memory"
}
