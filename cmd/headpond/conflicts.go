package main

import (
	"context"
	"maps"
	"slices"
	"strings"
	"time"

	"example.org/headpond/logbook"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/text"
)

// conflict is where two books that grew apart say different things of one moment.
type conflict struct {
	Round string   `json:"round"`          // id of the round
	Other string   `json:"other"`          // id of the other round, or of the correction that does not hold
	Time  string   `json:"time"`           // of the round
	Keys  []string `json:"keys,omitempty"` // what was corrected in both; of two rounds, what they have different
}

// conflicts are what a merge brought together, of which neither side knew.
type conflicts struct {
	Corrections []conflict `json:"corrections,omitempty"` // one reading, corrected in both to something else
	Rounds      []conflict `json:"rounds,omitempty"`      // two rounds at one time with different cells
}

// entryIDs are the ids of all entries that are handed out.
func entryIDs(ctx context.Context, each func(context.Context, func(logbook.Entry) error) error) (map[string]bool, error) {
	ids := map[string]bool{}
	err := each(ctx, func(e logbook.Entry) error {
		ids[e.ID] = true
		return nil
	})
	return ids, err
}

// foreignIDs are the ids of what was merged.
func (c *command) foreignIDs(ctx context.Context, path string) (map[string]bool, error) {
	if isPackage(path) {
		p, err := openPackage(ctx, path)
		if err != nil {
			return nil, err
		}
		defer p.Close()
		return entryIDs(ctx, p.Entries)
	}
	b, err := logbook.Open(path, c.bookOptions(c.local))
	if err != nil {
		return nil, err
	}
	return entryIDs(ctx, b.Entries)
}

// findConflicts compares what only this book held with what only the other one did. What one side wrote knowing the other's
// entry, such as a correction of a correction, is no conflict.
func findConflicts(h *record.History, mine, theirs map[string]bool) (found conflicts) {
	onlyMine := func(id string) bool { return mine[id] && !theirs[id] }
	onlyTheirs := func(id string) bool { return theirs[id] && !mine[id] }
	sides := func(a, b string) bool { return onlyMine(a) && onlyTheirs(b) || onlyTheirs(a) && onlyMine(b) }
	at := map[int64][]record.Round{}
	for _, r := range h.Rounds {
		found.Corrections = append(found.Corrections, correctedTwice(r, sides)...)
		for _, other := range at[r.Time.Unix()] {
			if keys := differentKeys(r, other); sides(r.ID, other.ID) && len(keys) > 0 {
				found.Rounds = append(found.Rounds, conflict{Round: r.ID, Other: other.ID, Time: record.TimeText(r.Time), Keys: keys})
			}
		}
		at[r.Time.Unix()] = append(at[r.Time.Unix()], r)
	}
	return found
}

// correctedTwice lists the readings of a round that were corrected on both sides to something else, each once.
func correctedTwice(r record.Round, sides func(a, b string) bool) (found []conflict) {
	told := map[string]bool{}
	for i, last := range slices.Backward(r.Changes) {
		for _, before := range r.Changes[:i] {
			if !told[last.Key] && before.Key == last.Key && before.New != last.New && sides(before.Amendment, last.Amendment) {
				told[last.Key] = true
				found = append(found, conflict{Round: r.ID, Other: before.Amendment, Time: record.TimeText(r.Time), Keys: []string{last.Key}})
			}
		}
	}
	return found
}

// differentKeys lists what two rounds say differently.
func differentKeys(a, b record.Round) []string {
	keys := map[string]bool{}
	for _, r := range []record.Round{a, b} {
		for k := range r.Values {
			keys[string(k)] = true
		}
		for k := range r.Words {
			keys[string(k)] = true
		}
	}
	keys["running"], keys["note"] = true, true
	return slices.DeleteFunc(slices.Sorted(maps.Keys(keys)), func(k string) bool { return a.Text(k) == b.Text(k) })
}

// tellConflicts says what a person should look at after a merge.
func (c *command) tellConflicts(f conflicts) {
	if n := len(f.Corrections); n > 0 {
		c.tell("caution: %d %s corrected in both to something else; the later correction holds, and both stay in the book. Look at %s", n,
			plural(n, "reading was", "readings were"), conflictList(f.Corrections))
	}
	if n := len(f.Rounds); n > 0 {
		c.tell("caution: %d %s a round of each at the same time with different readings; both were kept. Look at %s", n,
			plural(n, "moment has", "moments have"), conflictList(f.Rounds))
	}
	if len(f.Corrections)+len(f.Rounds) > 0 {
		c.tell("They are put right in the Log (3), or by: headpond amend ID")
	}
}

// conflictList names the first few.
func conflictList(list []conflict) string {
	const most = 5
	var names []string
	for i, f := range list {
		if i == most {
			names = append(names, "and others")
			break
		}
		at := f.Time
		if t, err := time.Parse(time.RFC3339, f.Time); err == nil {
			at = t.Format("2006-01-02 15:04")
		}
		names = append(names, at+" ("+f.Round+": "+text.Show(strings.Join(f.Keys, ", "))+")")
	}
	return strings.Join(names, "; ")
}
