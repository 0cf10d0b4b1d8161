package faults

import "time"

// Facts is the object of `headpond faults --json`.
type Facts struct {
	At           time.Time `json:"at"`
	ReadingsUsed int       `json:"readings_used"`
	Ranked       []Cause   `json:"ranked"` // all faults, likeliest first; probabilities sum to 1

	// Beside is what seems wrong beside the likeliest cause, by readings that have nothing to do with it. The probabilities are
	// of one cause at a time.
	Beside []Beside `json:"beside"`

	Rounds   int        `json:"rounds_used"`
	From     *time.Time `json:"from,omitempty"` // the first and the last round that was used
	To       *time.Time `json:"to,omitempty"`
	Verdict  Verdict    `json:"verdict"`
	Says     string     `json:"says"`     // the verdict in words
	Cautions []string   `json:"cautions"` // what was left out and what the readings lack

	Trip *Trip `json:"trip,omitempty"` // of the last day; Says begins with it
}

// Beside is a second cause.
type Beside struct {
	Fault Fault      `json:"fault"`
	Size  Size       `json:"size"`
	Since *time.Time `json:"since,omitempty"`
}

// Verdict is what the readings come to.
type Verdict string

// The verdicts.
const (
	Sound      Verdict = "sound"       // nothing is wrong that these readings show
	Likely     Verdict = "likely"      // one cause stands out
	CannotTell Verdict = "cannot_tell" // several causes explain the readings
)

// Cause is one fault, judged.
type Cause struct {
	Fault       Fault      `json:"fault"`
	Probability float64    `json:"probability"`
	Size        Size       `json:"size"`
	Misfit      float64    `json:"misfit"`          // χ² per reading at the best size: about 1 where it explains them
	Since       *time.Time `json:"since,omitempty"` // the first round on which it shows, where it began within the rounds used
	Evidence    []Evidence `json:"evidence"`
	TellApart   []Apart    `json:"tell_apart"`
	FirstStep   string     `json:"first_step"`
	Caution     string     `json:"caution"`

	// Range is how well the size is known; absent where it is no matter of size.
	Range *SizeRange `json:"size_range,omitempty"`

	// LeastSeen is the size from which these readings would show the fault, had it been there on all of them: below it, it cannot
	// be told from none. One that begins within the rounds shows sooner, since the plant is then compared with itself. Absent
	// where no size of it would show, or where it is no matter of size.
	LeastSeen *Size `json:"least_seen,omitempty"`
}

// Size is how far a fault goes. Each fault has its own fields, as the contract names them.
type Size struct {
	ScreenOpen      *float64 `json:"screen_open,omitempty"`
	ValveK          *float64 `json:"valve_k,omitempty"`
	LossM           *float64 `json:"loss_m,omitempty"`
	LeakLps         *float64 `json:"leak_lps,omitempty"`
	EfficiencyShare *float64 `json:"efficiency_share,omitempty"`
	Element         string   `json:"element,omitempty"`
	LostKW          *float64 `json:"lost_kw,omitempty"`
	OverKW          *float64 `json:"over_kw,omitempty"`
	ShortKW         *float64 `json:"short_kw,omitempty"`
	Volts           *float64 `json:"volts,omitempty"`
	Hertz           *float64 `json:"hertz,omitempty"`
	OffsetKPa       *float64 `json:"offset_kpa,omitempty"`
	OffsetM         *float64 `json:"offset_m,omitempty"`
	LevelM          *float64 `json:"level_m,omitempty"`
	RiseC           *float64 `json:"rise_c,omitempty"`
	SpreadHertz     *float64 `json:"spread_hertz,omitempty"` // controller: how far the frequency wanders, one standard deviation
	SlipShare       *float64 `json:"slip_share,omitempty"`   // belt: share of the speed that is lost

	Penstock string `json:"penstock,omitempty"` // which one, where the plant has several
	Unit     string `json:"unit,omitempty"`
	Gauge    string `json:"gauge,omitempty"` // the reading's key, where the plant has several such gauges
}

// Evidence is one kind of reading, the mean over its newest readings of the rounds on which the fault is taken to show. Expected values carry what
// the healthy rounds taught of this plant.
type Evidence struct {
	Quantity        string  `json:"quantity"`
	Read            float64 `json:"read"`
	ExpectedHealthy float64 `json:"expected_healthy"`
	ExpectedFault   float64 `json:"expected_fault"`

	Readings int       `json:"readings"`  // of which Read is the mean
	Last     float64   `json:"last"`      // the newest of them, as it was read
	LastTime time.Time `json:"last_time"` // and when: a quantity that was not read of late tells by its older readings
	ErrRead  float64   `json:"err"`       // of the mean, one standard deviation, in the reading's unit
	Explains bool      `json:"explains"`  // the fault brings the expected value to the reading, within twice the error; for none, within three times
	Speaks   bool      `json:"speaks"`    // healthy and faulty differ by more than the error, so that this reading says something
}

// Apart is a rival and the one observation that would tell this fault from it.
type Apart struct {
	From Fault  `json:"from"`
	By   string `json:"by"`
}
