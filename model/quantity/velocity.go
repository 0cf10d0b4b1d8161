package quantity

// ShowVelocity writes a velocity, m/s, with its unit: in metric with the digits that are asked for, in US units (feet a second,
// exact with the international foot) with one less, which is still finer. sep stands between number and unit.
func (s System) ShowVelocity(ms float64, digits int, sep string) string {
	if s == US {
		return fixed(ms/footM, max(0, digits-1)) + sep + "ft/s"
	}
	return fixed(ms, digits) + sep + "m/s"
}
