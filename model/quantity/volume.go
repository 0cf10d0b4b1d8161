package quantity

import (
	"math"
	"strconv"
)

// acreFootM3 is 43 560 cubic feet, exact with the international foot (NIST SP 811 (2008) Appendix B.8, which gives 1233.489
// with the US survey foot; the two differ by six parts in a million).
const acreFootM3 = 43560 * footM * footM * footM

// ShowVolume writes a volume of stored water, m³, with its unit and three digits, which is more than a pond's survey
// deserves: "28100 m³", or "22.8 acre-ft". A narrow line may be broken between number and unit; sep stands between them.
func (s System) ShowVolume(m3 float64, sep string) string {
	if s == US {
		return threeDigits(m3/acreFootM3) + sep + "acre-ft"
	}
	return threeDigits(m3) + sep + "m³"
}

// threeDigits rounds to three significant digits, without a power of ten, and at most two decimals.
func threeDigits(v float64) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return fixed(v, 0)
	}
	whole := int(math.Floor(math.Log10(math.Abs(v)))) + 1
	if whole >= 3 {
		p := math.Pow10(whole - 3)
		return strconv.FormatFloat(math.Round(v/p)*p, 'f', 0, 64)
	}
	return fixed(v, min(3-whole, 2))
}
