package quantity

// The acre of 43 560 square feet, and the square foot, both exact with the international foot (NIST SP 811 (2008) Appendix
// B.8; its acre is based on the US survey foot, four parts in a million larger).
const (
	acreM2       = 43560 * footM * footM
	squareFootM2 = footM * footM
)

// acresFrom is the area from which acres are easier to picture than square feet.
const acresFrom = acreM2 / 10

// ShowArea writes an area, m², with its unit: in metric as it is kept (six digits at most), in US units with three digits, "18.3 acres" for a pond
// and "15.1 ft²" for a screen. sep stands between number and unit.
func (s System) ShowArea(m2 float64, sep string) string {
	switch {
	case s != US:
		return Text(significant(m2, 6)) + sep + "m²"
	case m2 >= acresFrom:
		return threeDigits(m2/acreM2) + sep + "acres"
	}
	return threeDigits(m2/squareFootM2) + sep + "ft²"
}
