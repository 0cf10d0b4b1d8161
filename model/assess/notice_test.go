package assess

import (
	"testing"

	"example.org/headpond/model/water"
)

func TestNoticeStandsInItsPlaceAndStays(t *testing.T) {
	n := &Now{Attention: []Attention{{Urgency: UrgentOut, Text: "out"}, {Urgency: UrgentNote, Text: "note"}}}
	if got := n.WithNotice(UrgentDue, "plant", ""); got != n {
		t.Error("an empty notice alters the facts")
	}
	order := func(n *Now) (s string) {
		for _, a := range n.Attention {
			s += a.Text + " "
		}
		return s
	}
	got := n.WithNotice(UrgentDue, "plant", "copies")
	if order(got) != "out copies note " || order(n) != "out note " || got.Attention[1].Screen != "plant" {
		t.Errorf("%s, before: %s", order(got), order(n))
	}
	// The forecast comes later, and may come anew: the notice stays, once.
	for _, n := range []*Now{got.WithWater(&water.Facts{}), n.WithWater(&water.Facts{}).WithNotice(UrgentDue, "plant", "copies").WithWater(&water.Facts{})} {
		if order(n) != "out copies note " {
			t.Errorf("with the water: %s", order(n))
		}
	}
}
