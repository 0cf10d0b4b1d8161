package copies

import (
	"context"
	"fmt"
	"time"

	"example.org/headpond/model/assess"
)

// Status is how well a book is copied.
type Status struct {
	At     time.Time `json:"-"`
	Mark   uint64    `json:"-"` // how many entries were ever put into the book
	Places []Place   `json:"places"`
}

// Place is one folder in which copies are kept.
type Place struct {
	Dir     string     `json:"dir"`
	Beside  bool       `json:"beside"`            // with the book itself, on the same disk
	Missing bool       `json:"missing,omitempty"` // not there, as where a stick is not plugged in
	Kept    int        `json:"kept"`
	LastAt  *time.Time `json:"last,omitempty"`
	Behind  uint64     `json:"behind"` // entries that no copy there holds
	Last    *Copy      `json:"-"`
	// Before is the time of a copy that was made before the last one and yet is dated later: one of the two clocks was wrong.
	Before *time.Time `json:"-"`
}

// Status looks at the folders. It reads names alone.
func (k Keeper) Status(ctx context.Context) (Status, error) {
	s := Status{At: k.Now()}
	var err error
	if s.Mark, err = k.Book.Mark(ctx); err != nil {
		return s, err
	}
	series, err := k.series()
	if err != nil {
		return s, err
	}
	s.Places = append(s.Places, k.place(series, k.Beside(), s.Mark))
	e, err := k.Book.Elsewhere(ctx)
	if err != nil || e.Dir == "" {
		return s, err
	}
	p := k.place(series, e.Dir, s.Mark)
	if p.Missing = !present(e.Dir); p.Missing && !e.Last.IsZero() { // what the book remembers of it
		p.remember(Copy{Time: e.Last, Mark: e.Mark}, s.Mark)
	}
	s.Places = append(s.Places, p)
	return s, nil
}

func (k Keeper) place(series Series, dir string, mark uint64) Place {
	p := Place{Dir: dir, Beside: dir == k.Beside(), Behind: mark}
	list, err := series.List(dir)
	p.Missing = err != nil && !p.Beside // what is wrong with the folder beside is said when a copy is made
	p.Kept = len(list)
	if len(list) > 0 {
		last := list[0]
		last.Time = last.Time.In(k.zone())
		p.remember(last, mark)
		for _, c := range list[1:] {
			if c.Time.After(last.Time) && (p.Before == nil || c.Time.After(*p.Before)) {
				p.Before = new(time.Time)
				*p.Before = c.Time.In(k.zone())
			}
		}
	}
	return p
}

// doubted reports whether the last copy only looks old: one that was made before it is dated later, and not in the future, so that the
// last one's clock had fallen back.
func (p Place) doubted(at time.Time) bool {
	return p.Last != nil && p.Before != nil && !p.Before.After(at) && at.Sub(p.Last.Time) > tooOld
}

// doubt says the date of such a copy.
func (p Place) doubt() string {
	const form = "2 Jan 2006 15:04"
	return fmt.Sprintf("dated %s (one that was made before it is dated %s: the clock was wrong, so how old it is is not known)", p.Last.Time.Format(form), p.Before.Format(form))
}

// remember notes the last copy of a place.
func (p *Place) remember(last Copy, mark uint64) {
	p.Last, p.LastAt = &last, &last.Time
	p.Behind = 0
	if mark > last.Mark {
		p.Behind = mark - last.Mark
	}
}

// Lines say for each place how old the last copy is.
func (s Status) Lines() []string {
	var out []string
	for _, p := range s.Places {
		out = append(out, p.sentence(s.At))
	}
	if len(s.Places) == 1 {
		out = append(out, "All copies lie on the book's own disk. To keep some on a memory stick too: headpond backup --keep FOLDER")
	}
	return out
}

