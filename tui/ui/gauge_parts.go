package ui

import "math"

// partKind names the parts of a gauge.
type partKind int

const (
	below partKind = iota
	lowPost
	lowNear
	inner
	highNear
	highPost
	above
)

// glyph returns what a part is drawn with; the parts differ without any colour.
func (k partKind) glyph(t Theme) string {
	switch k {
	case lowPost, highPost:
		if t.ASCII {
			return t.Glyphs.Vertical
		}
		if k == lowPost {
			return t.Glyphs.TeeRight
		}
		return t.Glyphs.TeeLeft
	case lowNear, highNear:
		return t.Glyphs.Horizontal
	case inner:
		return t.Glyphs.Lower
	case below, above:
	}
	return " "
}

// part is one part of a gauge: its cells, and the values between which it stands (infinite where it has no end).
type part struct {
	kind   partKind
	cells  int
	lo, hi float64
}

// gaugeParts shares w cells among the parts that two ranges have. A side whose inner limit is open has no other part; one
// whose near limit is open ends with the near part.
func gaugeParts(in, near Range, w int) []part {
	lo := side(in.Lo, near.Lo, in.hasLo(), near.hasLo(), func(near, in float64) bool { return near < in })
	hi := side(in.Hi, near.Hi, in.hasHi(), near.hasHi(), func(near, in float64) bool { return near > in })
	end := max(1, w/8)
	var parts []part
	if lo.posted {
		parts = append(parts, part{below, end, math.Inf(-1), lo.outer}, part{kind: lowPost, cells: 1})
	}
	if lo.near {
		parts = append(parts, part{lowNear, 0, lo.outer, in.Lo})
	}
	parts = append(parts, part{inner, 0, lo.inner(math.Inf(-1)), hi.inner(math.Inf(1))})
	if hi.near {
		parts = append(parts, part{highNear, 0, in.Hi, hi.outer})
	}
	if hi.posted {
		parts = append(parts, part{kind: highPost, cells: 1}, part{above, end, hi.outer, math.Inf(1)})
	}
	return share(parts, w)
}

// gaugeSide says which parts stand on one side of the inner range.
type gaugeSide struct {
	near, posted bool
	limit, outer float64
	limited      bool
}

func side(in, near float64, hasIn, hasNear bool, beyond func(near, in float64) bool) gaugeSide {
	switch {
	case !hasIn:
		return gaugeSide{}
	case !hasNear:
		// near is infinite in the direction of this side.
		far := math.Inf(1)
		if beyond(math.Inf(-1), 0) {
			far = math.Inf(-1)
		}
		return gaugeSide{near: true, limit: in, outer: far, limited: true}
	case beyond(near, in):
		return gaugeSide{near: true, posted: true, limit: in, outer: near, limited: true}
	}
	return gaugeSide{posted: true, limit: in, outer: in, limited: true}
}

// inner returns the inner range's limit on this side, or open where there is none.
func (s gaugeSide) inner(open float64) float64 {
	if s.limited {
		return s.limit
	}
	return open
}

// share gives the near and inner parts the cells that posts and ends leave, by their length on the scale, each at least one.
// A part without an end has no length: it gets that of the inner part, an open inner one twice its neighbours.
func share(parts []part, w int) []part {
	rest, n := w, 0
	innerLen := 0.0
	for _, p := range parts {
		rest -= p.cells
		if p.cells == 0 {
			n++
		}
		if p.kind == inner {
			innerLen = length(p)
		}
	}
	weights, sum := make([]float64, len(parts)), 0.0
	for i, p := range parts {
		if p.cells == 0 {
			weights[i] = weight(p, innerLen)
			sum += weights[i]
		}
	}
	spare := rest - n
	for i := range parts {
		if weights[i] > 0 {
			extra := int(math.Round(float64(spare) * weights[i] / sum))
			parts[i].cells = 1 + extra
			spare, sum = spare-extra, sum-weights[i]
		}
	}
	return parts
}

// length is a part's extent on the scale; 0 where it has none or too great a one to reckon with.
func length(p part) float64 {
	d := p.hi - p.lo
	if math.IsInf(d, 0) || math.IsNaN(d) || d < 0 {
		return 0
	}
	return d
}

// weight is a part's share of cells relative to the inner part's 1; a near part keeps between a sixth and the whole of it, so that
// neither vanishes.
func weight(p part, innerLen float64) float64 {
	switch {
	case p.kind == inner:
		return 1
	case innerLen == 0 || length(p) == 0:
		return 0.5
	}
	return math.Max(1.0/6, math.Min(1, length(p)/innerLen))
}

// markAt returns the cell of the value's mark and its sign; -1 where there is none.
func markAt(t Theme, parts []part, v float64) (cell int, sign string) {
	if math.IsNaN(v) {
		return -1, ""
	}
	x, scale := 0, scaleOf(parts)
	for _, p := range parts {
		switch {
		case p.kind == lowPost || p.kind == highPost || !p.has(v):
			x += p.cells
			continue
		}
		i, off := p.cellOf(v, scale)
		switch {
		case off && p.kind == below:
			return x, "<"
		case off && p.kind == above:
			return x + p.cells - 1, ">"
		}
		return x + i, t.Glyphs.Full
	}
	return -1, ""
}

// has reports whether a value belongs to a part. The inner part owns its limits, a near part its outer one.
func (p part) has(v float64) bool {
	switch p.kind {
	case below:
		return v < p.hi
	case lowNear:
		return v >= p.lo && v < p.hi
	case inner:
		return v >= p.lo && v <= p.hi
	case highNear:
		return v > p.lo && v <= p.hi
	case above:
		return v > p.lo
	case lowPost, highPost:
	}
	return false
}

// scaleOf is the length by which distances in parts without an end are measured.
func scaleOf(parts []part) float64 {
	scale, limit := 0.0, 0.0
	for _, p := range parts {
		scale = math.Max(scale, length(p))
		for _, l := range []float64{p.lo, p.hi} {
			if !math.IsInf(l, 0) {
				limit = math.Max(limit, math.Abs(l))
			}
		}
	}
	switch {
	case scale > 0:
		return scale
	case limit > 0:
		return limit / 10
	}
	return 1
}

// cellOf returns in which of the part's cells a value stands, and whether it is off the scale. Outside, the scale ends one
// scale length from the post; an inner or near part without an end takes in every value, ever more densely.
func (p part) cellOf(v, scale float64) (cell int, off bool) {
	var share float64
	switch {
	case p.kind == below:
		share = 1 - (p.hi-v)/scale
		off = share < 0
	case p.kind == above:
		share = (v - p.lo) / scale
		off = share > 1
	case math.IsInf(p.lo, 0) && math.IsInf(p.hi, 0):
		share = 0.5
	case math.IsInf(p.hi, 0):
		share = saturate((v - p.lo) / scale)
	case math.IsInf(p.lo, 0):
		share = 1 - saturate((p.hi-v)/scale)
	case length(p) == 0:
		share = 0.5
	default:
		share = (v - p.lo) / (p.hi - p.lo)
	}
	if math.IsNaN(share) {
		share = 0.5
	}
	return int(math.Max(0, math.Min(float64(p.cells-1), math.Floor(share*float64(p.cells))))), off
}

// saturate maps 0…∞ to 0…1.
func saturate(d float64) float64 {
	if math.IsInf(d, 1) {
		return 1
	}
	return d / (1 + d)
}
