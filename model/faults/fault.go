package faults

// Fault is one of the causes that the contract names.
type Fault string

// The faults and conditions of the contract.
const (
	None          Fault = "none"
	ScreenBlocked Fault = "screen_blocked"
	ValvePart     Fault = "valve_part_closed"
	Air           Fault = "penstock_air"
	Leak          Fault = "penstock_leak"
	RunnerWorn    Fault = "runner_worn"
	ElementOpen   Fault = "ballast_element_open"
	BallastFull   Fault = "ballast_full"
	Overload      Fault = "overload"
	Regulator     Fault = "voltage_regulator"
	FrequencySet  Fault = "frequency_setting"
	PressureGauge Fault = "pressure_gauge"
	LevelGauge    Fault = "level_gauge"
	PondLow       Fault = "pond_low"
	Bearing       Fault = "bearing"
	Controller    Fault = "controller"
	Belt          Fault = "belt"
)

// row is what is fixed about a fault.
type row struct {
	fault Fault
	// prior is how common it is before any reading is looked at, relative to the others (our own, from the trade). Conditions
	// have none: they share that of none.
	prior     float64
	label     string
	firstStep string
	caution   string
}

// Cautions that several faults share. They are product design's, in short.
const (
	lockOut   = "Stop, isolate, lock out and prove dead before opening anything; line voltage kills, and the plant can start or keep turning with the consumers off."
	openWater = "Water pulls hands and tools to an open intake, and ice there is thin: never alone, and with the plant stopped where it can be."
	slowValve = "Move the main valve slowly: shutting it fast can burst a pipe."
	heaters   = "Ballast heaters and their housing burn, and line voltage kills: only someone qualified opens or measures there."
	shafts    = "Belts and shafts catch: guards stay on while anything turns, and nothing is touched before the set is stopped and locked out."
)

// rows are the faults in the contract's order, then the two that it adds. It is never written to.
func rows() []row {
	return []row{
		{None, 0.5, "nothing is wrong", "Nothing needs doing: go on with the ordinary rounds.", "The readings cannot show everything: what smells, sounds or feels wrong is wrong, whatever they say."},
		{ScreenBlocked, 0.07, "blocked screen", "Look at the screen and clear it, and read the pressure just before and after.", openWater},
		{ValvePart, 0.04, "main valve part closed", "Look whether the main valve stands fully open, and open it slowly if it does not.", slowValve},
		{Air, 0.04, "air in the penstock", "Open the air valve at the penstock's high point, or stop slowly, let the pipe fill and vent, and start again.", slowValve},
		{Leak, 0.03, "leaking penstock", "Walk the whole penstock and look for wet ground, spray and washed-out soil.", "Keep clear of a leaking pipe and of the ground below it; stop the plant if soil washes out. " + slowValve},
		{RunnerWorn, 0.035, "worn or blocked runner", "Listen to the machine for rubbing and gravel; plan a stop to look through its inspection opening.", lockOut + " " + slowValve},
		{ElementOpen, 0.045, "dead ballast element", "Have someone qualified count the warm elements with a clamp meter; until then leave enough consumers on.", heaters},
		{BallastFull, 0, "ballast is full", "Switch consumers on, or stop a set: the ballast can take no more.", heaters},
		{Overload, 0, "overload", "Switch off what is not needed, the largest consumer first.", "Motors burn out on a low voltage: switch them off before anything else. Line voltage kills."},
		{Regulator, 0.03, "voltage regulator", "Read the voltage with a second meter, then have the regulator's setting looked at.", lockOut + " A voltage out of band harms what is plugged in."},
		{FrequencySet, 0.03, "frequency setting", "Read the frequency with a second meter, then have the load controller's setting looked at.", lockOut},
		{PressureGauge, 0.045, "pressure gauge", "Compare it with a second gauge, or tap it gently and read again.", "Shut the gauge cock before a gauge is taken off: the pipe is under pressure."},
		{LevelGauge, 0.035, "pond level gauge", "Measure the level from a fixed mark, such as the crest, with a tape or a level.", openWater},
		{PondLow, 0, "low pond", "Stop a set, or run the smaller one, until the pond has risen.", "A mouth that draws air makes the set and the pipe hammer: stop before that. The water permit's limits stand."},
		{Bearing, 0.03, "hot bearing", "Read its temperature again, keeping clear of what turns. Stop the set if it goes on rising; isolate and lock it out, and only then touch it and grease it as its maker says.", shafts},
		{Controller, 0.025, "load controller", "Switch a known consumer on and off and watch whether the dump share answers; have the controller looked at.", lockOut + " Without a working controller the set can overspeed: the protection relays must be in service."},
		{Belt, 0.02, "slipping belt", "Stop the set, isolate it and lock it out; then look at the belt: its tension, its wear, dust below it.", shafts},
	}
}

// IDs lists all faults in the contract's order.
func IDs() []Fault {
	var out []Fault
	for _, r := range rows() {
		out = append(out, r.fault)
	}
	return out
}

func rowOf(f Fault) row {
	for _, r := range rows() {
		if r.fault == f {
			return r
		}
	}
	return row{fault: f, label: string(f)}
}

// Label is the fault's name for people, in lower case.
func (f Fault) Label() string { return rowOf(f).label }

// Condition reports whether it is a state of a sound plant, not the fault of a part.
func (f Fault) Condition() bool { return f == BallastFull || f == Overload || f == PondLow }
