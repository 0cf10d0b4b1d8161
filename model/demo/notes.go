package demo

import (
	"fmt"
	"math/rand/v2"
)

// notebook is what people write beside their readings. No sentence is used twice.
type notebook struct {
	r    *rand.Rand
	left map[string][]string
}

func newNotebook(r *rand.Rand) *notebook {
	return &notebook{r: r, left: sentences()}
}

// about takes a sentence on a subject, "" when there are no more.
func (n *notebook) about(subject string) string {
	list := n.left[subject]
	if len(list) == 0 {
		return ""
	}
	i := n.r.IntN(len(list))
	s := list[i]
	n.left[subject] = append(append([]string(nil), list[:i]...), list[i+1:]...)
	return s
}

func (n *notebook) sometimes(share float64, subject string) string {
	if n.r.Float64() < share {
		return n.about(subject)
	}
	return ""
}

// round is the note of one round: what stands out, else now and then something by the way.
func (n *notebook) round(t *teller, v *visit, m *moment, cleared bool) string {
	switch {
	case v.last:
		return "wind on the pond and the boards are slick, did not clear the screen; next round"
	case len(m.running) == 0:
		return "no power; valve shut, sets stand. Nothing smells, nothing hot"
	case m.hertz > 61.5:
		return n.about("fast")
	case m.levelM > *t.plant.Pond.CrestM && !t.spilled:
		t.spilled = true
		return n.about("spill")
	case m.levelM < bothBelowM:
		t.spilled = false
	}
	switch {
	case v.day == lastWeek+5 && v.morning:
		return "told the workshop: ask before the saw, and never at supper time"
	case cleared:
		litter := t.works.today().litter
		if t.works.today().ice != "none" {
			litter = slush
		}
		if s := n.sometimes(0.55, "clearing"); s != "" {
			return fmt.Sprintf(s, litter)
		}
	case m.levelM < -0.55:
		return n.sometimes(0.2, "low")
	case t.works.today().ice == "cover":
		return n.sometimes(0.12, "ice")
	}
	if t.works.weather.brook.rainMMDay(v.at) > 10 {
		return n.sometimes(0.4, "rain")
	}
	return n.sometimes(0.05, "by the way")
}

// sentences are all that the notebook holds, by subject.
func sentences() map[string][]string {
	return map[string][]string{
		"fast": {
			"frequency high with the house empty. Dump share will not go higher",
			"high again on hot water alone, controller flat out",
			"still high; electrician called, cannot come before the road is open",
		},
		"spill": {"water over the crest", "spilling again", "crest running, alders in it", "spill all along the crest"},
		"clearing": {
			"a barrowful of %s", "%s, packed hard along the lower edge", "mostly %s", "screen felted over with %s",
			"%s and one surprised newt", "raked twice, %s kept coming", "two rakes of %s", "%s to the second bar",
		},
		"low": {
			"mud showing on the east shore", "the old stump is out of the water", "asked the kitchen to cook on wood",
			"heron walks where it used to wade", "stones at the inlet all dry", "no baths this week, said so at supper",
			"bypass still running its full six",
		},
		"ice": {
			"kept off the ice; level read with the glass from the dam", "ice booms at night", "broke the edge round the gauge with the pole",
			"snow on the ice, deer tracks across",
		},
		"rain": {"pouring; gauge board hard to read", "brook loud from the house", "rain all night", "brown water coming in"},
		"by the way": {
			"loon on the pond", "sweet smell by unit A, found a mouse nest behind the panel and took it out", "hall swept",
			"new batteries in the torch", "otter on the crest boards", "belt guard of the saw found in the hall, took it back",
			"door lock stiff", "lamp over the panel replaced", "visitors from the valley, showed them round", "pressure needle sticks a little, tapped it",
			"students back, twelve of them", "wiped the panel, dusty", "path washed at the second culvert, walk on the left", "kingfisher",
			"rope at the intake frayed, cut and tied new", "spare fuses counted: six", "all quiet",
		},
	}
}
