package assess

import (
	"example.org/headpond/model/quantity"
	"example.org/headpond/model/tolerance"
)

// BandWords writes the good limits of a band for people, without the unit: "228 to 252", "from -0.60", "up to 60"; "" for a
// band without limits.
func BandWords(b tolerance.Band, info quantity.Info, s quantity.System) string {
	switch {
	case b.InMin != nil && b.InMax != nil:
		return info.Show(*b.InMin, s) + " to " + info.Show(*b.InMax, s)
	case b.InMin != nil:
		return "from " + info.Show(*b.InMin, s)
	case b.InMax != nil:
		return "up to " + info.Show(*b.InMax, s)
	}
	return ""
}