func (p Place) sentence(at time.Time) string {
	var what string
	switch {
	case p.Last == nil && p.Beside:
		what = "No copy was made yet; they will lie"
	case p.Last == nil:
		what = "No copy was made yet"
	default:
		what = "Last copy " + age(at, p.Last.Time)
		if !unset(p.Last.Time) && p.doubted(at) {
			what = "Last copy " + p.doubt()
		}
		if p.Behind > 0 {
			what += fmt.Sprintf(", %d %s since", p.Behind, plural(p.Behind, "entry", "entries"))
		}
		what += ","
	}
	what += " in " + p.Dir
	switch {
	case p.Missing:
		return what + " (not there now: it is written to when it is back)"
	case p.Kept > 0:
		return what + fmt.Sprintf(" (%d kept)", p.Kept)
	}
	return what
}

// age says how long ago a time is. A clock that has jumped is no reason for an odd answer.
func age(at, t time.Time) string {
	switch {
	case unset(t):
		return dated(t)
	case t.After(at):
		return "of " + t.Format("2 Jan 2006 15:04") + " (by this clock in the future)"
	}
	return assess.Span(at.Sub(t)) + " ago"
}

// firstYear is that of the first copy that can have been made: a clock that tells an earlier one was never set since its battery died.
// Such clocks begin at 1970, 1980 or 2000, or when the computer was made. Our own choice.
const firstYear = 2024

// unset reports whether a copy's time is that of a clock that was not set, so that nobody knows how old the copy is.
func unset(t time.Time) bool { return t.UTC().Year() < firstYear }

// dated says a time of a clock that was not set.
func dated(t time.Time) string {
	return fmt.Sprintf("dated %d (the clock was wrong then, so how old it is is not known)", t.UTC().Year())
}

func plural(n uint64, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// Away is a sentence where the folder elsewhere is not there now, as where its stick is not plugged in; "" where it is, and where
// there is none.
func (s Status) Away() string {
	if dir := s.AwayFrom(); dir != "" {
		return "The stick or folder for copies is not there: " + dir + "; copies go on there when it is back, and until then beside the book alone"
	}
	return ""
}

// AwayFrom is the folder elsewhere where it is not there now, else "".
func (s Status) AwayFrom() string {
	for _, p := range s.Places {
		if p.Missing && !p.Beside {
			return p.Dir
		}
	}
	return ""
}

// Overdue reports whether Caution would end with a copy made now by the one who made the last one.
func (s Status) Overdue() bool {
	for _, p := range s.Places {
		if p.Kept > 0 && p.due(s) && s.Caution() != "" {
			return true
		}
	}
	return false
}

// Caution is a sentence where what was written is in no copy, or in none elsewhere where one was asked for, for more than a
// week; "" where all is well.
func (s Status) Caution() string {
	for i := len(s.Places) - 1; i >= 0; i-- { // the one elsewhere matters more
		p := s.Places[i]
		if p.Behind == 0 || p.Last == nil && p.Beside || p.Last != nil && !unset(p.Last.Time) && s.At.Sub(p.Last.Time) <= tooOld {
			continue
		}
		since := "No copy of the book was made yet in " + p.Dir
		switch {
		case p.Last != nil && unset(p.Last.Time):
			since = fmt.Sprintf("The last copy of the book in %s is %s, and lacks %d %s", p.Dir, dated(p.Last.Time), p.Behind, plural(p.Behind, "entry", "entries"))
		case p.doubted(s.At):
			since = fmt.Sprintf("The last copy of the book in %s is %s, and lacks %d %s", p.Dir, p.doubt(), p.Behind, plural(p.Behind, "entry", "entries"))
		case p.Last != nil:
			since = fmt.Sprintf("The last copy of the book in %s is %s old, and lacks %d %s", p.Dir, assess.Span(s.At.Sub(p.Last.Time)), p.Behind, plural(p.Behind, "entry", "entries"))
		}
		if p.Missing {
			return since + ": plug the stick in, or choose another folder with headpond backup --keep"
		}
		return since + ": headpond check tells whether the book is sound"
	}
	return ""
}
