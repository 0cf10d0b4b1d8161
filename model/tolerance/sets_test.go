package tolerance_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/tolerance"
)

// published is one printed row. None of the standards was read in the original: "secondary" means that the number was seen
// on a page that restates the standard, "from memory" that it was not seen at all.
type published struct {
	set      string
	quantity quantity.Name
	nominal  float64
	in, near [2]float64
	source   string
}

func publishedRows() []published {
	const (
		c84    = "ANSI C84.1 Table 1, 120/240 V service: range A 228-252, range B 220-254; A also in Maryland COMAR 20.50.07.02 (secondary)"
		en     = "EN 50160, no synchronous connection: ±2 % for 95 % of a week, ±15 % always; LV +10/-15 % always (secondary, a power meter's manual, p. 474)"
		isoV   = "ISO 8528-5 / EN 12601 steady voltage deviation G1 ±5 % (±10 % up to 10 kW), G2 ±2.5 %, G3 ±1 % (secondary, DGUV Information 203-032, annex 5)"
		isoG2F = "ISO 8528-5 G2 steady frequency band 1.5 % wide (secondary, procurement specification); droop 5 % = 52.5 Hz on 50 Hz (secondary, DGUV 203-032)"
		isoF   = "ISO 8528-5 steady frequency band G1 2.5 %, G3 0.5 % wide (from memory); droop 8 %, 3 % = 54.0, 51.5 Hz on 50 Hz (secondary, DGUV 203-032)"
		c235   = "CAN3-C235-83 Table 3, service entrance 106/212, 110/220, 125/250, 127/254 (from memory)"
		iso    = "contract: EN 50160 island ±2 % of 60 Hz = 58.8-61.2; 57-63 common practice"
	)
	v, hz := quantity.Volts, quantity.Hertz
	return []published{
		{"isolated", v, 240, [2]float64{228, 252}, [2]float64{220, 254}, c84},
		{"isolated", v, 120, [2]float64{114, 126}, [2]float64{110, 127}, c84},
		{"isolated", v, 230, [2]float64{218.5, 241.5}, [2]float64{210.833333333, 243.416666667}, "the same by proportion: 95, 105, 91.667, 105.833 %"},
		{"isolated", hz, 60, [2]float64{58.8, 61.2}, [2]float64{57, 63}, iso},
		{"isolated", hz, 50, [2]float64{49, 51}, [2]float64{47.5, 52.5}, iso},
		{"iso8528-g1", v, 240, [2]float64{228, 252}, [2]float64{216, 264}, isoV},
		{"iso8528-g1", hz, 60, [2]float64{59.25, 60.75}, [2]float64{55.2, 64.8}, isoF},
		{"iso8528-g1", hz, 50, [2]float64{49.375, 50.625}, [2]float64{46, 54}, isoF},
		{"iso8528-g2", v, 240, [2]float64{234, 246}, [2]float64{234, 246}, isoV},
		{"iso8528-g2", hz, 60, [2]float64{59.55, 60.45}, [2]float64{57, 63}, isoG2F},
		{"iso8528-g2", hz, 50, [2]float64{49.625, 50.375}, [2]float64{47.5, 52.5}, isoG2F},
		{"iso8528-g3", v, 400, [2]float64{396, 404}, [2]float64{396, 404}, isoV},
		{"iso8528-g3", hz, 60, [2]float64{59.85, 60.15}, [2]float64{58.2, 61.8}, isoF},
		{"iso8528-g3", hz, 50, [2]float64{49.875, 50.125}, [2]float64{48.5, 51.5}, isoF},
		{"en50160-island", v, 230, [2]float64{195.5, 253}, [2]float64{195.5, 253}, en},
		{"en50160-island", hz, 50, [2]float64{49, 51}, [2]float64{42.5, 57.5}, en},
		{"en50160-island", hz, 60, [2]float64{58.8, 61.2}, [2]float64{51, 69}, en},
		{"csa-c235", v, 240, [2]float64{220, 250}, [2]float64{212, 254}, c235},
		{"csa-c235", v, 120, [2]float64{110, 125}, [2]float64{106, 127}, c235},
		{"ansi-c84-a", v, 240, [2]float64{228, 252}, [2]float64{220, 254}, c84},
		{"ansi-c84-b", v, 240, [2]float64{220, 254}, [2]float64{220, 254}, c84},
		{"ansi-c84-b", v, 120, [2]float64{110, 127}, [2]float64{110, 127}, c84},
	}
}

