package electrical

import (
	"strings"
	"time"
)

// Facts is the object of `headpond ballast --json`. An absent value is not known.
type Facts struct {
	At           time.Time `json:"at,omitzero"`
	Volts        *float64  `json:"volts,omitempty"`
	GenerationKW *float64  `json:"generation_kw,omitempty"`
	LoadKW       *float64  `json:"load_kw,omitempty"`
	DumpedKW     *float64  `json:"dumped_kw,omitempty"`

	RatedKW     float64  `json:"rated_kw"`    // all elements, dead ones too
	CapacityKW  float64  `json:"capacity_kw"` // working elements at the voltage, or the controller's limit
	LimitedBy   string   `json:"limited_by"`  // "elements" or "controller"
	RemainingKW *float64 `json:"remaining_kw,omitempty"`
	LoadRoomKW  *float64 `json:"load_room_kw,omitempty"`

	Rejection    *Rejection   `json:"rejection,omitempty"`
	ElementOut   []ElementOut `json:"element_out"`
	Elements     []Element    `json:"elements"`
	LoadsThatFit []LoadFit    `json:"loads_that_fit,omitempty"`

	GenerationFrom string   `json:"generation_from,omitempty"`
	LoadFrom       string   `json:"load_from,omitempty"`
	DumpedFrom     string   `json:"dumped_from,omitempty"`
	Running        []string `json:"running,omitzero"` // common bus; absent where not known
	ElementsKW     float64  `json:"elements_kw"`      // what the working elements take at the voltage, before the controller's limit
	ControllerKW   *float64 `json:"controller_kw,omitempty"`

	Overload *Overload  `json:"overload,omitempty"`   // where consumers want more than is generated
	UnitStop []UnitStop `json:"unit_stops,omitempty"` // each running unit, where others go on
	Other    []OtherWay `json:"other_running,omitempty"`
	Suspect  *Suspect   `json:"suspect,omitempty"` // elements that seem dead, though the log holds them to be working
	Cautions []string   `json:"cautions,omitempty"`
	Since    *Since     `json:"since,omitempty"` // what runs now, where that is not what ran at the readings

	nominalHz float64 // of the supply
}

// Since tells that other units run now than when the powers were read: nothing above holds any more.
type Since struct {
	Time    time.Time `json:"time"`    // of the last change
	Running []string  `json:"running"` // common bus, now
	By      string    `json:"by"`      // "trip of A"; "a round" where a round says so
}

// Words say it: "Nothing runs since 09:10 (trip of A)". now is what "today" means.
func (s *Since) Words(now time.Time) string {
	layout, at := "15:04", s.Time.In(now.Location())
	if at.Format(time.DateOnly) != now.Format(time.DateOnly) {
		layout = "Mon 2 Jan 15:04"
	}
	what := "Nothing runs"
	if len(s.Running) > 0 {
		what = "Only " + strings.Join(s.Running, "+") + " runs"
		if len(s.Running) > 1 {
			what = strings.Join(s.Running, "+") + " run"
		}
	}
	return what + " since " + at.Format(layout) + " (" + s.By + ")"
}

// Settled is where frequency and voltage settle. Both are absent where nothing balances, or where the model cannot tell.
type Settled struct {
	Hertz        *float64 `json:"hertz,omitempty"`
	Volts        *float64 `json:"volts,omitempty"`
	WithinTrip   *bool    `json:"within_trip,omitempty"`    // absent without trip settings
	Collapse     bool     `json:"collapse,omitempty"`       // nothing balances: the supply is lost
	Runaway      bool     `json:"runaway,omitempty"`        // nothing takes the power: the sets run up until they give none
	VoltsAtLeast bool     `json:"volts_at_least,omitempty"` // volts is a lower bound
	RunawayHertz *float64 `json:"runaway_hertz,omitempty"`  // where the sets run up to after a collapse that frees them
}

// Rejection is what happens when all consumers drop off at once.
type Rejection struct {
	MarginKW  float64  `json:"margin_kw"` // capacity less generation; below 0 is an overloaded ballast
	MarginPct *float64 `json:"margin_pct,omitempty"`
	Settled
}

// ElementOut is the rejection with one more element dead.
type ElementOut struct {
	Element    string   `json:"element"`
	CapacityKW float64  `json:"capacity_kw"`
	MarginKW   *float64 `json:"margin_kw,omitempty"`
	Settled
}

// Element is one ballast heater.
type Element struct {
	Name       string  `json:"name"`
	RatedKW    float64 `json:"rated_kw"`
	Working    bool    `json:"working"`
	RatedVolts float64 `json:"rated_volts"`
	TakesKW    float64 `json:"takes_kw"` // at the voltage; 0 for a dead one
}

// LoadFit says whether one of the plant's listed loads can be switched on now, judged alone.
type LoadFit struct {
	Name      string   `json:"name"`
	KW        float64  `json:"kw"`
	Fits      bool     `json:"fits"`
	Why       string   `json:"why"` // "ok", "room" or "starting"
	StartKVA  *float64 `json:"start_kva,omitempty"`
	Essential bool     `json:"essential,omitempty"`
}

// Overload is where the bus settles while consumers want more than is generated.
type Overload struct {
	ShortKW float64 `json:"short_kw"`
	Settled
}

// UnitStop is what happens when one unit stops while the others go on and the consumers stay.
type UnitStop struct {
	Unit         string     `json:"unit"`
	GenerationKW float64    `json:"generation_kw"`       // of those that go on
	DumpedKW     *float64   `json:"dumped_kw,omitempty"` // generation less load, where that is not below 0
	ShortKW      *float64   `json:"short_kw,omitempty"`  // load less generation, where that is above 0
	LoadRoomKW   float64    `json:"load_room_kw"`
	Rejection    *Rejection `json:"rejection,omitempty"` // a full rejection after that
	Settled
}

// OtherWay is a full rejection in another way of running, from the model's generation.
type OtherWay struct {
	Run          []string     `json:"run"`
	GenerationKW float64      `json:"generation_kw"`
	Rejection    *Rejection   `json:"rejection"`
	ElementOut   []ElementOut `json:"element_out"`
}
