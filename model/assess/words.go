package assess

import (
	"fmt"
	"math"
	"strings"
	"time"

	"example.org/headpond/model/water"
)

// Words returns where a power comes from, for people: "the dump share".
func (f From) Words() string { return f.words() }

// RoundStale is the age from which a round is called old: a daily one has been missed.
const RoundStale = roundStale

// SpanOf is Span of a number of hours.
func SpanOf(hours float64) string { return Span(time.Duration(hours * float64(time.Hour))) }

// farHours is from where a forecast of the water says no more than "over": rain decides (water's own caution says so too).
const farHours = 30 * 24

// SpanRange writes a range of times, h, in words: "9 to 14 days", "20 to 31 h", "18 h to 3 days", "about 4 days" where both
// ends read alike. A missing or infinite end is one that does not come within the forecast: "9 days or more".
func SpanRange(lo, hi *float64) string {
	switch {
	case !known(lo):
		return ""
	case !known(hi):
		return SpanOf(*lo) + " or more"
	}
	a, b := SpanOf(*lo), SpanOf(*hi)
	if a == b {
		return "about " + a
	}
	for _, unit := range []string{" days", " h", " min"} {
		x, okA := strings.CutSuffix(a, unit)
		y, okB := strings.CutSuffix(b, unit)
		if okA && okB && !strings.Contains(x, " ") && !strings.Contains(y, " ") {
			return x + " to " + b
		}
	}
	return a + " to " + b
}

func known(v *float64) bool { return v != nil && !math.IsNaN(*v) && !math.IsInf(*v, 0) }

// WaterSpan says in a few words how long a way of running lasts: "9 to 14 days", "over 30 days", "lasts", "fills and spills",
// "fills and spills first; without rain 9 to 14 days", "at the stop level". It is empty where the log is too thin to tell.
func WaterSpan(w water.Way) string {
	if w.Standing != "" {
		return atStop(w)
	}
	switch w.Outcome {
	case water.Lasts:
		return "lasts" + withoutRain(w)
	case water.Spills:
		if dry := withoutRain(w); dry != "" {
			return "fills and spills first" + dry
		}
		return "fills and spills"
	case water.RunsOut:
	default:
		return ""
	}
	return toStop(w)
}

// withoutRain adds to a way that most likely fills or lasts how long it lasts where rain does not fill the pond.
func withoutRain(w water.Way) string {
	if !w.TellsDrySpell() {
		return ""
	}
	return "; without rain " + toStop(w)
}

// toStop is the time to the stop level in a few words, empty where it is not known.
func toStop(w water.Way) string {
	h := w.Hours
	if h != nil && !known(h.P10) && w.HoursAnyOutcome != nil {
		h = w.HoursAnyOutcome // a few outcomes that never run out are all that rain leaves
	}
	switch {
	case h == nil:
		return ""
	case known(h.P50) && *h.P50 <= 0:
		return atStop(w)
	}
	return WaterRange(h)
}

// stopNow says that the pond was read at its stop level.
const stopNow = "at or below the stop level now"

// atStop says of a pond at its stop level whether that was read or is supposed: "perhaps at the stop level".
func atStop(w water.Way) string {
	if w.Standing.Reckoned() {
		return string(w.Standing) + " at the stop level"
	}
	return "at the stop level"
}

// WaterRange is SpanRange of a forecast, of which nothing is said beyond thirty days: "9 to over 30 days".
func WaterRange(h *water.Hours) string {
	switch {
	case known(h.P10) && *h.P10 > farHours:
		return "over 30 days"
	case known(h.P10) && known(h.P90) && *h.P90 > farHours:
		return strings.TrimSuffix(SpanOf(*h.P10), " days") + " to over 30 days"
	}
	return SpanRange(h.P10, h.P90)
}

// WaterLasts says in a sentence without its point how long a way of running lasts, and how likely rain makes it longer.
func WaterLasts(w water.Way) string {
	switch {
	case w.Standing.Reckoned():
		return "by now " + atStop(w)
	case w.Standing == water.ReadAtStop:
		return stopNow
	}
	switch w.Outcome {
	case water.Lasts:
		if any := w.HoursAnyOutcome; any != nil && known(any.P10) {
			return fmt.Sprintf("it most likely lasts; %.0f of 100 outcomes reach the stop level, the first ten in %s", 100*w.RunsOutShare, SpanOf(*any.P10)) + withoutRain(w)
		}
		return "it lasts: the stop level is not reached within the forecast" + withoutRain(w)
	case water.Spills:
		if dry := withoutRain(w); dry != "" {
			return fmt.Sprintf("it fills and spills first, as in %.0f of 100 outcomes", 100**w.FilledFirst) + dry + " to the stop level"
		}
		return "it fills and spills over the crest"
	case water.RunsOut:
	default:
		return ""
	}
	span := toStop(w)
	switch {
	case span == "":
		return ""
	case span == atStop(water.Way{}):
		return stopNow
	}
	s := span + " to the stop level"
	if p50 := hoursOf(w).P50; known(p50) && *p50 <= farHours {
		s += ", most likely about " + SpanOf(*p50)
	}
	return s + unlessFilled(w)
}

// unlessFilled says how likely rain fills the pond before it runs out, where that is worth a word.
func unlessFilled(w water.Way) string {
	switch {
	case w.LeavesOut():
		return fmt.Sprintf(", unless rain fills the pond first, as in %.0f of 100 outcomes", 100**w.FilledFirst)
	case w.LikelyFilled():
		return fmt.Sprintf("; rain most likely fills the pond before, as in %.0f of 100 outcomes", 100**w.FilledFirst)
	}
	return ""
}

func hoursOf(w water.Way) water.Hours {
	if w.Hours == nil {
		return water.Hours{}
	}
	return *w.Hours
}
