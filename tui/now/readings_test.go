package now

import (
	"strings"
	"testing"
	"time"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/text"
)

// readAll is a round with every number of the catalogue, common and of unit A, each as a meter of that plant may show it.
func readAll(p *plant.Plant, at time.Time) record.Round {
	running := []string{"A"}
	r := record.Round{Time: at, Running: &running, Values: map[quantity.Key]float64{}}
	for _, k := range quantity.Keys(p.UnitIDs()) {
		if info, _ := quantity.Lookup(k.Name()); info.Number() {
			r.Values[k] = map[quantity.Unit]float64{quantity.Metre: -0.285, quantity.Volt: 240, quantity.HertzUnit: 60, quantity.Kilopascal: 133}[info.Unit]
		}
	}
	return r
}

// In 80 columns every label of the catalogue is whole, in both systems of units, in the last round and in an old one.
func TestNoLabelIsCutAt80Columns(t *testing.T) {
	for _, units := range []string{"metric", "us"} {
		for _, old := range []time.Duration{0, 13 * 24 * time.Hour} {
			p := house(t, `"metric"`, `"`+units+`"`)
			h := round(p, "A")
			r := readAll(p, clock.Add(-old))
			h.Rounds = []record.Round{r}
			if old > 0 {
				h.Rounds = append(h.Rounds, record.Round{Time: clock, Values: map[quantity.Key]float64{"volts": 240}})
			}
			page := command(h, 80)
			_, page, _ = strings.Cut(page, "Readings:")
			for k := range r.Values {
				if info, _ := quantity.Lookup(k.Name()); !info.Total && info.Name != quantity.PressureBefore && info.Name != quantity.PressureAfter {
					see(t, page, assess.LabelOf(k)+" ")
				}
			}
			if strings.Contains(page, "…") {
				t.Errorf("%s, %v old: something is cut:\n%s", units, old, page)
			}
		}
	}
}

// The age of an old reading says that it is one, at the edge of each of its units.
func TestAgesSayThatTheyAreAges(t *testing.T) {
	for d, want := range map[time.Duration]string{
		59 * time.Minute: "59 min old", time.Hour: "1 h old", 47 * time.Hour: "47 h old", 48 * time.Hour: "2 days old", 14 * 24 * time.Hour: "14 days old",
	} {
		if got := age(d); got != want || text.Width(got) > agedWidth {
			t.Errorf("%v: %q, expected %q", d, got, want)
		}
	}
	h := round(house(t), "A")
	h.Rounds = append([]record.Round{{Time: clock.Add(-30 * time.Hour), Values: map[quantity.Key]float64{"water_c": 8}}}, h.Rounds...)
	for _, w := range []int{60, 80, 120} {
		see(t, command(h, w), "Water temperature 8 °C 30 h old")
	}
}
