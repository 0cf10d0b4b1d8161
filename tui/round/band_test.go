package round

import (
	"testing"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/tolerance"
)

// A value beside its band is never written on the wrong side of a limit: 128 kPa are below 128.26 kPa.
func TestABandIsWrittenSoThatTheValueStandsWhereItIs(t *testing.T) {
	info, _ := quantity.Lookup(quantity.PressureKPa)
	band := tolerance.Band{InMin: new(128.26), InMax: new(136.19)}
	for v, want := range map[float64]string{128: "128.26 to 136.19", 130: "128 to 136"} {
		if got := bandBeside(band, v, info, quantity.Metric); got != want {
			t.Errorf("beside %g: %q, want %q", v, got, want)
		}
	}
}
