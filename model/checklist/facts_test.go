package checklist

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"example.org/headpond/model/plant"
)

// gravity plant: a pond whose level stands at the gauge's zero, a set 20 m below, one pipe.
func gravity() *plant.Plant {
	return &plant.Plant{
		Site: plant.Site{Units: "metric"}, Supply: plant.Supply{Volts: 230, Hertz: 50, Bands: "isolated"}, Pond: plant.Pond{CrestCoefficient: 1.7},
		Penstocks: []plant.Penstock{{Name: "main", LengthM: 300, DiameterM: 0.2, RoughnessMM: 0.01, MinorK: 1, Gauge: plant.BelowValve}},
		Units: []plant.Unit{{ID: "1", Penstock: "main", AxisM: -20, TailwaterM: -20, RatedKW: 3, RatedKVA: 4, BestFlowLps: 25, BestHeadM: 18,
			BestEfficiency: 0.66, GeneratorEfficiency: 0.84, RunawayRatio: 1.5, Excitation: plant.Regulated, Bus: "common"}},
	}
}

// Pressure at rest by hand: ρ g h with 999.7 kg/m³ (water of 10 °C, Tanaka 2001, from memory) and 9.80665 m/s²: 196.1 kPa at
// 20 m, 28.4 psi (NIST SP 811: 6.894757 kPa a psi); 245.1 kPa at 25 m.
func TestPressureAtRest(t *testing.T) {
	p := gravity()
	if got := factsOf(p).static; got != "about 196 kPa" {
		t.Errorf("%q", got)
	}
	p.Units[0].AxisM, p.Units[0].TailwaterM = -25, -25
	if got := factsOf(p).static; got != "about 245 kPa" {
		t.Errorf("%q", got)
	}
	p = gravity()
	p.Site.Units = "us"
	if got := factsOf(p).static; got != "about 28.4 psi" {
		t.Errorf("%q", got)
	}
	p = gravity()
	p.Pond.CrestM = new(1.0) // full is at the crest: 21 m, 205.9 kPa
	if got := factsOf(p).static; got != "about 206 kPa" {
		t.Errorf("%q", got)
	}
}

// Michaud's rule by hand, t = 2 L v / (g Δh) with Δh = 30 % of 20 m: 600 v / 58.84 s, and the pipe's 25 L/s or so make 0.8 m/s:
// 8 s. Twice the length is twice the time; a pipe of twice the section has half the velocity.
func TestClosingTimes(t *testing.T) {
	seconds := func(change func(*plant.Plant)) int {
		p := gravity()
		change(p)
		text := factsOf(p).closing
		var n int
		for _, r := range text {
			if r >= '0' && r <= '9' {
				n = n*10 + int(r-'0')
			}
		}
		return n
	}
	one := seconds(func(*plant.Plant) {})
	if one < 7 || one > 10 {
		t.Errorf("%d s, by hand 8 to 9", one)
	}
	double := seconds(func(p *plant.Plant) { p.Penstocks[0].LengthM = 600 })
	if double < 2*one-4 || double > 2*one+2 { // a longer pipe also flows a little slower
		t.Errorf("%d s for twice the length, %d for the length", double, one)
	}
	wide := seconds(func(p *plant.Plant) { p.Penstocks[0].LengthM, p.Penstocks[0].DiameterM = 600, 0.2*1.4142 })
	if wide < double/2-1 || wide > double/2+3 {
		t.Errorf("%d s for twice the section, %d for the one", wide, double)
	}
	if n := seconds(func(p *plant.Plant) { p.Penstocks[0].LengthM = 60 }); n != 0 {
		t.Errorf("%d s is named for a short pipe", n)
	}
}

func TestTripSettingsInWords(t *testing.T) {
	v, h := &[2]float64{204, 276}, &[2]float64{54, 66.5}
	for want, s := range map[string]plant.Supply{
		"": {}, "204 and 276 V": {TripVolts: v}, "54 and 66.5 Hz": {TripHertz: h}, "204 and 276 V, 54 and 66.5 Hz": {TripVolts: v, TripHertz: h},
	} {
		if got := trips(s); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestAFactThatIsMissingLeavesTheSentence(t *testing.T) {
	if got := with("Shut it slowly.", "Take %s.", ""); got != "Shut it slowly." {
		t.Error(got)
	}
	if got := with("Shut it slowly.", "Take %s.", "at least 9 s"); got != "Shut it slowly. Take at least 9 s." {
		t.Error(got)
	}
}

func TestElementsInWords(t *testing.T) {
	for n, want := range map[int]string{0: "elements", 1: "elements", 2: "2 elements", 12: "12 elements"} {
		p := &plant.Plant{Ballast: plant.Ballast{Elements: make([]plant.Element, n)}}
		if got := elements(p); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
}

// What a plant has, as far as it matters to a list.
func TestWhatThePlantHas(t *testing.T) {
	p := gravity()
	check := func(name string, screen, ballast, several bool) {
		t.Helper()
		a, b, c := factsOf(p).has()
		if a != screen || b != ballast || c != several {
			t.Errorf("%s: screen %v, ballast %v, several %v", name, a, b, c)
		}
	}
	check("hardly anything", false, false, false)
	p.Intake.ScreenM2, p.Intake.OpenShare = new(1.0), 0.4
	check("a screen", true, false, false)
	p.Ballast.Elements = []plant.Element{{Name: "E1", RatedKW: 2, RatedVolts: 230, Working: true}}
	check("ballast", true, true, false)
	p.Units = append(p.Units, p.Units[0])
	p.Units[1].ID, p.Units[1].Bus = "2", "own"
	check("a second set on its own bus", true, true, false)
	p.Units[1].Bus = "common"
	check("a second set on the bus", true, true, true)
}

// A description of which no model can be made still has its lists, only without what the model would tell.
func TestListsWithoutAModel(t *testing.T) {
	p := gravity()
	p.Units[0].Penstock = "gone"
	f := factsOf(p)
	if f.static != "" || f.closing != "" {
		t.Errorf("%+v", f)
	}
	for _, l := range Lists(p) {
		if len(l.Steps) < 8 {
			t.Errorf("%s has %d steps", l.Name, len(l.Steps))
		}
	}
}

func TestJSONHasNoNull(t *testing.T) {
	p := gravity()
	p.Checklists = []plant.Checklist{{Name: "Frost", Steps: []string{"a"}}}
	data, err := json.Marshal(Lists(p))
	if err != nil {
		t.Fatal(err)
	}
	if s := string(data); strings.Contains(s, "null") || !strings.HasSuffix(s, `{"name":"Frost","built_in":false,"cautions":[],"steps":["a"]}]`) {
		t.Error(s)
	}
}

// A caller may alter what it was given without altering the plant.
func TestListsAreTheCallersOwn(t *testing.T) {
	p := gravity()
	p.Checklists = []plant.Checklist{{Name: "Frost", Cautions: []string{"cold"}, Steps: []string{"a"}}}
	l := Lists(p)[4]
	l.Cautions[0], l.Steps[0] = "hot", "b"
	if got := p.Checklists[0]; !slices.Equal(got.Cautions, []string{"cold"}) || !slices.Equal(got.Steps, []string{"a"}) {
		t.Errorf("%+v", got)
	}
}

func BenchmarkLists(b *testing.B) {
	p := gravity()
	for b.Loop() {
		if len(Lists(p)) != 4 {
			b.Fatal("no lists")
		}
	}
}
