package ui_test

import (
	"testing"

	"example.org/headpond/model/assess"
	"example.org/headpond/tui/ui"
)

// What is urgent is told by a word and a sign that agree with its state, so that nothing depends on colour.
func TestUrgencies(t *testing.T) {
	for _, c := range []struct {
		u     assess.Urgency
		state ui.State
		mark  string
	}{
		{assess.UrgentOut, ui.Out, "OUT !!"}, {assess.UrgentNear, ui.Near, "NEAR !"},
		{assess.UrgentDue, ui.Unjudged, "DUE"}, {assess.UrgentNote, ui.Unjudged, "note"}, {"none", ui.Unjudged, "ok"},
	} {
		if s, m := ui.StateOfUrgency(c.u), ui.UrgencyMark(c.u); s != c.state || m != c.mark {
			t.Errorf("%q: %v %q, want %v %q", c.u, s, m, c.state, c.mark)
		}
	}
}
