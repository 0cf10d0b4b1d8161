package ballast

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/plant/planttest"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/uitest"
)

func pageOf(h *record.History, w int) string {
	c := uitest.Common(uitest.Look{}, w, 24, clock)
	c.Units = quantity.System(h.Plant.Site.Units)
	return Text(ReportOf(assess.Of(h)), c, w)
}

// By hand: at 216 V the four elements take 8 × 0.81 = 6.48 kW, less than the 6.6 kW that are generated; back at 240 V they take 8. With
// one out it is 6 kW even at the rated voltage.
func TestALowVoltageIsNotCalledTooFast(t *testing.T) {
	r := running([]string{"A"}, map[quantity.Key]float64{"volts": 216, "hertz": 60, "load_kw": 3, "dump_kw": 3.6, "pond_level_m": 0})
	page := pageOf(history(t, r), 80)
	for _, want := range []string{"At the voltage that was read the ballast would be 0.1 kW short; back at the", "-0.1 kW  60.0 Hz, 240 V  stays on"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q:\n%s", want, page)
		}
	}
	for line := range strings.SplitSeq(page, "\n") {
		if strings.Contains(line, "as it is") && strings.Contains(line, "too fast") {
			t.Errorf("%q", line)
		}
		if strings.HasPrefix(line, " without E1") && !strings.Contains(line, "too fast") && !strings.Contains(line, "trips") {
			t.Errorf("an element out at the rated voltage: %q", line)
		}
	}
}

// A shortage that shows as 0.0 kW is none: consumers who take just what is generated do not overload it.
func TestJustEnoughIsNoOverload(t *testing.T) {
	r := running([]string{"A"}, map[quantity.Key]float64{"volts": 240, "hertz": 60, "load_kw": 5.52, "A.kw": 5.5, "pond_level_m": -0.3})
	if page := pageOf(history(t, r), 80); strings.Contains(page, "Overload") || strings.Contains(page, "0.0 kW more than") {
		t.Errorf("%s", page)
	}
	r.Values["load_kw"] = 5.8
	page := pageOf(history(t, r), 80)
	if !strings.Contains(page, "Overload: consumers take 0.3 kW more than is generated") {
		t.Errorf("%s", page)
	}
}

// An induction machine alone: a motor whose 4.5 kVA are more than the 4.0 kW dumped does not start, though 1.5 × the kVA would bear it
// (model.md 7), and volts after a rejection are a lower bound, which the table says within its room.
func TestAnInductionMachineInWords(t *testing.T) {
	r := running([]string{"A"}, map[quantity.Key]float64{"volts": 240, "hertz": 60, "load_kw": 1.5, "dump_kw": 4, "pond_level_m": -0.1})
	h := history(t, r)
	for i := range h.Plant.Units {
		h.Plant.Units[i].Excitation = plant.Capacitor
	}
	h.Plant.Ballast.Elements = h.Plant.Ballast.Elements[:2]
	page := pageOf(h, 80)
	flat := strings.Join(strings.Fields(page), " ")
	for _, want := range []string{"or its starting kVA is more than the 4.0 kW that is dumped", "Hz, ≥2", "NO start well pump"} {
		if !strings.Contains(flat, want) {
			t.Errorf("the page lacks %q:\n%s", want, page)
		}
	}
	if strings.Contains(page, "…") {
		t.Errorf("something is cut:\n%s", page)
	}
}

// Any plant and any readings, at any width: the page fits, and holds no number that is none.
func TestAnyPlantsBallastFits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := planttest.Random(t)
		p.Location = halifax
		ids := planttest.Running(t, p)
		v := map[quantity.Key]float64{"pond_level_m": planttest.Level(t)}
		total := 0.0
		for _, u := range p.Units {
			total += u.RatedKW
		}
		for _, k := range []quantity.Key{"load_kw", "dump_kw"} {
			if rapid.Bool().Draw(t, string(k)) {
				v[k] = total * rapid.Float64Range(0, 1.2).Draw(t, "share")
			}
		}
		if rapid.Bool().Draw(t, "pct") {
			v["dump_share_pct"] = rapid.Float64Range(0, 110).Draw(t, "dump_share_pct")
		}
		if rapid.Bool().Draw(t, "read volts") {
			v["volts"] = p.Supply.Volts * rapid.Float64Range(0.7, 1.3).Draw(t, "volts")
		}
		h := &record.History{At: clock, Plant: p, Rounds: []record.Round{{Time: clock, Running: &ids, Values: v}}, Complete: true}
		w := rapid.IntRange(40, 160).Draw(t, "w")
		page := pageOf(h, w)
		if err := uitest.Fits(strings.TrimSuffix(page, "\n"), w, 1000); err != nil {
			t.Fatal(err)
		}
		for _, bad := range []string{"NaN", "Inf", "%!", "-0.0 "} {
			if strings.Contains(page, bad) {
				t.Fatalf("%s in\n%s", bad, page)
			}
		}
	})
}

// A load room read before a trip is none: the page leads with what holds now.
func TestThePageLeadsWithATripSinceTheReadings(t *testing.T) {
	r := running([]string{"A"}, map[quantity.Key]float64{"volts": 240, "hertz": 60, "load_kw": 3, "dump_kw": 3, "pond_level_m": 0})
	h := history(t, r)
	read := h.Rounds[len(h.Rounds)-1].Time
	h.Events = append(h.Events, record.Event{Kind: record.Trip, Time: read.Add(time.Hour), Units: []string{"A"}})
	h.At = read.Add(2 * time.Hour)
	page := pageOf(h, 80)
	if first, _, _ := strings.Cut(strings.TrimSpace(page), "\n"); !strings.Contains(first, "Nothing runs since") || strings.Contains(page, "more can be switched on") || strings.Contains(page, " fits ") {
		t.Errorf("the page is\n%s", page)
	}
}

// By what each power is known is a sentence: what was read is told apart from what other readings tell.
func TestThePagesSourcesAreSentences(t *testing.T) {
	for _, c := range []struct {
		name   string
		values map[quantity.Key]float64
		want   string
	}{
		{"load and share", map[quantity.Key]float64{"load_kw": 2.8, "dump_share_pct": 50}, "5.6 kW generated and 2.8 kW dumped, by the dump share; 2.8 kW used, as read."},
		{"load and dumped power", map[quantity.Key]float64{"load_kw": 2, "dump_kw": 3.5}, "5.5 kW generated, by load and dumped power; 2.0 kW used and 3.5 kW dumped, as read."},
		{"all meters", map[quantity.Key]float64{"A.kw": 5.5, "load_kw": 2, "dump_kw": 3.5}, "5.5 kW generated, 2.0 kW used and 3.5 kW dumped, as read."},
		{"more used than generated", map[quantity.Key]float64{"A.kw": 5, "load_kw": 6}, "0.0 kW dumped"},
	} {
		c.values["volts"], c.values["hertz"], c.values["pond_level_m"] = 240, 60, -0.3
		page := strings.Join(strings.Fields(pageOf(history(t, running([]string{"A"}, c.values)), 80)), " ")
		if !strings.Contains(page, c.want) {
			t.Errorf("%s: %q is missing in\n%s", c.name, c.want, page)
		}
	}
}
