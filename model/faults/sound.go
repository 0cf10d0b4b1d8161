package faults

import (
	"math"
	"slices"
	"strings"

	"example.org/headpond/model/assess"
	"example.org/headpond/model/quantity"
)

// soundErrors is within how many of its errors a mean counts as a sound plant's. Of the half dozen rows of a sound plant nothing is
// fitted to, one would stand beyond twice its error in every fourth report, and one in sixty beyond three times (normal
// distribution).
const soundErrors = 3

// asSound judges the evidence of a sound plant again by that.
func asSound(list []Evidence) {
	for i := range list {
		e := &list[i]
		e.Explains = math.Abs(e.Read-e.ExpectedFault) <= soundErrors*e.ErrRead
	}
}

// saySound is the verdict on a sound plant. A reading that it does not explain is named, so that the words do not
// contradict the evidence below them.
func saySound(none Cause) string {
	const says = "Nothing is wrong that these readings can show"
	var off []string
	for _, e := range none.Evidence {
		if e.Explains {
			continue
		}
		way := "higher"
		if e.Read < e.ExpectedFault {
			way = "lower"
		}
		if name := lowerFirst(assess.LabelOf(quantity.Key(e.Quantity))) + " reads " + way; !slices.Contains(off, name) {
			off = append(off, name)
		}
	}
	if len(off) == 0 {
		return says + "."
	}
	return says + ", though " + strings.Join(off, " and ") + " than on a sound plant: no fault explains the readings better as a whole."
}

// lowerFirst begins a label in lower case.
func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}
