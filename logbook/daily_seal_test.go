package logbook

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/model/week"
)

// genRow draws a roll-up with odd numbers.
func genRow(t *rapid.T) week.Row {
	number := rapid.Float64Range(-1e6, 1e6)
	d := week.Day{From: rapid.Int64Range(0, 4e12).Draw(t, "from"), Rounds: rapid.IntRange(0, 99).Draw(t, "rounds")}
	d.To, d.Needs = d.From+86_400_000, d.From+rapid.Int64Range(86_400_000, 4e9).Draw(t, "needs")
	d.Sums = map[string]week.Sum{week.Used: {KWh: number.Draw(t, "kWh"), Hours: 24, Gauge: number.Draw(t, "gauge"), Var: number.Draw(t, "var"), Shared: number.Draw(t, "shared")}}
	d.Lows = map[string]week.Seen{"volts": {V: number.Draw(t, "low"), At: d.From + 1, ID: "X", State: "in"}}
	if rapid.Bool().Draw(t, "stopped") {
		d.Stops = []week.StopRow{{At: d.From, Kind: "trip", Units: []string{"A"}, Cause: genText(t, "cause")}}
	}
	d.Hours[rapid.IntRange(0, 23).Draw(t, "hour")] = uint8(rapid.IntRange(0, 255).Draw(t, "walked"))
	c := week.Carry{At: d.To, Begin: d.From, Units: map[string]week.UnitState{"A": {On: true, Since: d.From}},
		Tracks: map[string]week.TrackState{week.Used: {Spread: week.Spread{N: 3, Mean: number.Draw(t, "mean"), Var: 1, Set: "A"}, Meter: &week.MeterAt{At: d.From, Keys: []string{"energy_kwh"}, V: []float64{number.Draw(t, "meter")}}}}}
	return week.Row{Day: d, Carry: c, Needs: d.Needs}
}

// A row is read back to the bit, and none with a flipped bit, a cut end or another key is taken for one.
func TestRollUpIsReadBackOrRefused(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := genRow(rt)
		key := dailyKey(r.Day.From)
		v, err := new(packer).seal(key, r)
		if err != nil {
			rt.Fatal(err)
		}
		if dailyTime(key) != r.Day.From {
			rt.Fatalf("the key's time is %d, want %d", dailyTime(key), r.Day.From)
		}
		if needs, ok := dailyNeeds(key, v); !ok || needs != r.Needs {
			rt.Fatalf("needs %d %v, want %d", needs, ok, r.Needs)
		}
		day, ok := new(packer).day(key, v)
		carry, ok2 := new(packer).carry(key, v)
		if !ok || !ok2 || !reflect.DeepEqual(day, r.Day) || !reflect.DeepEqual(*carry, r.Carry) {
			rt.Fatalf("read back as %+v %+v, was %+v", day, carry, r)
		}
		spoilt := append([]byte(nil), v...)
		spoilt[rapid.IntRange(0, len(v)-1).Draw(rt, "byte")] ^= 1 << rapid.IntRange(0, 7).Draw(rt, "bit")
		for what, bad := range map[string][]byte{"a flipped bit": spoilt, "a cut end": v[:rapid.IntRange(0, len(v)-1).Draw(rt, "length")], "nothing": nil} {
			if _, ok := new(packer).day(key, bad); ok {
				rt.Fatalf("%s is taken for a row", what)
			}
			if _, ok := new(packer).carry(key, bad); ok {
				rt.Fatalf("%s is taken for a row", what)
			}
		}
		if _, ok := new(packer).day(dailyKey(r.Day.From+1), v); ok {
			rt.Fatal("a row under another key is taken for one")
		}
	})
}

// Keys order as times do, also before 1970.
func TestDailyKeysOrderAsTimes(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a, b := rapid.Int64().Draw(rt, "a"), rapid.Int64().Draw(rt, "b")
		if (a < b) != (string(dailyKey(a)) < string(dailyKey(b))) {
			rt.Fatalf("%d and %d", a, b)
		}
	})
}