func TestBuiltInLimitsAreThePublishedOnes(t *testing.T) {
	for _, row := range publishedRows() {
		t.Run(row.set+" "+string(row.quantity), func(t *testing.T) {
			p := &plant.Plant{Supply: plant.Supply{Bands: row.set, Volts: row.nominal, Hertz: row.nominal}}
			b, ok := tolerance.For(p).For(quantity.Key(row.quantity))
			if !ok {
				t.Fatal("no band")
			}
			got := []float64{*b.InMin, *b.InMax, *b.NearMin, *b.NearMax}
			want := []float64{row.in[0], row.in[1], row.near[0], row.near[1]}
			for i := range got {
				if math.Abs(got[i]-want[i]) > 1e-9 {
					t.Errorf("at %v: limits %v, published %v (%s)", row.nominal, got, want, row.source)
				}
			}
			// A published limit is itself inside: reading exactly it must not warn.
			if s := b.State(row.in[0]); s != tolerance.In {
				t.Errorf("the lower limit %v is %s", row.in[0], s)
			}
			if s := b.State(row.in[1]); s != tolerance.In {
				t.Errorf("the upper limit %v is %s", row.in[1], s)
			}
			fromMemory := strings.Contains(row.source, "from memory")
			if marked := strings.HasSuffix(b.Source, "(from memory)"); fromMemory && !marked {
				t.Errorf("source %q does not end in (from memory), though the row rests on memory", b.Source)
			}
		})
	}
}

func TestEverySetThatThePlantFileMayNameIsBuiltIn(t *testing.T) {
	var names []string
	for _, s := range tolerance.Sets() {
		names = append(names, s.Name)
		if s.Title == "" || s.Source == "" || s.Year == "" {
			t.Errorf("set %s has no title, source or year", s.Name)
		}
	}
	if !slices.Equal(names, plant.BandSets()) {
		t.Errorf("sets %v, plant file allows %v", names, plant.BandSets())
	}
}

func TestSetsFromMemorySaySoAndAreNeverTheDefault(t *testing.T) {
	for i, s := range tolerance.Sets() {
		if s.FromMemory && i == 0 {
			t.Errorf("the default set %s rests on memory", s.Name)
		}
		for _, source := range []string{s.Source, s.Volts(240).Source, s.Hertz(60).Source} {
			if got := strings.HasSuffix(source, "(from memory)"); got != s.FromMemory {
				t.Errorf("set %s: source %q ends in (from memory): %v, the set rests on memory: %v", s.Name, source, got, s.FromMemory)
			}
		}
	}
	// The rows that nobody saw in print: references, sections 1.1 and 1.4.
	for name, want := range map[string]bool{"isolated": false, "iso8528-g1": true, "iso8528-g2": false, "iso8528-g3": true,
		"en50160-island": false, "csa-c235": true, "ansi-c84-a": false, "ansi-c84-b": false} {
		if s, ok := tolerance.Lookup(name); !ok || s.FromMemory != want {
			t.Errorf("set %s: found %v, from memory %v, want %v", name, ok, s.FromMemory, want)
		}
	}
}

func TestLookupOfAnUnknownSetFails(t *testing.T) {
	if s, ok := tolerance.Lookup("iso"); ok {
		t.Errorf("found %v", s)
	}
}

func TestAPlantWithoutAKnownSetIsJudgedByTheDefault(t *testing.T) {
	b := tolerance.For(&plant.Plant{Supply: plant.Supply{Volts: 240, Hertz: 60}})
	if b.Set().Name != "isolated" {
		t.Errorf("set %s", b.Set().Name)
	}
}
