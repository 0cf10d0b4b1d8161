package water

import (
	"math"
	"time"
)

// Standing is what is known of whether the pond stands at its stop level now, beside the hours of a way: a level that was read
// tells it, and the computing that carries an older one on only supposes it.
type Standing string

// The standings. The zero value is that of a pond above its stop level, as far as is known.
const (
	ReadAtStop     Standing = "read"     // a level of the last day or so was read at or below it
	ProbablyAtStop Standing = "probably" // reckoned so from a level that was read above it not long ago
	PerhapsAtStop  Standing = "perhaps"  // the last level is so old that the pond may be at it by now
)

// Reckoned reports whether it is supposed only, not read.
func (s Standing) Reckoned() bool { return s == ProbablyAtStop || s == PerhapsAtStop }

// How long a level tells. Our own choices.
const (
	LevelTells = 36 * time.Hour     // a level tells how the pond stands: the gauge is read once a day, if need be late
	LevelOld   = 3 * 24 * time.Hour // beyond it the pond has been carried on by computing for so long that a caution says so
)

// perhapsShare is from which share of what may be the pond is said to be perhaps at its stop level: as the pessimistic end of
// every range.
const perhapsShare = 0.1

// LevelAge is how old the last level is; false where there is none.
func (f *Facts) LevelAge() (time.Duration, bool) {
	if f.LastLevel == nil {
		return 0, false
	}
	return f.At.Sub(f.LastLevel.Time), true
}

// AtStop is the standing of a pond whose level now, as it is carried on from what was read, is at or below the stop level; "" for one
// that is above it.
func (f *Facts) AtStop() Standing {
	if f.LevelM > f.StopLevelM {
		return ""
	}
	return f.atStop()
}

func (f *Facts) atStop() Standing {
	switch age, ok := f.LevelAge(); {
	case !ok || age > LevelOld:
		return PerhapsAtStop
	case age <= LevelTells && f.LastLevel.Value <= f.StopLevelM:
		return ReadAtStop
	}
	return ProbablyAtStop
}

// belowStop is the share of what the pond may hold now that is at or below the stop level.
func (m *Model) belowStop() float64 {
	now := &m.filter.last
	return 0.5 * math.Erfc((now.mean[iVolume]-m.b.stopV)/math.Sqrt(2*math.Max(now.cov[iVolume][iVolume], 1e-9)))
}

// standing is what is known of whether the pond stands at its stop level now. An old level's answer depends on nothing but what
// the pond may hold, so that no way of counting the outcomes turns it about as the level grows older.
func (m *Model) standing(f *Facts, w *Way) Standing {
	if w.Hours != nil && w.Hours.P50 != nil && *w.Hours.P50 <= 0 {
		return f.atStop()
	}
	if age, ok := f.LevelAge(); ok && age > LevelOld && w.runs() && m.belowStop() >= perhapsShare {
		return PerhapsAtStop
	}
	return ""
}
