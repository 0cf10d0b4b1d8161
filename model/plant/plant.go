// Package plant is the plant's own description: the TOML file of the contract, strictly read, its defaults filled in and
// its sense checked.
//
// Levels are metres on the pond's staff gauge; elevations use the same zero. Fields carry the unit of the file's key in
// their name. Packages that compute convert them to SI where they take them in.
package plant

import "time"

// Plant is a checked description. Make one with Parse; the zero value is not usable.
type Plant struct {
	Site       Site
	Supply     Supply
	Bands      []Band
	Pond       Pond
	Intake     Intake
	Penstocks  []Penstock
	Units      []Unit
	Ballast    Ballast
	Loads      []Load
	Gauge      map[string]float64 // smallest readable division by reading column, "A.volts" for one unit; only what the file gives
	Upkeep     []Task
	Checklists []Checklist // only what the file gives
	Money      *Money      // nil where the file has none
	Location   *time.Location
}

// Site names the plant.
type Site struct {
	Name     string
	Timezone string // IANA name
	Units    string // "metric" or "us"
}

// Supply is the common bus.
type Supply struct {
	Volts     float64
	Hertz     float64
	TripVolts *[2]float64 // low, high; nil where not given
	TripHertz *[2]float64
	Bands     string // built-in band set, default "isolated"
}

// Band overrides a built-in band for one quantity. A nil limit is open.
type Band struct {
	Quantity                       string
	InMin, InMax, NearMin, NearMax *float64
	Source                         string
}

// StageRow is one row of the stage table: water surface at a level.
type StageRow struct {
	LevelM float64
	AreaM2 float64
}

// Pond is the water behind the dam.
type Pond struct {
	Stage            []StageRow // rising levels; empty where not surveyed
	CrestM           *float64   // spillway crest
	CrestLengthM     float64
	CrestCoefficient float64  // Q = C L H^1.5, m^0.5/s; default 1.7
	StopLevelM       *float64 // nil: from the intake's submergence
	BypassLps        float64
	SeepageLps       float64
	EvaporationMMDay *[12]float64 // January first; nil where not given
	CatchmentKM2     *float64
	PermitLowM       *float64
	PermitHighM      *float64
}

// Intake is the mouth of the penstock and its screen.
type Intake struct {
	CentrelineM *float64
	DiameterM   *float64
	ScreenM2    *float64 // gross area; nil: no screen described, no screen loss
	OpenShare   float64  // open / gross area when clean
	HoleMM      *float64
}

// GaugePlace says where the intake pressure gauge taps.
type GaugePlace string

// The two places of the contract.
const (
	BelowValve GaugePlace = "below_valve"
	AboveValve GaugePlace = "above_valve"
)

// Penstock is a pipe from the intake to one or more units.
type Penstock struct {
	Name        string
	LengthM     float64
	DiameterM   float64
	RoughnessMM float64
	MinorK      float64  // at pipe velocity, screen excepted, valve open
	WaveSpeedMS *float64 // pressure wave speed
	Gauge       GaugePlace
}

// Excitation says how the generator's voltage is held.
type Excitation string

// The kinds of excitation of the contract.
const (
	Regulated Excitation = "regulated"
	BySpeed   Excitation = "speed"
	Capacitor Excitation = "capacitor"
)

// CurveRow is a row of a measured curve at rated speed.
type CurveRow struct {
	NetHeadM   float64
	FlowLps    float64
	KWElectric float64
}

// Unit is one set: machine and generator.
type Unit struct {
	ID                  string
	Name                string
	Penstock            string
	AxisM               float64
	TailwaterM          float64 // default AxisM
	RatedKW             float64
	RatedKVA            float64
	BestFlowLps         float64 // best-efficiency point as a turbine at rated speed; with a Curve: of its best row
	BestHeadM           float64
	BestEfficiency      float64 // hydraulic to shaft
	GeneratorEfficiency float64
	RunawayRatio        float64
	Excitation          Excitation
	Bus                 string     // "common" or "own"
	Curve               []CurveRow // replaces the Best* numbers where not empty
}

// Common reports whether the unit feeds the common bus.
func (u Unit) Common() bool { return u.Bus != "own" }

// ShareOf says what a dump share of 100 % means on the plant's meter.
type ShareOf string

// The two meanings of the contract.
const (
	ShareOfGeneration ShareOf = "generation"
	ShareOfBallast    ShareOf = "ballast"
)

// Ballast is the load controller and its heaters.
type Ballast struct {
	ControllerKW *float64 // nil: no limit given
	ShareOf      ShareOf
	Elements     []Element
}

// Element is one ballast heater.
type Element struct {
	Name       string
	RatedKW    float64
	RatedVolts float64
	Working    bool // at commissioning; later changes are events
}

// Load is one of the place's consumers.
type Load struct {
	Name      string
	KW        float64
	StartKVA  *float64
	Essential bool
}

// Task is an upkeep task: one of EveryHours and EveryDays is set.
type Task struct {
	Task       string
	EveryHours *float64
	EveryDays  *float64
	Unit       string
}

// Money turns energy into savings.
type Money struct {
	Currency string
	PerKWh   *float64
	Cost     *float64 // what the plant cost, for the payback
	Fuels    []Fuel
}

// Fuel is a fuel that the plant's energy replaced.
type Fuel struct {
	Name       string
	Unit       string
	KWhPerUnit float64
	Price      *float64
}

// UnitIDs returns the ids of all units in the file's order.
func (p *Plant) UnitIDs() []string {
	ids := make([]string, len(p.Units))
	for i, u := range p.Units {
		ids[i] = u.ID
	}
	return ids
}

// UnitByID returns a unit, or false where the plant has none of that id.
func (p *Plant) UnitByID(id string) (Unit, bool) {
	for _, u := range p.Units {
		if u.ID == id {
			return u, true
		}
	}
	return Unit{}, false
}

// PenstockByName returns a penstock, or false where the plant has none of that name.
func (p *Plant) PenstockByName(name string) (Penstock, bool) {
	for _, s := range p.Penstocks {
		if s.Name == name {
			return s, true
		}
	}
	return Penstock{}, false
}

// ElementByName returns a ballast element, or false where the plant has none of that name.
func (p *Plant) ElementByName(name string) (Element, bool) {
	for _, e := range p.Ballast.Elements {
		if e.Name == name {
			return e, true
		}
	}
	return Element{}, false
}
