package quantity

import (
	"strconv"
	"strings"
)

// Text writes a kept value in the form of the CSV: the shortest decimal that reads back the same.
func Text(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// ownDigits is how many decimals beyond the quantity's own a reading may show. More of them are not a gauge's but a
// conversion's: 19 psi is 131.00038857 kPa, and shown as 131. A staff gauge has millimetres at most: -1 ft is -0.3048 m, and shown as
// -0.30.
func (q Info) ownDigits() int {
	if q.Unit == Metre {
		return 1
	}
	return 2
}

// Show writes a reading for people: in the system's unit, with the quantity's digits, or with its own where it was read
// finer (at most two decimals more; one for a length), without the unit.
func (q Info) Show(v float64, s System) string {
	_, digits, factor, offset := s.Shown(q.Unit, q.Digits)
	x := v
	if factor != 1 || offset != 0 {
		x = significant((v-offset)/factor, 10) // kept to 12 digits, so that 10 are those of what was typed
	}
	if _, frac, ok := strings.Cut(Text(x), "."); ok && len(frac) > digits && len(frac) <= digits+q.ownDigits() {
		digits = len(frac)
	}
	return fixed(x, digits)
}

// ShowEstimate writes a computed value in the system's unit: the quantity's digits and no more.
func (q Info) ShowEstimate(v float64, s System) string {
	_, digits, factor, offset := s.Shown(q.Unit, q.Digits)
	return fixed((v-offset)/factor, digits)
}

// ShowUnit returns the unit in which Show writes.
func (q Info) ShowUnit(s System) Unit {
	u, _, _, _ := s.Shown(q.Unit, q.Digits)
	return u
}

// fixed formats with a set number of decimals and never shows minus zero.
func fixed(v float64, digits int) string {
	t := strconv.FormatFloat(v, 'f', digits, 64)
	if strings.Trim(t, "-0.") == "" {
		return strings.TrimPrefix(t, "-")
	}
	return t
}