func TestDailyBasisDiffersWithEverythingThatRowsRestOn(t *testing.T) {
	at := time.Unix(1_700_000_000, 0)
	r := []record.Revision{{ID: "P", From: at, Text: "x"}}
	base := dailyBasis("America/Halifax", r)
	for what, other := range map[string][dailyBasisLen]byte{
		"another zone":     dailyBasis("UTC", r),
		"another text":     dailyBasis("America/Halifax", []record.Revision{{ID: "P", From: at, Text: "y"}}),
		"another time":     dailyBasis("America/Halifax", []record.Revision{{ID: "P", From: at.Add(time.Second), Text: "x"}}),
		"another revision": dailyBasis("America/Halifax", append(r, record.Revision{ID: "Q", From: at, Text: "x"})),
		"none":             dailyBasis("America/Halifax", nil),
	} {
		if other == base {
			t.Errorf("%s gives the same", what)
		}
	}
	if dailyBasis("America/Halifax", r) != base {
		t.Error("the same gives another")
	}
}

// The rows are really read: one whose energy was altered, under a right checksum, shows in the review.
func TestRowsAreReallyRead(t *testing.T) {
	noon := time.Date(2026, 2, 3, 12, 0, 0, 0, time.UTC)
	b, err := Create(t.Context(), filepath.Join(t.TempDir(), "x.book"), Options{Clock: func() time.Time { return noon }})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := b.AddPlant(t.Context(), readText(t, "testdata/plant.toml"), noon.AddDate(-1, 0, 0), "Ro"); err != nil {
		t.Fatal(err)
	}
	var rounds []record.Round
	for at := noon.AddDate(0, 0, -60); !at.After(noon); at = at.Add(12 * time.Hour) {
		rounds = append(rounds, record.Round{Time: at, Running: &[]string{"A"}, Values: valuesOf("load_kw", 2, "dump_kw", 3)})
	}
	if _, _, err := b.AddRounds(t.Context(), rounds); err != nil {
		t.Fatal(err)
	}
	used := func() float64 {
		in, err := b.Week(t.Context(), week.Of{Span: week.Year, At: noon})
		if err != nil {
			t.Fatal(err)
		}
		r, err := week.Report(t.Context(), in)
		if err != nil {
			t.Fatal(err)
		}
		return r.EnergyKWh.Used.Value
	}
	before := used()
	if want := 2.0 * 60 * 24; math.Abs(before-want) > 1e-6 {
		t.Fatalf("used %g kWh, want %g", before, want)
	}
	err = b.update(t.Context(), "altering", func(tx *txn) error {
		c := tx.daily.Cursor()
		c.First()
		k, v := c.Next()
		r := week.Row{}
		r.Needs, _ = dailyNeeds(k, v)
		var ok bool
		if r.Day, ok = new(packer).day(k, v); !ok {
			t.Fatal("the second row cannot be read")
		}
		carry, _ := new(packer).carry(k, v)
		r.Carry = *carry
		s := r.Day.Sums[week.Used]
		s.KWh += 1000
		r.Day.Sums[week.Used] = s
		sealed, err := new(packer).seal(k, r)
		if err != nil {
			return err
		}
		return tx.daily.Put(append([]byte(nil), k...), sealed)
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := used(); math.Abs(got-before-1000) > 1e-6 {
		t.Errorf("with 1000 kWh more in a row it is %g kWh, before %g", got, before)
	}
}

func readText(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func valuesOf(k1 quantity.Key, v1 float64, k2 quantity.Key, v2 float64) map[quantity.Key]float64 {
	return map[quantity.Key]float64{k1: v1, k2: v2}
}

// What a damaged row could ask for is bounded, however small it is itself.
func TestARowThatUnpacksWithoutEndIsRefused(t *testing.T) {
	var z packer
	bomb, err := z.pack(nil, make([]byte, mostUnpacked+1))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := z.unpack(bomb); !errors.Is(err, errTooLarge) {
		t.Errorf("%d bytes unpack without a complaint: %v", len(bomb), err)
	}
	whole, err := z.pack([]byte("before "), make([]byte, mostUnpacked))
	if err != nil {
		t.Fatal(err)
	}
	if out, err := z.unpack(whole[7:]); err != nil || len(out) != mostUnpacked {
		t.Errorf("after a refusal the next row gives %d bytes, %v", len(out), err)
	}
	if _, err := z.unpack([]byte("no such thing")); err == nil {
		t.Error("what was never packed unpacks")
	}
}
