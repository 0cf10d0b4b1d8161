package plant

import (
	"fmt"
	"strings"
	"time"
	_ "time/tzdata" // so that a plant's zone is known on every system
)

// gravity times the density of cold water, N/m3: what a cubic metre can give, for impossible values only.
const waterWeight = 9.80665 * 1000

// check tells what does not fit together. A rule is left out where a value that it needs was itself wrong or missing.
func (d *decoder) check(p *Plant, ts *tables) {
	d.checkSite(p, ts.site)
	d.checkTrip(ts.supply, "trip_volts", p.Supply.TripVolts, "volts", p.Supply.Volts)
	d.checkTrip(ts.supply, "trip_hertz", p.Supply.TripHertz, "hertz", p.Supply.Hertz)
	d.checkBands(p, ts.bands)
	d.checkPond(&p.Pond, ts.pond)
	if ts.intake.good["screen_m2"] && !ts.intake.given("open_share") {
		d.problem(ts.intake, "open_share", "missing, though there is a screen (screen_m2)", intakeSpec("open_share").expected())
	}
	d.checkPenstocks(p, ts.penstocks)
	d.checkUnits(p, ts)
	d.unique(ts.elements, "name", func(i int) string { return p.Ballast.Elements[i].Name })
	d.unique(ts.loads, "name", func(i int) string { return p.Loads[i].Name })
	d.checkUpkeep(p, ts.upkeep)
	d.checkChecklists(p, ts.checklists)
}

func intakeSpec(key string) spec {
	for _, f := range intakeFields() {
		if f.key == key {
			return f.spec
		}
	}
	return spec{}
}

func (d *decoder) checkSite(p *Plant, t *table) {
	if !t.has("timezone") {
		return
	}
	zone := p.Site.Timezone
	loc, err := time.LoadLocation(zone)
	if err != nil || zone == "Local" {
		expected := "an IANA name such as \"America/Halifax\" or \"UTC\""
		if better := betterZone(zone); better != "" {
			expected = quote(better)
		}
		d.problem(t, "timezone", quote(zone)+" is not a known time zone", expected)
		return
	}
	p.Location = loc
}

// betterZone tries a zone's name with the blanks and capitals that such names have; "" where that is none either.
func betterZone(zone string) string {
	words := strings.FieldsFunc(strings.ToLower(zone), func(r rune) bool { return r == ' ' || r == '_' })
	s := []byte(strings.Join(words, "_"))
	for i := range s {
		if (i == 0 || s[i-1] == '/' || s[i-1] == '_') && s[i] >= 'a' && s[i] <= 'z' {
			s[i] -= 'a' - 'A'
		}
	}
	if name := string(s); name != zone && name != "" && name != "Local" {
		if _, err := time.LoadLocation(name); err == nil {
			return name
		}
	}
	return ""
}

// checkTrip tells trip limits that the nominal value itself would pass.
func (d *decoder) checkTrip(t *table, key string, trip *[2]float64, nominalKey string, nominal float64) {
	if !t.has(key, nominalKey) || (trip[0] < nominal && nominal < trip[1]) {
		return
	}
	d.problem(t, key, fmt.Sprintf("[%s, %s] does not hold the nominal %s", number(trip[0]), number(trip[1]), number(nominal)),
		fmt.Sprintf("one limit below and one above %s = %s", nominalKey, number(nominal)))
}

func (d *decoder) checkPond(p *Pond, t *table) {
	if t.has("stage") {
		switch n := len(p.Stage); {
		case n < 2:
			d.problem(t, "stage", "has one row only", "at least two, for the area is linear between them")
		case p.Stage[n-1].AreaM2 == 0:
			d.add(t.rowAt("stage", n-1), "pond.stage", "the highest row has no water surface", "its area in m2")
		}
	}
	if t.has("permit_low_m", "permit_high_m") && *p.PermitLowM >= *p.PermitHighM {
		d.problem(t, "permit_low_m", fmt.Sprintf("%s is not below permit_high_m = %s", number(*p.PermitLowM), number(*p.PermitHighM)),
			"the lower of the permit's two levels")
	}
}

func (d *decoder) checkPenstocks(p *Plant, ts []*table) {
	d.unique(ts, "name", func(i int) string { return p.Penstocks[i].Name })
	for i, t := range ts {
		s := p.Penstocks[i]
		if t.has("roughness_mm", "diameter_m") && s.RoughnessMM >= s.DiameterM*1000/4 {
			d.problem(t, "roughness_mm", fmt.Sprintf("%s mm is no roughness of a pipe of %s mm", number(s.RoughnessMM), number(s.DiameterM*1000)),
				"the height of the wall's unevenness in mm, such as 0.01 for plastic")
		}
	}
}

// unique tells names that were given before in the same list.
func (d *decoder) unique(ts []*table, key string, name func(i int) string) {
	seen := map[string]int{}
	for i, t := range ts {
		if !t.has(key) {
			continue
		}
		n := name(i)
		if line, twice := seen[strings.ToLower(n)]; twice {
			d.problem(t, key, fmt.Sprintf("%s is given twice (the first is in line %d)", quote(n), line), "a different "+key+" for each")
			continue
		}
		seen[strings.ToLower(n)] = d.src.lineIndex(t.at(key)) + 1
	}
}

func (d *decoder) checkUpkeep(p *Plant, ts []*table) {
	d.unique(ts, "task", func(i int) string { return p.Upkeep[i].Task + "\x00" + p.Upkeep[i].Unit })
	for i, t := range ts {
		hours, days := t.given("every_hours"), t.given("every_days")
		switch {
		case hours && days:
			d.problem(t, "every_days", "given beside every_hours", "one of the two")
		case !hours && !days:
			d.add(t.node.off, t.path, "has no interval", "every_hours or every_days")
		}
		if id := p.Upkeep[i].Unit; t.has("unit") {
			if _, ok := p.UnitByID(id); !ok {
				d.problem(t, "unit", "no unit has the id "+quote(id), oneOf(p.UnitIDs(), "unit"))
			}
		}
	}
}

// oneOf lists the names that would have been right.
func oneOf(names []string, noun string) string {
	var known []string
	for _, n := range names {
		if n != "" {
			known = append(known, n)
		}
	}
	if len(known) == 0 {
		return "the name of a [[" + noun + "]] of this file"
	}
	return joinWords(onlyOnce(known))
}
