package plant_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"example.org/headpond/model/plant"
)

// num writes a number in one of the forms that TOML allows.
func num(t *rapid.T, v float64) string {
	switch rapid.IntRange(0, 2).Draw(t, "form") {
	case 0:
		return strconv.FormatFloat(v, 'e', -1, 64)
	case 1:
		if v == float64(int64(v)) {
			return strconv.FormatInt(int64(v), 10)
		}
	}
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if !strings.Contains(s, ".") {
		s += ".0"
	}
	return s
}

// What is written into a file comes back out of it, for any sound plant and in whichever form its numbers are written.
func TestAnySoundPlantComesBackAsWritten(t *testing.T) {
	base := mustParse(t, soundFile)
	rapid.Check(t, func(t *rapid.T) {
		within := func(lo, hi float64, what string) float64 {
			// Numbers as people write them: some thousandths.
			return float64(rapid.Int64Range(int64(math.Round(lo*1000)), int64(math.Round(hi*1000))).Draw(t, what)) / 1000
		}
		want := *base
		want.Penstocks, want.Units, want.Loads, want.Gauge, want.Upkeep = nil, nil, nil, map[string]float64{}, nil
		var b strings.Builder
		head, _, _ := strings.Cut(soundFile, "[[penstock]]")
		b.WriteString(head)
		for i := range rapid.IntRange(1, 3).Draw(t, "penstocks") {
			s := plant.Penstock{Name: fmt.Sprintf("p %d", i), LengthM: within(1, 9000, "length"), DiameterM: within(0.05, 3, "diameter"),
				RoughnessMM: within(0, 5, "roughness"), MinorK: within(0, 30, "k"), Gauge: plant.AboveValve}
			want.Penstocks = append(want.Penstocks, s)
			fmt.Fprintf(&b, "[[penstock]]\nname = %q\nlength_m = %s\ndiameter_m = %s\nroughness_mm = %s\nminor_k = %s\ngauge = \"above_valve\"\n",
				s.Name, num(t, s.LengthM), num(t, s.DiameterM), num(t, s.RoughnessMM), num(t, s.MinorK))
		}
		for i := range rapid.IntRange(1, 5).Draw(t, "units") {
			u := plant.Unit{ID: "U" + strconv.Itoa(i), Name: "set", Penstock: rapid.SampledFrom(want.Penstocks).Draw(t, "penstock").Name,
				AxisM: within(-400, -1, "axis"), TailwaterM: within(-400, -1, "tailwater"), RatedKW: within(0.1, 500, "kW"), RatedKVA: within(0.1, 700, "kVA"),
				BestFlowLps: within(1, 5000, "flow"), BestHeadM: within(1, 400, "head"), BestEfficiency: within(0.001, 1, "efficiency"),
				GeneratorEfficiency: within(0.001, 1, "generator"), RunawayRatio: within(1.001, 4, "runaway"),
				Excitation: rapid.SampledFrom([]plant.Excitation{plant.Regulated, plant.BySpeed, plant.Capacitor}).Draw(t, "excitation"),
				Bus:        rapid.SampledFrom([]string{"common", "own"}).Draw(t, "bus")}
			want.Units = append(want.Units, u)
			fmt.Fprintf(&b, "[[unit]]\nid = %q\nname = %q\npenstock = %q\naxis_m = %s\ntailwater_m = %s\nrated_kw = %s\nrated_kva = %s\n",
				u.ID, u.Name, u.Penstock, num(t, u.AxisM), num(t, u.TailwaterM), num(t, u.RatedKW), num(t, u.RatedKVA))
			fmt.Fprintf(&b, "best_flow_lps = %s\nbest_head_m = %s\nbest_efficiency = %s\ngenerator_efficiency = %s\nrunaway_ratio = %s\nexcitation = %q\nbus = %q\n",
				num(t, u.BestFlowLps), num(t, u.BestHeadM), num(t, u.BestEfficiency), num(t, u.GeneratorEfficiency), num(t, u.RunawayRatio), u.Excitation, u.Bus)
		}
		b.WriteString("[ballast]\ncontroller_kw = 8.0\n[[ballast.element]]\nname = \"E1\"\nrated_kw = 2.0\n")
		want.Gauge["U0.volts"] = within(0.001, 10, "division")
		fmt.Fprintf(&b, "[gauge]\n\"U0.volts\" = %s\n", num(t, want.Gauge["U0.volts"]))
		got, err := plant.Parse("random.toml", []byte(b.String()))
		if err != nil {
			t.Fatalf("%v\nin\n%s", err, b.String())
		}
		got.Location, want.Location = nil, nil
		if diff := cmp.Diff(&want, got); diff != "" {
			t.Fatalf("want (-), got (+):\n%s", diff)
		}
	})
}

// Order of tables and keys does not matter.
func TestTheOrderOfTablesDoesNotMatter(t *testing.T) {
	want := mustParse(t, soundFile)
	want.Location = nil
	parts := strings.Split(strings.TrimSpace(soundFile), "\n\n")
	rapid.Check(t, func(t *rapid.T) {
		var singles, lists []string
		for _, p := range parts {
			if strings.HasPrefix(p, "[[") {
				lists = append(lists, p) // their order among each other means something
			} else {
				singles = append(singles, p)
			}
		}
		order := rapid.Permutation(singles).Draw(t, "order")
		at := rapid.IntRange(0, len(order)).Draw(t, "lists at")
		text := strings.Join(append(append(append([]string(nil), order[:at]...), lists...), order[at:]...), "\n")
		got, err := plant.Parse("order.toml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		got.Location = nil
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("want (-), got (+):\n%s", diff)
		}
	})
}

// The nearer a stage table's slip, the same message: any row that does not rise is told at its row.
func TestAnyUnsortedRowIsTold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(t, "rows")
		bad := rapid.IntRange(1, n-1).Draw(t, "bad row")
		var rows []string
		for i := range n {
			level := float64(i)
			if i == bad {
				level = float64(i-1) - rapid.Float64Range(0, 0.5).Draw(t, "fall")
			}
			mark := ""
			if i == bad {
				mark = "»"
			}
			rows = append(rows, fmt.Sprintf("%s[%v, %d]", mark, level, 100*(i+1)))
		}
		text, places := unmark(strings.Replace(soundFile, "[[-1.60, 8000], [-0.80, 46000], [0.40, 81000]]", "["+strings.Join(rows, ",\n")+"]", 1))
		_, err := plant.Parse("rows.toml", []byte(text))
		want := fmt.Sprintf("rows.toml:%d:%d: pond.stage: row %d begins with", places[0][0], places[0][1], bad+1)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Fatalf("want %q in\n%v", want, err)
		}
	})
}
