package logview

import (
	"testing"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// A foot is 0.3048 m exactly (NIST SP 811), but no staff was read to a tenth of a millimetre. What was read finer stays finer.
func TestAColumnHasTheGaugesDigits(t *testing.T) {
	for _, c := range []struct {
		key   quantity.Key
		v     float64
		typed string
		want  string
	}{
		{"pond_level_m", -0.3048, "-1 ft", "-0.30"},
		{"pond_level_m", 0.9144, "3 ft", "0.91"},
		{"pond_level_m", -0.876, "", "-0.876"},
		{"pond_level_m", -0.3, "", "-0.30"},
		{"volts", 240.5, "", "240.5"},
	} {
		info, _ := quantity.Lookup(c.key.Name())
		r := record.Round{Values: map[quantity.Key]float64{c.key: c.v}}
		if c.typed != "" {
			r.Typed = map[quantity.Key]string{c.key: c.typed}
		}
		w := words{units: quantity.Metric}
		got := w.inColumn(r, info, c.key, c.v)
		if got != c.want {
			t.Errorf("%s of %v, typed %q: %q, want %q", c.key, c.v, c.typed, got, c.want)
		}
		for i, col := range columns(w, 4, clockShort) {
			if (i == colVolts && c.key == "volts" || i == colLevel && c.key == "pond_level_m") && len(got) > col.Width {
				t.Errorf("%q is cut in a column of %d cells", got, col.Width)
			}
		}
	}
}
