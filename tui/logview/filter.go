package logview

import (
	"fmt"
	"strings"
	"time"

	"example.org/headpond/tui/ui"
)

// filter is what of the log is shown. The zero value shows all.
type filter struct {
	kind     int    // 0 for all, else the kind and one
	by       string // "" for all
	out      bool   // only rounds with a reading out of band
	text     string // words that must all stand in it
	from, to time.Time
}

// kindWords are the kinds as the filter names them, all first.
func kindWords() []string {
	return []string{"everything", "rounds", "events", "corrections", "upkeep", "plant descriptions"}
}

// any reports whether the filter holds anything back.
func (f filter) any() bool { return f != filter{} }

// passes tells whether an item is shown, as far as that can be told without judging a round.
func (f filter) passes(l *ledger, i int) bool {
	it := l.items[i]
	switch {
	case f.kind > 0 && it.kind != kind(f.kind-1),
		f.by != "" && it.by != f.by,
		f.out && it.kind != aRound,
		!f.from.IsZero() && it.at.Before(f.from),
		!f.to.IsZero() && !it.at.Before(f.to):
		return false
	}
	for _, word := range strings.Fields(strings.ToLower(f.text)) {
		if !strings.Contains(l.searched(i), word) {
			return false
		}
	}
	return true
}

// choose lists the places of the items that are shown. A round that was not judged yet is left out while only those out of
// band are wanted: the scan judges it.
func (f filter) choose(l *ledger) []int {
	shown := make([]int, 0, len(l.items))
	for i := range l.items {
		if !f.passes(l, i) {
			continue
		}
		if f.out {
			if j, ok := l.judged[l.items[i].id]; !ok || j.worst != ui.Out {
				continue
			}
		}
		shown = append(shown, i)
	}
	return shown
}

// words says what is held back: "rounds; by Ro; out of band; with leaf; from Sat 1 Aug".
func (f filter) words(w words) string {
	var parts []string
	if f.kind > 0 {
		parts = append(parts, kindWords()[f.kind])
	}
	if f.by != "" {
		parts = append(parts, "by "+f.by)
	}
	if f.out {
		parts = append(parts, "with a reading out of band")
	}
	if f.text != "" {
		parts = append(parts, fmt.Sprintf("with %q", f.text))
	}
	if !f.from.IsZero() {
		parts = append(parts, "from "+w.moment(f.from))
	}
	if !f.to.IsZero() {
		parts = append(parts, "before "+w.moment(f.to))
	}
	return strings.Join(parts, "; ")
}

// nextKind goes on to the next kind, through everything.
func (f filter) nextKind() filter {
	f.kind = (f.kind + 1) % len(kindWords())
	return f
}

// nextPerson goes on to the next of those who wrote, through everybody.
func (f filter) nextPerson(persons []string) filter {
	for i, p := range persons {
		if p == f.by {
			f.by = ""
			if i+1 < len(persons) {
				f.by = persons[i+1]
			}
			return f
		}
	}
	f.by = ""
	if len(persons) > 0 {
		f.by = persons[0]
	}
	return f
}
