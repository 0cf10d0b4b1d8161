package electrical

import (
	"time"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/steady"
)

// Power is a power and where it comes from. A nil KW is not known.
type Power struct {
	KW   *float64
	From string // "meters", "load_dump", "load_share", "model", "reading", ...: as the JSON says
}

// Input is what the ballast's facts are worked out from, all of it from one round. Generation, load and dumped power are
// those of the common bus.
type Input struct {
	Plant      *plant.Plant
	Model      *steady.Model // nil: where frequency and voltage settle is left out
	At         time.Time
	Volts      *float64 // read; nil: rated
	Generation Power
	Load       Power
	Dumped     Power
	Working    map[string]bool // by element name; one that is missing is as the plant file says
	Running    []string        // unit ids; nil is unknown, empty is none

	PondLevelM  *float64
	ScreenClear *float64 // nil: clean
	WaterC      *float64
}

// working reports whether an element works now.
func (in *Input) working(e plant.Element) bool {
	if w, ok := in.Working[e.Name]; ok {
		return w
	}
	return e.Working
}

// bus returns the running units that feed the common bus. Where it is not known which run, all of the common bus are taken
// when there is generation, and assumed is true unless there is only one.
func (in *Input) bus() (units []plant.Unit, assumed bool) {
	if in.Running == nil {
		if in.Generation.KW == nil || *in.Generation.KW <= 0 {
			return nil, false
		}
		for _, u := range in.Plant.Units {
			if u.Common() {
				units = append(units, u)
			}
		}
		return units, len(units) > 1
	}
	for _, id := range in.Running {
		if u, ok := in.Plant.UnitByID(id); ok && u.Common() {
			units = append(units, u)
		}
	}
	return units, false
}

// ids returns the running units' ids for the solver: those of the bus, and the own-bus sets that draw water beside them.
func (in *Input) ids(bus []plant.Unit) []string {
	ids := make([]string, 0, len(in.Plant.Units))
	for _, u := range bus {
		ids = append(ids, u.ID)
	}
	return append(ids, in.ownIDs()...)
}

func (in *Input) ownIDs() []string {
	var ids []string
	for _, id := range in.Running {
		if u, ok := in.Plant.UnitByID(id); ok && !u.Common() {
			ids = append(ids, id)
		}
	}
	return ids
}
