package plant

import "fmt"

// checkBands tells bands of unknown readings, bands without limits and limits that cross.
func (d *decoder) checkBands(p *Plant, ts []*table) {
	d.unique(ts, "quantity", func(i int) string { return p.Bands[i].Quantity })
	for i, t := range ts {
		b := p.Bands[i]
		if t.has("quantity") {
			if what, expected := readingKey(b.Quantity, p.UnitIDs()); what != "" {
				d.problem(t, "quantity", what, expected)
			}
		}
		both := d.bothForms(t, "in")
		both = d.bothForms(t, "near") || both
		if !t.given("in") && !t.given("in_min") && !t.given("in_max") {
			d.add(t.node.off, t.path, "has no limits", "in = [low, high], or in_min or in_max alone")
			continue
		}
		if !both {
			d.checkLimits(t, b)
		}
	}
}

// bothForms tells a pair that is given beside one of its single limits.
func (d *decoder) bothForms(t *table, name string) bool {
	both := false
	for _, single := range []string{name + "_min", name + "_max"} {
		if t.given(name) && t.given(single) {
			d.problem(t, single, "given beside "+name, "one of the two")
			both = true
		}
	}
	return both
}

// checkLimits tells limits that cross, and warning limits that lie inside the good ones.
func (d *decoder) checkLimits(t *table, b Band) {
	inMin, inMax := limitKey(t, "in", "_min"), limitKey(t, "in", "_max")
	nearMin, nearMax := limitKey(t, "near", "_min"), limitKey(t, "near", "_max")
	crossed := func(key, what, expected string) { d.problem(t, key, what, expected) }
	if !t.given("in") && b.InMin != nil && b.InMax != nil && *b.InMin >= *b.InMax {
		crossed(inMin, fmt.Sprintf("%s is not below in_max = %s", number(*b.InMin), number(*b.InMax)), "a lower limit below the upper one")
		return
	}
	switch {
	case b.NearMin != nil && b.InMin == nil && (t.given(inMax) && !t.given(inMin)):
		crossed(nearMin, "there is no lower limit of in to be near to", "in_min too")
	case b.NearMin != nil && b.InMin != nil && *b.NearMin > *b.InMin:
		crossed(nearMin, fmt.Sprintf("near begins at %s, inside in, which begins at %s", number(*b.NearMin), number(*b.InMin)), "near around in")
	}
	switch {
	case b.NearMax != nil && b.InMax == nil && (t.given(inMin) && !t.given(inMax)):
		crossed(nearMax, "there is no upper limit of in to be near to", "in_max too")
	case b.NearMax != nil && b.InMax != nil && *b.NearMax < *b.InMax:
		crossed(nearMax, fmt.Sprintf("near ends at %s, inside in, which ends at %s", number(*b.NearMax), number(*b.InMax)), "near around in")
	}
}

// limitKey returns the key by which a limit was given: the pair, or the single limit.
func limitKey(t *table, name, side string) string {
	if t.given(name) {
		return name
	}
	return name + side
}
