// Package quantity is the catalogue of what can be read at the plant: the name of each reading (the CSV column and the
// key of the command line), its unit, how it is typed and how it is shown.
//
// A value is always kept in the unit of its name's suffix (pressure_kpa in kPa, pond_level_m in metres); other units are
// accepted when typed and converted here, at the edge, and nowhere else.
package quantity

import "fmt"

// Name is a quantity without a unit id in front, such as "pressure_kpa".
type Name string

// The quantities of the contract. The suffix is the unit.
const (
	Volts          Name = "volts"
	Hertz          Name = "hertz"
	LoadKW         Name = "load_kw"
	DumpSharePct   Name = "dump_share_pct"
	DumpKW         Name = "dump_kw"
	KW             Name = "kw"
	Amps           Name = "amps"
	Hours          Name = "hours"
	EnergyKWh      Name = "energy_kwh"
	LoadEnergyKWh  Name = "load_energy_kwh"
	PressureKPa    Name = "pressure_kpa"
	PressureBefore Name = "pressure_before_kpa"
	PressureAfter  Name = "pressure_after_kpa"
	PondLevelM     Name = "pond_level_m"
	ScreenLossMM   Name = "screen_loss_mm"
	BearingC       Name = "bearing_c"
	AirC           Name = "air_c"
	WaterC         Name = "water_c"
	RainMM         Name = "rain_mm"
	BypassLps      Name = "bypass_lps"
	FlowLps        Name = "flow_lps"

	Screen        Name = "screen"
	ScreenCleared Name = "screen_cleared"
	Valve         Name = "valve"
	Ice           Name = "ice"
)

// Info describes one quantity.
type Info struct {
	Name    Name
	Label   string   // as a person calls it: "Intake pressure"
	Unit    Unit     // unit of the kept value; None for words
	Words   []string // the allowed words; nil for a number
	Common  bool     // may stand without a unit id
	PerUnit bool     // may stand with a unit id in front: "A.volts"
	Total   bool     // a meter that only counts up (hour meter, energy meter)
	Where   Place    // where on the round it is read
	Digits  int      // decimals shown in Unit; a reading typed finer keeps its own
}

// Place is a stop on the caretaker's walk, in walking order.
type Place int

// The stops of a round, in walking order.
const (
	AtPond Place = iota
	AtScreen
	AtValve
	AtMachine
	AtPanel
)

// String returns the stop's heading.
func (p Place) String() string {
	switch p {
	case AtPond:
		return "Pond"
	case AtScreen:
		return "Screen"
	case AtValve:
		return "Valve and gauge"
	case AtMachine:
		return "Machines"
	case AtPanel:
		return "Panel"
	}
	return fmt.Sprintf("Place(%d)", int(p))
}

// Catalogue returns every quantity in walking order, which is also the order of CSV columns. The slice is the caller's; the
// words in it are shared and only for reading.
func Catalogue() []Info { return append([]Info(nil), catalogue[:]...) }

// catalogue is never written to. It is a variable only because Go has no constant tables, and it is not built anew for
// each look-up because a long import looks up every cell.
var catalogue = [...]Info{
	{Name: PondLevelM, Label: "Pond level", Unit: Metre, Common: true, Where: AtPond, Digits: 2},
	{Name: Ice, Label: "Ice", Words: []string{"none", "skim", "cover"}, Common: true, Where: AtPond},
	{Name: RainMM, Label: "Rain", Unit: Millimetre, Common: true, Where: AtPond, Digits: 0},
	{Name: WaterC, Label: "Water temperature", Unit: Celsius, Common: true, Where: AtPond, Digits: 0},
	{Name: BypassLps, Label: "Bypass flow", Unit: LitrePerSecond, Common: true, Where: AtPond, Digits: 1},
	{Name: Screen, Label: "Screen", Words: []string{"clear", "partly", "blocked", "iced"}, Common: true, Where: AtScreen},
	{Name: ScreenLossMM, Label: "Screen loss", Unit: Millimetre, Common: true, Where: AtScreen, Digits: 0},
	{Name: ScreenCleared, Label: "Screen cleared", Words: []string{"yes", "no"}, Common: true, Where: AtScreen},
	{Name: PressureBefore, Label: "Pressure before", Unit: Kilopascal, Common: true, Where: AtScreen, Digits: 0},
	{Name: PressureAfter, Label: "Pressure after", Unit: Kilopascal, Common: true, Where: AtScreen, Digits: 0},
	{Name: Valve, Label: "Main valve", Words: []string{"open", "part", "shut"}, Common: true, Where: AtValve},
	{Name: PressureKPa, Label: "Intake pressure", Unit: Kilopascal, Common: true, PerUnit: true, Where: AtValve, Digits: 0},
	{Name: FlowLps, Label: "Flow", Unit: LitrePerSecond, Common: true, PerUnit: true, Where: AtValve, Digits: 1},
	{Name: BearingC, Label: "Bearing", Unit: Celsius, Common: true, PerUnit: true, Where: AtMachine, Digits: 0},
	{Name: AirC, Label: "Air temperature", Unit: Celsius, Common: true, Where: AtMachine, Digits: 0},
	{Name: KW, Label: "Power", Unit: Kilowatt, PerUnit: true, Where: AtMachine, Digits: 1},
	{Name: Hours, Label: "Hour meter", Unit: Hour, Common: true, PerUnit: true, Total: true, Where: AtMachine, Digits: 0},
	{Name: Volts, Label: "Voltage", Unit: Volt, Common: true, PerUnit: true, Where: AtPanel, Digits: 0},
	{Name: Hertz, Label: "Frequency", Unit: HertzUnit, Common: true, PerUnit: true, Where: AtPanel, Digits: 1},
	{Name: LoadKW, Label: "Consumer load", Unit: Kilowatt, Common: true, PerUnit: true, Where: AtPanel, Digits: 1},
	{Name: DumpSharePct, Label: "Dump share", Unit: Percent, Common: true, PerUnit: true, Where: AtPanel, Digits: 0},
	{Name: DumpKW, Label: "Dumped power", Unit: Kilowatt, Common: true, PerUnit: true, Where: AtPanel, Digits: 1},
	{Name: Amps, Label: "Current", Unit: Ampere, Common: true, PerUnit: true, Where: AtPanel, Digits: 1},
	{Name: EnergyKWh, Label: "Energy meter", Unit: KilowattHour, Common: true, PerUnit: true, Total: true, Where: AtPanel, Digits: 0},
	{Name: LoadEnergyKWh, Label: "Consumer energy meter", Unit: KilowattHour, Common: true, Total: true, Where: AtPanel, Digits: 0},
}

// Lookup returns the catalogue's entry for a name.
func Lookup(n Name) (Info, bool) {
	for i := range catalogue {
		if catalogue[i].Name == n {
			return catalogue[i], true
		}
	}
	return Info{}, false
}

// Number reports whether the quantity is a number rather than a word.
func (q Info) Number() bool { return q.Words == nil }
