package csvfile

import (
	"fmt"
	"maps"
	"slices"
	"strconv"

	"example.org/headpond/model/record"
)

// known are the good rows of the file so far, by id and by time.
type known struct {
	byID   map[string]int
	byTime map[int64][]int
	lines  []int
	own    []bool // the row brought its id
}

func newKnown() *known { return &known{byID: map[string]int{}, byTime: map[int64][]int{}} }

// add notes a good row; rows are numbered as in Result.Rounds.
func (k *known) add(c *rowReader) {
	n := len(k.lines)
	k.lines, k.own = append(k.lines, c.in.line), append(k.own, c.ownID)
	k.byID[c.round.ID] = n
	at := c.round.Time.Unix()
	k.byTime[at] = append(k.byTime[at], n)
}

// compare looks for the row among those before it and in the book. It reports whether it is there already; where the same
// entry, or the same time, says something else, it notes a problem.
//
// Two rows that both bring an id are two entries, even at one time. One without an id is the round of its time.
func (r *reader) compare(c *rowReader) (already bool, err error) {
	if already = r.inFile(c); already || len(c.problems) > 0 {
		return already, nil
	}
	if c.ownID && r.o.Entry != nil {
		old, found, err := r.o.Entry(r.ctx, c.round.ID)
		switch {
		case err != nil:
			return false, fmt.Errorf("line %d: looking up entry %s; nothing was imported: %w", c.in.line, c.round.ID, err)
		case found:
			return r.settle(c, []record.Round{old}), nil
		}
		if at, _ := idTime(c.round.ID); at.Unix() != c.round.Time.Unix() && (r.o.TimeAmended == nil || !r.o.TimeAmended(c.round.ID)) {
			c.problem(colID, c.round.ID, "an id of the row's time; this one is of "+record.TimeText(at)+" and no entry of this book. Leave it blank for a new round")
			return false, nil
		}
	}
	if r.o.Existing == nil {
		return false, nil
	}
	at, err := r.o.Existing(r.ctx, c.round.Time)
	if err != nil {
		return false, fmt.Errorf("line %d: looking up the rounds of %s; nothing was imported: %w", c.in.line, record.TimeText(c.round.Time), err)
	}
	same := slices.ContainsFunc(at, func(old record.Round) bool { return old.ID == c.round.ID })
	if same && !c.ownID {
		return true, nil // the row that made this entry, whatever was corrected since
	}
	if c.ownID {
		at = slices.DeleteFunc(slices.Clone(at), func(old record.Round) bool { return old.ID != c.round.ID })
	}
	return r.settle(c, at), nil
}

// settle decides about a row beside the rounds that it may be: there already if it agrees with one, and otherwise a problem
// if there is any.
func (r *reader) settle(c *rowReader, at []record.Round) (already bool) {
	for i, old := range at {
		column, text, agree := agrees(c, old)
		switch {
		case agree:
			return true
		case i == len(at)-1:
			what := "nothing"
			if text != "" {
				what = strconv.Quote(text)
			}
			c.problem(column, c.text(column), fmt.Sprintf("%s, as the book has it for %s; correct that with headpond amend %s %s=…", what, record.TimeText(old.Time), old.ID, column))
		}
	}
	return false
}

// inFile compares the row with those before it.
func (r *reader) inFile(c *rowReader) (already bool) {
	n, twice := r.known.byID[c.round.ID]
	if twice {
		return r.sameAs(c, n)
	}
	for _, n := range r.known.byTime[c.round.Time.Unix()] {
		if c.ownID && r.known.own[n] {
			continue
		}
		if already = r.sameAs(c, n); already || len(c.problems) > 0 {
			return already
		}
	}
	return false
}

func (r *reader) sameAs(c *rowReader, n int) bool {
	column, text, agree := agrees(c, r.out.Rounds[n])
	if !agree {
		what := "nothing"
		if text != "" {
			what = strconv.Quote(text)
		}
		c.problem(column, c.text(column), fmt.Sprintf("%s, as in line %d, which is the same round; one of the two rows must go", what, r.known.lines[n]))
	}
	return agree
}

// agrees reports whether every cell of a row is also in a round, as it is or as it was before a correction. Where not, it
// returns the first column that differs and what the round has there.
func agrees(c *rowReader, old record.Round) (column, text string, agree bool) {
	if c.round.Time.Unix() != old.Time.Unix() && !wasOnce(old, record.ColTime, record.TimeText(c.round.Time)) {
		return record.ColTime, record.TimeText(old.Time), false
	}
	mine, his := maps.Collect(eachCell(c.round)), maps.Collect(eachCell(old))
	for _, name := range slices.Sorted(maps.Keys(mine)) {
		if mine[name] != his[name] && !wasOnce(old, name, mine[name]) {
			return name, his[name], false
		}
	}
	return "", "", true
}

// wasOnce reports whether a correction has replaced this text.
func wasOnce(r record.Round, column, text string) bool {
	return slices.ContainsFunc(r.Changes, func(ch record.Change) bool { return ch.Key == column && ch.Old == text })
}

// text is what stands in the row under a column's name.
func (c *rowReader) text(name string) string {
	for i, col := range c.r.cols {
		if col.name == name && i < len(c.in.cells) {
			return c.in.cells[i]
		}
	}
	return ""
}
