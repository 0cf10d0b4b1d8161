// Package quantity is the catalogue of what can be read at the plant: the name of each reading (the CSV column and the
// key of the command line), its unit, how it is typed and how it is shown.
//
// A value is always kept in the unit of its name's suffix (pressure_kpa in kPa, pond_level_m in metres); other units are
// accepted when typed and converted here, at the edge, and nowhere else.
package quantity

import (
	"fmt"
	"sort"
	"strings"
)

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

// Catalogue returns every quantity in walking order, which is also the order of CSV columns. The slice is the caller's.
func Catalogue() []Info {
	return []Info{
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
}

// Lookup returns the catalogue's entry for a name.
func Lookup(n Name) (Info, bool) {
	for _, q := range Catalogue() {
		if q.Name == n {
			return q, true
		}
	}
	return Info{}, false
}

// Number reports whether the quantity is a number rather than a word.
func (q Info) Number() bool { return q.Words == nil }

// Key is a quantity as it stands in a round: the name alone for the common bus, "A.volts" for one unit.
type Key string

// NewKey joins a unit id ("" for the common bus) and a name.
func NewKey(unit string, n Name) Key {
	if unit == "" {
		return Key(n)
	}
	return Key(unit + "." + string(n))
}

// Split returns the unit id ("" for the common bus) and the name of a key.
func (k Key) Split() (unit string, n Name) {
	if u, rest, ok := strings.Cut(string(k), "."); ok {
		return u, Name(rest)
	}
	return "", Name(k)
}

// Unit returns the unit id in front of the key, "" for the common bus.
func (k Key) Unit() string { u, _ := k.Split(); return u }

// Name returns the key without the unit id.
func (k Key) Name() Name { _, n := k.Split(); return n }

// KeyError tells that a key names no reading of this plant.
type KeyError struct {
	Key     string
	Nearest string // the nearest known key, "" where none is near
	Why     string
}

// Error names the key, the reason and the nearest known one.
func (e *KeyError) Error() string {
	s := fmt.Sprintf("%s is %s", e.Key, e.Why)
	if e.Nearest != "" {
		s += fmt.Sprintf("; did you mean %s?", e.Nearest)
	}
	return s
}

// ParseKey checks a key against the catalogue and the plant's unit ids. Unit ids are matched as written; the name's letter
// case does not matter. The error is a *KeyError.
func ParseKey(s string, units []string) (Key, Info, error) {
	unit, rest, dotted := strings.Cut(s, ".")
	if !dotted {
		unit, rest = "", s
	}
	name := Name(strings.ToLower(strings.TrimSpace(rest)))
	info, ok := Lookup(name)
	fail := func(why string) (Key, Info, error) {
		return "", Info{}, &KeyError{Key: s, Why: why, Nearest: nearestKey(s, units)}
	}
	switch {
	case !ok:
		return fail("not a reading that is known here")
	case dotted && !contains(units, unit):
		if len(units) == 0 {
			return fail("for a unit, but this plant has none")
		}
		return fail(fmt.Sprintf("for a unit %q that this plant does not have (it has %s)", unit, strings.Join(units, ", ")))
	case dotted && !info.PerUnit:
		return fail("not read for one unit, only for the plant")
	case !dotted && !info.Common:
		return fail("read for one unit only, with its id in front")
	}
	return NewKey(unit, name), info, nil
}

// Keys lists every key that a plant with these unit ids can have, in walking order: the common one before the units'.
func Keys(units []string) []Key {
	var keys []Key
	for _, q := range Catalogue() {
		if q.Common {
			keys = append(keys, Key(q.Name))
		}
		if q.PerUnit {
			for _, u := range units {
				keys = append(keys, NewKey(u, q.Name))
			}
		}
	}
	return keys
}

// Nearest returns the candidate that is the fewest edits away from s, or "" when none is within a third of its length.
func Nearest(s string, candidates []string) string {
	best, bestD := "", len(s)/3+1
	sorted := append([]string(nil), candidates...)
	sort.Strings(sorted)
	for _, c := range sorted {
		if d := editDistance(strings.ToLower(s), strings.ToLower(c)); d < bestD {
			best, bestD = c, d
		}
	}
	return best
}

func nearestKey(s string, units []string) string {
	var names []string
	for _, k := range Keys(units) {
		names = append(names, string(k))
	}
	return Nearest(s, names)
}

// editDistance counts the insertions, deletions, changes and swaps of neighbours between two short words.
func editDistance(a, b string) int {
	ra, rb := []rune(a), []rune(b)
	d := make([][]int, len(ra)+1)
	for i := range d {
		d[i] = make([]int, len(rb)+1)
		d[i][0] = i
	}
	for j := range rb {
		d[0][j+1] = j + 1
	}
	for i := 1; i <= len(ra); i++ {
		for j := 1; j <= len(rb); j++ {
			cost := 1
			if ra[i-1] == rb[j-1] {
				cost = 0
			}
			d[i][j] = min(d[i-1][j]+1, d[i][j-1]+1, d[i-1][j-1]+cost)
			if i > 1 && j > 1 && ra[i-1] == rb[j-2] && ra[i-2] == rb[j-1] {
				d[i][j] = min(d[i][j], d[i-2][j-2]+1)
			}
		}
	}
	return d[len(ra)][len(rb)]
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}
