package assess

import (
	"slices"
	"strings"
	"testing"

	"example.org/headpond/model/record"
)

// What is doubtful about the history itself, such as a clock that fell back, wants attention before anything that is merely due.
func TestWhatIsDoubtfulWantsAttention(t *testing.T) {
	h := &record.History{At: noon, Plant: bench(t), Cautions: []string{"the clock of this computer says 2001, but an entry of the book was written at 2026"}}
	n := NowFacts(h)
	i := slices.IndexFunc(n.Attention, func(a Attention) bool { return strings.HasPrefix(a.Text, "The clock of this computer says 2001") })
	first := slices.IndexFunc(n.Attention, func(a Attention) bool { return a.Urgency == UrgentDue })
	if i < 0 || i != first {
		t.Errorf("the caution is number %d, the first that is due number %d: %+v", i, first, n.Attention)
	}
}
