package tolerance

import (
	"math"

	"example.org/headpond/model/plant"
)

// SetInfo is a built-in set of limits for the voltage and the frequency.
type SetInfo struct {
	Name       string // as [supply] bands names it
	Title      string // what it is, for a list to choose from
	Source     string // the publication
	Year       string // its editions
	FromMemory bool   // some of its numbers were not seen in print; its sources then end in "(from memory)"
	volts      limits
	hertz      limits
}

// limits are published limits at a nominal value; at other nominal values they hold by the same percentages.
type limits struct {
	nominal          float64
	inMin, inMax     float64
	nearMin, nearMax float64
	source           string
}

// Volts returns the set's band for a nominal voltage.
func (s SetInfo) Volts(nominal float64) Band { return s.volts.at(nominal) }

// Hertz returns the set's band for a nominal frequency.
func (s SetInfo) Hertz(nominal float64) Band { return s.hertz.at(nominal) }

func (l limits) at(nominal float64) Band {
	scale := func(v float64) *float64 {
		if nominal != l.nominal {
			// Rounded to a billionth, so that 2 % of 50 is 1 and not a hair less: limits are inclusive.
			v = math.Round(v*nominal/l.nominal*1e9) / 1e9
		}
		return &v
	}
	return Band{InMin: scale(l.inMin), InMax: scale(l.inMax), NearMin: scale(l.nearMin), NearMax: scale(l.nearMax), Source: l.source}
}

// percent makes limits from deviations in per cent of nominal; lower deviations are negative.
func percent(inMin, inMax, nearMin, nearMax float64, source string) limits {
	return limits{100, 100 + inMin, 100 + inMax, 100 + nearMin, 100 + nearMax, source}
}

const memory = " (from memory)"

// Sets lists the built-in sets, the default first, in the order of plant.BandSets.
func Sets() []SetInfo {
	return []SetInfo{isolated(), isoG1(), isoG2(), isoG3(), enIsland(), csa(), ansiA(), ansiB()}
}

// Lookup returns a built-in set by its name.
func Lookup(name string) (SetInfo, bool) {
	for _, s := range Sets() {
		if s.Name == name {
			return s, true
		}
	}
	return SetInfo{}, false
}

// isolated is the default: what a 120/240 V household's appliances are made for, and a frequency that an isolated plant
// can hold.
func isolated() SetInfo {
	return SetInfo{
		Name: plant.BandSets()[0], Title: "isolated plant, 240 V and 60 Hz or by the same percentages",
		Source: "ANSI C84.1 service voltage ranges A and B; EN 50160 frequency without synchronous connection; common practice", Year: "1995 to 2020; 1999 to 2022",
		volts: limits{240, 228, 252, 220, 254, "ANSI C84.1 (1995 to 2020 editions) Table 1, service voltage: in is range A, near is range B"},
		hertz: isolatedHertz(),
	}
}

func isolatedHertz() limits {
	return limits{60, 58.8, 61.2, 57, 63, "EN 50160 (1999 to 2022 editions), no synchronous connection, ±2 %; near ±5 %, common practice"}
}

// isoClass makes a set from a class of ISO 8528-5:2005, Table 4. The published steady-state frequency band is the width of
// the whole envelope, so in is half of it to each side. The droop is taken to both sides for near, since a set may be
// adjusted to the nominal frequency at any load.
func isoClass(name, class string, bandPct, droopPct, voltsPct, voltsNearPct float64, fromMemory bool, notes [2]string) SetInfo {
	const title = "ISO 8528-5:2005 class "
	s := SetInfo{
		Name: name, Title: "generating sets, performance class " + class, Year: "2005",
		Source: title + class + ", Table 4", FromMemory: fromMemory,
		volts: percent(-voltsPct, voltsPct, -voltsNearPct, voltsNearPct, title+class+": "+notes[0]),
		hertz: percent(-bandPct/2, bandPct/2, -droopPct, droopPct, title+class+": "+notes[1]),
	}
	if fromMemory {
		s.Source += memory
		s.volts.source += memory
		s.hertz.source += memory
	}
	return s
}

func isoG1() SetInfo {
	return isoClass("iso8528-g1", "G1", 2.5, 8, 5, 10, true, [2]string{
		"steady voltage ±5 %; near to ±10 %, which it allows sets up to 10 kW; the set's frequency band",
		"steady frequency band 2.5 % wide; near to the droop, 8 %"})
}

func isoG2() SetInfo {
	return isoClass("iso8528-g2", "G2", 1.5, 5, 2.5, 2.5, false, [2]string{
		"steady voltage ±2.5 %",
		"steady frequency band 1.5 % wide; near to the droop, 5 %"})
}

func isoG3() SetInfo {
	return isoClass("iso8528-g3", "G3", 0.5, 3, 1, 1, true, [2]string{
		"steady voltage ±1 %; the set's frequency band",
		"steady frequency band 0.5 % wide; near to the droop, 3 %"})
}

// enIsland takes only the rows for supplies without a synchronous connection. Their voltage row has one limit, for all of
// the time, so near is the same as in.
func enIsland() SetInfo {
	return SetInfo{
		Name: "en50160-island", Title: "public supply without synchronous connection (islands)",
		Source: "EN 50160, rows for supplies without synchronous connection", Year: "1999 to 2022",
		volts: percent(-15, 10, -15, 10, "EN 50160 (1999 to 2022 editions), no synchronous connection: +10/-15 % at all times"),
		hertz: percent(-2, 2, -15, 15, "EN 50160 (1999 to 2022 editions), no synchronous connection: in ±2 % (95 % of a week), near ±15 % (at all times)"),
	}
}

// csa is of the voltage alone; the frequency is judged as in the default set.
func csa() SetInfo {
	const source = "CAN3-C235-83 Table 3, service entrance 120/240 V: in is the normal, near the extreme range" + memory
	return SetInfo{
		Name: "csa-c235", Title: "Canadian preferred voltage levels, service entrance", Year: "1983", FromMemory: true, Source: source,
		volts: limits{240, 220, 250, 212, 254, source},
		hertz: elsewhere("CSA C235", memory),
	}
}

func ansiA() SetInfo {
	return SetInfo{
		Name: "ansi-c84-a", Title: "service voltage, range A", Year: "1995 to 2020", Source: "ANSI C84.1 (1995 to 2020 editions) Table 1, service voltage range A",
		volts: limits{240, 228, 252, 220, 254, "ANSI C84.1 (1995 to 2020 editions) Table 1, service voltage range A; near is range B"},
		hertz: elsewhere("ANSI C84.1", ""),
	}
}

func ansiB() SetInfo {
	return SetInfo{
		Name: "ansi-c84-b", Title: "service voltage, range B", Year: "1995 to 2020", Source: "ANSI C84.1 (1995 to 2020 editions) Table 1, service voltage range B",
		volts: limits{240, 220, 254, 220, 254, "ANSI C84.1 (1995 to 2020 editions) Table 1, service voltage range B"},
		hertz: elsewhere("ANSI C84.1", ""),
	}
}

// elsewhere is the default set's frequency, for a standard that says nothing of it.
func elsewhere(standard, mark string) limits {
	l := isolatedHertz()
	l.source = standard + " has no frequency; " + l.source + mark
	return l
}
