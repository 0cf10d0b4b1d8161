package assess

import (
	"strconv"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/tolerance"
)

// BandWords writes the good limits of a band for people, without the unit: "228 to 252", "from -0.60", "up to 60"; "" for a
// band without limits.
func BandWords(b tolerance.Band, info quantity.Info, s quantity.System) string {
	words := func(limit float64) string { return info.Show(limit, s) }
	return bandWords(b, words, words)
}

// BandWordsBeside is BandWords for limits that stand beside a reading: one that the reading lies beyond has as many digits as show it.
func BandWordsBeside(b tolerance.Band, value float64, info quantity.Info, s quantity.System) string {
	words := func(beyond func(limit float64) bool) func(float64) string {
		return func(limit float64) string {
			if !beyond(limit) {
				return info.Show(limit, s)
			}
			return LimitWords(limit, value, info, s)
		}
	}
	return bandWords(b, words(func(lo float64) bool { return value < lo }), words(func(hi float64) bool { return value > hi }))
}

func bandWords(b tolerance.Band, low, high func(float64) string) string {
	switch {
	case b.InMin != nil && b.InMax != nil:
		return low(*b.InMin) + " to " + high(*b.InMax)
	case b.InMin != nil:
		return "from " + low(*b.InMin)
	case b.InMax != nil:
		return "up to " + high(*b.InMax)
	}
	return ""
}

// moreDigits is how many decimals more than its quantity's a limit may have, to be told from a reading.
const moreDigits = 4

// LimitWords writes a limit that a reading lies beyond, without the unit, in as many digits as show on which side of it the reading
// lies: 128 kPa are below 128.3 kPa, not below 128.
func LimitWords(limit, value float64, info quantity.Info, s quantity.System) string {
	words := info.Show(limit, s)
	reading, err := strconv.ParseFloat(info.Show(value, s), 64)
	if err != nil {
		return words
	}
	finer := info
	for range moreDigits {
		if at, err := strconv.ParseFloat(words, 64); err != nil || (value < limit) == (reading < at) && (value > limit) == (reading > at) {
			return words
		}
		finer.Digits++
		words = finer.ShowEstimate(limit, s)
	}
	return words
}
